//! Vigour that drifts: a slow random walk on ln k over dates, beside the effects of lots.
//!
//! Time is cut into periods of some weeks. The level of the first is zero; from one to the next it steps by
//! s sqrt(days/30) z, z standard normal, s the drift's spread a month. An old packet of yeast or a starter that tires
//! shows as a run of steps to one side, and so does a fridge whose thermometer no longer says the truth.
//!
//! Symbols: level on ln k, without unit; s per root of a month, half-normal (a choice, no source). Source: the local
//! level model of Harvey 1989, *Forecasting, Structural Time Series Models and the Kalman Filter*, ch. 2.
//! Limits: a step of vigour and a step of temperature look alike here; batches of one period share one level.

use std::ops::Range;

use jiff::ToSpan;
use jiff::civil::{Date, date};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::dough::Batch;

use super::fit::{Fit, quantile};
use super::priors::{Form, Prior};

/// A period is at least so long, days.
const SHORTEST_DAYS: f64 = 14.0;
/// There are at most so many periods.
const MOST_PERIODS: f64 = 30.0;
/// Fewer periods than this say nothing of a drift.
const FEWEST_PERIODS: usize = 3;
/// Days of the month that the spread is told for.
const MONTH: f64 = 30.0;

/// Spread of the drift on ln k, a month.
const SPREAD: Form = Form::HalfNormal { sd: 0.05 };

/// Periods of equal length.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Periods {
    /// Day the first begins, since 1970-01-01.
    pub first_day: f64,
    /// Length in days.
    pub days: f64,
    /// How many.
    pub count: usize,
}

impl Periods {
    /// Over the dates of batches; `None` when they span too little time.
    pub fn over(batches: &[Batch]) -> Option<Self> {
        let days = || batches.iter().filter_map(|b| b.date).map(|d| d.days());
        let first_day = days().reduce(f64::min)?.floor();
        let span = days().reduce(f64::max)? - first_day;
        let length = SHORTEST_DAYS.max((span / MOST_PERIODS).ceil());
        let count = (span / length).floor() as usize + 1;
        (count >= FEWEST_PERIODS).then_some(Self { first_day, days: length, count })
    }

    /// Which period a day (since 1970-01-01) falls into, from 0; the first or last for days before or after all.
    pub fn of(&self, day: f64) -> usize {
        (((day - self.first_day) / self.days).max(0.0) as usize).min(self.count - 1)
    }

    /// Date at which a period begins.
    pub fn begins(&self, period: usize) -> Date {
        let day = self.first_day + self.days * period as f64;
        date(1970, 1, 1).checked_add((day as i64).days()).unwrap_or(Date::MAX)
    }
}

/// The drift's place in the vector x.
#[derive(Debug, Clone, PartialEq)]
pub struct Drift {
    /// Where its spread stands.
    pub spread: usize,
    /// Where its steps stand, one from each period to the next.
    pub steps: Range<usize>,
    /// The periods.
    pub periods: Periods,
}

/// Priors of the spread and of each step, in the order in which they stand.
pub fn priors(periods: &Periods) -> Vec<Prior> {
    let spread = Prior::new("drift_spread", "of ln vigour a month", SPREAD, "how fast vigour drifts");
    let step = |period: usize| {
        Prior::new(
            format!("drift_{}", periods.begins(period)),
            "of ln vigour",
            Form::Normal { mean: 0.0, sd: 1.0 },
            "step of the vigour at this date",
        )
    };
    std::iter::once(spread).chain((1..periods.count).map(step)).collect()
}

impl Drift {
    /// Of priors that stand from `from` on.
    pub fn new(from: usize, periods: Periods) -> Self {
        Self { spread: from, steps: from + 1..from + periods.count, periods }
    }

    /// ln k a unit step, and its derivative by the spread's number.
    fn scale(&self, x: &[f64]) -> (f64, f64) {
        let (spread, slope) = SPREAD.value(x[self.spread]);
        let root = (self.periods.days / MONTH).sqrt();
        (spread * root, slope * root)
    }

