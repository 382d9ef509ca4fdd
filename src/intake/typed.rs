//! One value typed by hand, read as a cell of a sheet is read, but alone: what no other cell can settle is
//! refused with the way to write it.

use super::cell::Cell;
use super::dates::{Allows, allows};
use super::headings::Target;
use super::number::{Decimal, Marks, amount, plain};
use super::spellings::Spellings;
use super::understood::UnderstoodColumn;
use super::units::{Quantity, Share, Unit, tidy};
use super::value;
use crate::dough::{Batch, Column, Kind, Value};

/// Reads what was typed for a column, with or without a unit: "72 °F", "1h30", "2,5 g", "½".
///
/// # Errors
/// In words: why the column cannot hold it, or how to write what may mean two things.
pub fn typed(column: Column, text: &str) -> Result<Value, String> {
    typed_beside(column, text, None)
}

/// Reads what was typed for a column beside a flour, of which a percentage is then taken: "65 %" of water.
///
/// # Errors
/// As [`typed`].
pub fn typed_beside(column: Column, text: &str, flour_g: Option<f64>) -> Result<Value, String> {
    let cell = Cell::of_text(text);
    let target = Target::Column(column);
    let value = match column.kind() {
        Kind::Number { .. } => Value::Number(number(target, cell, flour_g)?),
        Kind::When => Value::Text(date(cell)?),
        Kind::Choice(_) => Value::Text(value::word(cell, target)?.into_owned()),
        Kind::Text => Value::Text(value::text(cell)?.into_owned()),
    };
    Batch::default().set(column, &value).map_err(|refused| match value {
        Value::Number(x) => refused.expected + &value::or_fahrenheit(cell, target, x),
        Value::Text(_) => refused.expected,
    })?;
    Ok(value)
}

/// Reads a reading typed as HOURS=RISE: hours since the end of mixing, and the rise.
///
/// # Errors
/// In words: what is wrong with it.
pub fn typed_reading(text: &str) -> Result<(f64, f64), String> {
    let (hours, rise) = text.split_once('=').ok_or("hours, = and the rise are wanted, such as 3.5=1.4")?;
    let hours = in_range(Target::Hours, hours).map_err(|why| format!("hours: {why}"))?;
    let rise = in_range(Target::Column(Column::rise), rise).map_err(|why| format!("rise: {why}"))?;
    Ok((hours, rise))
}

/// Reads what a probe shows, typed as HOURS=TEMP: hours since the end of mixing, and the dough in °C.
///
/// # Errors
/// In words: what is wrong with it.
pub fn typed_probe(text: &str) -> Result<(f64, f64), String> {
    let (hours, temp) =
        text.split_once('=').ok_or("hours, = and the temperature are wanted, such as 3=22.5 or 3=72F")?;
    let hours = in_range(Target::Hours, hours).map_err(|why| format!("hours: {why}"))?;
    let temp =
        in_range(Target::Column(Column::dough_temp_c), temp).map_err(|why| format!("temperature: {why}"))?;
    Ok((hours, temp))
}

fn in_range(target: Target, text: &str) -> Result<f64, String> {
    let cell = Cell::of_text(text);
    let x = number(target, cell, None)?;
    let (min, max) = target.range().unwrap_or((f64::MIN, f64::MAX));
    match (min..=max).contains(&x) {
        true => Ok(x),
        false => Err(format!("it must lie between {min} and {max}") + &value::or_fahrenheit(cell, target, x)),
    }
}

fn number(target: Target, cell: Cell<'_>, flour_g: Option<f64>) -> Result<f64, String> {
    let column = UnderstoodColumn {
        place: 0,
        heading: target.name().into(),
        target,
        unit: target.quantity().map(|q| q.kept_in()),
        percent: None,
        decimal: decimal_of(&cell.shown())?,
        decimal_why: None,
        dates: None,
        yeast: None,
        why: Vec::new(),
        notes: Vec::new(),
    };
    if target.quantity() == Some(Quantity::Ratio)
        && let Some(percent) = percent(&cell.shown())
    {
        let (whole, gained) = (tidy(percent / 100.0), tidy(1.0 + percent / 100.0));
        return Err(format!("this may be {whole} or {gained} times the volume at first: write which"));
    }
    let number = value::number(cell, &column)?;
    match (number.share, flour_g) {
        (Share::Own, _) => Ok(number.value),
        (Share::OfFlour, Some(flour)) => Ok(tidy(number.value * flour)),
        (Share::OfFlour, None) => Err("give it in g, or say flour_g beside it".into()),
        (Share::OfPreferment, _) => Err("give it in g".into()),
    }
}

