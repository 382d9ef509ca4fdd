//! Fits in the logbook: from a fit to what is kept, and back. A fit is used again only for the very records, by the
//! very version of the program, that it was made with.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::logbook::FitRecord;

use crate::inference::beliefs::Beliefs;
use crate::inference::fit::{Diagnostics, Fit, Mixing, Settings, Warning};
use crate::inference::prepare::Index;

/// The version of this program, as fits name it.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

#[derive(Serialize, Deserialize)]
struct Kept {
    index: Index,
    unmeasured_fridge: bool,
    batches: usize,
    rises: usize,
    diagnostics: Diagnostics,
    warnings: Vec<Warning>,
    mixing: Vec<Mixing>,
}

/// A fit as the logbook keeps it; `data_hash` that of the records.
pub fn record(fit: &Fit, kitchen: &str, settings: &Settings, data_hash: String) -> FitRecord {
    let kept = Kept {
        index: fit.index.clone(),
        unmeasured_fridge: fit.unmeasured_fridge,
        batches: fit.batches,
        rises: fit.rises,
        diagnostics: fit.diagnostics.clone(),
        warnings: fit.warnings.clone(),
        mixing: fit.mixing.clone(),
    };
    FitRecord {
        kitchen: kitchen.into(),
        made_at: Timestamp::now(),
        program_version: VERSION.into(),
        method: fit.diagnostics.method.to_string(),
        seed: settings.seed,
        settings: as_json(settings),
        data_hash,
        summary: as_json(&kept),
        names: fit.layout().shared.into_iter().map(|p| p.name).collect(),
        draws: fit.draws.clone(),
    }
}

fn as_json(value: &impl Serialize) -> serde_json::Value {
    // Plain structs of numbers and strings always have a JSON form.
    serde_json::to_value(value).unwrap_or_default()
}

/// The fit behind a record, if it was made from these records by this version and its draws are still there.
pub fn restore(record: &FitRecord, data_hash: &str) -> Option<Fit> {
    if record.data_hash != data_hash || record.program_version != VERSION || record.draws.is_empty() {
        return None;
    }
    let kept: Kept = serde_json::from_value(record.summary.clone()).ok()?;
    let fit = Fit {
        index: kept.index,
        unmeasured_fridge: kept.unmeasured_fridge,
        batches: kept.batches,
        rises: kept.rises,
        draws: record.draws.clone(),
        diagnostics: kept.diagnostics,
        warnings: kept.warnings,
        mixing: kept.mixing,
    };
    let names: Vec<String> = fit.layout().shared.into_iter().map(|p| p.name).collect();
    (names == record.names).then_some(fit)
}

/// What the fit behind a record believed of its kitchen.
pub fn beliefs(record: &FitRecord) -> Option<Beliefs> {
    let kept: Kept = serde_json::from_value(record.summary.clone()).ok()?;
    Some(kept.index.beliefs)
}
