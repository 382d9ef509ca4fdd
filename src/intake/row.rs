//! One row of the sheet into one batch, reading or point, with everything that is wrong with it.

use schemars::JsonSchema;
use serde::Serialize;

use super::cell::{Cell, Cells};
use super::headings::{TableKind, Target, column_letters};
use super::number::Decimal;
use super::understood::{Understood, UnderstoodColumn};
use super::value;
use crate::dough::{Batch, Column, Purpose, Reading, SurroundingsPoint, Vessel};

/// Something of the sheet with the row it stood in, as a spreadsheet numbers it.
#[derive(Debug, Clone, PartialEq)]
pub struct Row<T> {
    /// The row's number.
    pub row: u64,
    /// What stood there.
    pub value: T,
    /// The kitchen that a row of readings or surroundings names, if it does; a batch says its own.
    pub kitchen: Option<String>,
}

/// What a good row holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Entry {
    /// A batch, or a plan for one.
    Batch(Box<Batch>),
    /// A reading while it rises.
    Reading(Reading),
    /// A temperature of the surroundings.
    Surroundings(SurroundingsPoint),
}

/// Something wrong in one row of a file.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RowProblem {
    /// The file's name.
    pub file: String,
    /// The row, as a spreadsheet numbers it.
    pub row: u64,
    /// The heading of the column to look at, or the name of the column that is missing.
    pub column: String,
    /// What stands there; empty where it is blank.
    pub value: String,
    /// What is wrong and what would be right.
    pub message: String,
}

/// A row that was set aside whole.
#[derive(Debug, Clone, PartialEq)]
pub struct SetAside {
    /// The row, as a spreadsheet numbers it.
    pub row: u64,
    /// Its cells, as they stood.
    pub cells: Vec<String>,
    /// Everything that is wrong with it.
    pub problems: Vec<RowProblem>,
}

impl SetAside {
    /// Everything that is wrong with it, in one line.
    pub fn said(&self) -> String {
        let said = self.problems.iter().map(|p| format!("{}: {}", p.column, p.message));
        said.collect::<Vec<_>>().join("; ")
    }
}

/// Reads and checks rows one by one.
pub struct RowReader<'a> {
    pub(super) understood: &'a Understood,
    pub(super) purpose: Purpose,
    /// Places in the order in which they are read: amounts by themselves before shares of a flour.
    pub(super) order: Vec<usize>,
    /// How many columns the headings make.
    width: usize,
    by_comma: bool,
}

impl<'a> RowReader<'a> {
    /// A reader of rows of the sheet that was understood so, whose headings make so many columns.
    pub fn new(understood: &'a Understood, purpose: Purpose, width: usize, by_comma: bool) -> Self {
        let mut order: Vec<usize> = (0..understood.columns.len()).collect();
        let kept =
            |c: &UnderstoodColumn| c.unit.is_none() || c.unit == c.target.quantity().map(|q| q.kept_in());
        order.sort_by_key(|i| !kept(&understood.columns[*i]));
        Self { understood, purpose, order, width, by_comma }
    }

    /// A problem of a row at a column of the batch table.
    pub fn problem(&self, row: u64, column: Column, value: &str, message: String) -> RowProblem {
        let place = self.understood.columns.iter().find(|c| c.target == Target::Column(column));
        let heading = place.map_or(column.name(), |c| c.heading.as_str());
        let (file, column, value) = (self.understood.file.clone(), heading.to_string(), value.to_string());
        RowProblem { file, row, column, value, message }
    }

    /// Reads one row: what it holds, and for a log the kitchen that it names; or why it is set aside.
    ///
    /// # Errors
    /// When anything is wrong with the row.
    pub fn read(&self, row: u64, cells: Cells<'_>) -> Result<(Entry, Option<String>), Vec<RowProblem>> {
        let mut reading = RowInHand { reader: self, row, cells, problems: Vec::new(), kitchen: None };
        let entry = match self.understood.kind {
            TableKind::Batches => Some(Entry::Batch(reading.batch())),
            TableKind::Readings => reading.reading(),
            TableKind::Surroundings => reading.surroundings(),
        };
        match entry {
            Some(entry) if reading.problems.is_empty() => Ok((entry, reading.kitchen)),
            _ => Err(reading.problems),
        }
    }
}

/// The cells of a row as a person sees them; numbers that a workbook stores, with the decimal mark of their column.
pub fn as_they_stand(cells: Cells<'_>, understood: &Understood) -> Vec<String> {
    let mut shown: Vec<String> = cells.iter().map(|c| c.shown().into_owned()).collect();
    for column in understood.columns.iter().filter(|c| c.decimal == Some(Decimal::Comma)) {
        if let Cell::Number(_) | Cell::Measured(..) = cells.cell(column.place)
            && let Some(cell) = shown.get_mut(column.place)
        {
            *cell = cell.replace('.', ",");
        }
    }
    shown
}

/// A row while it is being read.
pub(super) struct RowInHand<'a> {
    pub(super) reader: &'a RowReader<'a>,
    row: u64,
    pub(super) cells: Cells<'a>,
    pub(super) problems: Vec<RowProblem>,
    /// Of a row of readings or surroundings.
    kitchen: Option<String>,
}

impl<'a> RowInHand<'a> {
    /// Notes what is wrong at a heading.
    pub(super) fn add(&mut self, column: &str, value: &str, message: String) {
        let value = value.chars().take(80).collect();
        let (file, row) = (self.reader.understood.file.clone(), self.row);
        self.problems.push(RowProblem { file, row, column: column.to_string(), value, message });
    }

