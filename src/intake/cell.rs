//! One cell as a file gives it, before anyone has said what it means.

use std::borrow::Cow;

use super::delimited::TextRow;
use super::units::Unit;
use crate::dough::When;

/// One cell of a table. Text files hold only text; a workbook also knows numbers, dates and spans of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cell<'a> {
    /// Nothing, or nothing but spaces.
    Blank,
    /// Text without the spaces around it.
    Text(&'a str),
    /// A number that the workbook stores as one.
    Number(f64),
    /// A number that the workbook stores, and shows with a unit by the format of the cell.
    Measured(f64, Unit),
    /// A date, or date and time of day, that the workbook stores as one.
    Date(When),
    /// A span of time, or a time of day, that the workbook stores as one: in hours.
    Span(f64),
    /// An error that the workbook shows in place of a value, such as `#DIV/0!`.
    Error(&'a str),
}

impl<'a> Cell<'a> {
    /// A cell of a text file.
    pub fn of_text(text: &'a str) -> Self {
        match trim(text) {
            "" => Self::Blank,
            text => Self::Text(text),
        }
    }

    /// Whether there is nothing in it.
    pub fn is_blank(&self) -> bool {
        matches!(self, Self::Blank)
    }

    /// Whether it is a dash, which says of a number that there is none.
    pub fn is_dash(&self) -> bool {
        matches!(self, Self::Text("-" | "\u{2013}" | "\u{2014}"))
    }

    /// What a person sees in it.
    pub fn shown(&self) -> Cow<'a, str> {
        match *self {
            Self::Blank => Cow::Borrowed(""),
            Self::Text(text) | Self::Error(text) => Cow::Borrowed(text),
            Self::Number(x) => Cow::Owned(x.to_string()),
            Self::Measured(x, unit) => Cow::Owned(format!("{x} {unit}")),
            Self::Date(when) => Cow::Owned(when.to_string()),
            Self::Span(hours) => {
                let minutes = (hours * 60.0).round() as i64;
                Cow::Owned(format!("{}:{:02}", minutes / 60, (minutes % 60).abs()))
            }
        }
    }
}

/// A row of any table: its cells by their place, counted from 0.
#[derive(Debug, Clone, Copy)]
pub enum Cells<'a> {
    /// Of a text file.
    Text(TextRow<'a>),
    /// Of a workbook.
    Stored(&'a [Stored]),
}

impl<'a> Cells<'a> {
    /// How many cells it has.
    pub fn len(&self) -> usize {
        match self {
            Self::Text(row) => row.len(),
            Self::Stored(row) => row.len(),
        }
    }

    /// The cell at a place; blank beyond the last.
    pub fn cell(&self, place: usize) -> Cell<'a> {
        match self {
            Self::Text(row) => row.cell(place),
            Self::Stored(row) => row.get(place).map_or(Cell::Blank, Stored::cell),
        }
    }

    /// All cells in order.
    pub fn iter(&self) -> impl Iterator<Item = Cell<'a>> + use<'a> {
        let cells = *self;
        (0..cells.len()).map(move |i| cells.cell(i))
    }

    /// Whether all cells are blank.
    pub fn is_blank(&self) -> bool {
        self.iter().all(|c| c.is_blank())
    }
}

/// A cell of a workbook, kept.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Stored {
    /// See [`Cell::Blank`].
    #[default]
    Blank,
    /// See [`Cell::Text`].
    Text(Box<str>),
    /// See [`Cell::Number`].
    Number(f64),
    /// See [`Cell::Measured`].
    Measured(f64, Unit),
    /// See [`Cell::Date`].
    Date(When),
    /// See [`Cell::Span`].
    Span(f64),
    /// See [`Cell::Error`].
    Error(Box<str>),
}

impl Stored {
    fn cell(&self) -> Cell<'_> {
        match self {
            Self::Blank => Cell::Blank,
            Self::Text(text) => Cell::of_text(text),
            Self::Number(x) => Cell::Number(*x),
            Self::Measured(x, unit) => Cell::Measured(*x, *unit),
            Self::Date(when) => Cell::Date(*when),
            Self::Span(hours) => Cell::Span(*hours),
            Self::Error(text) => Cell::Error(text),
        }
    }
}

/// Without the spaces around it, the no-break spaces that spreadsheets like to leave included.
pub fn trim(text: &str) -> &str {
    let plain = |b: Option<&u8>| b.is_none_or(|b| b.is_ascii_graphic());
    if plain(text.as_bytes().first()) && plain(text.as_bytes().last()) {
        return text;
    }
    text.trim_matches(|c: char| c.is_whitespace() || c == '\u{feff}' || c == '\u{200b}')
}
