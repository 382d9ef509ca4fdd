//! One cell as a file gives it, before anyone has said what it means.

use std::borrow::Cow;

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

    /// What a person sees in it.
    pub fn shown(&self) -> Cow<'a, str> {
        match *self {
            Self::Blank => Cow::Borrowed(""),
            Self::Text(text) | Self::Error(text) => Cow::Borrowed(text),
            Self::Number(x) => Cow::Owned(x.to_string()),
            Self::Date(when) => Cow::Owned(when.to_string()),
            Self::Span(hours) => {
                let minutes = (hours * 60.0).round() as i64;
                Cow::Owned(format!("{}:{:02}", minutes / 60, (minutes % 60).abs()))
            }
        }
    }
}

/// Without the spaces around it, the no-break spaces that spreadsheets like to leave included.
pub fn trim(text: &str) -> &str {
    text.trim_matches(|c: char| c.is_whitespace() || c == '\u{feff}' || c == '\u{200b}')
}
