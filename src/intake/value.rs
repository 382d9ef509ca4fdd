//! One cell into the value of its column, by what was decided for the whole column; or what is wrong with it.

use std::borrow::Cow;

use jiff::civil::Time;

use super::cell::Cell;
use super::dates::{DateOrder, clock, date};
use super::headings::Target;
use super::number::{Decimal, by_own_marks, plain};
use super::spellings::Spellings;
use super::understood::UnderstoodColumn;
use super::units::{Quantity, Share, Unit};
use super::workbook::NOT_CALCULATED;
use crate::dough::{Celsius, Kind, When};

/// Letters of one cell beyond which it is no entry: as many as a spreadsheet's cell holds.
const MOST_LETTERS: usize = 32_767;

/// A number in the unit of its column, or as a share of a flour that the same row tells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Number {
    /// In the unit in which the column is kept; as a fraction when `share` is of a flour.
    pub value: f64,
    /// Of what it is told.
    pub share: Share,
    /// The unit in which it was written.
    pub unit: Unit,
    /// Figures behind the decimal mark, where it was written as text.
    pub decimals: Option<usize>,
}

/// Reads the number in a cell that is not blank.
///
/// # Errors
/// What is wrong with it, for the baker: no number, or a unit that the column cannot have.
pub fn number(cell: Cell<'_>, column: &UnderstoodColumn) -> Result<Number, String> {
    let Some(quantity) = column.target.quantity() else { return Err("text is wanted".into()) };
    let bare = column.unit.unwrap_or(quantity.kept_in());
    if let Cell::Text(text) = cell
        && bare == quantity.kept_in()
        && column.decimal != Some(Decimal::Comma)
        && let Some(value) = plain(text)
    {
        return Ok(Number { value, share: Share::Own, unit: bare, decimals: Some(decimals_of(text)) });
    }
    let decimals = if let Cell::Text(text) = cell { Some(decimals_of(text)) } else { None };
    let (value, unit) = match cell {
        Cell::Number(x) => (x, bare),
        Cell::Measured(x, unit) => (x, unit),
        Cell::Span(hours) if matches!(quantity, Quantity::Hours | Quantity::Minutes) => (hours, Unit::Hour),
        Cell::Text(text) => written(text, column, quantity, bare)?,
        cell => return Err(no_number(cell, quantity)),
    };
    let unit = column.percent.filter(|_| unit == Unit::Percent).unwrap_or(unit);
    let meanings = unit.meanings(column.target);
    let wrong = || format!("{unit} is no unit of {}: give it in {}", column.target, quantity.kept_in());
    let unit = *meanings.first().filter(|only| meanings.len() == 1 || **only == unit).ok_or_else(wrong)?;
    let value = unit.convert(value, quantity).filter(|x| x.is_finite()).ok_or_else(wrong)?;
    Ok(Number { value, share: unit.share(), unit, decimals })
}

fn written(
    text: &str,
    column: &UnderstoodColumn,
    quantity: Quantity,
    bare: Unit,
) -> Result<(f64, Unit), String> {
    let decimal = column.decimal.unwrap_or(Decimal::Point);
    if decimal == Decimal::Point
        && let Some(x) = plain(text)
    {
        return Ok((x, bare));
    }
    let words = Spellings::get();
    let Some(found) = by_own_marks(text, decimal, words) else {
        return Err(no_number(Cell::Text(text), quantity));
    };
    if found.clock && quantity == Quantity::Minutes {
        return Err("this may be hours and minutes, or minutes and seconds: write 8.5, or 8 min 30 s".into());
    }
    Ok((found.value, found.unit.unwrap_or(bare)))
}

fn no_number(cell: Cell<'_>, quantity: Quantity) -> String {
    match cell {
        Cell::Error(text) => error_cell(text),
        Cell::Date(_) => "a date stands here; the spreadsheet may have taken a number such as 2.5 for one: \
             type it anew as a number"
            .into(),
        _ => match quantity {
            Quantity::Score => "a number is wanted".into(),
            _ => format!("a number is wanted, in {}", quantity.kept_in()),
        },
    }
}

