//! Dates as people write them. In what order day and month stand is decided for a whole column, never for
//! one cell; here a cell is read under an order, or says which orders it allows.

use jiff::civil::{Date, DateTime, Time};
use serde::{Deserialize, Serialize};

use super::spellings::Spellings;
use crate::dough::When;

/// In what order day and month stand in a date of figures, such as 3/4/2026.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DateOrder {
    /// 31/12/2026
    DayFirst,
    /// 12/31/2026
    MonthFirst,
}

/// The orders that one date allows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Allows {
    /// The order does not matter: the year comes first, the month is a word, or both numbers are equal.
    Any,
    /// Only this one gives a date.
    Only(DateOrder),
    /// Both give a date, and different ones.
    Both,
}

/// What orders a date allows; `None` when it is no date under either.
pub fn allows(text: &str, words: &Spellings) -> Option<Allows> {
    let day_first = date(text, DateOrder::DayFirst, words);
    let month_first = date(text, DateOrder::MonthFirst, words);
    Some(match (day_first, month_first) {
        (Some(a), Some(b)) if a == b => Allows::Any,
        (Some(_), Some(_)) => Allows::Both,
        (Some(_), None) => Allows::Only(DateOrder::DayFirst),
        (None, Some(_)) => Allows::Only(DateOrder::MonthFirst),
        (None, None) => return None,
    })
}

/// Reads a date, with the time of day when it is written.
pub fn date(text: &str, order: DateOrder, words: &Spellings) -> Option<When> {
    if let Ok(when) = text.parse() {
        return Some(when);
    }
    let mut numbers: Vec<(i16, usize)> = Vec::new();
    let mut month_word = None;
    let mut place_of_word = 0;
    let (day_part, clock) = split_clock(text)?;
    for piece in day_part.split(|c: char| !c.is_alphanumeric()).flat_map(letters_and_digits) {
        if piece.starts_with(|c: char| c.is_ascii_digit()) {
            numbers.push((piece.parse().ok()?, piece.len()));
        } else if let Some(month) = words.month(piece) {
            if month_word.replace(month).is_some() {
                return None;
            }
            place_of_word = numbers.len();
        } else if !words.is_date_noise(piece) {
            return None;
        }
    }
    let day = match (month_word, numbers.as_slice()) {
        (Some(month), &[(year, 4), day]) => civil(year, month, day),
        (Some(month), &[day, year]) if place_of_word <= 1 => civil(full_year(year)?, month, day),
        (None, &[(year, 4), (month, 1 | 2), day]) => civil(year, month, day),
        (None, &[first @ (_, 1 | 2), second @ (_, 1 | 2), year]) => {
            let (day, month) = if order == DateOrder::DayFirst { (first, second) } else { (second, first) };
            civil(full_year(year)?, month.0, day)
        }
        _ => None,
    }?;
    Some(match clock {
        Some(time) => When::at(DateTime::from_parts(day, time)),
        None => When::on(day),
    })
}

/// A time of day by itself, as in a column beside the date: "8:30", "8.30 pm", "08h30".
pub fn clock(text: &str) -> Option<Time> {
    let lower = text.trim().to_ascii_lowercase();
    let (digits, half) = match lower.strip_suffix("am").or(lower.strip_suffix("a.m.")) {
        Some(rest) => (rest, Some(0)),
        None => match lower.strip_suffix("pm").or(lower.strip_suffix("p.m.")) {
            Some(rest) => (rest, Some(12)),
            None => (lower.as_str(), None),
        },
    };
    let mut numbers = digits.trim().split([':', '.', 'h']).map(|n| n.trim().parse::<i8>());
    let hour = numbers.next()?.ok()?;
    let rest: Vec<i8> = numbers.collect::<Result<_, _>>().ok()?;
    let (minute, second) = match (rest.as_slice(), half) {
        (&[], Some(_)) => (0, 0),
        (&[minute], _) => (minute, 0),
        (&[minute, second], _) => (minute, second),
        _ => return None,
    };
    let hour = match half {
        Some(_) if !(1..=12).contains(&hour) => return None,
        Some(half) => hour % 12 + half,
        None => hour,
    };
    Time::new(hour, minute, second, 0).ok()
}

