//! Numbers as people write them: with a decimal point or a decimal comma, grouped in thousands, with
//! common fractions, with units, and in two units at once ("1 lb 4 oz", "1h30").

use serde::{Deserialize, Serialize};

use super::spellings::Spellings;
use super::units::{Quantity, Unit};

/// What separates whole from parts in a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Decimal {
    /// 2.5
    Point,
    /// 2,5
    Comma,
}

impl Decimal {
    /// The one that it is not.
    pub fn other(self) -> Self {
        match self {
            Self::Point => Self::Comma,
            Self::Comma => Self::Point,
        }
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Point => "point",
            Self::Comma => "comma",
        }
    }
}

/// What the marks in one number say about the decimal mark of its column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Marks {
    /// There are none.
    None,
    /// This can only be so.
    Sure(Decimal),
    /// One mark before three digits: a decimal mark of this kind, or thousands under the other.
    Either(Decimal),
}

/// A number with the unit that was written to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amount {
    /// In `unit`.
    pub value: f64,
    /// Blank where none was written.
    pub unit: Option<Unit>,
    /// What its marks say.
    pub marks: Marks,
    /// Written as two numbers with a colon: hours and minutes, or minutes and seconds.
    pub clock: bool,
}

/// A plain number such as `-12.5`, the usual case, without looking further.
pub fn plain(text: &str) -> Option<f64> {
    let digits = text.strip_prefix('-').unwrap_or(text).as_bytes();
    let is_plain = digits.first().is_some_and(u8::is_ascii_digit)
        && digits.iter().all(|b| b.is_ascii_digit() || *b == b'.')
        && digits.iter().filter(|b| **b == b'.').count() <= 1;
    if is_plain { text.parse().ok() } else { None }
}

/// Reads a number with its units, under a decimal mark; `None` when it is none.
pub fn amount(text: &str, decimal: Decimal, words: &Spellings) -> Option<Amount> {
    if let Some(value) = scientific(text) {
        return Some(Amount { value, unit: None, marks: Marks::Sure(Decimal::Point), clock: false });
    }
    let mut rest = text;
    let mut parts: Vec<(f64, Option<Unit>)> = Vec::new();
    let mut marks = Marks::None;
    while !rest.is_empty() {
        if parts.len() == 1
            && let Some(clock) = clock_rest(rest)
        {
            let (hours, minutes) = (parts[0].0, clock?);
            let (value, clock) = (hours * 60.0 + minutes, rest.matches(':').count() == 1);
            return (parts[0].1.is_none() && hours.fract() == 0.0).then_some(Amount {
                value,
                unit: Some(Unit::Minute),
                marks: Marks::None,
                clock,
            });
        }
        let (number, after) = leading_number(rest, decimal)?;
        if marks == Marks::None {
            marks = number.marks;
        }
        let (unit, after) = leading_unit(after, words)?;
        parts.push((number.value, unit));
        rest = after;
    }
    together(&parts).map(|(value, unit)| Amount { value, unit, marks, clock: false })
}

/// Reads a number under the decimal mark of its column, or under the other one where its own marks allow no other
/// reading: "2,5" is two and a half in whatever column it stands.
pub fn by_own_marks(text: &str, decimal: Decimal, words: &Spellings) -> Option<Amount> {
    let found = amount(text, decimal, words);
    match found {
        Some(Amount { marks: Marks::Sure(own), .. }) if own != decimal => amount(text, own, words),
        None => amount(text, decimal.other(), words),
        found => found,
    }
}

/// A number with a power of ten, as programs write very small ones.
fn scientific(text: &str) -> Option<f64> {
    let (digits, power) = text.split_once(['e', 'E'])?;
    plain(digits)
        .and(power.parse::<i16>().ok())
        .and_then(|_| text.parse().ok())
        .filter(|x: &f64| x.is_finite())
}

