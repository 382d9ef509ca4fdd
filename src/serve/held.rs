//! Sheets that were handed over and not yet kept: held in memory, each under a word that nobody can guess. No name from
//! outside is ever opened as a path.

use std::collections::VecDeque;
use std::sync::Arc;

use crate::answers::import::Imported;
use crate::intake::{ColumnMap, Opened, Question, SetAside, Understood, write_set_aside};

/// Bytes of a sheet beyond which it is not taken in here.
pub const MOST_BYTES: usize = 8 << 20;
/// Bytes that it may have unpacked.
pub const MOST_UNPACKED: u64 = 64 << 20;
/// Sheets held at a time; the oldest goes.
const MOST_HELD: usize = 4;

/// A sheet handed over.
#[derive(Debug, Clone)]
pub struct Held {
    /// Its name, for messages only.
    pub name: String,
    /// Its bytes.
    pub bytes: Arc<[u8]>,
    /// What the baker said of it so far.
    pub map: ColumnMap,
    /// What was made of it.
    pub found: Arc<Found>,
}

/// What was made of a sheet.
#[derive(Debug)]
pub enum Found {
    /// It leaves questions open.
    Open {
        /// Its tables.
        tables: Vec<Understood>,
    },
    /// Several of its sheets hold the same; one is to be chosen.
    WhichSheet {
        /// Their names.
        sheets: Vec<String>,
    },
    /// It is read and checked, or kept.
    Read(Read),
}

/// A sheet that is read.
#[derive(Debug)]
pub struct Read {
    /// Its tables.
    pub tables: Vec<Understood>,
    /// What keeping it does, or did.
    pub imported: Box<Imported>,
    /// The rows of each table that are set aside, as a table to be corrected (CSV); `None` without any.
    pub set_aside: Vec<Option<Vec<u8>>>,
    /// Whether it is kept.
    pub kept: bool,
}

impl Found {
    /// The open questions, in order.
    pub fn questions(&self) -> Vec<&Question> {
        match self {
            Self::Open { tables } => tables.iter().flat_map(|t| &t.questions).collect(),
            _ => Vec::new(),
        }
    }
}

/// Bad rows as a table to be corrected.
pub fn as_table(sheet: &Opened, bad: &[SetAside]) -> Option<Vec<u8>> {
    let mut text = Vec::new();
    // Writing to memory cannot fail.
    let write = || write_set_aside(sheet.headings(), bad, sheet.separator(), &mut text).ok();
    (!bad.is_empty()).then(write)??;
    Some(text)
}

/// All sheets held.
#[derive(Debug, Default)]
pub struct Shelf(VecDeque<(String, Held)>);

impl Shelf {
    /// Holds a sheet, in place of the one under the same word.
    pub fn hold(&mut self, word: &str, held: Held) {
        self.0.retain(|(w, _)| w != word);
        self.0.truncate(MOST_HELD - 1);
        self.0.push_front((word.into(), held));
    }

    /// The sheet under a word.
    pub fn get(&self, word: &str) -> Option<Held> {
        self.0.iter().find(|(w, _)| w == word).map(|(_, held)| held.clone())
    }
}
