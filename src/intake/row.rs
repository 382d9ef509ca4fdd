//! One row of the sheet into one batch, reading or point, with everything that is wrong with it.

use serde::Serialize;

use super::cell::Cell;
use super::delimited::TextRow;
use super::headings::{TableKind, Target};
use super::understood::{Understood, UnderstoodColumn};
use crate::dough::{Batch, Column, Purpose, Reading, SurroundingsPoint, Value, Vessel, check};

/// Letters of one cell beyond which it is no entry: as many as a spreadsheet's cell holds.
const MOST_LETTERS: usize = 32_767;

/// Something of the sheet with the row it stood in, as a spreadsheet numbers it.
#[derive(Debug, Clone, PartialEq)]
pub struct Row<T> {
    /// The row's number.
    pub row: u64,
    /// What stood there.
    pub value: T,
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
#[derive(Debug, Clone, PartialEq, Serialize)]
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

/// Reads and checks rows one by one.
pub struct RowReader<'a> {
    file: &'a str,
    understood: &'a Understood,
    purpose: Purpose,
}

impl<'a> RowReader<'a> {
    /// A reader of rows of the sheet that was understood so.
    pub fn new(file: &'a str, understood: &'a Understood, purpose: Purpose) -> Self {
        Self { file, understood, purpose }
    }

    /// A problem of a row at a column of the batch table.
    pub fn problem(&self, row: u64, column: Column, value: &str, message: String) -> RowProblem {
        let place = self.understood.columns.iter().find(|c| c.target == Target::Column(column));
        let heading = place.map_or(column.name(), |c| c.heading.as_str());
        let (file, column, value) = (self.file.to_string(), heading.to_string(), value.to_string());
        RowProblem { file, row, column, value, message }
    }

    /// Reads one row: what it holds, or why it is set aside.
    pub fn read(&self, row: u64, cells: TextRow<'_>) -> Result<Row<Entry>, SetAside> {
        let mut faults = Faults { reader: self, row, cells, problems: Vec::new() };
        let entry = match self.understood.kind {
            TableKind::Batches => faults.batch(),
            TableKind::Readings => faults.reading(),
            TableKind::Surroundings => faults.surroundings(),
        };
        match entry {
            Some(value) if faults.problems.is_empty() => Ok(Row { row, value }),
            _ => Err(SetAside { row, cells: shown(cells), problems: faults.problems }),
        }
    }
}

/// The cells of a row as a person sees them.
pub fn shown(cells: TextRow<'_>) -> Vec<String> {
    (0..cells.len()).map(|i| cells.cell(i).shown().into_owned()).collect()
}

struct Faults<'a> {
    reader: &'a RowReader<'a>,
    row: u64,
    cells: TextRow<'a>,
    problems: Vec<RowProblem>,
}

