//! What cannot be known from a sheet: each question names its place, shows what is in doubt, and gives the
//! option of the import command that settles it.

use std::fmt;

use serde::Serialize;

use super::column_map::IGNORE;
use super::dates::DateOrder;
use super::headings::Target;
use super::number::Decimal;
use super::survey::Example;
use super::units::Unit;
use super::way::Way;
use crate::dough::Kind;

/// A question that the sheet leaves open.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Question {
    /// The row to look at, as a spreadsheet numbers it.
    pub row: u64,
    /// The heading, or the column's letter where it has none, or the name of what is missing.
    pub column: String,
    /// What stands there, as an example.
    pub value: String,
    /// What is in doubt.
    pub message: String,
    /// Ways to settle it, one of which is to be taken; in JSON, as options of the import command.
    pub settled_by: Vec<Way>,
    /// Whether a column is missing that a record needs; a plan does not.
    pub missing: bool,
    /// The way to settle it that is clearly the likeliest.
    #[serde(skip)]
    best: Option<Way>,
}

/// Where a question arises.
#[derive(Debug, Clone, Copy)]
pub struct At<'a> {
    /// The heading, or the column's letter where it has none.
    pub column: &'a str,
    /// A cell to look at.
    pub example: &'a Example,
}

impl Question {
    fn new(at: At<'_>, message: String, settled_by: Vec<Way>) -> Self {
        let value = at.example.value.chars().take(80).collect();
        Self {
            row: at.example.row,
            column: at.column.to_string(),
            value,
            message,
            settled_by,
            missing: false,
            best: None,
        }
    }

    /// With a way that is clearly the likeliest.
    fn likely(mut self, best: Option<Way>) -> Self {
        self.best = best;
        self
    }

    /// The option of the import command that answers it, with a ? where nothing is clearly the likeliest; `None` where
    /// no option can.
    pub fn answer(&self) -> Option<String> {
        let open = || self.settled_by.first().map(Way::unsaid);
        self.best.as_ref().map(Way::to_string).or_else(open)
    }

    /// The heading of which it is open what column it is.
    pub fn open_heading(&self) -> Option<&str> {
        let is_column = |w: &Way| matches!(w, Way::Column(heading, _) if *heading == self.column);
        self.settled_by.first().filter(|w| is_column(w) && !self.missing).map(|_| self.column.as_str())
    }

    /// A heading that is not known.
    pub fn unknown(at: At<'_>, suggested: &[Target], dates: bool) -> Self {
        let names: Vec<&str> = suggested.iter().map(|t| t.name()).collect();
        let cells = if dates { ", and its cells are dates" } else { "" };
        let perhaps = match names.as_slice() {
            [] => String::new(),
            names => format!("; it may be {}", either(names)),
        };
        let message = format!(
            "this heading is not known{cells}{perhaps} (`doughwright import --help` lists all columns)"
        );
        let ways: Vec<Way> = names.iter().map(|n| column_option(at.column, n)).collect();
        let best = sole(&ways);
        let ways = ways.into_iter().chain([column_option(at.column, IGNORE)]).collect();
        Self::new(at, message, ways).likely(best)
    }

    /// A column of cells under no heading.
    pub fn no_heading(at: At<'_>) -> Self {
        let message = "there are cells here under no heading: give the column one, or empty it".into();
        let ignore = column_option(at.column, IGNORE);
        Self::new(at, message, vec![ignore.clone()]).likely(Some(ignore))
    }

    /// A heading that may name several columns.
    pub fn which_column(at: At<'_>, targets: &[Target]) -> Self {
        let names: Vec<&str> = targets.iter().map(|t| t.name()).collect();
        let message = format!("this may be {}, and its cells do not tell", either(&names));
        Self::new(at, message, names.iter().map(|n| column_option(at.column, n)).collect())
    }

    /// A unit that neither the heading nor the cells tell.
    pub fn which_unit(at: At<'_>, units: &[Unit]) -> Self {
        let names: Vec<&str> = units.iter().map(|u| u.name()).collect();
        let message = format!("this may be in {}, and the cells allow both", either(&names));
        Self::new(at, message, units.iter().map(|u| Way::Unit(at.column.into(), *u)).collect())
    }

    /// A unit under which the cells would be unusual whichever it is.
    pub fn no_unit(at: At<'_>, units: &[Unit]) -> Self {
        let names: Vec<&str> = units.iter().map(|u| u.name()).collect();
        let message = format!("no unit is named, and most cells would be unusual in {}", either(&names));
        Self::new(at, message, units.iter().map(|u| Way::Unit(at.column.into(), *u)).collect())
    }

