//! Two other forms of r(T), the speed of gas making relative to 25 °C, to be compared with the cardinal one.
//!
//! - square root: sqrt(u) = (T - Tmin) {1 - exp[c (T - Tmax)]}, zero outside (Tmin, Tmax); T in °C, c per °C
//! - Arrhenius with a switch at high temperature: u = (K/T25) exp[E/R (1/T25 - 1/K)] / {1 + exp[Eh/R (1/Th - 1/K)]},
//!   K = T + 273.15, energies in J/mol, Th where half is switched off, in °C
//!
//! and r = u(T)/u(25), without unit. Both are told by rho4 = r(4 °C)/r(25 °C), which records can tell; the square root
//! by Topt, where r is largest, and Tmax besides, Arrhenius by Th and Eh.
//!
//! Sources: Ratkowsky, Lowry, McMeekin, Stokes & Chandler 1983, *Journal of Bacteriology* 154:1222-1226; Schoolfield,
//! Sharpe & Magnuson 1981, *Journal of Theoretical Biology* 88:719-731. Limits: time integrals have no closed form
//! ([`super::other_time`]), so these serve comparison, not the daily fit.

use super::rate::{COLD_C, REFERENCE_C};
use super::solubility::{GAS_CONSTANT, T25, ZERO_C};

/// Which of the two.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// Coefficients Tmin, Tmax, c.
    SquareRoot,
    /// Coefficients E, Eh, Th.
    Arrhenius,
}

/// One of the two forms, with its coefficients.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OtherRate {
    kind: Kind,
    coefficients: [f64; 3],
    /// u(25), and the derivatives of its logarithm by the coefficients.
    reference: f64,
    reference_slopes: [f64; 3],
}

/// u at one temperature, with the derivatives of its logarithm.
struct Unscaled {
    u: f64,
    ln_by_t: f64,
    ln_by_coefficient: [f64; 3],
}

/// r at one temperature with its derivatives.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Point {
    /// r.
    pub r: f64,
    /// dr/dT per °C.
    pub by_t: f64,
    /// By the three coefficients.
    pub by_coefficient: [f64; 3],
}

/// The steepness c of the square root form is looked for between these, per °C.
const STEEPNESS: (f64, f64) = (1e-4, 5.0);
/// Halvings that reach double precision there.
const HALVINGS: usize = 60;

