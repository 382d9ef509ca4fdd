//! How fast the yeast makes gas at a temperature, relative to 25 °C.
//!
//! Computes r(T) = gamma(T)/gamma(25), gamma the cardinal temperature model with inflection:
//! gamma(T) = (T-Tmax)(T-Tmin)² / {(Topt-Tmin)[(Topt-Tmin)(T-Topt) - (Topt-Tmax)(Topt+Tmin-2T)]},
//! zero outside (Tmin, Tmax). All temperatures in °C; r and gamma without unit.
//!
//! Source: Rosso, Lobry & Flandrois (1993), J. Theor. Biol. 162:447-463.
//!
//! The denominator's bracket is linear in T: aT - b with a = 3Topt - Tmin - 2Tmax and b = 2Topt² - Tmax(Topt+Tmin). With
//! y = T - 25, ascending division gives r(T) = 1 + a1 y + a2 y² + b3 y³/(1 + w y), w = a/(25a - b); the pole lies at
//! y = -1/w. [`Rate`] holds these four coefficients: the form in which time integrals are exact
//! ([`super::thermal_time`]), without difference of large terms wherever the pole lies, and without pole at a = 0.
//!
//! Tmin is the *notional* zero of gas making, far below the limit of growth; it is found from
//! rho4 = r(4), which records can tell.
//!
//! Limits: Topt above the middle of Tmin and Tmax, so that the pole lies outside them.

use super::other_rate::OtherRate;
use super::scalar::{Jet, Scalar};

/// Where r is one, in °C.
pub const REFERENCE_C: f64 = 25.0;

/// The fridge temperature at which rho4 is stated, in °C.
pub const COLD_C: f64 = 4.0;

/// The notional Tmin is looked for between these, in °C.
const TMIN_RANGE: (f64, f64) = (-400.0, 3.999);

/// gamma(T) at `t`, for cardinal temperatures in °C; zero outside (t_min, t_max).
pub fn gamma(t: f64, t_min: f64, t_opt: f64, t_max: f64) -> f64 {
    if t <= t_min || t >= t_max { 0.0 } else { gamma_inside(t, t_min, t_opt, t_max) }
}

fn gamma_inside<N: Scalar>(t: f64, t_min: N, t_opt: N, t_max: N) -> N {
    let span = t_opt - t_min;
    let above = -(t_min - t);
    let bracket = span * -(t_opt - t) - (t_opt - t_max) * (t_opt + t_min - 2.0 * t);
    -(t_max - t) * above * above / (span * bracket)
}

/// The notional Tmin in °C for which r(4 °C)/r(25 °C) = `rho4`, Topt and Tmax in °C; `None` when no Tmin between -400 and
/// 3.999 °C gives it.
pub fn t_min_for(rho4: f64, t_opt: f64, t_max: f64) -> Option<f64> {
    let miss = |t_min: f64| {
        gamma_inside(COLD_C, t_min, t_opt, t_max) - rho4 * gamma_inside(REFERENCE_C, t_min, t_opt, t_max)
    };
    // r(4) falls as Tmin rises: bracket, then narrow down; bisection guards the secant steps.
    let (mut low, mut high) = TMIN_RANGE;
    let (mut at_low, mut at_high) = (miss(low), miss(high));
    if !(at_low > 0.0 && at_high < 0.0) {
        return None;
    }
    let mut t = -6.0;
    for _ in 0..200 {
        let at = miss(t);
        if at == 0.0 {
            return Some(t);
        }
        if at > 0.0 {
            (low, at_low) = (t, at);
        } else {
            (high, at_high) = (t, at);
        }
        let slope = {
            let seeded = Jet::new(t, 1.0);
            let (o, m) = (Jet::constant(t_opt), Jet::constant(t_max));
            (gamma_inside(COLD_C, seeded, o, m) - gamma_inside(REFERENCE_C, seeded, o, m) * rho4).d
        };
        let newton = t - at / slope;
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        if (next - t).abs() <= 4.0 * f64::EPSILON * t.abs().max(1.0) {
            return Some(next);
        }
        t = next;
    }
    debug_assert!(at_low >= 0.0 && at_high <= 0.0);
    Some(t)
}

/// r(T) in the form whose time integral is exact; y = T - 25.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rate<N = f64> {
    /// Factor of y, per °C.
    pub a1: N,
    /// Factor of y², per °C².
    pub a2: N,
    /// Factor of y³/(1 + w y), per °C³.
    pub b3: N,
    /// Less the reciprocal of the y at which the pole lies, per °C.
    pub w: N,
    /// Below this r is zero, in °C.
    pub t_min: f64,
    /// Above this r is zero, in °C.
    pub t_max: f64,
    /// Another form that stands in the place of this one, for comparison.
    pub other: Option<OtherRate>,
}

