//! What all cells of each column look like, gathered in one pass before anything is decided: how many are
//! numbers, in what range under either decimal mark, which units they name, what their dates allow.

use std::collections::HashMap;

use super::cell::Cell;
use super::dates::{Allows, DateOrder, allows};
use super::headings::Target;
use super::number::{Decimal, Marks, amount, plain};
use super::spellings::Spellings;
use super::units::{Quantity, Unit};
use super::usual::Range;

/// What is asked about one column.
#[derive(Debug, Clone, Copy, Default)]
pub struct Asked {
    /// Whether its cells may be numbers.
    pub numbers: bool,
    /// Whether the sizes of bare numbers matter, since a unit or a column is open.
    pub sizes: bool,
    /// Whether its cells may be dates.
    pub dates: bool,
    /// The column of fixed choices that it may be.
    pub choices: Option<Target>,
}

/// A cell to show as an example.
#[derive(Debug, Clone, PartialEq)]
pub struct Example {
    /// Its row, as a spreadsheet numbers it.
    pub row: u64,
    /// What stands there.
    pub value: String,
}

/// How often numbers of each size occur, to three figures.
#[derive(Debug, Clone, Default)]
pub struct Sizes(HashMap<u64, u32>);

impl Sizes {
    fn add(&mut self, x: f64) {
        *self.0.entry(three_figures(x).to_bits()).or_default() += 1;
    }

    fn pairs(&self) -> impl Iterator<Item = (f64, f64)> {
        self.0.iter().map(|(bits, n)| (f64::from_bits(*bits), f64::from(*n)))
    }

    /// How many there are.
    pub fn count(&self) -> f64 {
        self.pairs().map(|(_, n)| n).sum()
    }

    /// How many lie in a range.
    pub fn within(&self, (min, max): Range) -> f64 {
        self.pairs().filter(|(x, _)| (min..=max).contains(x)).map(|(_, n)| n).sum()
    }

    fn sum(&self) -> f64 {
        self.pairs().map(|(x, n)| x * n).sum()
    }
}

fn three_figures(x: f64) -> f64 {
    if x == 0.0 {
        return 0.0;
    }
    let step = 10f64.powf(x.abs().log10().floor() - 2.0);
    (x / step).round() * step
}

/// What the cells of one column look like.
#[derive(Debug, Clone, Default)]
pub struct ColumnSurvey {
    asked: Asked,
    /// Cells with anything in them.
    pub filled: u64,
    /// The first of them.
    pub first: Option<Example>,
    /// Cells that are neither numbers nor dates.
    pub words: u64,
    /// Those of them that are known words of the column of choices.
    pub choices: u64,
    /// Bare numbers without any mark.
    pub unmarked: Sizes,
    /// Bare numbers with a mark, as read with a decimal point and with a decimal comma.
    pub marked: [Sizes; 2],
    /// How many bare numbers there are.
    pub bare: u64,
    /// Numbers that are surely written with a decimal point, and with a decimal comma: how many, and one.
    pub sure: [Option<Example>; 2],
    /// A number that allows both, with its mark.
    pub either: Option<(Example, Decimal)>,
    /// How many cells name each unit.
    pub units: Vec<(Unit, u64)>,
    /// Sizes of cells with a percent sign.
    pub percents: Sizes,
    /// Sum in grams and number of the cells that name a unit of mass.
    pub grams: (f64, f64),
    /// Dates that only allow one order, and one that allows both.
    pub dates: DateSurvey,
}

/// What the dates of a column allow.
#[derive(Debug, Clone, Default)]
pub struct DateSurvey {
    /// Cells that are written as dates.
    pub written: u64,
    /// A date of figures with the day first for sure.
    pub day_first: Option<Example>,
    /// A date of figures with the month first for sure.
    pub month_first: Option<Example>,
    /// A date of figures that allows both.
    pub both: Option<Example>,
    /// Dates that the workbook stores as such, and how many have a day above 12.
    pub stored: u64,
    /// See `stored`.
    pub stored_after_12: u64,
}

impl ColumnSurvey {
    /// A survey that answers what is asked.
    pub fn new(asked: Asked) -> Self {
        Self { asked, ..Self::default() }
    }

    /// Looks at one cell.
    pub fn look(&mut self, row: u64, cell: Cell<'_>) {
        if cell.is_blank() || (cell.is_dash() && self.asked.numbers) {
            return;
        }
        self.filled += 1;
        let example = || Example { row, value: cell.shown().into_owned() };
        if self.first.is_none() {
            self.first = Some(example());
        }
        match cell {
            Cell::Text(text) if self.asked.dates => self.date(row, text),
            Cell::Text(text) if self.asked.numbers => self.number(row, text),
            Cell::Date(when) => {
                self.dates.stored += 1;
                self.dates.stored_after_12 += u64::from(when.date().day() > 12);
                self.words += u64::from(!self.asked.dates);
            }
            Cell::Number(x) => self.bare_number(x),
            Cell::Measured(x, unit) => self.measured(x, unit),
            Cell::Span(_) => self.measured(0.0, Unit::Hour),
            Cell::Text(text) => self.word(text),
            _ => self.words += 1,
        }
    }

