//! How a piece of work ends: the documented exit codes, and what is said when it could not be done.

use std::process::ExitCode;

use crate::advice::AdviceError;
use crate::charts::ChartError;
use crate::consistency::ConsistencyError;
use crate::inference::fit::InferenceError;
use crate::intake::IntakeError;
use crate::logbook::LogbookError;

/// The work could not be done.
pub const NOT_DONE: u8 = 1;
/// The call, or a file's form, is wrong.
pub const WRONG_CALL: u8 = 2;
/// Done in part: some rows were set aside.
pub const IN_PART: u8 = 3;

/// How a command that worked ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Done {
    /// All of it.
    All,
    /// Part of it: some rows were set aside.
    InPart,
}

impl Done {
    /// The exit code.
    pub fn code(self) -> ExitCode {
        match self {
            Self::All => ExitCode::SUCCESS,
            Self::InPart => ExitCode::from(IN_PART),
        }
    }
}

/// Why a command did not do its work, with the way out.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// The call is wrong.
    #[error("{0}")]
    Call(String),
    /// It could not be done.
    #[error("{0}")]
    Work(String),
    /// A file could not be taken in.
    #[error(transparent)]
    Intake(#[from] IntakeError),
    /// The logbook.
    #[error(transparent)]
    Logbook(#[from] LogbookError),
    /// The advice.
    #[error(transparent)]
    Advice(#[from] AdviceError),
    /// The fit.
    #[error(transparent)]
    Inference(#[from] InferenceError),
    /// The consistency study.
    #[error(transparent)]
    Consistency(#[from] ConsistencyError),
    /// A picture.
    #[error(transparent)]
    Chart(#[from] ChartError),
    /// A file could not be written.
    #[error("{path} cannot be written: {why}{}", way_out(why))]
    Write {
        /// Which file.
        path: String,
        /// What the system said.
        why: std::io::Error,
    },
    /// Whoever read standard output went away.
    #[error("standard output was closed")]
    Gone,
}

impl Failure {
    /// Whether what was asked is wrong, rather than that it could not be done.
    pub fn is_wrong_call(&self) -> bool {
        match self {
            Self::Call(_) => true,
            Self::Intake(e) => e.is_form(),
            Self::Advice(e) => !matches!(e, AdviceError::NoForecast),
            Self::Consistency(e) => {
                !matches!(e, ConsistencyError::NothingMeasured { .. } | ConsistencyError::NotANumber { .. })
            }
            Self::Inference(InferenceError::Setting { .. }) => true,
            _ => false,
        }
    }

    /// The exit code.
    pub fn code(&self) -> ExitCode {
        ExitCode::from(if self.is_wrong_call() { WRONG_CALL } else { NOT_DONE })
    }

    /// A file that could not be written.
    pub fn write(path: &std::path::Path, why: std::io::Error) -> Self {
        Self::Write { path: path.display().to_string(), why }
    }
}

/// What to do about a file that could not be written.
fn way_out(why: &std::io::Error) -> &'static str {
    use std::io::ErrorKind::{IsADirectory, NotFound, PermissionDenied, ReadOnlyFilesystem, StorageFull};
    match why.kind() {
        StorageFull => ": make room, or give a place on another disk",
        PermissionDenied | ReadOnlyFilesystem => ": give a place in a folder that you may write to",
        NotFound => ": make its folder first, or give another place",
        IsADirectory => ": give the name of a file",
        _ => ": check the place, or give another",
    }
}

/// What a command gives back.
pub type Outcome = Result<Done, Failure>;