impl OtherRate {
    /// The square root form of rho4, Topt and Tmax in °C; `None` when there is none.
    pub fn square_root(rho4: f64, t_opt: f64, t_max: f64) -> Option<Self> {
        if !(rho4 > 0.0 && rho4 < 1.0 && t_opt < t_max && t_max > REFERENCE_C) {
            return None;
        }
        let t_min = |c: f64| {
            let bent = |t: f64| -(c * (t - t_max)).exp_m1();
            let root = rho4.sqrt() * bent(REFERENCE_C) / bent(COLD_C);
            (COLD_C - REFERENCE_C * root) / (1.0 - root)
        };
        // Above zero while the curve still rises at Topt.
        let rises = |c: f64| (c * (t_opt - t_min(c))).ln_1p() - c * (t_max - t_opt);
        let (mut low, mut high) = STEEPNESS;
        if !(rises(low) > 0.0 && rises(high) < 0.0) {
            return None;
        }
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if rises(middle) > 0.0 { low = middle } else { high = middle }
        }
        let c = 0.5 * (low + high);
        Some(Self::new(Kind::SquareRoot, [t_min(c), t_max, c]))
    }

    /// The Arrhenius form of rho4, the temperature Th in °C at which half is switched off, and the energy of the switch in
    /// kJ/mol; `None` when there is none.
    pub fn arrhenius(rho4: f64, half_c: f64, switch_kj: f64) -> Option<Self> {
        if !(rho4 > 0.0 && rho4 < 1.0 && half_c > REFERENCE_C && switch_kj > 0.0) {
            return None;
        }
        let (cold, warm, half) = (COLD_C + ZERO_C, T25, half_c + ZERO_C);
        let switch = 1000.0 * switch_kj;
        let ln_bound = |k: f64| (switch / GAS_CONSTANT * (1.0 / half - 1.0 / k)).exp().ln_1p();
        // ln rho4 = ln(cold/warm) - E/R (1/cold - 1/warm) + ln_bound(warm) - ln_bound(cold).
        let fall = (cold / warm).ln() - rho4.ln() + ln_bound(warm) - ln_bound(cold);
        let energy = fall * GAS_CONSTANT / (1.0 / cold - 1.0 / warm);
        (energy > 0.0).then(|| Self::new(Kind::Arrhenius, [energy, switch, half_c]))
    }

    fn new(kind: Kind, coefficients: [f64; 3]) -> Self {
        let mut made = Self { kind, coefficients, reference: 1.0, reference_slopes: [0.0; 3] };
        let at = made.unscaled(REFERENCE_C);
        (made.reference, made.reference_slopes) = (at.u, at.ln_by_coefficient);
        made
    }

    /// Tmin, Tmax in °C and c per °C; or E, Eh in J/mol and Th in °C.
    pub fn coefficients(&self) -> [f64; 3] {
        self.coefficients
    }

    /// r at `t` °C.
    pub fn at(&self, t: f64) -> f64 {
        self.point(t).r
    }

    /// r at `t` °C with its derivatives.
    pub(super) fn point(&self, t: f64) -> Point {
        let (low, high) = self.limits();
        if !(t > low && t < high) {
            return Point::default();
        }
        let at = self.unscaled(t);
        let r = at.u / self.reference;
        let by = |i: usize| r * (at.ln_by_coefficient[i] - self.reference_slopes[i]);
        Point { r, by_t: r * at.ln_by_t, by_coefficient: std::array::from_fn(by) }
    }

    /// r is zero outside these temperatures, in °C.
    pub(super) fn limits(&self) -> (f64, f64) {
        match self.kind {
            Kind::SquareRoot => (self.coefficients[0], self.coefficients[1]),
            Kind::Arrhenius => (f64::NEG_INFINITY, f64::INFINITY),
        }
    }

    fn unscaled(&self, t: f64) -> Unscaled {
        match (self.kind, self.coefficients) {
            (Kind::SquareRoot, [t_min, t_max, c]) => {
                let above = t - t_min;
                let bent = -(c * (t - t_max)).exp_m1();
                let falls = (1.0 - bent) / bent;
                Unscaled {
                    u: (above * bent).powi(2),
                    ln_by_t: 2.0 * (1.0 / above - c * falls),
                    ln_by_coefficient: [-2.0 / above, 2.0 * c * falls, -2.0 * (t - t_max) * falls],
                }
            }
            (Kind::Arrhenius, [energy, switch, half_c]) => {
                let (kelvin, half) = (t + ZERO_C, half_c + ZERO_C);
                let (energy, switch) = (energy / GAS_CONSTANT, switch / GAS_CONSTANT);
                let warmer = 1.0 / T25 - 1.0 / kelvin;
                let past = 1.0 / half - 1.0 / kelvin;
                let s = (switch * past).exp();
                let off = s / (1.0 + s);
                Unscaled {
                    u: kelvin / T25 * (energy * warmer).exp() / (1.0 + s),
                    ln_by_t: (1.0 + (energy - off * switch) / kelvin) / kelvin,
                    ln_by_coefficient: [
                        warmer / GAS_CONSTANT,
                        -off * past / GAS_CONSTANT,
                        off * switch / (half * half),
                    ],
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn both() -> [OtherRate; 2] {
        [
            OtherRate::square_root(0.107, 35.5, 45.5).expect("the medians have a square root form"),
            OtherRate::arrhenius(0.107, 38.3, 250.0).expect("and an Arrhenius form"),
        ]
    }

    #[test]
    fn they_give_back_what_they_are_told_by() {
        for rate in both() {
            assert!((rate.at(25.0) - 1.0).abs() < 1e-13);
            assert!((rate.at(4.0) - 0.107).abs() < 1e-12, "{rate:?}: {}", rate.at(4.0));
            assert!(rate.at(33.0) < rate.at(35.5) && rate.at(38.0) < rate.at(35.5));
        }
        let [root, _] = both();
        assert!(root.point(35.5).by_t.abs() < 1e-9, "{}", root.point(35.5).by_t);
    }

    #[test]
    fn slopes_agree_with_differences() {
        for rate in both() {
            for t in [3.0, 18.0, 33.0] {
                let p = rate.point(t);
                let h = 1e-4;
                let by_t = (rate.at(t + h) - rate.at(t - h)) / (2.0 * h);
                assert!((p.by_t - by_t).abs() < 1e-7 * by_t.abs().max(1.0));
                for i in 0..3 {
                    let step = 1e-5 * rate.coefficients[i].abs();
                    let moved = |by: f64| {
                        let mut c = rate.coefficients;
                        c[i] += by;
                        OtherRate::new(rate.kind, c).at(t)
                    };
                    let difference = (moved(step) - moved(-step)) / (2.0 * step);
                    let found = p.by_coefficient[i];
                    assert!(
                        (found - difference).abs() < 1e-6 * difference.abs().max(1e-6),
                        "{i} {t}: {found} {difference}"
                    );
                }
            }
        }
    }
}
