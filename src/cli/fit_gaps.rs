//! `fit --gaps`: what the records cannot tell yet, and what to measure next.

use std::fmt::Write;

use schemars::JsonSchema;
use serde::Serialize;

use crate::dough::Batch;
use crate::dough::units::UnitSystem;
use crate::inference::fit::Fit;
use crate::inference::learned::{Learned, Told, learned};
use crate::inference::prepare::Records;
use crate::inference::worth::{Worth, worth};

use super::text::{mass, table, trimmed};

/// What the records cannot tell, and what would.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Gaps {
    /// How far the records tell each parameter.
    pub learned: Vec<Learned>,
    /// The batch that the next one is taken to be like.
    pub like: Option<String>,
    /// Measurements on the next batch, the most telling first.
    pub measure: Vec<Worth>,
}

/// Of a fit; the next batch is taken to be like the latest.
pub fn gaps(fit: &Fit, records: &Records, seed: u64) -> Gaps {
    let latest = records.batches.iter().filter(|b| b.date.is_some()).max_by_key(|b| b.date);
    let measure = latest.zip(fit.forecaster()).map(|(batch, mut forecaster)| {
        // Not yet baked: nothing that is read on the way is known.
        let plan =
            Batch { rise: None, dough_temp_c: None, ripeness: None, preferment_rise: None, ..batch.clone() };
        worth(&mut forecaster, &plan, seed)
    });
    Gaps {
        learned: learned(fit),
        like: latest.and_then(|b| b.batch_id.clone()),
        measure: measure.unwrap_or_default(),
    }
}

/// As text: what to measure first.
pub fn text(gaps: &Gaps, units: UnitSystem) -> String {
    let mut out = String::from("WHAT THE RECORDS CANNOT TELL YET\n");
    if let (Some(best), Some(like)) = (gaps.measure.first(), &gaps.like) {
        let _ = writeln!(
            out,
            "Measure {} of the next batch: it narrows the forecast from ±{:.1} % to ±{:.1} % (a batch like {like}).",
            best.measure,
            100.0 * best.before,
            100.0 * best.after
        );
        let heading = ["measure", "column", "narrows by", "in yeast", "in time"];
        let mut rows = vec![heading.map(String::from).to_vec()];
        rows.extend(gaps.measure.iter().map(|w| {
            vec![
                w.measure.clone(),
                w.column.into(),
                format!("{:.1} %", 100.0 * (w.before - w.after)),
                mass(w.yeast_g, units),
                format!("{} h", trimmed(w.hours, 2)),
            ]
        }));
        out.push_str(&table(&rows));
    }
    for (told, says) in [
        (Told::Records, "Told by your records"),
        (Told::Partly, "Told in part"),
        (Told::Prior, "Still what holds for most kitchens"),
    ] {
        let names: Vec<String> = gaps
            .learned
            .iter()
            .filter(|l| l.told == told)
            .map(|l| format!("{} ({:.0} %)", l.name, 100.0 * l.share))
            .collect();
        if !names.is_empty() {
            let _ = writeln!(out, "{says}: {}.", names.join(", "));
        }
    }
    out
}