impl<N: Scalar> Rate<N> {
    fn divided(t_min: N, t_opt: N, t_max: N) -> Self {
        let one = N::constant(1.0);
        let (u, v) = (one / (t_max - REFERENCE_C), one / (t_min - REFERENCE_C));
        let a = t_opt * 3.0 - t_min - t_max * 2.0;
        let b = t_opt * t_opt * 2.0 - t_max * (t_opt + t_min);
        let w = a / (a * REFERENCE_C - b);
        // gamma/gamma(25) = (1 - u y)(1 - v y)²/(1 + w y).
        let a1 = -(u + v * 2.0) - w;
        let a2 = v * v + u * v * 2.0 - w * a1;
        let b3 = -(u * v * v) - w * a2;
        Self { a1, a2, b3, w, t_min: t_min.value(), t_max: t_max.value(), other: None }
    }
}

impl Rate {
    /// From cardinal temperatures in °C; `None` where the closed form does not hold (see the head of this file).
    pub fn cardinal(t_min: f64, t_opt: f64, t_max: f64) -> Option<Self> {
        let ordered = t_min < t_opt && t_opt < t_max && t_max > REFERENCE_C && t_min < COLD_C;
        (ordered && 2.0 * t_opt > t_min + t_max).then(|| Self::divided(t_min, t_opt, t_max))
    }

    /// From rho4 = r(4 °C) and the two upper cardinal temperatures in °C; `None` where [`t_min_for`] or
    /// [`Rate::cardinal`] gives none.
    pub fn from_rho4(rho4: f64, t_opt: f64, t_max: f64) -> Option<Self> {
        Self::cardinal(t_min_for(rho4, t_opt, t_max)?, t_opt, t_max)
    }

    /// A rate of another form; its coefficients stand in the place of the first three of four.
    pub fn other(other: OtherRate) -> Self {
        // The cardinal model holds nowhere.
        let nowhere = (f64::INFINITY, f64::NEG_INFINITY);
        Self { a1: 0.0, a2: 0.0, b3: 0.0, w: 0.0, t_min: nowhere.0, t_max: nowhere.1, other: Some(other) }
    }

    /// r at `t` °C.
    pub fn at(&self, t: f64) -> f64 {
        if let Some(other) = &self.other {
            return other.at(t);
        }
        if t <= self.t_min || t >= self.t_max { 0.0 } else { self.inside(t) }
    }

    /// r at `t` °C known to lie between Tmin and Tmax.
    pub(super) fn inside(&self, t: f64) -> f64 {
        let y = t - REFERENCE_C;
        1.0 + y * (self.a1 + y * (self.a2 + y * self.b3 / (1.0 + self.w * y)))
    }

    /// Derivatives of r at `t` °C by the four coefficients.
    pub(super) fn by_coefficients(&self, t: f64) -> [f64; 4] {
        if let Some(other) = &self.other {
            let [a, b, c] = other.point(t).by_coefficient;
            return [a, b, c, 0.0];
        }
        if t <= self.t_min || t >= self.t_max {
            return [0.0; 4];
        }
        let y = t - REFERENCE_C;
        let k = y * y * y / (1.0 + self.w * y);
        [y, y * y, k, -self.b3 * k * y / (1.0 + self.w * y)]
    }
}

/// The derivatives along (rho4, Topt, Tmax), in this order, each of the four coefficients: `[along][coefficient]`.
#[derive(Debug, Clone, Copy)]
pub struct RateSlopes(pub [[f64; 4]; 3]);

impl RateSlopes {
    /// At a rate made by [`Rate::from_rho4`] of the same arguments.
    pub fn new(rate: &Rate, rho4: f64, t_opt: f64, t_max: f64) -> Self {
        let seed = |i: usize, j: usize| if i == j { 1.0 } else { 0.0 };
        // The implicit function: miss(Tmin, Topt, Tmax, rho4) = gamma(4) - rho4 gamma(25) = 0.
        let miss_slope = |which: usize| {
            let m = Jet::new(rate.t_min, seed(which, 0));
            let o = Jet::new(t_opt, seed(which, 1));
            let x = Jet::new(t_max, seed(which, 2));
            (gamma_inside(COLD_C, m, o, x) - gamma_inside(REFERENCE_C, m, o, x) * rho4).d
        };
        let by_rho4 = -gamma_inside(REFERENCE_C, rate.t_min, t_opt, t_max);
        let by_t_min = miss_slope(0);
        let t_min_slope = [-by_rho4 / by_t_min, -miss_slope(1) / by_t_min, -miss_slope(2) / by_t_min];
        Self(std::array::from_fn(|along| {
            let m = Jet::new(rate.t_min, t_min_slope[along]);
            let o = Jet::new(t_opt, seed(along, 1));
            let x = Jet::new(t_max, seed(along, 2));
            let r = Rate::divided(m, o, x);
            [r.a1.d, r.a2.d, r.b3.d, r.w.d]
        }))
    }