/// The number of a text with a bare percent sign.
fn percent(text: &str) -> Option<f64> {
    let read = |decimal| amount(text, decimal, Spellings::get());
    let found = read(Decimal::Point).or_else(|| read(Decimal::Comma))?;
    (found.unit == Some(Unit::Percent)).then_some(found.value)
}

/// The decimal mark of one number; a comma before three digits may be one or not.
fn decimal_of(text: &str) -> Result<Option<Decimal>, String> {
    let words = Spellings::get();
    let read = |decimal| amount(text, decimal, words);
    Ok(match read(Decimal::Point).or_else(|| read(Decimal::Comma)).map(|found| found.marks) {
        Some(Marks::Sure(decimal)) => Some(decimal),
        Some(Marks::Either(Decimal::Comma)) => {
            let (whole, parts) = (text.replace(',', ""), text.replace(',', "."));
            return Err(format!("this may be {whole} or {parts}: write it without the comma"));
        }
        _ => None,
    })
}

fn date(cell: Cell<'_>) -> Result<String, String> {
    let text = cell.shown();
    match allows(&text, Spellings::get()) {
        Some(Allows::Both) if plain(&text).is_none() => {
            Err("day and month may be meant the other way round: write it as 2026-03-01".into())
        }
        Some(Allows::Only(order)) => value::when(cell, Some(order)).map(|when| when.to_string()),
        _ => value::when(cell, None).map(|when| when.to_string()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(column: Column, text: &str) -> Result<String, String> {
        typed(column, text).map(|value| value.to_string())
    }

    #[test]
    fn what_is_typed_is_read_with_its_unit() {
        let cases = [
            (Column::flour_g, "1000", "1000"),
            (Column::flour_g, "1.5 kg", "1500"),
            (Column::yeast_g, "2,5 g", "2.5"),
            (Column::yeast_g, "½", "0.5"),
            (Column::yeast_g, "1.125", "1.125"),
            (Column::room_temp_c, "77 °F", "25"),
            (Column::bulk_hours, "1h30", "1.5"),
            (Column::bulk_hours, "1:30", "1.5"),
            (Column::date, "2026-03-01 08:30", "2026-03-01T08:30"),
            (Column::date, "31.12.2025", "2025-12-31"),
            (Column::yeast_type, "instant", "instant"),
            (Column::notes, "=1+1", "=1+1"),
        ];
        for (column, text, expected) in cases {
            assert_eq!(read(column, text).as_deref(), Ok(expected), "{text}");
        }
    }

    #[test]
    fn a_percentage_is_of_the_flour_beside_it() {
        assert_eq!(typed_beside(Column::water_g, "62,5 %", Some(1000.0)), Ok(Value::Number(625.0)));
        assert!(typed_beside(Column::water_g, "62,5 %", None).unwrap_err().contains("flour_g beside it"));
        assert!(read(Column::rise, "220 %").unwrap_err().contains("2.2 or 3.2 times"));
    }

    #[test]
    fn a_temperature_that_must_be_in_the_other_scale_says_so() {
        assert!(read(Column::room_temp_c, "72").unwrap_err().ends_with("72 °F is 22.2 °C: write 72F"));
        assert!(!read(Column::room_temp_c, "72 °C").unwrap_err().contains("°F"));
        assert!(!read(Column::room_temp_c, "500").unwrap_err().contains("°F"));
    }

    #[test]
    fn what_may_mean_two_things_is_not_guessed() {
        assert!(read(Column::flour_g, "1,250").unwrap_err().contains("1250 or 1.250"));
        assert!(read(Column::date, "3/4/2026").unwrap_err().contains("2026-03-01"));
        assert!(read(Column::yeast_g, "0.2 %").unwrap_err().contains("give it in g"));
        assert!(read(Column::cold_temp_c, "40").unwrap_err().contains("must lie between -5 and 20"));
        assert!(read(Column::yeast_g, "lots").unwrap_err().contains("a number is wanted"));
    }

    #[test]
    fn a_reading_is_hours_and_a_rise() {
        assert_eq!(typed_reading("3.5=1.4"), Ok((3.5, 1.4)));
        assert_eq!(typed_reading("1h30=1,2"), Ok((1.5, 1.2)));
        for wrong in ["3", "3=", "=1.2", "3=99", "-1=1.2", "x=1.2"] {
            assert!(typed_reading(wrong).is_err(), "{wrong}");
        }
        assert_eq!(typed_probe("20,5=77F"), Ok((20.5, 25.0)));
        assert!(typed_probe("3=72").unwrap_err().contains("write 72F"));
    }
}
