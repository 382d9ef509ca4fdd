//! What can go wrong with a logbook, said with the file and the way out.

use std::path::PathBuf;

use jiff::Timestamp;
use rusqlite::ErrorCode;

use crate::dough::Column;

/// Why the logbook could not do what was asked. The file is as it was before the call.
#[derive(Debug, thiserror::Error)]
pub enum LogbookError {
    /// There is no such file, and none was to be made.
    #[error("there is no logbook at {}: `import` makes one, or give another with --logbook", path.display())]
    Missing {
        /// Where it was looked for.
        path: PathBuf,
    },
    /// The folder that it should lie in is missing.
    #[error("{}: its folder does not exist: make the folder first, or give another place with --logbook", path.display())]
    NoFolder {
        /// The file that was to be made.
        path: PathBuf,
    },
    /// Another process is writing.
    #[error("{}: somebody else is writing to this logbook: wait until they are done, then do this again", path.display())]
    Locked {
        /// The file.
        path: PathBuf,
    },
    /// The file is not a logbook.
    #[error("{}: this is not a doughwright logbook ({what}): give another with --logbook", path.display())]
    NotALogbook {
        /// The file.
        path: PathBuf,
        /// What it is instead.
        what: String,
    },
    /// A later version of the program made the file.
    #[error(
        "{}: a newer doughwright made this logbook ({what}): use that version, \
         this one would lose what it does not know",
        path.display()
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// What this version does not know.
        what: String,
    },
    /// An earlier version made the file, and it was opened for reading only.
    #[error(
        "{}: an older doughwright made this logbook, and it may not be changed here: \
         open it once where it can be written",
        path.display()
    )]
    Older {
        /// The file.
        path: PathBuf,
    },
    /// Something in the file is not as it was written.
    #[error("{}: the logbook is damaged ({what}). The way back: {}", path.display(), way_back(backup.as_ref()))]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What was found.
        what: String,
        /// The last backup that the logbook knows of.
        backup: Option<Backup>,
    },
    /// No room for what was to be written.
    #[error("{}: the disk is full; nothing was changed: make room, then do this again", path.display())]
    DiskFull {
        /// The file.
        path: PathBuf,
    },
    /// The disk did not take what was to be written, or the files that SQLite keeps beside the logbook.
    #[error(
        "{}: the disk does not take what is to be written, it may be full or failing; nothing was changed: \
         make room or look after the disk, then do this again",
        path.display()
    )]
    CannotWrite {
        /// The file.
        path: PathBuf,
    },
    /// The file, or its folder, may not be written.
    #[error(
        "{}: the logbook or its folder may not be written: change its rights, \
         or copy it to a folder of your own and give it with --logbook",
        path.display()
    )]
    ReadOnly {
        /// The file.
        path: PathBuf,
    },
    /// The file may not be opened, or is a folder.
    #[error("{}: the logbook cannot be opened ({what}): check the path and its rights", path.display())]
    CannotOpen {
        /// The file.
        path: PathBuf,
        /// What the system said.
        what: String,
    },
    /// A batch holds what cannot be kept.
    #[error("batch '{batch_id}': {column} cannot be '{value}': a finite number is wanted")]
    NotANumber {
        /// The batch.
        batch_id: String,
        /// Its column.
        column: Column,
        /// The value.
        value: f64,
    },
    /// A batch without a date and without an id.
    #[error("a batch without a date needs a batch_id: give one of the two")]
    NoDate,
    /// A backup cannot go where it was to go.
    #[error("{}: no backup can be made there ({what}): give another name", path.display())]
    NoBackup {
        /// Where it was to go.
        path: PathBuf,
        /// Why not.
        what: String,
    },
    /// A row of this import failed before, and the import was carried on with.
    #[error("{}: an earlier row of this import failed; nothing was changed", path.display())]
    Broken {
        /// The file.
        path: PathBuf,
    },
    /// There is nothing that `undo` could take back.
    #[error("{}: there is no import to take back", path.display())]
    NothingToUndo {
        /// The file.
        path: PathBuf,
    },
    /// Anything else that SQLite reports.
    #[error("{}: {source}", path.display())]
    Sqlite {
        /// The file.
        path: PathBuf,
        /// The report.
        source: rusqlite::Error,
    },
}

/// A copy of the logbook that was made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Backup {
    /// Where.
    pub path: PathBuf,
    /// When.
    pub at: Timestamp,
}