/// The minutes after a colon; the inner `None` when what follows the colon are none.
fn clock_rest(rest: &str) -> Option<Option<f64>> {
    let digits = rest.strip_prefix(':')?;
    let (minutes, seconds) = digits.split_once(':').unwrap_or((digits, "00"));
    let sixtieths = |d: &str| (d.len() == 2).then(|| d.parse::<u8>().ok()).flatten().filter(|d| *d < 60);
    Some(sixtieths(minutes).zip(sixtieths(seconds)).map(|(m, s)| f64::from(m) + f64::from(s) / 60.0))
}

/// Adds up the parts of a number in two units; the smaller unit may be left out after hours ("1h30").
fn together(parts: &[(f64, Option<Unit>)]) -> Option<(f64, Option<Unit>)> {
    if let [(value, unit)] = parts {
        return Some((*value, *unit));
    }
    let first = parts.first()?.1?;
    let quantity =
        [Quantity::Mass, Quantity::Minutes].into_iter().find(|q| first.convert(1.0, *q).is_some())?;
    let (mut sum, mut last) = (0.0, f64::INFINITY);
    for (value, unit) in parts {
        let unit = unit.or((first == Unit::Hour).then_some(Unit::Minute))?;
        let size = unit.convert(1.0, quantity)?;
        if size >= last || *value < 0.0 {
            return None;
        }
        sum += value * size;
        last = size;
    }
    Some((super::units::tidy(sum), Some(quantity.kept_in())))
}

struct Number {
    value: f64,
    marks: Marks,
}

/// Takes a number from the beginning of a text.
fn leading_number(text: &str, decimal: Decimal) -> Option<(Number, &str)> {
    let (negative, text) = match text.strip_prefix(['-', '\u{2212}', '\u{2013}']) {
        Some(rest) => (true, rest),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let end = digits_end(text);
    let (digits, rest) = text.split_at(end);
    let (mut value, marks) = match digits {
        "" => (0.0, Marks::None),
        digits => (value_of(digits, decimal)?, marks_of(digits)),
    };
    let (part, rest) = leading_fraction(rest, !digits.is_empty());
    let rest = match part {
        Some(Fraction::Added(part)) => {
            value += part;
            rest
        }
        Some(Fraction::DividedBy(n)) => {
            value /= n;
            rest
        }
        None if digits.is_empty() => return None,
        None => rest,
    };
    let rest = rest.trim_start();
    Some((Number { value: if negative { -value } else { value }, marks }, rest))
}

/// Where the digits of a number end: marks and single spaces between groups of three belong to it.
fn digits_end(text: &str) -> usize {
    let mut end = 0;
    let is_digit = |at: usize| text.as_bytes().get(at).is_some_and(u8::is_ascii_digit);
    while let Some(c) = text[end..].chars().next() {
        let after = end + c.len_utf8();
        let groups = || (0..3).all(|i| is_digit(after + i)) && !is_digit(after + 3);
        match c {
            '0'..='9' => end = after,
            '.' | ',' if is_digit(after) => end = after,
            ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}' | '\'' | '\u{2019}' if end > 0 && groups() => {
                end = after
            }
            _ => break,
        }
    }
    end
}

fn value_of(digits: &str, decimal: Decimal) -> Option<f64> {
    let mark = if decimal == Decimal::Point { '.' } else { ',' };
    let (whole, parts) = match digits.split_once(mark) {
        Some((whole, parts)) => (whole, parts),
        None => (digits, ""),
    };
    if !parts.bytes().all(|b| b.is_ascii_digit()) || !grouped(whole) {
        return None;
    }
    let mut plain: String = whole.chars().filter(char::is_ascii_digit).collect();
    plain.push('.');
    plain.push_str(parts);
    if plain == "." { None } else { plain.parse().ok() }
}

