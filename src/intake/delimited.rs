//! Rows of a text table, one after another in constant memory, numbered as a spreadsheet numbers them:
//! a blank line counts as a row, a line break inside quotes does not begin one.

use std::io::BufRead;

use csv_core::{ReadRecordResult, ReaderBuilder};

use super::cell::Cell;
use super::error::IntakeError;
use super::set_aside::unguarded;
use super::source::Source;

/// Bytes of one row beyond which a quote must have been left open.
const MOST_ROW_BYTES: usize = 1 << 20;
/// Cells of one row: as many as a spreadsheet has columns.
const MOST_CELLS: usize = 16_384;

/// One row of a text table.
#[derive(Debug, Clone, Copy, Hash)]
pub struct TextRow<'a> {
    text: &'a str,
    ends: &'a [usize],
}

impl<'a> TextRow<'a> {
    /// How many cells it has.
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// The cell in a column, counted from 0; blank beyond the last.
    pub fn cell(&self, column: usize) -> Cell<'a> {
        let Some(&end) = self.ends.get(column) else { return Cell::Blank };
        let start = if column == 0 { 0 } else { self.ends[column - 1] };
        Cell::of_text(unguarded(&self.text[start..end]))
    }
}

/// Reads rows from UTF-8 text.
pub struct TextRows<'a> {
    source: &'a Source,
    reader: Box<dyn BufRead + 'a>,
    core: csv_core::Reader,
    output: Vec<u8>,
    ends: Vec<usize>,
    row: u64,
    line_feed_pending: bool,
}

impl<'a> TextRows<'a> {
    /// Rows of `reader`, whose cells stand between `delimiter`s.
    pub fn new(source: &'a Source, reader: Box<dyn BufRead + 'a>, delimiter: u8) -> Self {
        let core = ReaderBuilder::new().delimiter(delimiter).build();
        Self {
            source,
            reader,
            core,
            output: vec![0; 4096],
            ends: vec![0; 64],
            row: 0,
            line_feed_pending: false,
        }
    }

    /// The next row that is not an empty line, with its number.
    ///
    /// # Errors
    /// When reading fails, or a row is beyond all bounds.
    pub fn next_row(&mut self) -> Result<Option<(u64, TextRow<'_>)>, IntakeError> {
        self.skip_empty_lines()?;
        let (mut bytes, mut cells) = (0, 0);
        loop {
            let input = self.reader.fill_buf().map_err(|e| self.source.unreadable(e))?;
            let (result, read, written, ended) =
                self.core.read_record(input, &mut self.output[bytes..], &mut self.ends[cells..]);
            let carriage_return = read > 0 && input[read - 1] == b'\r';
            self.reader.consume(read);
            bytes += written;
            cells += ended;
            match result {
                ReadRecordResult::InputEmpty => {}
                ReadRecordResult::OutputFull => {
                    grow(&mut self.output, MOST_ROW_BYTES).then_some(()).ok_or_else(|| {
                        self.too_large(
                            "bytes",
                            MOST_ROW_BYTES,
                            "look for a quotation mark that is not closed",
                        )
                    })?
                }
                ReadRecordResult::OutputEndsFull => grow(&mut self.ends, MOST_CELLS)
                    .then_some(())
                    .ok_or_else(|| self.too_large("cells", MOST_CELLS, "take the empty columns out"))?,
                ReadRecordResult::Record => {
                    self.line_feed_pending = carriage_return;
                    break;
                }
                ReadRecordResult::End => return Ok(None),
            }
        }
        self.row += 1;
        let text = std::str::from_utf8(&self.output[..bytes]).map_err(|_| IntakeError::Encoding {
            file: self.source.name().into(),
            row: self.row,
            encoding: "UTF-8",
        })?;
        Ok(Some((self.row, TextRow { text, ends: &self.ends[..cells] })))
    }

    fn skip_empty_lines(&mut self) -> Result<(), IntakeError> {
        loop {
            let input = self.reader.fill_buf().map_err(|e| self.source.unreadable(e))?;
            match input.first() {
                Some(b'\n') if self.line_feed_pending => self.line_feed_pending = false,
                Some(b'\n') => self.row += 1,
                Some(b'\r') => {
                    self.row += 1;
                    self.line_feed_pending = true;
                }
                _ => {
                    self.line_feed_pending = false;
                    return Ok(());
                }
            }
            self.reader.consume(1);
        }
    }

    fn too_large(&self, what: &str, most: usize, remedy: &'static str) -> IntakeError {
        IntakeError::TooLarge {
            file: self.source.name().into(),
            what: format!("row {}", self.row + 1),
            most: format!("{most} {what}"),
            remedy,
        }
    }
}

/// Doubles a buffer; `false` when it is as large as it may be.
fn grow<T: Clone + Default>(buffer: &mut Vec<T>, most: usize) -> bool {
    let grows = buffer.len() < most;
    if grows {
        buffer.resize((buffer.len() * 2).min(most), T::default());
    }
    grows
}
