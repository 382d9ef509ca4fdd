//! Why a request is not answered as it was asked, in words, with what to do.

use axum::http::StatusCode;

use crate::answers::failure::Failure;
use crate::intake::IntakeError;
use crate::logbook::LogbookError;

use super::held::MOST_BYTES;

/// Why a request is refused.
#[derive(Debug, thiserror::Error)]
pub enum Refused {
    /// The key in the address is not the one of this run.
    #[error("Open the address that `doughwright serve` wrote: it has a key that is new at every start.")]
    WrongKey,
    /// Another name of this machine than its own.
    #[error(
        "Open the address that `doughwright serve` wrote, with its numbers: this page answers under no other name."
    )]
    ForeignHost,
    /// A form that another site sent.
    #[error(
        "Go back to the page, and send the form from there: this one came from another site, and nothing was changed."
    )]
    OtherSite,
    /// A form without the token of this run.
    #[error(
        "Load the page again, and send the form from there: this one is from an earlier start, and nothing was changed."
    )]
    StaleForm,
    /// The page only shows.
    #[error(
        "Start it with `doughwright serve --write` to keep something: as it runs now, this page only shows."
    )]
    ReadOnly,
    /// There is nothing under this address.
    #[error("Go to the overview: there is nothing under this address.")]
    NotFound,
    /// A sheet that is no longer in memory.
    #[error("Choose the sheet again: it is no longer held in memory.")]
    Forgotten,
    /// A form that cannot be read.
    #[error("Go back, and fill the form in again: {0}")]
    Form(String),
    /// A sheet larger than is read.
    #[error("Take it in with `doughwright import FILE`: a sheet of more than {} MB is not taken in here.", MOST_BYTES >> 20)]
    TooLarge,
    /// It took too long.
    #[error("Try again: this took too long, and was given up.")]
    TooSlow,
    /// What the work itself said.
    #[error("{0}")]
    Failed(#[from] Failure),
    /// A fault of this program.
    #[error(
        "Try again, and if it happens again start `doughwright serve` anew: something went wrong that was not foreseen."
    )]
    Unforeseen,
}

impl From<LogbookError> for Refused {
    fn from(error: LogbookError) -> Self {
        Self::Failed(error.into())
    }
}

impl From<IntakeError> for Refused {
    fn from(error: IntakeError) -> Self {
        Self::Failed(error.into())
    }
}

impl Refused {
    /// The status that says it to a program.
    pub fn status(&self) -> StatusCode {
        match self {
            Self::WrongKey | Self::ForeignHost | Self::OtherSite | Self::StaleForm | Self::ReadOnly => {
                StatusCode::FORBIDDEN
            }
            Self::NotFound => StatusCode::NOT_FOUND,
            Self::Forgotten => StatusCode::GONE,
            Self::Form(_) => StatusCode::BAD_REQUEST,
            Self::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            Self::TooSlow => StatusCode::REQUEST_TIMEOUT,
            Self::Failed(Failure::Logbook(e)) if e.is_passing() => StatusCode::SERVICE_UNAVAILABLE,
            Self::Failed(Failure::Work(_)) => StatusCode::UNPROCESSABLE_ENTITY,
            Self::Failed(failure) if failure.is_wrong_call() => StatusCode::UNPROCESSABLE_ENTITY,
            Self::Failed(_) | Self::Unforeseen => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    /// Whether the one who asked may see the page's links: only who has the key.
    pub fn knows_the_key(&self) -> bool {
        !matches!(self, Self::WrongKey | Self::ForeignHost)
    }
}
