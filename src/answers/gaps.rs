//! What the records cannot tell yet, and what to measure next.

use schemars::JsonSchema;
use serde::Serialize;

use crate::dough::Batch;
use crate::inference::fit::Fit;
use crate::inference::learned::{Learned, learned};
use crate::inference::prepare::Records;
use crate::inference::worth::{Worth, worth};

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
    let latest = records.latest();
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

impl Gaps {
    /// What to measure first, and what that brings; `None` when nothing is known of the next batch.
    pub fn best(&self) -> Option<String> {
        let (best, like) = (self.measure.first()?, self.like.as_ref()?);
        Some(format!(
            "Measure {} of the next batch: it narrows the forecast from ±{:.1} % to ±{:.1} % (a batch like {like}).",
            best.measure,
            100.0 * best.before,
            100.0 * best.after
        ))
    }
}
