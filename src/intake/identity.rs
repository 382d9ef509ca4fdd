//! Which rows of a file are the same batch: a name that occurs twice. Batches without a name are told apart
//! by the logbook, which knows what it holds already.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, DefaultHasher, Hash, Hasher};

use super::cell::{Cell, Cells};
use crate::dough::Batch;

/// What is known of one name.
#[derive(Debug, Clone, Copy)]
struct Seen {
    first_row: u64,
    last_row: u64,
    content: u64,
    conflicting: bool,
}

/// What a row is, by its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// To be read.
    New,
    /// It says word for word what an earlier row says.
    Repeats(u64),
    /// Another row has the name, and says otherwise.
    Conflicts(u64),
}

/// The names of a file's batches, kept as numbers made from kitchen and name.
#[derive(Debug, Default)]
pub struct Identities {
    /// Place of the column of names.
    pub id_place: Option<usize>,
    kitchen_place: Option<usize>,
    seen: HashMap<u64, Seen, BuildHasherDefault<AsItIs>>,
}

/// Keys that are hashes already are not hashed again.
#[derive(Debug, Default)]
struct AsItIs(u64);

impl Hasher for AsItIs {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        bytes.iter().for_each(|b| self.write_u64(u64::from(*b)));
    }

    fn write_u64(&mut self, key: u64) {
        self.0 = self.0.rotate_left(7) ^ key;
    }
}

impl Identities {
    /// Of a sheet with names and kitchens in these places.
    pub fn new(id_place: Option<usize>, kitchen_place: Option<usize>) -> Self {
        Self { id_place, kitchen_place, seen: HashMap::default() }
    }

    /// Looks at a row, before any is read.
    pub fn look(&mut self, row: u64, cells: Cells<'_>) {
        let Some(key) = self.key(cells) else { return };
        let content = content_of(cells);
        let new = Seen { first_row: row, last_row: row, content, conflicting: false };
        let seen = self.seen.entry(key).or_insert(new);
        seen.conflicting |= seen.content != content;
        seen.last_row = row;
    }

    /// Once all rows are looked at, only the names that occur more than once need be kept.
    pub fn keep_repeated(&mut self) {
        self.seen.retain(|_, seen| seen.first_row != seen.last_row);
        self.seen.shrink_to_fit();
    }

    fn key(&self, cells: Cells<'_>) -> Option<u64> {
        let id = cells.cell(self.id_place?);
        if id.is_blank() {
            return None;
        }
        let kitchen = self.kitchen_place.map_or(Cell::Blank, |i| cells.cell(i));
        Some(key_of(&kitchen.shown(), &id.shown()))
    }

    /// What becomes of a row.
    pub fn standing(&self, row: u64, cells: Cells<'_>) -> Standing {
        if self.seen.is_empty() {
            return Standing::New;
        }
        match self.key(cells).and_then(|key| self.seen.get(&key)) {
            Some(seen) if seen.conflicting => {
                Standing::Conflicts(if row == seen.first_row { seen.last_row } else { seen.first_row })
            }
            Some(seen) if row != seen.first_row => Standing::Repeats(seen.first_row),
            _ => Standing::New,
        }
    }
}

fn key_of(kitchen: &str, name: &str) -> u64 {
    let mut hasher = DefaultHasher::new();
    let kitchen = if kitchen.is_empty() { Batch::DEFAULT_KITCHEN } else { kitchen };
    (kitchen, name).hash(&mut hasher);
    hasher.finish()
}

fn content_of(cells: Cells<'_>) -> u64 {
    let mut hasher = DefaultHasher::new();
    if let Cells::Text(row) = cells {
        row.hash(&mut hasher);
        return hasher.finish();
    }
    for cell in cells.iter() {
        cell.shown().hash(&mut hasher);
    }
    hasher.finish()
}
