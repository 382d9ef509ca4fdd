//! How much of the sugar that the yeast can use is left at the oven, which colours the crust.
//!
//! Computes 1 - G/M: G the gas that the dough has made and M the gas that its sugars can give, both in mL per 100 g
//! flour, by the same closed form as the rise ([`super::course`]).
//!
//! Limits: a share of what the yeast could still turn into gas, not of all sugar; what a preferment used is left out.

use super::course::{Course, Parameters, Workspace};
use super::gas::{ML_PER_PERCENT_SUGAR, gas};
use super::lag::awake;

/// The share left after the whole course, 0 to 1; `k` is the kitchen's k times what the lots do to it.
pub fn left(course: &Course, p: &Parameters, k: f64) -> f64 {
    let mut ws = Workspace::<f64>::default();
    course.forward(p, k, &mut ws);
    let theta = ws.theta_after(course.segments.len());
    let fresh = k * course.fresh_pct;
    let carried = course.preferment.map_or(0.0, |v| {
        let ripe = v.ripen(p, k, course.lag_factor, v.hours);
        v.share * (ripe.own_rate + ripe.gas.ml * p.mu)
    });
    let salted = (-p.salt * course.salt_pct).exp();
    let total = fresh + carried;
    let time = (fresh * awake(theta, p.lag * course.lag_factor).hours + carried * theta) / total;
    let ceiling = p.ceiling + ML_PER_PERCENT_SUGAR * course.sugar_pct;
    1.0 - gas(total * salted, p.mu * salted, ceiling, time).ml / ceiling
}
