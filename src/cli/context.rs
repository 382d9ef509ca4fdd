//! What every command needs: the logbook, the kitchen, its records and its fit, and how to answer.

use std::path::PathBuf;

use terminal_size::{Width, terminal_size_of};

use crate::dough::Batch;
use crate::dough::units::UnitSystem;
use crate::inference::beliefs::Beliefs;
use crate::inference::drift::Periods;
use crate::inference::fit::{Fit, Settings};
use crate::inference::prepare::{Records, prepare};
use crate::inference::quick;
use crate::logbook::{Logbook, LogbookError};

use super::args::{Common, Units};
use super::drawn::NARROWEST;
use super::failure::Failure;
use super::kept;
use super::progress::while_doing;

/// The logbook where none is named.
const DEFAULT_LOGBOOK: &str = "logbook.db";

/// What every command needs.
#[derive(Debug, Clone)]
pub struct Context {
    /// The logbook's file.
    pub logbook: PathBuf,
    /// Whether it was named, rather than the one that lies here.
    pub named: bool,
    /// The kitchen as named; `None` for the only one.
    pub kitchen: Option<String>,
    /// Answer as JSON.
    pub json: bool,
    /// Units of what is shown.
    pub units: UnitSystem,
    /// Columns of the terminal that small charts are drawn for; `None` where none are: piped, narrow, or answering in JSON.
    pub columns: Option<usize>,
}

impl Context {
    /// From the common flags.
    pub fn new(common: Common) -> Self {
        Self {
            named: common.logbook.is_some(),
            logbook: common.logbook.unwrap_or_else(|| DEFAULT_LOGBOOK.into()),
            kitchen: common.kitchen,
            json: common.json,
            columns: columns().filter(|_| !common.json),
            units: match common.units {
                Units::Metric => UnitSystem::Metric,
                Units::Us => UnitSystem::Us,
            },
        }
    }

    /// Opens the logbook, which must exist.
    pub fn open(&self) -> Result<Logbook, Failure> {
        Ok(Logbook::open(&self.logbook)?)
    }

    /// Whether there is no logbook here and none was named: a baker without records gets an answer too, and the
    /// logbook begins with it.
    pub fn begins(&self) -> bool {
        !self.named && !self.logbook.exists()
    }

    /// Begins the logbook of this place.
    pub fn begin(&self) -> Result<Logbook, Failure> {
        let logbook = Logbook::open_or_create(&self.logbook)?;
        self.note(&format!("there was no logbook here: {} is begun", self.logbook.display()));
        Ok(logbook)
    }

    /// The kitchen meant: the one named, the only one, or `home`.
    pub fn kitchen(&self, logbook: &Logbook) -> Result<String, Failure> {
        let known = logbook.kitchens()?;
        if let Some(named) = &self.kitchen {
            if known.is_empty() || known.contains(named) {
                return Ok(named.clone());
            }
            return Err(Failure::Work(format!(
                "there is no batch of kitchen '{named}' in {}: it knows {}",
                self.logbook.display(),
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
                self.logbook.display(),
                several.join(", ")
            ))),
        }
    }

    /// A kitchen's records.
    pub fn records(&self, logbook: &Logbook, kitchen: &str) -> Result<Records, LogbookError> {
        Ok(Records {
            batches: logbook.batches(kitchen)?,
            readings: logbook.readings(kitchen)?,
            surroundings: logbook.surroundings(kitchen)?,
        })
    }

    /// The fit kept for these records, or a new quick one, which is then kept.
    pub fn fit(&self, logbook: &mut Logbook, kitchen: &str, records: &Records) -> Result<Fit, Failure> {
        let hash = logbook.data_hash(kitchen)?;
        let latest = logbook.latest_fit(kitchen)?;
        if let Some(fit) = latest.as_ref().and_then(|r| kept::restore(r, &hash)) {
            return Ok(fit);
        }
        let settings = Settings::default();
        let before = latest.as_ref().and_then(kept::beliefs).unwrap_or_default();
        let beliefs = Beliefs { drift: before.drift.and(Periods::over(&records.batches)), ..before };
        let ready = prepare(records).believing(beliefs);
        let fit = while_doing("fitting", || quick::fit_ready(ready, &records.batches, &settings))?;
        self.note(&format!(
            "fitted {} batch{} of kitchen '{kitchen}' in {:.2} s",
            fit.batches,
            if fit.batches == 1 { "" } else { "es" },
            fit.diagnostics.seconds
        ));
        logbook.keep_fit(&kept::record(&fit, kitchen, &settings, hash))?;
        Ok(fit)
    }

    /// A message beside the answer, on standard error.
    pub fn note(&self, message: &str) {
        eprintln!("{message}");
    }
}

/// The width of the terminal that standard output is, when it is wide enough for charts and can draw them.
fn columns() -> Option<usize> {
    let dumb = std::env::var_os("TERM").is_some_and(|t| t == "dumb");
    let (Width(columns), _) = terminal_size_of(std::io::stdout()).filter(|_| !dumb)?;
    Some(usize::from(columns)).filter(|c| *c >= NARROWEST)
}