/// Whether whole digits have no marks, or the same mark before every three.
fn grouped(whole: &str) -> bool {
    let mut groups = whole.split(|c: char| !c.is_ascii_digit());
    let mut marks = whole.chars().filter(|c| !c.is_ascii_digit());
    let first = groups.next().map_or(0, str::len);
    let mark = marks.next();
    mark.is_none()
        || ((1..=3).contains(&first) && groups.all(|g| g.len() == 3) && marks.all(|m| Some(m) == mark))
}

fn marks_of(digits: &str) -> Marks {
    let read = |d| value_of(digits, d).is_some();
    if !digits.contains(['.', ',']) {
        return Marks::None;
    }
    match (read(Decimal::Point), read(Decimal::Comma)) {
        (true, false) => Marks::Sure(Decimal::Point),
        (false, true) => Marks::Sure(Decimal::Comma),
        // "0.125" is grouped thousands in form only: nobody writes a leading zero before thousands.
        (true, true) => {
            let mark = if digits.contains('.') { Decimal::Point } else { Decimal::Comma };
            if digits.starts_with('0') { Marks::Sure(mark) } else { Marks::Either(mark) }
        }
        (false, false) => Marks::None,
    }
}

enum Fraction {
    Added(f64),
    DividedBy(f64),
}

/// Takes a common fraction: "½", "1/2", or the divisor of the whole number before it.
fn leading_fraction(text: &str, after_whole: bool) -> (Option<Fraction>, &str) {
    const SIGNS: [(char, f64); 9] = [
        ('½', 0.5),
        ('¼', 0.25),
        ('¾', 0.75),
        ('⅓', 1.0 / 3.0),
        ('⅔', 2.0 / 3.0),
        ('⅛', 0.125),
        ('⅜', 0.375),
        ('⅝', 0.625),
        ('⅞', 0.875),
    ];
    let trimmed = text.trim_start();
    for (sign, value) in SIGNS {
        if let Some(rest) = trimmed.strip_prefix(sign) {
            return (Some(Fraction::Added(value)), rest);
        }
    }
    if let Some((n, rest)) = text.strip_prefix(['/', '\u{2044}']).and_then(small_number) {
        return (Some(Fraction::DividedBy(n)), rest);
    }
    if after_whole
        && text.len() != trimmed.len()
        && let Some((top, rest)) = small_number(trimmed)
        && let Some((bottom, rest)) = rest.strip_prefix(['/', '\u{2044}']).and_then(small_number)
    {
        return (Some(Fraction::Added(top / bottom)), rest);
    }
    (None, text)
}

/// One or two digits, above zero.
fn small_number(text: &str) -> Option<(f64, &str)> {
    let end = text.bytes().take_while(u8::is_ascii_digit).count();
    let n: f64 = text[..end].parse().ok()?;
    (end <= 2 && n > 0.0).then_some((n, &text[end..]))
}

