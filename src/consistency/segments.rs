//! Which batches belong to which phase.

use std::ops::Range;

use super::phase::Phase;
use super::sample::{mean, positive_sd};
use super::series::Series;

/// The batches of one phase.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Segment {
    /// The phase.
    pub name: String,
    /// Its batches, as positions in the series.
    pub batches: Range<usize>,
}

/// Cuts the series at its phases; the second answer names the phases that no batch lies in.
pub(super) fn segments(series: &Series, phases: &[Phase]) -> (Vec<Segment>, Vec<String>) {
    let n = series.points().len();
    let mut marks: Vec<&Phase> = phases.iter().collect();
    marks.sort_by_key(|p| p.from);
    let starts: Vec<usize> = marks.iter().map(|p| series.index_at(p.from)).collect();
    let before = match marks.first() {
        Some(first) => Segment { name: format!("before {}", first.name), batches: 0..starts[0] },
        None => Segment { name: "all batches".into(), batches: 0..n },
    };
    let ends = starts.iter().skip(1).copied().chain([n]);
    let named = marks.iter().zip(&starts).zip(ends);
    let named = named.map(|((p, start), end)| Segment { name: p.name.clone(), batches: *start..end });
    let (with, without): (Vec<_>, Vec<_>) =
        [before].into_iter().chain(named).partition(|s| !s.batches.is_empty());
    let missing = without.into_iter().map(|s| s.name).filter(|name| marks.iter().any(|p| p.name == *name));
    (with, missing.collect())
}

/// Values with each phase's mean taken out and its spread made one; phases of a single batch, or without a
/// spread, are left out.
pub(super) fn standardised(values: &[f64], segments: &[Segment]) -> Vec<f64> {
    let of = |s: &Segment| {
        let part = &values[s.batches.clone()];
        let spread = positive_sd(part)?;
        let center = mean(part);
        Some(part.iter().map(|x| (x - center) / spread).collect::<Vec<_>>())
    };
    segments.iter().filter_map(of).flatten().collect()
}