/// Parts a text into its date and its time of day, when there is one; `None` when the time is no time.
fn split_clock(text: &str) -> Option<(&str, Option<Time>)> {
    let Some(colon) = text.find(':') else { return Some((text, None)) };
    let start = text[..colon].trim_end_matches(|c: char| c.is_ascii_digit()).len();
    let day = text[..start].trim_end_matches(|c: char| c.is_whitespace() || c == 'T' || c == ',');
    if day.is_empty() {
        return None;
    }
    Some((day, Some(clock(&text[start..])?)))
}

/// "1Mar2026" is three pieces.
fn letters_and_digits(text: &str) -> impl Iterator<Item = &str> {
    let mut rest = text;
    std::iter::from_fn(move || {
        let digit = rest.chars().next()?.is_ascii_digit();
        let end = rest.find(|c: char| c.is_ascii_digit() != digit).unwrap_or(rest.len());
        let (piece, after) = rest.split_at(end);
        rest = after;
        Some(piece)
    })
}

/// A year of two figures is of this century.
fn full_year((year, figures): (i16, usize)) -> Option<i16> {
    match figures {
        4 => Some(year),
        2 => Some(2000 + year),
        _ => None,
    }
}

fn civil(year: i16, month: i16, (day, figures): (i16, usize)) -> Option<Date> {
    if figures > 2 || !(1900..=2200).contains(&year) {
        return None;
    }
    Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, order: DateOrder) -> Option<String> {
        date(text, order, Spellings::get()).map(|w| w.to_string())
    }

    #[test]
    fn dates_as_people_write_them() {
        let cases = [
            ("2026-03-01", "2026-03-01"),
            ("2026/3/1", "2026-03-01"),
            ("2026-03-01 08:30", "2026-03-01T08:30"),
            ("1.3.2026", "2026-03-01"),
            ("01/03/26", "2026-03-01"),
            ("1/3/2026 8:30 pm", "2026-03-01T20:30"),
            ("1 Mar 2026", "2026-03-01"),
            ("March 1st, 2026", "2026-03-01"),
            ("1-Mar-26", "2026-03-01"),
            ("Sun 1 March 2026 12:05 am", "2026-03-01T00:05"),
            ("2026 Mar 1", "2026-03-01"),
        ];
        for (text, expected) in cases {
            assert_eq!(read(text, DateOrder::DayFirst).as_deref(), Some(expected), "{text}");
        }
        assert_eq!(read("3/1/2026", DateOrder::MonthFirst).as_deref(), Some("2026-03-01"));
    }

    #[test]
    fn what_is_no_date_is_refused() {
        for text in [
            "",
            "soon",
            "46082",
            "3 Mar",
            "31/2/2026",
            "2026-13-01",
            "1/3/202",
            "Mar Apr 2026",
            "8:30",
            "1/3/2026 25:00",
            "1/3/2026 \u{b0}:15 am",
            "12.\u{b0}:15",
        ] {
            assert_eq!(read(text, DateOrder::DayFirst), None, "{text}");
        }
    }

    #[test]
    fn a_date_says_which_orders_it_allows() {
        let said = |text| allows(text, Spellings::get());
        assert_eq!(said("2026-03-04"), Some(Allows::Any));
        assert_eq!(said("3/3/2026"), Some(Allows::Any));
        assert_eq!(said("3/4/2026"), Some(Allows::Both));
        assert_eq!(said("13/4/2026"), Some(Allows::Only(DateOrder::DayFirst)));
        assert_eq!(said("4/13/2026"), Some(Allows::Only(DateOrder::MonthFirst)));
        assert_eq!(said("13/13/2026"), None);
    }

    #[test]
    fn times_of_day() {
        let at = |text| clock(text).map(|t| t.to_string());
        assert_eq!(at("8:30").as_deref(), Some("08:30:00"));
        assert_eq!(at("8.30 PM").as_deref(), Some("20:30:00"));
        assert_eq!(at("12 am").as_deref(), Some("00:00:00"));
        assert_eq!(at("08h30").as_deref(), Some("08:30:00"));
        assert_eq!(at("24:30"), None);
        assert_eq!(at("8"), None);
    }
}
