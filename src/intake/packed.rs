//! Guards before a packed workbook is read: how large its parts become when unpacked, and how many cells a
//! few repeated ones stand for.

use std::io::{self, Cursor, Read};

use quick_xml::events::{BytesStart, Event};
use zip::ZipArchive;

use super::error::IntakeError;
use super::source::Source;

/// Bytes of a workbook beyond which it is not read.
const MOST_BYTES: u64 = 64 << 20;
/// Bytes of all its parts, unpacked, beyond which it is not read.
const MOST_UNPACKED: u64 = 256 << 20;

/// All bytes of a workbook.
///
/// # Errors
/// When it cannot be read, or is too large.
pub fn all_bytes(source: &Source) -> Result<Vec<u8>, IntakeError> {
    let mut bytes = Vec::new();
    source.open()?.take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(|e| source.unreadable(e))?;
    match bytes.len() as u64 > MOST_BYTES {
        true => Err(too_large(source, format!("{} MB", MOST_BYTES >> 20))),
        false => Ok(bytes),
    }
}

/// Whether a packed file is a workbook in the open document format.
pub fn is_ods(bytes: &[u8]) -> bool {
    ZipArchive::new(Cursor::new(bytes)).is_ok_and(|mut zip| zip.by_name("content.xml").is_ok())
}

/// Unpacks every part, keeping none, and fails when they are too large together. What the file says about
/// its own sizes is not relied on.
///
/// # Errors
/// When it is damaged, or too large.
pub fn check_sizes(source: &Source, bytes: &[u8]) -> Result<(), IntakeError> {
    let damaged = |found: String| IntakeError::NotATable { file: source.name().into(), found };
    let mut zip = ZipArchive::new(Cursor::new(bytes)).map_err(|e| damaged(e.to_string()))?;
    let most = MOST_UNPACKED.min(source.most_bytes());
    let mut left = most;
    for i in 0..zip.len() {
        let part = zip.by_index(i).map_err(|e| damaged(e.to_string()))?;
        let size = io::copy(&mut part.take(left + 1), &mut io::sink()).map_err(|e| damaged(e.to_string()))?;
        left = left
            .checked_sub(size)
            .ok_or_else(|| too_large(source, format!("{} MB when unpacked", most >> 20)))?;
    }
    Ok(())
}

/// Fails when the repeated cells of an open document would make a table beyond all bounds.
///
/// # Errors
/// When it is damaged, or too large.
pub fn check_ods_extent(source: &Source, bytes: &[u8], most: usize) -> Result<(), IntakeError> {
    let damaged = |found: String| IntakeError::NotATable { file: source.name().into(), found };
    let mut zip = ZipArchive::new(Cursor::new(bytes)).map_err(|e| damaged(e.to_string()))?;
    let content = zip.by_name("content.xml").map_err(|e| damaged(e.to_string()))?;
    let mut xml = quick_xml::Reader::from_reader(io::BufReader::new(content));
    let mut buffer = Vec::new();
    let mut extent = Extent::default();
    loop {
        buffer.clear();
        match xml.read_event_into(&mut buffer).map_err(|e| damaged(e.to_string()))? {
            Event::Start(e) => extent.start(&e, false),
            Event::Empty(e) => extent.start(&e, true),
            Event::Text(t) if !t.is_empty() => extent.cell_filled(),
            Event::End(e) if name_is(e.name().as_ref(), "table-row") => extent.row_ends(),
            Event::End(e) if name_is(e.name().as_ref(), "table") => extent.table_ends(),
            Event::Eof => break,
            _ => {}
        }
    }
    match extent.cells > most as u64 {
        true => Err(too_large(source, format!("{most} cells"))),
        false => Ok(()),
    }
}

/// The rectangle from the first cell to the last filled one, over all tables.
#[derive(Default)]
struct Extent {
    cells: u64,
    rows: u64,
    last_row: u64,
    width: u64,
    row_repeats: u64,
    column: u64,
    filled_to: u64,
}

impl Extent {
    fn start(&mut self, e: &BytesStart<'_>, empty: bool) {
        let name = e.name();
        if name_is(name.as_ref(), "table-row") {
            self.row_repeats = repeats(e, "number-rows-repeated");
            (self.column, self.filled_to) = (0, 0);
            if empty {
                self.row_ends();
            }
        } else if name_is(name.as_ref(), "table-cell") || name_is(name.as_ref(), "covered-table-cell") {
            self.column += repeats(e, "number-columns-repeated");
            let valued = |a: quick_xml::events::attributes::Attribute<'_>| {
                ends_with(a.key.as_ref(), "value-type") || ends_with(a.key.as_ref(), "formula")
            };
            if e.attributes().flatten().any(valued) {
                self.cell_filled();
            }
        }
    }

    fn cell_filled(&mut self) {
        self.filled_to = self.filled_to.max(self.column);
    }

    fn row_ends(&mut self) {
        self.rows = self.rows.saturating_add(self.row_repeats);
        if self.filled_to > 0 {
            self.last_row = self.rows;
            self.width = self.width.max(self.filled_to);
        }
        self.filled_to = 0;
    }

    fn table_ends(&mut self) {
        self.cells = self.cells.saturating_add(self.last_row.saturating_mul(self.width));
        (self.rows, self.last_row, self.width) = (0, 0, 0);
    }
}

fn repeats(e: &BytesStart<'_>, attribute: &str) -> u64 {
    let found = e.attributes().flatten().find(|a| ends_with(a.key.as_ref(), attribute));
    let text = found.map(|a| String::from_utf8_lossy(a.value.as_ref().as_bytes()).into_owned());
    text.and_then(|t| t.trim().parse().ok()).unwrap_or(1)
}

fn ends_with(name: &str, end: &str) -> bool {
    name.ends_with(end)
}

fn name_is(name: &str, local: &str) -> bool {
    name == local || name.strip_suffix(local).is_some_and(|prefix| prefix.ends_with(':'))
}

fn too_large(source: &Source, most: String) -> IntakeError {
    IntakeError::TooLarge {
        file: source.name().into(),
        what: "the workbook".into(),
        most,
        remedy: "save the sheet as CSV, or check that it is what it says",
    }
}