    /// A mark that may part decimals or thousands.
    pub fn which_decimal(at: At<'_>, mark: Decimal) -> Self {
        let (mark, other) = (mark.name(), mark.other().name());
        let message = format!(
            "this {mark} may be the decimal mark, or part thousands (decimal {other}), in every cell of the column"
        );
        Self::new(at, message, decimal_options())
    }

    /// A number that either mark allows, in a column that has both.
    pub fn both_decimals(at: At<'_>, point: &Example, comma: &Example) -> Self {
        let message = format!(
            "this may be thousands or not: the column has both decimal marks (row {}, '{}'; row {}, '{}')",
            point.row, point.value, comma.row, comma.value
        );
        Self::new(at, message, decimal_options())
    }

    /// Dates that allow both orders.
    pub fn which_order(at: At<'_>) -> Self {
        let message = "day or month may come first, and no date in the column tells".into();
        Self::new(at, message, order_options())
    }

    /// Dates that only allow different orders.
    pub fn both_orders(at: At<'_>, other: &Example) -> Self {
        let message =
            format!("day and month stand in the other order than in row {} ('{}')", other.row, other.value);
        Self::new(at, message, order_options())
    }

    /// Dates that a spreadsheet took for month-first while others stayed text.
    pub fn exchanged(at: At<'_>) -> Self {
        let message = "this date is text, while others are stored as dates with no day after the 12th: \
             the spreadsheet may have exchanged day and month in those: type the column anew if it has"
            .into();
        Self::new(at, message, order_options())
    }

    /// A second column for what another holds.
    pub fn twice(at: At<'_>, target: Target, first: &str) -> Self {
        let message = format!("this is {target}, as '{first}' is: keep one of them");
        Self::new(at, message, vec![column_option(at.column, IGNORE), column_option(first, IGNORE)])
    }

    /// A column that every row needs.
    pub fn needed(heading_row: u64, target: Target, perhaps: &[&str]) -> Self {
        let example = Example { row: heading_row, value: String::new() };
        let at = At { column: target.name(), example: &example };
        let kind = match target {
            Target::Column(column) => Some((column, column.kind())),
            _ => None,
        };
        let (message, settled_by) = match kind {
            Some((column, Kind::Choice(words))) => {
                let options = words.iter().map(|w| Way::Fill(column, w)).collect();
                ("every row needs it, and no heading names it", options)
            }
            _ if !perhaps.is_empty() => {
                let quoted: Vec<String> = perhaps.iter().map(|h| format!("'{h}'")).collect();
                let quoted: Vec<&str> = quoted.iter().map(String::as_str).collect();
                let says = if target.is_date() { "holds dates" } else { "may be it" };
                let message =
                    format!("every row needs it, and no heading names it; {} {says}", either(&quoted));
                let ways: Vec<Way> = perhaps.iter().map(|h| column_option(h, target.name())).collect();
                let best = sole(&ways);
                return Self { missing: true, ..Self::new(at, message, ways).likely(best) };
            }
            _ => ("every row needs it, and no heading names it: add the column", vec![]),
        };
        Self { missing: true, ..Self::new(at, message.into(), settled_by) }
    }
}

fn column_option(heading: &str, column: &str) -> Way {
    Way::Column(heading.into(), column.into())
}

fn decimal_options() -> Vec<Way> {
    vec![Way::Decimal(Decimal::Point), Way::Decimal(Decimal::Comma)]
}

fn order_options() -> Vec<Way> {
    vec![Way::Dates(DateOrder::DayFirst), Way::Dates(DateOrder::MonthFirst)]
}

fn either(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_string(),
        [others @ .., last] => format!("{} or {last}", others.join(", ")),
    }
}

impl fmt::Display for Question {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "row {}, column {}", self.row, self.column)?;
        if !self.value.is_empty() {
            write!(f, ", '{}'", self.value)?;
        }
        write!(f, ": {}", self.message)?;
        let options: Vec<String> = self.settled_by.iter().map(ToString::to_string).collect();
        if !options.is_empty() {
            let options: Vec<&str> = options.iter().map(String::as_str).collect();
            write!(f, "; settle it with {}", either(&options))?;
        }
        Ok(())
    }
}

/// The way, where there is but one.
fn sole(ways: &[Way]) -> Option<Way> {
    if let [only] = ways { Some(only.clone()) } else { None }
}