impl Faults<'_> {
    fn add(&mut self, column: &str, value: &str, message: String) {
        let value = value.chars().take(80).collect();
        let (file, row) = (self.reader.file.to_string(), self.row);
        self.problems.push(RowProblem { file, row, column: column.to_string(), value, message });
    }

    fn batch(&mut self) -> Option<Entry> {
        let mut batch = Box::new(Batch::default());
        for column in &self.reader.understood.columns {
            let Target::Column(target) = column.target else { continue };
            self.set(&mut batch, column, target);
        }
        self.beyond_the_headings();
        for problem in check(&batch, self.reader.purpose) {
            let at = self.column_of(problem.column);
            let (heading, value) = match at {
                Some(column) => (column.heading.clone(), self.cells.cell(column.place).shown().into_owned()),
                None => (problem.column.name().to_string(), problem.value),
            };
            // A cell that could not be read is blank in the batch; that it is needed would be said twice.
            if !self.problems.iter().any(|p| p.column == heading) {
                self.add(&heading, &value, problem.message);
            }
        }
        Some(Entry::Batch(batch))
    }

    fn reading(&mut self) -> Option<Entry> {
        let mut batch = Batch::default();
        let (mut hours, mut vessel) = (None, Vessel::Dough);
        for column in &self.reader.understood.columns {
            match column.target {
                Target::Column(target) => self.set(&mut batch, column, target),
                Target::Hours => hours = self.number(column, "h", 0.0, 480.0),
                Target::Vessel => vessel = self.vessel(column).unwrap_or_default(),
                Target::SurroundingsTemp => {}
            }
        }
        self.beyond_the_headings();
        let batch_id = self.needed("batch_id", batch.batch_id, "name the batch that it belongs to");
        let hours = self.needed("hours", hours, "hours since the end of mixing are wanted");
        if self.problems.is_empty() && batch.rise.is_none() && batch.dough_temp_c.is_none() {
            self.add("rise", "", "a reading needs a rise or a dough_temp_c".into());
        }
        let (rise, dough_temp_c) = (batch.rise, batch.dough_temp_c);
        Some(Entry::Reading(Reading { batch_id: batch_id?, hours: hours?, rise, dough_temp_c, vessel }))
    }

    fn surroundings(&mut self) -> Option<Entry> {
        let mut batch = Batch::default();
        let (mut hours, mut temp) = (None, None);
        for column in &self.reader.understood.columns {
            match column.target {
                Target::Column(target) => self.set(&mut batch, column, target),
                Target::Hours => hours = self.number(column, "h", 0.0, 480.0),
                Target::SurroundingsTemp => temp = self.number(column, "°C", -25.0, 60.0),
                Target::Vessel => {}
            }
        }
        self.beyond_the_headings();
        let batch_id = self.needed("batch_id", batch.batch_id, "name the batch that it belongs to");
        let hours = self.needed("hours", hours, "hours since the end of mixing are wanted");
        let temp = self.needed("surroundings_temp_c", temp, "a temperature in °C is wanted");
        let point = SurroundingsPoint { batch_id: batch_id?, hours: hours?, surroundings_temp_c: temp? };
        Some(Entry::Surroundings(point))
    }

    fn set(&mut self, batch: &mut Batch, column: &UnderstoodColumn, target: Column) {
        let cell = self.cells.cell(column.place);
        let value = match cell {
            Cell::Blank => return,
            Cell::Number(x) => Value::Number(x),
            Cell::Text(text) if text.chars().count() > MOST_LETTERS => {
                return self.add(
                    &column.heading,
                    text,
                    format!("it has more than {MOST_LETTERS} letters: shorten it"),
                );
            }
            cell => Value::Text(cell.shown().into_owned()),
        };
        if let Err(refused) = batch.set(target, &value) {
            self.add(&column.heading, &cell.shown(), refused.expected);
        }
    }

    fn number(&mut self, column: &UnderstoodColumn, unit: &str, min: f64, max: f64) -> Option<f64> {
        let cell = self.cells.cell(column.place);
        if cell.is_blank() {
            return None;
        }
        let x: Option<f64> = cell.shown().parse().ok();
        let good = x.filter(|x| (min..=max).contains(x));
        if good.is_none() {
            let message = match x {
                Some(_) => format!("it lies between {min} and {max} {unit}"),
                None => format!("a number is wanted, in {unit}"),
            };
            self.add(&column.heading, &cell.shown(), message);
        }
        good
    }

    fn vessel(&mut self, column: &UnderstoodColumn) -> Option<Vessel> {
        let cell = self.cells.cell(column.place);
        if cell.is_blank() {
            return None;
        }
        let vessel = cell.shown().parse().ok();
        if vessel.is_none() {
            self.add(
                &column.heading,
                &cell.shown(),
                format!("one of {} is wanted", Vessel::WORDS.join(", ")),
            );
        }
        vessel
    }

    fn needed<T>(&mut self, column: &str, value: Option<T>, message: &str) -> Option<T> {
        let said = self.reader.understood.columns.iter().find(|c| c.target.name() == column);
        let heading = said.map_or(column, |c| c.heading.as_str());
        if value.is_none() && !self.problems.iter().any(|p| p.column == heading) {
            self.add(heading, "", message.into());
        }
        value
    }

    fn column_of(&self, column: Column) -> Option<&UnderstoodColumn> {
        self.reader.understood.columns.iter().find(|c| c.target == Target::Column(column))
    }

    /// Cells to the right of all headings are most often a comma inside a number.
    fn beyond_the_headings(&mut self) {
        let last = self.reader.understood.columns.iter().map(|c| c.place).max().unwrap_or(0);
        let first_extra = (last + 1..self.cells.len()).map(|i| self.cells.cell(i)).find(|c| !c.is_blank());
        if let Some(cell) = first_extra {
            let message = format!(
                "the row has {} cells, the headings are {}: put quotation marks around a cell with a comma in it",
                self.cells.len(),
                last + 1
            );
            self.add("", &cell.shown(), message);
        }
    }
}
