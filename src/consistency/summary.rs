//! What the command line says of a [`Study`], in words and as JSON. Center, sigma, limits, usual range and capability
//! are those of the latest phase.

use schemars::JsonSchema;
use serde::Serialize;

use super::capability::Capability;
use super::caution::Caution;
use super::change::Position;
use super::drift::{Drift, drifts};
use super::false_alarms::FalseAlarms;
use super::limits::Method;
use super::measure::Measure;
use super::rules::Signal;
use super::sample::Quantiles;
use super::spread::Verdict;
use super::study::{PhaseSpread, Study};
use super::subgroups::XbarS;
use super::usual::Usual;
use crate::dough::When;

/// The lower and the upper limit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Bounds {
    /// Lower limit.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
}

/// The likeliest change, without its list of positions.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ChangeInBrief {
    /// Chance that level or spread changed at all.
    pub probability: f64,
    /// The likeliest first batch after it.
    pub most_likely: Position,
    /// With 90 % chance it lies between these days, if there was one.
    pub between: (When, When),
    /// Mean after less mean before, if there was one.
    pub level_shift: Quantiles,
    /// Spread after over spread before, if there was one.
    pub spread_ratio: Quantiles,
}

/// The summary, in the unit of the measure.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Summary {
    /// What was measured.
    pub measure: Measure,
    /// How many batches.
    pub batches: usize,
    /// The middle line.
    pub center: f64,
    /// One standard deviation; `None` when there is no spread to tell.
    pub sigma: Option<f64>,
    /// The control limits; `None` when there is no spread to tell.
    pub limits: Option<Bounds>,
    /// How they were found.
    pub method: Option<Method>,
    /// Whether fewer than 20 batches stand behind the limits.
    pub provisional: bool,
    /// All signals, in time order.
    pub signals: Vec<Signal>,
    /// Small lasting shifts, in time order.
    pub drifts: Vec<Drift>,
    /// Days with several batches.
    pub subgroups: Option<XbarS>,
    /// How often the rules cry wolf.
    pub false_alarms: FalseAlarms,
    /// Against the baker's own limits, where given.
    pub capability: Option<Capability>,
    /// Where 9 of 10 batches land.
    pub usual: Option<Usual>,
    /// Spread after over spread before.
    pub spread_ratio: Option<Quantiles>,
    /// Steadier, less steady, or not told.
    pub verdict: Verdict,
    /// The sentence that says so.
    pub improvement: String,
    /// The phases.
    pub phases: Vec<PhaseSpread>,
    /// The likeliest change.
    pub change: Option<ChangeInBrief>,
    /// What to beware of.
    pub cautions: Vec<Caution>,
}

impl Study {
    /// What is said of it.
    pub fn summary(&self) -> Summary {
        let latest = self.stretches.last();
        let limits = latest.and_then(|s| s.limits.as_ref());
        let mean = latest.map_or(0.0, |s| s.mean);
        Summary {
            measure: self.series.measure(),
            batches: self.series.points().len(),
            center: limits.map_or(mean, |l| l.center),
            sigma: limits.map(|l| l.sigma),
            limits: limits.map(|l| Bounds { lower: l.lower, upper: l.upper }),
            method: limits.map(|l| l.method),
            provisional: limits.is_none_or(|l| l.provisional()),
            signals: self.signals.clone(),
            drifts: self.stretches.iter().flat_map(|s| drifts(s, self.series.points())).collect(),
            subgroups: self.subgroups.clone(),
            false_alarms: self.false_alarms,
            capability: self.capability.clone(),
            usual: self.usual.clone(),
            spread_ratio: self.improvement.ratio(),
            verdict: self.improvement.verdict(),
            improvement: self.improvement.to_string(),
            phases: self.phases.clone(),
            change: self.change.as_ref().map(|c| ChangeInBrief {
                probability: c.probability,
                most_likely: c.most_likely.clone(),
                between: c.between,
                level_shift: c.level_shift,
                spread_ratio: c.spread_ratio,
            }),
            cautions: self.cautions.clone(),
        }
    }
}