    fn word(&mut self, text: &str) {
        self.words += 1;
        let known = |target| Spellings::get().choice(target, text).is_some();
        self.choices += u64::from(self.asked.choices.is_some_and(known));
    }

    fn bare_number(&mut self, x: f64) {
        self.bare += 1;
        if self.asked.sizes {
            self.unmarked.add(x);
        }
    }

    fn measured(&mut self, x: f64, unit: Unit) {
        match self.units.iter_mut().find(|(u, _)| *u == unit) {
            Some((_, n)) => *n += 1,
            None => self.units.push((unit, 1)),
        }
        if unit == Unit::Percent {
            self.percents.add(x);
        } else if let Some(grams) = unit.convert(x, Quantity::Mass) {
            self.grams = (self.grams.0 + grams, self.grams.1 + 1.0);
        }
    }

    fn number(&mut self, row: u64, text: &str) {
        if let Some(x) = plain(text) {
            let decimals = text.len() - text.find('.').map_or(text.len(), |at| at + 1);
            if decimals == 0 && !text.ends_with('.') {
                return self.bare_number(x);
            }
            if decimals != 3 && !self.asked.sizes && self.sure[0].is_some() {
                self.bare += 1;
                return;
            }
        }
        let words = Spellings::get();
        let read = [Decimal::Point, Decimal::Comma].map(|d| amount(text, d, words));
        let Some(found) = read[0].or(read[1]) else {
            self.dates.written += u64::from(allows(text, words).is_some());
            return self.word(text);
        };
        // A number that allows one reading has it in any column.
        let (found, read) = match found.marks {
            Marks::Sure(decimal) => {
                let found = read[decimal as usize].unwrap_or(found);
                (found, [Some(found); 2])
            }
            _ => (found, read),
        };
        match found.marks {
            Marks::None => {}
            Marks::Sure(decimal) => keep_first(&mut self.sure[decimal as usize], row, text),
            Marks::Either(mark) => {
                if self.either.is_none() {
                    self.either = Some((Example { row, value: text.to_string() }, mark));
                }
            }
        }
        match found.unit {
            Some(unit) => self.measured(found.value, unit),
            None if found.marks == Marks::None => self.bare_number(found.value),
            None => {
                self.bare += 1;
                for (sizes, amount) in self.marked.iter_mut().zip(read) {
                    if let Some(amount) = amount {
                        sizes.add(amount.value);
                    }
                }
            }
        }
    }

    fn date(&mut self, row: u64, text: &str) {
        let year_first = text.len() >= 10
            && text.as_bytes()[4] == b'-'
            && text.as_bytes()[..4].iter().all(u8::is_ascii_digit);
        self.dates.written += 1;
        if year_first {
            return;
        }
        let dates = &mut self.dates;
        match allows(text, Spellings::get()) {
            None => {
                dates.written -= 1;
                self.words += 1;
            }
            Some(Allows::Any) => {}
            Some(Allows::Both) => keep_first(&mut dates.both, row, text),
            Some(Allows::Only(DateOrder::DayFirst)) => keep_first(&mut dates.day_first, row, text),
            Some(Allows::Only(DateOrder::MonthFirst)) => keep_first(&mut dates.month_first, row, text),
        }
    }

    /// How many bare numbers lie in a range, read with a decimal mark.
    pub fn within(&self, decimal: Decimal, range: Range) -> f64 {
        self.unmarked.within(range) + self.marked[decimal as usize].within(range)
    }

    /// How many bare numbers were sized, read with a decimal mark.
    pub fn sized(&self, decimal: Decimal) -> f64 {
        self.unmarked.count() + self.marked[decimal as usize].count()
    }

    /// The mean of all bare numbers that are not zero, read with a decimal mark; `None` when there are none.
    pub fn mean(&self, decimal: Decimal) -> Option<f64> {
        let marked = &self.marked[decimal as usize];
        let zeros = self.unmarked.within((0.0, 0.0)) + marked.within((0.0, 0.0));
        let n = self.unmarked.count() + marked.count() - zeros;
        (n > 0.0).then(|| (self.unmarked.sum() + marked.sum()) / n)
    }
}

/// Keeps a cell as the example, unless there is one.
fn keep_first(slot: &mut Option<Example>, row: u64, text: &str) {
    if slot.is_none() {
        *slot = Some(Example { row, value: text.to_string() });
    }
}