fn way_back(backup: Option<&Backup>) -> String {
    let copy = match backup {
        Some(Backup { path, at }) => {
            format!("the last backup, {} of {}", path.display(), at.strftime("%Y-%m-%d %H:%M UTC"))
        }
        None => "the last copy that you made with `backup`".into(),
    };
    format!(
        "move the damaged file away, with the -wal and -shm files beside it; then copy {copy} to where it was. \
         Without a copy, `export` saves every batch that can still be read"
    )
}

impl LogbookError {
    /// Whether waiting or making room is enough, and nothing about the file is wrong.
    pub fn is_passing(&self) -> bool {
        matches!(self, Self::Locked { .. } | Self::DiskFull { .. } | Self::CannotWrite { .. })
    }
}

/// An error inside this room, before the file's name is put to it.
#[derive(Debug)]
pub(super) enum Fault {
    /// From SQLite.
    Sqlite(rusqlite::Error),
    /// Content that was not written like this.
    Damaged(String),
    /// Already in words.
    Told(LogbookError),
}

impl From<rusqlite::Error> for Fault {
    fn from(error: rusqlite::Error) -> Self {
        Self::Sqlite(error)
    }
}

impl From<LogbookError> for Fault {
    fn from(error: LogbookError) -> Self {
        Self::Told(error)
    }
}

/// Which file an error is about.
#[derive(Debug, Clone)]
pub(super) struct Place {
    /// The logbook.
    pub path: PathBuf,
    /// The latest backup of it, to be named beside damage.
    pub last_backup: Option<Backup>,
}

impl Fault {
    /// Puts the file's name to it.
    pub fn at(self, place: &Place) -> LogbookError {
        let path = place.path.clone();
        let damaged = |path, what| LogbookError::Damaged { path, what, backup: place.last_backup.clone() };
        let source = match self {
            Self::Told(error) => return error,
            Self::Damaged(what) => return damaged(path, what),
            Self::Sqlite(source) => source,
        };
        let what = source.to_string();
        match source.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => LogbookError::Locked { path },
            Some(ErrorCode::NotADatabase) => LogbookError::NotALogbook { path, what },
            Some(ErrorCode::DatabaseCorrupt) => damaged(path, what),
            Some(ErrorCode::DiskFull) => LogbookError::DiskFull { path },
            Some(ErrorCode::SystemIoFailure) if could_not_write(&source) => {
                LogbookError::CannotWrite { path }
            }
            Some(ErrorCode::ReadOnly) => LogbookError::ReadOnly { path },
            Some(ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => {
                LogbookError::CannotOpen { path, what }
            }
            _ if cannot_have_been_written(&source) || what == NO_SUCH_FORMAT => damaged(path, what),
            _ => LogbookError::Sqlite { path, source },
        }
    }
}

/// Whether a failure of the system came while something was written: the file itself, or the memory that readers
/// and writers share in a file beside it, which on a full disk cannot be made. (SQLite, extended result codes.)
fn could_not_write(error: &rusqlite::Error) -> bool {
    use rusqlite::ffi;
    const WRITING: [i32; 7] = [
        ffi::SQLITE_IOERR_WRITE,
        ffi::SQLITE_IOERR_FSYNC,
        ffi::SQLITE_IOERR_DIR_FSYNC,
        ffi::SQLITE_IOERR_TRUNCATE,
        ffi::SQLITE_IOERR_SHMOPEN,
        ffi::SQLITE_IOERR_SHMSIZE,
        ffi::SQLITE_IOERR_SHMMAP,
    ];
    error.sqlite_error().is_some_and(|e| WRITING.contains(&e.extended_code))
}

/// What SQLite says of a schema format that there never was, without a code of its own.
const NO_SUCH_FORMAT: &str = "unsupported file format";

/// A cell of another type than its column, or a row that is gone: the schema allows neither.
fn cannot_have_been_written(error: &rusqlite::Error) -> bool {
    use rusqlite::Error::{
        FromSqlConversionFailure, IntegralValueOutOfRange, InvalidColumnType, QueryReturnedNoRows, Utf8Error,
    };
    matches!(
        error,
        FromSqlConversionFailure(..)
            | IntegralValueOutOfRange(..)
            | InvalidColumnType(..)
            | QueryReturnedNoRows
            | Utf8Error(..)
    )
}

/// Puts the file's name to the errors of a call.
pub(super) trait At<T> {
    fn at(self, place: &Place) -> Result<T, LogbookError>;
}

impl<T, E: Into<Fault>> At<T> for Result<T, E> {
    fn at(self, place: &Place) -> Result<T, LogbookError> {
        self.map_err(|e| e.into().at(place))
    }
}
