//! What every command needs: the logbook, the kitchen, its records and its fit, and how to answer.

use std::path::PathBuf;

use terminal_size::{Width, terminal_size_of};

use crate::answers::kitchen;
use crate::dough::units::UnitSystem;
use crate::inference::fit::Fit;
use crate::inference::prepare::Records;
use crate::logbook::{Logbook, LogbookError};

use super::args::{Common, Units};
use super::drawn::NARROWEST;
use super::failure::Failure;
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

    /// Opens the logbook to look at what is in it, where it may not be written as well.
    pub fn look(&self) -> Result<Logbook, Failure> {
        match Logbook::open(&self.logbook) {
            Err(LogbookError::ReadOnly { .. }) => Ok(Logbook::open_read_only(&self.logbook)?),
            other => Ok(other?),
        }
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
        kitchen::meant(logbook, self.kitchen.as_deref())
    }

    /// A kitchen's records.
    pub fn records(&self, logbook: &Logbook, kitchen: &str) -> Result<Records, LogbookError> {
        kitchen::records(logbook, kitchen)
    }

    /// The fit kept for these records, or a new quick one, which is then kept.
    pub fn fit(&self, logbook: &mut Logbook, kitchen: &str, records: &Records) -> Result<Fit, Failure> {
        let (fit, made) = while_doing("fitting", || kitchen::fit(logbook, kitchen, records))?;
        if let Some(record) = made {
            self.note(&format!(
                "fitted {} batch{} of kitchen '{kitchen}' in {:.2} s",
                fit.batches,
                if fit.batches == 1 { "" } else { "es" },
                fit.diagnostics.seconds
            ));
            logbook.keep_fit(&record)?;
        }
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