    /// Notes what is wrong with the cell of a column.
    pub(super) fn fault(&mut self, column: &UnderstoodColumn, message: String) {
        let shown = self.cells.cell(column.place).shown();
        self.add(&column.heading, &shown, message);
    }

    pub(super) fn has_fault(&self, heading: &str) -> bool {
        self.problems.iter().any(|p| p.column == heading)
    }

    /// The columns of the sheet, amounts by themselves before shares of a flour.
    pub(super) fn columns(&self) -> impl Iterator<Item = &'a UnderstoodColumn> + use<'a> {
        let reader = self.reader;
        reader.order.iter().map(|i| &reader.understood.columns[*i])
    }

    fn reading(&mut self) -> Option<Entry> {
        let mut found = Log::default();
        self.log(&mut found);
        let batch_id = self.needed("batch_id", found.batch_id, "name the batch that it belongs to");
        let hours = self.needed("hours", found.hours, "hours since the end of mixing are wanted");
        let (rise, dough_temp_c) = (found.rise, found.dough_temp_c);
        if self.problems.is_empty() && rise.is_none() && dough_temp_c.is_none() {
            self.add("rise", "", "a reading needs a rise or a dough_temp_c".into());
        }
        let vessel = found.vessel.unwrap_or_default();
        Some(Entry::Reading(Reading { batch_id: batch_id?, hours: hours?, rise, dough_temp_c, vessel }))
    }

    fn surroundings(&mut self) -> Option<Entry> {
        let mut found = Log::default();
        self.log(&mut found);
        let batch_id = self.needed("batch_id", found.batch_id, "name the batch that it belongs to");
        let hours = self.needed("hours", found.hours, "hours since the end of mixing are wanted");
        let temp = self.needed("surroundings_temp_c", found.surroundings, "a temperature is wanted");
        let point = SurroundingsPoint { batch_id: batch_id?, hours: hours?, surroundings_temp_c: temp? };
        Some(Entry::Surroundings(point))
    }

    /// Reads the columns of a table of readings or of surroundings.
    fn log(&mut self, found: &mut Log) {
        for column in self.columns() {
            let cell = self.cells.cell(column.place);
            if cell.is_blank() || (cell.is_dash() && column.target.quantity().is_some()) {
                continue;
            }
            let result = match column.target {
                Target::Column(Column::batch_id) => {
                    value::text(cell).map(|t| found.batch_id = Some(t.into_owned()))
                }
                Target::Column(Column::kitchen) => {
                    value::text(cell).map(|t| self.kitchen = Some(t.into_owned()))
                }
                Target::Column(Column::rise) => self.logged(column).map(|x| found.rise = Some(x)),
                Target::Column(_) => self.logged(column).map(|x| found.dough_temp_c = Some(x)),
                Target::Hours => self.logged(column).map(|x| found.hours = Some(x)),
                Target::SurroundingsTemp => self.logged(column).map(|x| found.surroundings = Some(x)),
                Target::Vessel => {
                    value::word(cell, Target::Vessel).and_then(|w| vessel(&w)).map(|v| found.vessel = Some(v))
                }
                Target::Clock => Ok(()),
            };
            if let Err(message) = result {
                self.fault(column, message);
            }
        }
        self.beyond_the_headings();
    }

    fn logged(&self, column: &UnderstoodColumn) -> Result<f64, String> {
        let number = value::number(self.cells.cell(column.place), column)?;
        let (min, max) = column.target.range().unwrap_or((f64::MIN, f64::MAX));
        let unit = column.target.quantity().map_or("", |q| q.kept_in().name());
        match (min..=max).contains(&number.value) {
            true => Ok(number.value),
            false => {
                let meant = value::or_fahrenheit(self.cells.cell(column.place), column.target, number.value);
                Err(format!("it must lie between {min} and {max} {unit}").trim_end().to_string() + &meant)
            }
        }
    }

    fn needed<T>(&mut self, column: &str, value: Option<T>, message: &str) -> Option<T> {
        let said = self.reader.understood.columns.iter().find(|c| c.target.name() == column);
        let heading = said.map_or(column, |c| c.heading.as_str());
        if value.is_none() && !self.has_fault(heading) {
            self.add(heading, "", message.into());
        }
        value
    }

    /// Cells to the right of all headings: in a text most often a comma inside a number.
    pub(super) fn beyond_the_headings(&mut self) {
        let width = self.reader.width;
        let Some(place) = (width..self.cells.len()).find(|i| !self.cells.cell(*i).is_blank()) else { return };
        let remedy = match self.reader.by_comma {
            true => "put quotation marks around a cell with a comma in it",
            false => "give the column a heading, or empty the cell",
        };
        let message = format!("the row has {} cells, the headings are {width}: {remedy}", self.cells.len());
        self.add(&column_letters(place), &self.cells.cell(place).shown(), message);
    }
}

#[derive(Default)]
struct Log {
    batch_id: Option<String>,
    hours: Option<f64>,
    rise: Option<f64>,
    dough_temp_c: Option<f64>,
    surroundings: Option<f64>,
    vessel: Option<Vessel>,
}

fn vessel(word: &str) -> Result<Vessel, String> {
    word.parse().map_err(|()| format!("one of {} is wanted", Vessel::WORDS.join(", ")))
}