/// Takes a unit from the beginning of a text: letters and signs up to a digit; `None` when they are no unit.
fn leading_unit<'a>(text: &'a str, words: &Spellings) -> Option<(Option<Unit>, &'a str)> {
    let end = text.find(|c: char| c.is_ascii_digit() || "½¼¾⅓⅔⅛⅜⅝⅞:".contains(c)).unwrap_or(text.len());
    let (letters, rest) = text.split_at(end);
    match letters.trim().trim_end_matches('.') {
        "" if rest.is_empty() || rest.starts_with(':') => Some((None, rest)),
        // Degrees of whatever the column is in.
        "\u{b0}" | "\u{ba}" if rest.is_empty() => Some((None, rest)),
        "" => None,
        letters => Some((Some(words.unit(letters)?), rest)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, decimal: Decimal) -> Option<(f64, Option<Unit>)> {
        amount(text, decimal, Spellings::get()).map(|a| (a.value, a.unit))
    }

    #[test]
    fn numbers_as_people_write_them() {
        let cases: &[(&str, f64, Option<Unit>)] = &[
            ("12", 12.0, None),
            ("-2.5", -2.5, None),
            ("\u{2212}2.5", -2.5, None),
            ("1,250", 1250.0, None),
            ("1 250", 1250.0, None),
            ("1'250.5 g", 1250.5, Some(Unit::Gram)),
            ("12,345,678", 12_345_678.0, None),
            ("72 °F", 72.0, Some(Unit::Fahrenheit)),
            ("5°", 5.0, None),
            ("24C", 24.0, Some(Unit::Celsius)),
            ("65%", 65.0, Some(Unit::Percent)),
            ("½", 0.5, None),
            ("1½ h", 1.5, Some(Unit::Hour)),
            ("1 1/2 hrs.", 1.5, Some(Unit::Hour)),
            ("3/4", 0.75, None),
            ("1h30", 90.0, Some(Unit::Minute)),
            ("1 h 30 min", 90.0, Some(Unit::Minute)),
            ("2d 4h", 3120.0, Some(Unit::Minute)),
            ("1:30", 90.0, Some(Unit::Minute)),
            ("0:07:30", 7.5, Some(Unit::Minute)),
            // 20 oz of 28.349 523 125 g (NIST Handbook 44, appendix C).
            ("1 lb 4 oz", 566.99046250, Some(Unit::Gram)),
            (".5", 0.5, None),
            ("1.5e-3", 0.0015, None),
        ];
        for (text, value, unit) in cases {
            assert_eq!(read(text, Decimal::Point), Some((*value, *unit)), "{text}");
        }
        assert_eq!(read("2,5 g", Decimal::Comma), Some((2.5, Some(Unit::Gram))));
        assert_eq!(read("1.250,75", Decimal::Comma), Some((1250.75, None)));
    }

    #[test]
    fn a_number_with_one_reading_is_read_so_in_any_column() {
        let value = |text, decimal| by_own_marks(text, decimal, Spellings::get()).map(|a| a.value);
        for (text, expected) in
            [("2,5", 2.5), ("2.5", 2.5), ("0,250", 0.25), ("8.8 oz", 8.8), ("1.250,5", 1250.5)]
        {
            for decimal in [Decimal::Point, Decimal::Comma] {
                assert_eq!(value(text, decimal), Some(expected), "{text}");
            }
        }
        assert_eq!(
            [value("1,250", Decimal::Point), value("1,250", Decimal::Comma)],
            [Some(1250.0), Some(1.25)]
        );
        assert_eq!(value("2.2,5.1", Decimal::Point), None);
    }

    #[test]
    fn what_is_no_number_is_refused() {
        for text in [
            "",
            "much",
            "24-26",
            "2,5",
            "1,25",
            "12..5",
            "~24",
            "1 tsp",
            "1 lb 4",
            "4 oz 1 lb",
            "1:75",
            "1.5:30",
            "5 5",
            "1/0",
            "1e999",
            "nan",
        ] {
            assert_eq!(read(text, Decimal::Point), None, "{text}");
        }
    }

    #[test]
    fn marks_say_what_they_can() {
        let marks = |text| {
            amount(text, Decimal::Point, Spellings::get())
                .or(amount(text, Decimal::Comma, Spellings::get()))
                .unwrap()
                .marks
        };
        assert_eq!(marks("12"), Marks::None);
        assert_eq!(marks("2.5"), Marks::Sure(Decimal::Point));
        assert_eq!(marks("2,5"), Marks::Sure(Decimal::Comma));
        assert_eq!(marks("1.250"), Marks::Either(Decimal::Point));
        assert_eq!(marks("1,250"), Marks::Either(Decimal::Comma));
        assert_eq!(marks("0,250"), Marks::Sure(Decimal::Comma));
        assert_eq!(marks("1.250.000"), Marks::Sure(Decimal::Comma));
        assert_eq!(marks("1.250,5"), Marks::Sure(Decimal::Comma));
    }
}
