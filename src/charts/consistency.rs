//! What a consistency chart shows, and the words and the table that go with it: one value a batch in the order of
//! baking, with centre, limits and what asks for attention.

use super::axis::Scale;
use super::figure::{Table, count, number};
use super::lettering;
use super::ticks::{date_text, signed};
use crate::dough::units::UnitSystem;

/// What is watched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// ln(rise / target rise): drawn as a change in percent.
    Miss,
    /// Temperature of the dough less the temperature aimed at, in degrees of these units.
    DoughTemp(UnitSystem),
    /// The baker's score of the crust, 1 to 10.
    CrustScore,
    /// Hours late (positive) or early against the plan.
    HoursLate,
}

/// The data of a consistency chart.
#[derive(Debug, Clone, PartialEq)]
pub struct ConsistencyChart {
    /// What is watched.
    pub measure: Measure,
    /// The batches in order.
    pub batches: Vec<WatchedBatch>,
    /// Stretches of batches with limits of their own, in order.
    pub phases: Vec<Phase>,
    /// What the baker would be content with: lower and upper end, in the measure's unit.
    pub target_band: Option<(f64, f64)>,
    /// What is to be read from it, in a sentence; it stands below the picture.
    pub said: String,
}

/// One batch.
#[derive(Debug, Clone, PartialEq)]
pub struct WatchedBatch {
    /// The batch.
    pub batch_id: String,
    /// Days since 1970-01-01, local.
    pub when_days: f64,
    /// The value, in the measure's unit.
    pub value: f64,
    /// The rules that this batch sets off, in words.
    pub signals: Vec<String>,
}

/// A stretch of batches with a centre and limits of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct Phase {
    /// What sets it apart, such as "new fridge".
    pub name: String,
    /// Index of its first batch.
    pub first: usize,
    /// Index of its last batch.
    pub last: usize,
    /// Centre line, in the measure's unit.
    pub center: f64,
    /// Lower limit.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
}

impl Measure {
    pub(super) fn title(self) -> &'static str {
        match self {
            Self::Miss => "How steady: the miss of the target rise",
            Self::DoughTemp(_) => "How steady: the dough's temperature",
            Self::CrustScore => "How steady: the crust's score",
            Self::HoursLate => "How steady: early or late",
        }
    }

    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Miss => "consistency-miss",
            Self::DoughTemp(_) => "consistency-dough-temperature",
            Self::CrustScore => "consistency-crust-score",
            Self::HoursLate => "consistency-hours-late",
        }
    }

    pub(super) fn axis(self) -> (&'static str, Scale) {
        match self {
            Self::Miss => ("miss of the target rise, %", Scale::Change),
            Self::DoughTemp(UnitSystem::Metric) => ("dough less its aim, °C", Scale::Linear),
            Self::DoughTemp(UnitSystem::Us) => ("dough less its aim, °F", Scale::Linear),
            Self::CrustScore => ("score of the crust, 1 to 10", Scale::Linear),
            Self::HoursLate => ("late (+) or early (−), hours", Scale::Linear),
        }
    }

    fn unit(self) -> &'static str {
        match self {
            Self::Miss => " %",
            Self::DoughTemp(UnitSystem::Metric) => " °C",
            Self::DoughTemp(UnitSystem::Us) => " °F",
            Self::CrustScore => "",
            Self::HoursLate => " hours",
        }
    }

    fn text(self, value: f64) -> String {
        match self {
            Self::Miss => signed(100.0 * value.exp_m1(), 1),
            Self::DoughTemp(_) | Self::HoursLate => signed(value, 1),
            Self::CrustScore => number(value, 1),
        }
    }
}

impl ConsistencyChart {
    pub(super) fn describe(&self) -> String {
        let signals: Vec<&WatchedBatch> = self.batches.iter().filter(|b| !b.signals.is_empty()).collect();
        let unit = self.measure.unit();
        let mut text = format!("{} batches in order.", count(self.batches.len()));
        if !self.said.is_empty() {
            text = format!("{} {text}", lettering::clean(&self.said));
        }
        if let Some(phase) = self.phases.last() {
            let [center, lower, upper] =
                [phase.center, phase.lower, phase.upper].map(|v| self.measure.text(v));
            text += &format!(
                " The latest centre is {center}{unit}, its limits are {lower}{unit} and {upper}{unit}."
            );
        }
        match signals.last() {
            None => text += " No batch asks for attention.",
            Some(last) => {
                text += &format!(
                    " {} ask for attention, last {}: {}.",
                    count(signals.len()),
                    lettering::clean(&last.batch_id),
                    last.signals.join(", ")
                );
            }
        }
        text
    }

    pub(super) fn table(&self) -> Table {
        let phase_of = |i: usize| self.phases.iter().find(|p| (p.first..=p.last).contains(&i));
        Table::new(
            ["batch", "date", self.measure.axis().0, "centre", "lower limit", "upper limit", "signals"],
            self.batches.iter().enumerate().map(|(i, b)| {
                let line = |of: fn(&Phase) -> f64| {
                    phase_of(i).map_or("–".to_owned(), |p| self.measure.text(of(p)))
                };
                let [center, lower, upper] = [line(|p| p.center), line(|p| p.lower), line(|p| p.upper)];
                let (date, value) = (date_text(b.when_days), self.measure.text(b.value));
                [b.batch_id.clone(), date, value, center, lower, upper, b.signals.join(", ")]
            }),
        )
    }
}
