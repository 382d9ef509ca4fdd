//! Two other forms of r(T), the speed of gas making relative to 25 °C, to be compared with the cardinal one.
//!
//! - square root: sqrt(u) = (T - Tmin) {1 - exp[c (T - Tmax)]}, zero outside (Tmin, Tmax); T in °C, c per °C
//! - Arrhenius with a switch at high temperature: u = (K/T25) exp[E/R (1/T25 - 1/K)] / {1 + exp[Eh/R (1/Th - 1/K)]},
//!   K = T + 273.15, energies in J/mol, Th where half is switched off, in °C
//!
//! and r = u(T)/u(25), without unit. Both are told through numbers a kitchen knows: rho4 = r(4 °C)/r(25 °C) and Topt
//! where r is largest; the square root by Tmax besides, Arrhenius by Eh.
//!
//! Sources: Ratkowsky, Lowry, McMeekin, Stokes & Chandler 1983, *Journal of Bacteriology* 154:1222-1226; Schoolfield,
//! Sharpe & Magnuson 1981, *Journal of Theoretical Biology* 88:719-731. Limits: time integrals have no closed form
//! ([`super::other_time`]), so these serve comparison, not the daily fit.

use super::rate::{COLD_C, REFERENCE_C};
use super::scalar::{Jet, Scalar};
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
    /// ln u(25) and its derivatives by the coefficients.
    ln_reference: f64,
    reference_slopes: [f64; 3],
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
/// Turns at most of the fixed point for E, which gains a digit or two a turn.
const TURNS: usize = 60;

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

    /// The Arrhenius form of rho4, Topt in °C and the energy of the switch in kJ/mol; `None` when there is none.
    pub fn arrhenius(rho4: f64, t_opt: f64, switch_kj: f64) -> Option<Self> {
        if !(rho4 > 0.0 && rho4 < 1.0 && t_opt > REFERENCE_C) {
            return None;
        }
        let (cold, warm, best) = (COLD_C + ZERO_C, T25, t_opt + ZERO_C);
        let switch = 1000.0 * switch_kj;
        // At the best temperature d ln u/dT = 0: s/(1+s) = (E + R T)/Eh, s the switch's exponential there.
        let at_best = |energy: f64| {
            let part = (energy + GAS_CONSTANT * best) / switch;
            (part > 0.0 && part < 1.0).then(|| (part / (1.0 - part)).ln())
        };
        let mut energy = 0.0;
        for _ in 0..TURNS {
            let ln_s = at_best(energy)?;
            let ln_bound = |k: f64| (ln_s + switch / GAS_CONSTANT * (1.0 / best - 1.0 / k)).exp().ln_1p();
            let wanted = (cold / warm).ln() - rho4.ln() + ln_bound(warm) - ln_bound(cold);
            let next = wanted * GAS_CONSTANT / (1.0 / cold - 1.0 / warm);
            let moved = (next - energy).abs();
            energy = next;
            if moved <= 1e-15 * energy.abs() {
                break;
            }
        }
        let ln_s = at_best(energy)?;
        let half = 1.0 / (1.0 / best + ln_s * GAS_CONSTANT / switch) - ZERO_C;
        Some(Self::new(Kind::Arrhenius, [energy, switch, half]))
    }

    fn new(kind: Kind, coefficients: [f64; 3]) -> Self {
        let mut made = Self { kind, coefficients, ln_reference: 0.0, reference_slopes: [0.0; 3] };
        made.reference_slopes = std::array::from_fn(|i| made.along(REFERENCE_C, i).d);
        made.ln_reference = made.along(REFERENCE_C, 0).x;
        made
    }

    /// Tmin, Tmax in °C and c per °C; or E, Eh in J/mol and Th in °C.
    pub fn coefficients(&self) -> [f64; 3] {
        self.coefficients
    }

    /// r at `t` °C.
    pub fn at(&self, t: f64) -> f64 {
        match self.outside(t) {
            true => 0.0,
            false => (self.along(t, usize::MAX).x - self.ln_reference).exp(),
        }
    }

    /// r at `t` °C with its derivatives.
    pub(super) fn point(&self, t: f64) -> Point {
        if self.outside(t) {
            return Point::default();
        }
        let coefficients = self.coefficients.map(Jet::constant);
        let ln_u = self.ln_u(Jet::new(t, 1.0), coefficients);
        let r = (ln_u.x - self.ln_reference).exp();
        let by = |i: usize| r * (self.along(t, i).d - self.reference_slopes[i]);
        Point { r, by_t: r * ln_u.d, by_coefficient: std::array::from_fn(by) }
    }

    fn outside(&self, t: f64) -> bool {
        let [low, high, _] = self.coefficients;
        self.kind == Kind::SquareRoot && !(t > low && t < high)
    }

    /// ln u at `t`, with its derivative by one coefficient.
    fn along(&self, t: f64, which: usize) -> Jet {
        let seeded = |i: usize| Jet::new(self.coefficients[i], if i == which { 1.0 } else { 0.0 });
        self.ln_u(Jet::constant(t), std::array::from_fn(seeded))
    }

    fn ln_u<N: Scalar>(&self, t: N, [a, b, c]: [N; 3]) -> N {
        match self.kind {
            Kind::SquareRoot => {
                let bent = -(c * (t - b)).exp_m1();
                ((t - a).ln() + bent.ln()) * 2.0
            }
            Kind::Arrhenius => {
                let one = N::constant(1.0);
                let kelvin = t + ZERO_C;
                let inverse = one / kelvin;
                let switch = (b / GAS_CONSTANT) * (one / (c + ZERO_C) - inverse);
                (kelvin / T25).ln() + (a / GAS_CONSTANT) * -(inverse - 1.0 / T25) - switch.exp().ln_1p()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::simulate::truth::Warmth;

    fn both() -> [OtherRate; 2] {
        [
            OtherRate::square_root(0.107, 35.5, 45.5).expect("the medians have a square root form"),
            OtherRate::arrhenius(0.107, 35.5, 250.0).expect("and an Arrhenius form"),
        ]
    }

    #[test]
    fn they_give_back_what_they_are_told_by() {
        for rate in both() {
            assert!((rate.at(25.0) - 1.0).abs() < 1e-13);
            assert!((rate.at(4.0) - 0.107).abs() < 1e-12, "{rate:?}: {}", rate.at(4.0));
            assert!(rate.point(35.5).by_t.abs() < 1e-9, "{rate:?}: {}", rate.point(35.5).by_t);
            assert!(rate.at(33.0) < rate.at(35.5) && rate.at(38.0) < rate.at(35.5));
        }
    }

    /// The invented kitchens write the same two forms out by themselves, from their own coefficients.
    #[test]
    fn they_agree_with_the_forms_of_invented_kitchens() {
        let [root, arrhenius] = both();
        let [t_min, t_max, c] = root.coefficients();
        let [energy, switch_energy, switch_c] = arrhenius.coefficients();
        let pairs = [
            (root, Warmth::SquareRoot { t_min, t_max, c }),
            (arrhenius, Warmth::Arrhenius { energy, switch_energy, switch_c }),
        ];
        for (rate, other) in pairs {
            for t in [-2.0, 4.0, 12.0, 25.0, 31.0, 40.0, 46.0] {
                assert!((rate.at(t) - other.at(t)).abs() < 1e-12, "{t}: {} {}", rate.at(t), other.at(t));
            }
        }
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
                    assert!((found - difference).abs() < 1e-6 * difference.abs().max(1e-6), "{i} {t}: {found} {difference}");
                }
            }
        }
    }
}
