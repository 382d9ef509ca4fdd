//! Where the bytes come from: a file or what was handed over, unpacked when it is gzip. It can be opened
//! again and again, since a table is looked through once before it is read.

use std::fs::File;
use std::io::{self, BufRead, BufReader, Cursor, Read};
use std::path::Path;
use std::sync::Arc;

use flate2::read::MultiGzDecoder;

use super::error::IntakeError;

/// Unpacked bytes of a text file beyond which it is not read: ten times a table of a million batches.
const MOST_BYTES: u64 = 4 << 30;

/// A named origin of bytes.
#[derive(Debug, Clone)]
pub struct Source {
    name: String,
    place: Place,
    most_bytes: u64,
}

#[derive(Debug, Clone)]
enum Place {
    File(Arc<Path>),
    Bytes(Arc<[u8]>),
}

impl Source {
    /// A file on disk.
    pub fn path(path: &Path) -> Self {
        Self { name: path.display().to_string(), place: Place::File(path.into()), most_bytes: MOST_BYTES }
    }

    /// Bytes at hand, such as all of standard input.
    pub fn bytes(name: &str, bytes: impl Into<Arc<[u8]>>) -> Self {
        Self { name: name.to_string(), place: Place::Bytes(bytes.into()), most_bytes: MOST_BYTES }
    }

    /// The same, not to be read beyond so many unpacked bytes.
    #[must_use]
    pub fn at_most(self, most_bytes: u64) -> Self {
        Self { most_bytes, ..self }
    }

    /// Unpacked bytes beyond which it is not read.
    pub fn most_bytes(&self) -> u64 {
        self.most_bytes
    }

    /// The name that messages give.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// A reader from the beginning, unpacked.
    ///
    /// # Errors
    /// When the file is missing or cannot be opened.
    pub fn open(&self) -> Result<Box<dyn BufRead + '_>, IntakeError> {
        let raw: Box<dyn BufRead> = match &self.place {
            Place::File(path) => Box::new(BufReader::with_capacity(1 << 16, open_file(path, &self.name)?)),
            Place::Bytes(bytes) => Box::new(Cursor::new(bytes)),
        };
        let mut raw = raw;
        let is_gzip = raw.fill_buf().map_err(|e| self.unreadable(e))?.starts_with(&[0x1f, 0x8b]);
        if is_gzip {
            let unpacked = Bounded { inner: MultiGzDecoder::new(raw), left: self.most_bytes };
            return Ok(Box::new(BufReader::with_capacity(1 << 16, unpacked)));
        }
        Ok(raw)
    }

    /// The error for a failed read of this source.
    pub fn unreadable(&self, source: io::Error) -> IntakeError {
        match source.get_ref().is_some_and(|e| e.is::<TooMuch>()) {
            true => IntakeError::TooLarge {
                file: self.name.clone(),
                what: "the unpacked file".into(),
                most: format!("{} MB", self.most_bytes >> 20),
                remedy: "split it, or check that it is what it says",
            },
            false => IntakeError::Unreadable { file: self.name.clone(), source },
        }
    }
}

fn open_file(path: &Path, name: &str) -> Result<File, IntakeError> {
    File::open(path).map_err(|source| match source.kind() {
        io::ErrorKind::NotFound => IntakeError::Missing { path: path.into() },
        _ => IntakeError::Unreadable { file: name.to_string(), source },
    })
}

/// A reader that fails, rather than go on, after so many bytes.
struct Bounded<R> {
    inner: R,
    left: u64,
}

#[derive(Debug, thiserror::Error)]
#[error("more bytes than are read")]
struct TooMuch;

impl<R: Read> Read for Bounded<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let n = self.inner.read(buffer)?;
        self.left = self.left.checked_sub(n as u64).ok_or_else(|| io::Error::other(TooMuch))?;
        Ok(n)
    }
}