/// What to add where a bare temperature is outside the limits of its column and would be inside them in °F.
pub fn or_fahrenheit(cell: Cell<'_>, target: Target, celsius: f64) -> String {
    let is_bare = match cell {
        Cell::Number(_) => true,
        Cell::Text(text) => text.ends_with(|c: char| c.is_ascii_digit()),
        _ => false,
    };
    let within = |x: f64| target.range().is_some_and(|(min, max)| (min..=max).contains(&x));
    let meant = Celsius::from_fahrenheit(celsius).0;
    match target.quantity() {
        Some(Quantity::Temperature) if is_bare && !within(celsius) && within(meant) => {
            format!("; {celsius} °F is {meant:.1} °C: write {celsius}F")
        }
        _ => String::new(),
    }
}

/// What to add where words stand in place of a weight, such as "a pinch".
pub fn or_a_guess(cell: Cell<'_>, target: Target) -> &'static str {
    let is_words = matches!(cell, Cell::Text(text) if !text.contains(|c: char| c.is_ascii_digit()));
    match target.quantity() {
        Some(Quantity::Mass) if is_words => ": give your best guess, or leave the row out",
        _ => "",
    }
}

fn error_cell(text: &str) -> String {
    match text == NOT_CALCULATED {
        true => "open the file in a spreadsheet program, and save it".into(),
        false => "the sheet shows an error here: correct its formula".into(),
    }
}

fn decimals_of(text: &str) -> usize {
    let digits = |at: usize| text[at + 1..].bytes().take_while(u8::is_ascii_digit).count();
    text.rfind(['.', ',']).map_or(0, digits)
}

/// Reads the date in a cell that is not blank.
///
/// # Errors
/// What is wrong with it, for the baker: no date, a bare number, or an error of the sheet.
pub fn when(cell: Cell<'_>, order: Option<DateOrder>) -> Result<When, String> {
    const WANTED: &str = "a date such as 2026-03-01, or 2026-03-01T08:30, is wanted";
    match cell {
        Cell::Date(when) => Ok(when),
        Cell::Error(text) => Err(error_cell(text)),
        Cell::Number(_) => Err("this is a number, not a date: format the column as dates".into()),
        Cell::Text(text) if plain(text).is_some() => {
            Err(format!("a bare number is no date: format the column as dates; {WANTED}"))
        }
        // Where no order was decided there is no date in the column that depends on it.
        Cell::Text(text) => {
            date(text, order.unwrap_or(DateOrder::DayFirst), Spellings::get()).ok_or_else(|| WANTED.into())
        }
        _ => Err(WANTED.into()),
    }
}

/// Reads the time of day in a cell that is not blank.
///
/// # Errors
/// When it is none.
pub fn time(cell: Cell<'_>) -> Result<Time, String> {
    let seconds = |hours: f64| {
        Time::midnight().checked_add(jiff::SignedDuration::from_secs((hours * 3600.0).round() as i64)).ok()
    };
    let found = match cell {
        Cell::Span(hours) if (0.0..24.0).contains(&hours) => seconds(hours),
        Cell::Text(text) => clock(text),
        Cell::Date(when) => when.clock().map(|at| at.time()),
        _ => None,
    };
    found.ok_or_else(|| "a time of day such as 8:30 is wanted".into())
}

/// The text in a cell that is not blank.
///
/// # Errors
/// When the sheet shows an error there, or it has more letters than a spreadsheet's cell holds.
pub fn text<'a>(cell: Cell<'a>) -> Result<Cow<'a, str>, String> {
    match cell {
        Cell::Error(text) => Err(error_cell(text)),
        Cell::Text(text) if text.len() > MOST_LETTERS && text.chars().count() > MOST_LETTERS => {
            Err(format!("it has more than {MOST_LETTERS} letters: shorten it"))
        }
        Cell::Text(text) => Ok(Cow::Borrowed(text)),
        cell => Ok(cell.shown()),
    }
}

/// The fixed word for what stands in a cell of a column of choices; the text itself where it is none.
///
/// # Errors
/// As [`text`].
pub fn word<'a>(cell: Cell<'a>, target: Target) -> Result<Cow<'a, str>, String> {
    let text = text(cell)?;
    if let Target::Column(column) = target
        && let Kind::Choice(words) = column.kind()
        && words.contains(&&*text)
    {
        return Ok(text);
    }
    Ok(Spellings::get().choice(target, &text).map_or(text, Cow::Borrowed))
}
