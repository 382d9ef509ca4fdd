//! Small lasting shifts: where the moving average or the cumulative sums begin to signal.
//!
//! Single points and runs find large steps; these two find steps of about one sigma sooner. Told apart from the run rules,
//! so that the false-alarm rate said for those stays true; theirs stand in [`super::ewma`] and [`super::cusum`].

use std::ops::Range;

use schemars::JsonSchema;
use serde::Serialize;

use super::cusum::Cusum;
use super::ewma::Ewma;
use super::series::Point;
use super::stretch::Stretch;
use crate::dough::When;

/// Which chart signals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Chart {
    /// The moving average lies beyond its limits.
    MovingAverage,
    /// A cumulative sum exceeds its limit.
    CumulativeSum,
}

/// Batches in a row at which a chart signals.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Drift {
    /// Which chart.
    pub chart: Chart,
    /// Whether the values lie too high.
    pub high: bool,
    /// The first batch of the row.
    pub batch_id: String,
    /// When it was mixed.
    pub when: When,
    /// How many batches in a row.
    pub batches: usize,
}

impl Chart {
    /// What it says, in words.
    pub fn says(self) -> &'static str {
        match self {
            Self::MovingAverage => "the moving average is beyond its limits",
            Self::CumulativeSum => "small misses on one side have added up",
        }
    }
}

/// The drifts among a stretch's batches, in time order; `points` are those of the whole series.
pub fn drifts(stretch: &Stretch, points: &[Point]) -> Vec<Drift> {
    let own = &points[stretch.batches.clone()];
    let average = stretch
        .ewma
        .iter()
        .flat_map(|e: &Ewma| runs(&e.signals).map(|r| (Chart::MovingAverage, e.values[r.start] > 0.0, r)));
    let sums = stretch.cusum.iter().flat_map(|c: &Cusum| {
        runs(&c.signals).map(|r| (Chart::CumulativeSum, c.high[r.start] > c.low[r.start], r))
    });
    let mut found: Vec<Drift> = average
        .chain(sums)
        .map(|(chart, high, run)| {
            let first = &own[run.start];
            Drift { chart, high, batch_id: first.batch_id.clone(), when: first.when, batches: run.len() }
        })
        .collect();
    found.sort_by_key(|d| d.when);
    found
}

/// Rows of neighbouring positions.
fn runs(positions: &[usize]) -> impl Iterator<Item = Range<usize>> {
    positions.chunk_by(|a, b| a + 1 == *b).map(|run| run[0]..run[run.len() - 1] + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_of_signals_are_told_once_with_their_side_and_their_first_batch() {
        let point = |i: usize| Point {
            batch_id: format!("b{i}"),
            when: format!("2026-01-{:02}", 1 + i).parse().unwrap(),
            value: 0.0,
            subgroup: None,
        };
        let points: Vec<Point> = (0..12).map(point).collect();
        let ewma = Ewma {
            values: vec![0.0, 0.0, 0.0, 0.0, 0.9, 0.9, 0.9, 0.0, -0.9],
            lower: vec![-0.5; 9],
            upper: vec![0.5; 9],
            signals: vec![4, 5, 6, 8],
        };
        let cusum = Cusum { high: vec![0.0; 9], low: vec![6.0; 9], limit: 5.0, signals: vec![0, 1] };
        let stretch = Stretch {
            name: "since".into(),
            batches: 2..11,
            mean: 0.0,
            limits: None,
            moving_range: None,
            ewma: Some(ewma),
            cusum: Some(cusum),
        };
        let told: Vec<(Chart, bool, String, usize)> =
            drifts(&stretch, &points).into_iter().map(|d| (d.chart, d.high, d.batch_id, d.batches)).collect();
        assert_eq!(
            told,
            [
                (Chart::CumulativeSum, false, "b2".to_string(), 2),
                (Chart::MovingAverage, true, "b6".to_string(), 3),
                (Chart::MovingAverage, false, "b10".to_string(), 1),
            ]
        );
        assert_ne!(Chart::MovingAverage.says(), Chart::CumulativeSum.says());
    }
}