    /// Turns a gradient by the four coefficients into one by rho4, Topt and Tmax (the last two per °C).
    pub fn chain(&self, by_coefficient: &[f64; 4]) -> [f64; 3] {
        self.0.map(|row| row.iter().zip(by_coefficient).map(|(a, b)| a * b).sum())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn division_and_definition_agree() {
        let rate = Rate::cardinal(-5.0, 35.5, 45.5).unwrap();
        for t in [-4.9, 0.0, 4.0, 17.3, 25.0, 35.5, 45.4] {
            let wanted = gamma(t, -5.0, 35.5, 45.5) / gamma(25.0, -5.0, 35.5, 45.5);
            assert!((rate.at(t) - wanted).abs() < 1e-13, "{t}: {} {wanted}", rate.at(t));
        }
        assert_eq!(rate.at(-6.0), 0.0);
        assert_eq!(rate.at(46.0), 0.0);
    }

    #[test]
    fn t_min_gives_its_rho4_back() {
        for rho4 in [0.005, 0.033, 0.107, 0.19, 0.3] {
            let t_min = t_min_for(rho4, 35.5, 45.5).unwrap();
            let got = gamma(4.0, t_min, 35.5, 45.5) / gamma(25.0, t_min, 35.5, 45.5);
            assert!((got / rho4 - 1.0).abs() < 1e-12, "{rho4}: {got}");
        }
        assert_eq!(t_min_for(0.0, 35.5, 45.5), None);
        assert_eq!(t_min_for(1.5, 35.5, 45.5), None);
    }

    #[test]
    fn the_closed_form_is_refused_where_it_does_not_hold() {
        assert!(Rate::cardinal(-5.0, 35.5, 45.5).is_some());
        for (t_min, t_opt, t_max) in [
            // Not in order.
            (36.0, 35.5, 45.5),
            (-5.0, 46.0, 45.5),
            (-5.0, 45.5, 45.5),
            // The reference at or above Tmax, the fridge at or below Tmin.
            (-5.0, 20.0, 25.0),
            (4.0, 35.5, 45.5),
            // Topt in the middle of Tmin and Tmax, or below it.
            (-5.0, 20.0, 45.0),
            (-5.0, 19.0, 45.0),
        ] {
            assert_eq!(Rate::cardinal(t_min, t_opt, t_max), None, "{t_min} {t_opt} {t_max}");
        }
        // Nothing is made at the ends or beyond, and no coefficient moves that.
        let rate = Rate::cardinal(-5.0, 35.5, 45.5).unwrap();
        for t in [-5.0, 45.5, 50.0] {
            assert_eq!((rate.at(t), rate.by_coefficients(t)), (0.0, [0.0; 4]));
        }
        assert_eq!((gamma(-5.0, -5.0, 35.5, 45.5), gamma(45.5, -5.0, 35.5, 45.5)), (0.0, 0.0));
    }

    #[test]
    fn slopes_by_coefficients_are_differences() {
        let rate = Rate::cardinal(-5.0, 35.5, 45.5).unwrap();
        const STEP: f64 = 1e-7;
        for t in [2.0, 25.0, 31.0] {
            let moved = |by: [f64; 4]| {
                let [a1, a2, b3, w] = by;
                Rate { a1: rate.a1 + a1, a2: rate.a2 + a2, b3: rate.b3 + b3, w: rate.w + w, ..rate }.at(t)
            };
            for (i, found) in rate.by_coefficients(t).into_iter().enumerate() {
                let step = |h: f64| std::array::from_fn(|j| if i == j { h } else { 0.0 });
                let wanted = (moved(step(STEP)) - moved(step(-STEP))) / (2.0 * STEP);
                assert!(
                    (found - wanted).abs() < 1e-6 * wanted.abs().max(1.0),
                    "{i} at {t}: {found} {wanted}"
                );
            }
        }
    }
}
