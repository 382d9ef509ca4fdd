//! What stands behind the misses of a kitchen: plans followed or not, and where the spread comes from.

use schemars::JsonSchema;
use serde::Serialize;

use crate::charts::{self, ChartError, Figure, VarianceShare};
use crate::consistency::Measure;
use crate::consistency::followed::{Comparison, Row, compare, is_followed};
use crate::consistency::shares::{Share, Source, shares};
use crate::dough::Batch;
use crate::inference::fit::Fit;
use crate::inference::prepare::Records;
use crate::inference::sources::sources;
use crate::logbook::PlanRecord;

/// Sources named in the text; the JSON has all.
const NAMED: usize = 3;
/// A source with less than this share is not worth halving.
const WORTH: f64 = 0.05;

/// What stands behind the misses.
#[derive(Debug, Default, Serialize, JsonSchema)]
pub struct Behind {
    /// Batches that followed a plan and others; `None` with fewer than five of either.
    pub plans_followed: Option<Comparison>,
    /// Where the spread comes from, the largest share first; empty with too few batches.
    pub shares: Vec<Share>,
}

impl Behind {
    /// Of a kitchen's records; batches without a miss do not count.
    pub fn of(records: &Records, plans: &[PlanRecord], fit: &Fit) -> Self {
        let misses: Vec<(usize, f64)> = records
            .batches
            .iter()
            .enumerate()
            .filter_map(|(i, b)| Some((i, Measure::Miss.of(b, None).ok()?)))
            .collect();
        let row = |(i, miss): &(usize, f64)| {
            let batch = &records.batches[*i];
            Row::of(batch, *miss, kept_to_plan(batch, plans))
        };
        let rows: Vec<Row> = misses.iter().map(row).collect();
        let batches: Vec<usize> = misses.iter().map(|m| m.0).collect();
        let found = sources(fit, records, &batches).unwrap_or_default();
        let source = |(name, variance)| Source { name, variance };
        Self {
            plans_followed: compare(&rows),
            shares: shares(&found.into_iter().map(source).collect::<Vec<_>>()),
        }
    }

    /// In words.
    pub fn sentences(&self) -> Vec<String> {
        let mut said = self.plans_followed.as_ref().map(Comparison::says).unwrap_or_default();
        let percent = |x: f64| format!("{:.0} %", 100.0 * x);
        let told = |s: &Share| {
            format!(
                "{} {} ({} to {})",
                s.source,
                percent(s.share.p50),
                percent(s.share.p05),
                percent(s.share.p95)
            )
        };
        if !self.shares.is_empty() {
            let named: Vec<String> = self.shares.iter().take(NAMED).map(told).collect();
            said.push(format!("Where the spread comes from: {}.", named.join(", ")));
        }
        let worth = self.shares.iter().find(|s| s.source != "unexplained" && s.share.p50 >= WORTH);
        if let Some(s) = worth {
            said.push(format!(
                "Halving what comes from {} would leave {} of the spread ({} to {}).",
                s.source,
                percent(s.halved.p50),
                percent(s.halved.p05),
                percent(s.halved.p95)
            ));
        }
        said
    }

    /// The shares as a chart; `None` without any.
    pub fn figure(&self, width_px: u32) -> Option<Result<Figure, ChartError>> {
        let of = |s: &Share| VarianceShare {
            source: s.source.clone(),
            share: charts::Quantiles {
                p05: s.share.p05,
                p50: s.share.p50,
                p95: s.share.p95,
                // The chart shows no 50 % interval.
                p25: f64::NAN,
                p75: f64::NAN,
            },
        };
        let shares: Vec<VarianceShare> = self.shares.iter().map(of).collect();
        (!shares.is_empty()).then(|| charts::variance_shares(&shares, width_px))
    }
}

/// Whether a batch came of a plan and kept to it.
fn kept_to_plan(batch: &Batch, plans: &[PlanRecord]) -> bool {
    let came_of = |p: &&PlanRecord| p.became.as_ref().is_some_and(|b| b.batch_id == batch.batch_id);
    plans.iter().rev().find(came_of).is_some_and(|p| is_followed(&p.plan, batch))
}
