//! Batches that share limits, with the charts drawn over them.

use std::ops::Range;

use serde::Serialize;

use super::caution::Caution;
use super::cusum::{self, Cusum, cusum};
use super::ewma::{self, Ewma, ewma};
use super::individuals::MovingRange;
use super::limits::{Limits, Shape};
use super::rules::{Rule, Signal, signals};
use super::sample::mean;
use super::segments::Segment;
use super::series::Point;

/// Consecutive batches under one set of limits.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stretch {
    /// The phase.
    pub name: String,
    /// Its batches, as positions in the series.
    pub batches: Range<usize>,
    /// Mean of its batches.
    pub mean: f64,
    /// `None` for a single batch in the base period, or without a spread there.
    pub limits: Option<Limits>,
    /// Moving ranges; `None` for a single batch.
    pub moving_range: Option<MovingRange>,
    /// In sigmas from the center; `None` without limits.
    pub ewma: Option<Ewma>,
    /// In sigmas from the center; `None` without limits.
    pub cusum: Option<Cusum>,
}

impl Stretch {
    /// The batches of a segment, judged by limits from `base`, positions within the segment.
    pub(super) fn of(values: &[f64], segment: &Segment, base: Range<usize>, shape: &Shape) -> Self {
        let own = &values[segment.batches.clone()];
        let limits = Limits::of(own, base, shape);
        let z = limits.as_ref().map(|l| l.z.as_slice());
        Self {
            name: segment.name.clone(),
            batches: segment.batches.clone(),
            mean: mean(own),
            moving_range: MovingRange::of(own),
            ewma: z.map(|z| ewma(z, 0.0, 1.0, ewma::WEIGHT, ewma::WIDTH)),
            cusum: z.map(|z| cusum(z, 0.0, cusum::SLACK, cusum::DECISION)),
            limits,
        }
    }

    /// The signals of `rules` among its batches; `points` are those of the whole series.
    pub fn signals(&self, points: &[Point], rules: &[Rule]) -> Vec<Signal> {
        let z = self.limits.as_ref().map_or(&[][..], |l| &l.z);
        signals(&points[self.batches.clone()], z, rules)
    }

    /// What its limits lack.
    pub(super) fn caution(&self) -> Option<Caution> {
        let (phase, batches) = (self.name.clone(), self.batches.len());
        match &self.limits {
            Some(l) if l.provisional() => Some(Caution::Provisional { phase, batches: l.base_batches }),
            Some(_) => None,
            None if batches == 1 => Some(Caution::SingleBatch { phase }),
            None => Some(Caution::NoSpread { phase, batches }),
        }
    }
}
