//! One kitchen of a logbook: which one is meant, its records, and the fit to them.

use std::sync::atomic::AtomicBool;

use crate::dough::Batch;
use crate::inference::beliefs::Beliefs;
use crate::inference::drift::Periods;
use crate::inference::fit::{Fit, Settings};
use crate::inference::prepare::{Records, prepare};
use crate::inference::{full, quick};
use crate::logbook::{FitRecord, Logbook, LogbookError};

use super::failure::Failure;
use super::kept;

/// The kitchen meant: the one named, the only one, or `home`.
pub fn meant(logbook: &Logbook, named: Option<&str>) -> Result<String, Failure> {
    let known = logbook.kitchens()?;
    if let Some(named) = named {
        if known.is_empty() || known.iter().any(|k| k == named) {
            return Ok(named.into());
        }
        return Err(Failure::Work(format!(
            "there is no batch of kitchen '{named}' in {}: it knows {}",
            logbook.path().display(),
            known.join(", ")
        )));
    }
    let home = Batch::DEFAULT_KITCHEN;
    match known.as_slice() {
        [] => Ok(home.into()),
        [only] => Ok(only.clone()),
        several if several.iter().any(|k| k == home) => Ok(home.into()),
        several => Err(Failure::Call(format!(
            "there are several kitchens in {}: say which with --kitchen ({})",
            logbook.path().display(),
            several.join(", ")
        ))),
    }
}

/// A kitchen's records.
pub fn records(logbook: &Logbook, kitchen: &str) -> Result<Records, LogbookError> {
    Ok(Records {
        batches: logbook.batches(kitchen)?,
        readings: logbook.readings(kitchen)?,
        surroundings: logbook.surroundings(kitchen)?,
    })
}

/// The fit kept for these records; or a new quick one, with what is to be kept of it.
pub fn fit(logbook: &Logbook, kitchen: &str, records: &Records) -> Result<(Fit, Option<FitRecord>), Failure> {
    let hash = logbook.data_hash(kitchen)?;
    let latest = logbook.latest_fit(kitchen)?;
    if let Some(fit) = latest.as_ref().and_then(|r| kept::restore(r, &hash)) {
        return Ok((fit, None));
    }
    let settings = Settings::default();
    let before = latest.as_ref().and_then(kept::beliefs).unwrap_or_default();
    let beliefs = Beliefs { drift: before.drift.and(Periods::over(&records.batches)), ..before };
    let ready = || prepare(records).believing(beliefs.clone());
    let mut fit = quick::fit_ready(ready(), &records.batches, &settings)?;
    if fit.is_rough() && full::expected_seconds(records.batches.len(), &settings) < full::WORTH_WAITING_S {
        fit = full::fit_ready(ready(), &records.batches, &settings, &|_, _, _| (), &AtomicBool::new(false))?;
    }
    let record = kept::record(&fit, kitchen, &settings, hash);
    Ok((fit, Some(record)))
}
