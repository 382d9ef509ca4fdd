//! One way to settle a question about a sheet: an option of the import command, a line on a page, an entry of a mapping.

use std::fmt;

use serde::{Serialize, Serializer};

use super::column_map::{ColumnMap, IGNORE, UNSAID};
use super::dates::DateOrder;
use super::number::Decimal;
use super::units::Unit;
use crate::dough::{Column, Value};

/// A way to settle a question.
#[derive(Debug, Clone, PartialEq)]
pub enum Way {
    /// Take a heading for a column, by its name, or for none.
    Column(String, String),
    /// Take a heading's cells for being in a unit.
    Unit(String, Unit),
    /// The decimal mark of the sheet.
    Decimal(Decimal),
    /// The order of day and month in the sheet.
    Dates(DateOrder),
    /// What every row says.
    Fill(Column, &'static str),
}

impl Way {
    /// Goes this way in a mapping.
    pub fn put_into(&self, map: &mut ColumnMap) {
        match self {
            Self::Column(heading, column) => map.settle(heading).column = Some(column.clone()),
            Self::Unit(heading, unit) => map.settle(heading).unit = Some(*unit),
            Self::Decimal(mark) => map.decimal = Some(*mark),
            Self::Dates(order) => map.dates = Some(*order),
            Self::Fill(column, word) => {
                map.fill.insert(*column, Value::Text((*word).into()));
            }
        }
    }

    /// As an option of the import command with a ? for what is to be said.
    pub fn unsaid(&self) -> String {
        match self {
            Self::Column(heading, _) => format!("--column {}", quoted(&format!("{heading}={UNSAID}"))),
            Self::Unit(heading, _) => format!("--unit {}", quoted(&format!("{heading}={UNSAID}"))),
            Self::Decimal(_) => format!("--decimal {}", quoted(UNSAID)),
            Self::Dates(_) => format!("--dates {}", quoted(UNSAID)),
            Self::Fill(column, _) => format!("--fill {}", quoted(&format!("{column}={UNSAID}"))),
        }
    }

    /// In words, beside its question.
    pub fn says(&self) -> String {
        match self {
            Self::Column(_, column) if column == IGNORE => "leave it out".into(),
            Self::Column(_, column) => format!("it is {column}"),
            Self::Unit(_, unit) => format!("it is in {}", unit.name()),
            Self::Decimal(Decimal::Point) => "a point parts whole from parts, as in 2.5".into(),
            Self::Decimal(Decimal::Comma) => "a comma parts whole from parts, as in 2,5".into(),
            Self::Dates(DateOrder::DayFirst) => "the day comes first, as in 31/12/2026".into(),
            Self::Dates(DateOrder::MonthFirst) => "the month comes first, as in 12/31/2026".into(),
            Self::Fill(column, word) => format!("{column} is {} in every row", word.replace('_', " ")),
        }
    }
}

/// A word as a shell takes it for one: in quotation marks, with those inside it made safe.
pub fn quoted(word: &str) -> String {
    format!("'{}'", word.replace('\'', "'\\''"))
}

impl fmt::Display for Way {
    /// As an option of the import command.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Column(heading, column) => write!(f, "--column {}", quoted(&format!("{heading}={column}"))),
            Self::Unit(heading, unit) => {
                write!(f, "--unit {}", quoted(&format!("{heading}={}", unit.name())))
            }
            Self::Decimal(Decimal::Point) => f.write_str("--decimal point"),
            Self::Decimal(Decimal::Comma) => f.write_str("--decimal comma"),
            Self::Dates(DateOrder::DayFirst) => f.write_str("--dates day-first"),
            Self::Dates(DateOrder::MonthFirst) => f.write_str("--dates month-first"),
            Self::Fill(column, word) => write!(f, "--fill {column}={word}"),
        }
    }
}

impl Serialize for Way {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
