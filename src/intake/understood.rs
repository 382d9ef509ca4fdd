//! What was made of a sheet, to be told before anything is kept, and written as a mapping file.

use std::collections::BTreeMap;
use std::fmt;

use super::column_map::{ColumnMap, IGNORE, Mapped};
use super::dates::DateOrder;
use super::headings::{TableKind, Target, column_letters};
use super::layout::column_name;
use super::number::Decimal;
use super::question::Question;
use super::set_aside::PROBLEM_HEADING;
use super::table::Table;
use super::units::Unit;
use crate::dough::counted::counted;
use crate::dough::{Column, Value, YeastType};

/// What a sheet was taken for.
#[derive(Debug, Clone, PartialEq)]
pub struct Understood {
    /// The file's name.
    pub file: String,
    /// The sheet, in a workbook.
    pub sheet: Option<String>,
    /// What the file is: its encoding and separator, or the sheet.
    pub form: String,
    /// A short hash of the headings, by which the logbook can remember what was settled about this sheet.
    pub shape: String,
    /// Which table it is.
    pub kind: TableKind,
    /// The row of headings, as a spreadsheet numbers it; 0 where each line names its own.
    pub heading_row: u64,
    /// Each column of the sheet that is used, in its order.
    pub columns: Vec<UnderstoodColumn>,
    /// Columns that are not used, and why.
    pub left_out: Vec<LeftOut>,
    /// Rows that are no data: headings once more, totals at the foot.
    pub passed_over: PassedOver,
    /// What every row says though no column does.
    pub fill: BTreeMap<Column, Value>,
    /// What cannot be known; nothing is read while a question is open.
    pub questions: Vec<Question>,
}

/// What one column of the sheet was taken for.
#[derive(Debug, Clone, PartialEq)]
pub struct UnderstoodColumn {
    /// Counted from 0.
    pub place: usize,
    /// As it stands in the sheet; the column's letter where there is none.
    pub heading: String,
    /// What it is taken for.
    pub target: Target,
    /// The unit of numbers that do not name their own; `None` where there are none yet, and for other columns.
    pub unit: Option<Unit>,
    /// What a percent sign in a cell is of, where there is one.
    pub percent: Option<Unit>,
    /// The decimal mark, where numbers have one.
    pub decimal: Option<Decimal>,
    /// What tells the decimal mark.
    pub decimal_why: Option<String>,
    /// The order of day and month, where dates are in figures.
    pub dates: Option<DateOrder>,
    /// The kind of yeast that the heading names.
    pub yeast: Option<YeastType>,
    /// Why it was taken so.
    pub why: Vec<String>,
    /// What the baker should know though nothing is asked.
    pub notes: Vec<String>,
}

/// A column that is not used.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOut {
    /// The column's letter.
    pub letter: String,
    /// As it stands in the sheet.
    pub heading: String,
    /// Why it is not used.
    pub why: &'static str,
}

impl LeftOut {
    /// The reason when the baker left it out.
    pub const TOLD: &'static str = "you said so";

    /// A column at a place, counted from 0.
    pub fn new(place: usize, heading: &str, why: &'static str) -> Self {
        Self { letter: column_letters(place), heading: heading.to_string(), why }
    }
}

/// Rows that are no data.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PassedOver {
    /// How many repeat the headings or the units, and the first of them.
    pub headings: (u64, Option<u64>),
    /// How many are totals or means at the foot, and the first of them.
    pub foot: (u64, Option<u64>),
    /// How many are the example of a template, and the first of them.
    pub example: (u64, Option<u64>),
}

/// A short hash of the headings of a table. A file of rows that were set aside has the shape of its sheet.
pub fn shape(table: &Table) -> String {
    let mut hasher = blake3::Hasher::new();
    for heading in table.headings.iter().filter(|h| h.text != PROBLEM_HEADING) {
        hasher.update(heading.text.as_bytes());
        hasher.update(b"\n");
    }
    hasher.finalize().to_hex()[..16].to_string()
}

impl Understood {
    /// How the reason ends where a cell of the column shows its decimal mark.
    pub(super) const SHOWN: &'static str = "shows it";

