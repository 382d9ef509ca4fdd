//! One dough followed through time, by small steps.
//!
//! Integrates with the classical Runge-Kutta method of fourth order, in clock hours, for each shell of a piece
//! (one shell when it is a lump): temperature T in °C, ln q (the waking of fresh yeast, Baranyi & Roberts 1994,
//! Int. J. Food Microbiol. 23:277-294) and gas G in mL (25 °C, 1 atm) per 100 g flour:
//!
//! - dT/dt = heat flowing in + heat of fermentation; lump: (E - T)/tau
//! - dln q/dt = r(T) h0/lag, awake share q/(1+q)
//! - dG/dt = r(T) (a + mu G) slowing(G/M) (fresh awake share + carried)/(fresh + carried)
//!
//! Symbols as in [`crate::physics::course`]. Nothing here uses the closed forms of thermal time, lag or gas, and
//! the share of CO2 between water and air cells is found by bisection.
//!
//! Limits: as of [`super::truth`].

use crate::physics::course::{Course, Output, Preferment, Segment};
use crate::physics::gas::ML_PER_PERCENT_SUGAR;
use crate::physics::lag::H0;
use crate::physics::rise::Matrix;
use crate::physics::solubility::{T25, ZERO_C, solubility};

use super::piece::Piece;
use super::truth::Truth;

/// The longest step in h.
pub(super) const STEP_H: f64 = 0.01;

/// One output of a course as it truly was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found {
    /// ln rise, or °C.
    pub value: f64,
    /// ln of the rise that a flour without limit would have had, or the same °C.
    pub unbounded: f64,
}

/// Yeast at work in one vessel.
pub(super) struct Yeast<'a> {
    pub(super) truth: &'a Truth,
    /// Starting rates in mL/h, before salt: yeast that must wake, and yeast that came awake.
    fresh: f64,
    carried: f64,
    salted: f64,
    lag: f64,
    ceiling: f64,
}

impl Yeast<'_> {
    /// dln q/dt and dG/dt at temperature `t`.
    pub(super) fn slopes(&self, t: f64, ln_q: f64, gas: f64) -> (f64, f64) {
        let p = &self.truth.parameters;
        let r = self.truth.warmth.at(t);
        let awake = 1.0 / (1.0 + (-ln_q).exp());
        let total = self.fresh + self.carried;
        let working = (self.fresh * awake + self.carried) / total;
        let growing = self.salted * (total + p.mu * gas);
        (r * H0 / self.lag, r * growing * self.truth.slowing.at(gas / self.ceiling) * working)
    }
}

/// ln q of yeast that is asleep.
pub(super) fn asleep() -> f64 {
    -H0.exp_m1().ln()
}

impl Truth {
    /// The true outputs of a course. `ln_effect` adds to ln k; `around` gives the temperature in °C in a segment
    /// so many hours after mixing (the segment's own `around_c` for a steady place).
    pub fn follow(
        &self,
        course: &Course,
        ln_effect: f64,
        around: impl Fn(&Segment, f64) -> f64,
    ) -> Vec<Found> {
        let p = &self.parameters;
        let k = p.k * ln_effect.exp();
        let vessel = |v: &Preferment, hours: f64| self.ripen(v, k, course.lag_factor, hours);
        let ripe = course.preferment.as_ref().map(|v| vessel(v, v.hours));
        let carried = match (&course.preferment, ripe) {
            (Some(v), Some(gas)) => v.share * (k * v.yeast_pct + p.mu * gas),
            _ => 0.0,
        };
        let yeast = Yeast {
            truth: self,
            fresh: k * course.fresh_pct,
            carried,
            salted: (-p.salt * course.salt_pct).exp(),
            lag: p.lag * course.lag_factor,
            ceiling: p.ceiling + ML_PER_PERCENT_SUGAR * course.sugar_pct,
        };
        let mut piece = Piece::new(self.cooling, course.start_c(p));
        let mut moments = vec![(piece.rise(self, &course.matrix), piece.mean_c())];
        let mut hours = 0.0;
        for (i, segment) in course.segments.iter().enumerate() {
            let divided = i > 0 && course.segments[i - 1].tau_factor != segment.tau_factor;
            if divided {
                piece.mix();
            }
            piece.advance(&yeast, segment, hours, &around);
            hours += segment.hours;
            moments.push((piece.rise(self, &course.matrix), piece.mean_c()));
        }
        let degrees = |t: f64| Found { value: t, unbounded: t };
        let found = |output: &Output| match *output {
            Output::Rise(n) => moments[n].0,
            Output::Temperature(n) => degrees(moments[n].1),
            Output::MixedTemperature => degrees(course.mixing.map_or(f64::NAN, |m| m.dough_c(p))),
            Output::PrefermentRise(h) => course.preferment.as_ref().map_or(degrees(f64::NAN), |v| {
                bounded(
                    p.kept_preferment * co2(&v.matrix, vessel(v, h), v.temp_c) / v.matrix.volume_ml,
                    p.max_rise,
                )
            }),
        };
        course.outputs.iter().map(found).collect()
    }

    /// Gas of a preferment after `hours`, in mL per 100 g of its flour.
    fn ripen(&self, v: &Preferment, k: f64, lag_factor: f64, hours: f64) -> f64 {
        let p = &self.parameters;
        let yeast = Yeast {
            truth: self,
            fresh: k * v.yeast_pct,
            carried: 0.0,
            salted: 1.0,
            lag: p.lag * lag_factor,
            ceiling: p.ceiling,
        };
        let mut state = [asleep(), 0.0];
        steps(&mut state, 0.0, hours, STEP_H, |_, y, dy| (dy[0], dy[1]) = yeast.slopes(v.temp_c, y[0], y[1]));
        state[1]
    }
}

/// Runge-Kutta steps of at most `longest` h over `hours` h.
pub(super) fn steps(
    y: &mut [f64],
    from: f64,
    hours: f64,
    longest: f64,
    slope: impl Fn(f64, &[f64], &mut [f64]),
) {
    let count = (hours / longest).ceil();
    let h = hours / count;
    let n = y.len();
    let (mut k, mut at) = (vec![vec![0.0; n]; 4], vec![0.0; n]);
    for step in 0..count as usize {
        let t = from + step as f64 * h;
        slope(t, y, &mut k[0]);
        for (stage, share) in [(1, 0.5), (2, 0.5), (3, 1.0)] {
            for i in 0..n {
                at[i] = y[i] + share * h * k[stage - 1][i];
            }
            slope(t + share * h, &at, &mut k[stage]);
        }
        for i in 0..n {
            y[i] += h / 6.0 * (k[0][i] + 2.0 * k[1][i] + 2.0 * k[2][i] + k[3][i]);
        }
    }
}

/// mL of CO2 in the cells of 100 g of flour's dough when `gas` mL (25 °C) were made and it stands at `t` °C.
pub(super) fn co2(matrix: &Matrix, gas: f64, t: f64) -> f64 {
    let swollen = gas * (t + ZERO_C) / T25;
    let dissolved = solubility(t).0 * matrix.water_ml;
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let p = 0.5 * (low + high);
        if dissolved * p + matrix.air_ml * p / (1.0 - p) < swollen { low = p } else { high = p }
    }
    matrix.air_ml * low / (1.0 - low)
}

/// ln rise of a dough that would have grown by the share `x` without the flour's limit.
pub(super) fn bounded(x: f64, max_rise: f64) -> Found {
    let m = max_rise - 1.0;
    let risen = x / (1.0 + (x / m).powi(8)).powf(0.125);
    Found { value: risen.ln_1p(), unbounded: x.ln_1p() }
}
