//! What one would know who knew an invented kitchen: its true rise without chance, and the yeast for a target.

use crate::dough::Batch;
use crate::physics::course::Output;

use super::kitchen::Kitchen;
use super::season::Day;

/// Yeast that solves for a target is looked for between these, in % of all flour.
const YEAST_RANGE_PCT: (f64, f64) = (0.005, 8.0);
/// How near to the target that yeast brings ln rise.
const YEAST_ACCURACY: f64 = 1e-3;

impl Kitchen {
    /// ln rise at the end that a plan truly gives on a day, without any chance.
    pub fn true_ln_rise(&self, plan: &Batch, day: &Day) -> f64 {
        let mut course = self.course(plan, day);
        course.outputs = vec![Output::Rise(course.segments.len())];
        self.truth.follow(&course, self.ln_effect(plan), self.air(plan, day))[0].value
    }

    /// The yeast in g that brings a plan to its target rise on a day: what an oracle that knows the kitchen would
    /// weigh. `None` without a target or flour; the nearest the range allows when it cannot be met.
    pub fn yeast_for(&self, plan: &Batch, day: &Day) -> Option<f64> {
        let (target, flour) = (plan.target_rise?.ln(), plan.flour_g?);
        let grams = |ln_pct: f64| flour * ln_pct.exp() / 100.0;
        let with = |ln_pct: f64| Batch { yeast_g: Some(grams(ln_pct)), ..plan.clone() };
        let miss = |ln_pct: f64| self.true_ln_rise(&with(ln_pct), day) - target;
        let (mut low, mut high) = (YEAST_RANGE_PCT.0.ln(), YEAST_RANGE_PCT.1.ln());
        let (mut at_low, mut at_high) = (miss(low), miss(high));
        if at_low >= 0.0 || at_high <= 0.0 {
            return Some(grams(if at_low >= 0.0 { low } else { high }));
        }
        // False position with the Illinois rule: an end that stays twice counts half.
        let mut stayed = 0;
        for _ in 0..40 {
            let middle = (low * at_high - high * at_low) / (at_high - at_low);
            let at = miss(middle);
            if at.abs() < YEAST_ACCURACY {
                return Some(grams(middle));
            }
            if at < 0.0 {
                (low, at_low) = (middle, at);
                at_high *= if stayed == -1 { 0.5 } else { 1.0 };
                stayed = -1;
            } else {
                (high, at_high) = (middle, at);
                at_low *= if stayed == 1 { 0.5 } else { 1.0 };
                stayed = 1;
            }
        }
        Some(grams(0.5 * (low + high)))
    }
}