    /// Turns derivatives by the level of each period (`by_level`, one a period) into derivatives by x, added to `gradient`,
    /// which is as long as x.
    pub fn add_gradient(&self, x: &[f64], by_level: &[f64], gradient: &mut [f64]) {
        let (scale, slope) = self.scale(x);
        let mut after: f64 = by_level.iter().sum();
        for (step, by) in self.steps.clone().zip(by_level) {
            after -= by;
            gradient[step] += after * scale;
            gradient[self.spread] += after * slope * x[step];
        }
    }

    /// The step, on ln k, that stands at place `which` of x.
    pub fn step(&self, x: &[f64], which: usize) -> f64 {
        self.scale(x).0 * x[which]
    }

    /// Level of each period on ln k, that of the first zero.
    pub fn levels(&self, x: &[f64]) -> Vec<f64> {
        let scale = self.scale(x).0;
        let mut level = 0.0;
        let steps = x[self.steps.clone()].iter().map(|z| {
            level += scale * z;
            level
        });
        std::iter::once(0.0).chain(steps).collect()
    }

    /// Variance on ln k that the level gains from the last period to the next.
    pub fn next_variance(&self, x: &[f64]) -> f64 {
        self.scale(x).0.powi(2)
    }
}

/// The largest change of vigour that a fit with drift is sure of.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Change {
    /// Begin of the period it starts from.
    pub from: String,
    /// Begin of the period it leads to.
    pub to: String,
    /// Vigour afterwards over vigour before: 5 %, 50 % and 95 % points.
    pub times: [f64; 3],
}

/// How many standard deviations a change must lie from none to be told (two-sided 5 % before looking at all pairs;
/// a choice, since neighbouring pairs are nearly one).
const SURE: f64 = 2.5;

/// The surest change between two periods; `None` without drift, or when no change is sure.
pub fn change(fit: &Fit) -> Option<Change> {
    let layout = fit.layout();
    let drift = layout.drift.as_ref()?;
    let levels: Vec<Vec<f64>> =
        fit.draws.chunks_exact(layout.shared.len()).map(|x| drift.levels(x)).collect();
    let n = levels.len() as f64;
    let mut best: Option<(f64, usize, usize)> = None;
    for from in 0..drift.periods.count {
        for to in from + 1..drift.periods.count {
            let change = || levels.iter().map(|l| l[to] - l[from]);
            let mean = change().sum::<f64>() / n;
            let sd = (change().map(|c| (c - mean).powi(2)).sum::<f64>() / n).sqrt();
            let sure = mean.abs() / sd;
            if sure > SURE && best.is_none_or(|(most, ..)| sure > most) {
                best = Some((sure, from, to));
            }
        }
    }
    let (_, from, to) = best?;
    let mut times: Vec<f64> = levels.iter().map(|l| (l[to] - l[from]).exp()).collect();
    times.sort_by(f64::total_cmp);
    Some(Change {
        from: drift.periods.begins(from).to_string(),
        to: drift.periods.begins(to).to_string(),
        times: [0.05, 0.50, 0.95].map(|p| quantile(&times, p)),
    })
}

impl Change {
    /// What happened, and what to look at.
    pub fn says(&self) -> String {
        let [low, middle, high] = self.times.map(|t| 100.0 * (t - 1.0));
        let verb = if middle < 0.0 { "fell" } else { "rose" };
        let look = if middle < 0.0 {
            "look at the yeast's age and how it is kept, and at the fridge's thermometer"
        } else {
            "was there new yeast or flour, or has the fridge become warmer?"
        };
        format!(
            "vigour {verb} by {:.0} % ({:.0} to {:.0} %) between {} and {}: {look}",
            middle.abs(),
            low.abs().min(high.abs()),
            low.abs().max(high.abs()),
            self.from,
            self.to
        )
    }
}