    /// What was understood so far, in one line: each heading with its column, and with its unit where it has one.
    pub fn in_short(&self) -> String {
        let one = |c: &UnderstoodColumn| {
            let unit = c.unit.map(|u| format!(" in {u}")).unwrap_or_default();
            format!("'{}' is {}{unit}", c.heading, c.target)
        };
        self.columns.iter().map(one).collect::<Vec<_>>().join(", ")
    }

    /// What was understood as a mapping: applied to the same sheet, it decides the same without its cells.
    pub fn to_map(&self) -> ColumnMap {
        let twice = |heading: &str| self.columns.iter().filter(|c| c.heading == heading).count() > 1;
        let open = |c: &UnderstoodColumn| Unit::Percent.meanings(c.target).len() > 1;
        let used = self.columns.iter().map(|c| Mapped {
            heading: c.heading.clone(),
            letter: twice(&c.heading).then(|| column_letters(c.place)),
            column: Some(c.target.name().into()),
            unit: c.unit.or(c.percent.filter(|_| open(c))),
            decimal: c.decimal,
            yeast_type: c.yeast,
        });
        // A column without cells is not written: it is to be asked about once it has some.
        let left = self.left_out.iter().filter(|l| l.why == LeftOut::TOLD).map(|l| Mapped {
            heading: if l.heading.is_empty() { l.letter.clone() } else { l.heading.clone() },
            column: Some(IGNORE.into()),
            ..Mapped::default()
        });
        ColumnMap {
            sheet: self.sheet.clone(),
            decimal: None,
            dates: self.columns.iter().find_map(|c| c.dates),
            fill: self.fill.clone(),
            columns: used.chain(left).collect(),
        }
    }
}

impl fmt::Display for Understood {
    /// What was understood, one line a column.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}; {}", self.file, self.kind.name(), self.form)?;
        match self.heading_row {
            0 => writeln!(f)?,
            row => writeln!(f, "; headings in row {row}")?,
        }
        let has_comma = self.columns.iter().any(|c| c.decimal == Some(Decimal::Comma));
        for column in &self.columns {
            write!(f, "  {column}")?;
            // A decimal point that its cells show is nothing to tell; a comma, or a mark that other things told, is.
            let plain = column.decimal == Some(Decimal::Point) && !has_comma;
            if let (Some(why), Some(decimal)) = (&column.decimal_why, column.decimal)
                && !(plain && why.ends_with(Self::SHOWN))
            {
                write!(f, "; decimal {}: {why}", decimal.name())?;
            }
            for note in &column.notes {
                write!(f, "; {note}")?;
            }
            writeln!(f)?;
        }
        for (column, value) in &self.fill {
            writeln!(f, "  every row: {column} = {value}")?;
        }
        for left in &self.left_out {
            writeln!(f, "  {} '{}' is left out: {}", left.letter, left.heading, left.why)?;
        }
        let rows = [
            (
                "row repeats the headings and is",
                "rows repeat the headings and are",
                &self.passed_over.headings,
            ),
            ("row is a total and is", "rows are totals and are", &self.passed_over.foot),
            (
                "row is the template's example and is",
                "rows are the template's example and are",
                &self.passed_over.example,
            ),
        ];
        for (one, many, (n, first)) in rows {
            if let Some(first) = first {
                writeln!(f, "  {} passed over (first: row {first})", counted(*n as usize, one, many))?;
            }
        }
        for question in &self.questions {
            writeln!(f, "  ? {question}")?;
        }
        Ok(())
    }
}

impl fmt::Display for UnderstoodColumn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} '{}' is {}",
            column_letters(self.place),
            column_name(self.place, &self.heading),
            self.target
        )?;
        if let Some(unit) = self.unit.filter(|u| Some(*u) != self.target.quantity().map(|q| q.kept_in())) {
            write!(f, " in {unit}")?;
        }
        if let Some(yeast) = self.yeast {
            write!(f, " ({yeast})")?;
        }
        if !self.why.is_empty() {
            write!(f, ": {}", self.why.join("; "))?;
        }
        Ok(())
    }
}
