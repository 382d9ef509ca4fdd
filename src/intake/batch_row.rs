//! One row of a sheet of batches into a batch: amounts by themselves first, then shares of the flour, then
//! what must hold inside one batch.

use super::headings::Target;
use super::row::RowInHand;
use super::understood::UnderstoodColumn;
use super::units::{Quantity, Share, Unit, tidy};
use super::value::{self, Number};
use crate::dough::{Batch, Column, Kind, Purpose, Value, When, YeastType, check};

/// Two columns that tell the same may differ by this share of the greater, beside their rounding.
const SAME_WITHIN: f64 = 0.01;
/// Two columns that tell the same temperature may differ by so many °C.
const SAME_TEMPERATURE: f64 = 0.6;

impl<'a> RowInHand<'a> {
    /// Reads a batch; what is wrong with it is noted.
    pub(super) fn batch(&mut self) -> Box<Batch> {
        let mut batch = Box::new(Batch::default());
        let mut shares: Vec<(&UnderstoodColumn, Column, Number)> = Vec::new();
        let mut yeasts: Vec<(&UnderstoodColumn, Number, YeastType)> = Vec::new();
        let mut clock = None;
        for column in self.columns() {
            let cell = self.cells.cell(column.place);
            if cell.is_blank() {
                continue;
            }
            let Target::Column(target) = column.target else {
                if column.target == Target::Clock {
                    match value::time(cell) {
                        Ok(time) => clock = Some((column, time)),
                        Err(message) => self.fault(column, message),
                    }
                }
                continue;
            };
            match target.kind() {
                Kind::Number { .. } if cell.is_dash() => {}
                Kind::Number { .. } => match value::number(cell, column) {
                    Err(message) => self.fault(column, message + value::or_a_guess(cell, column.target)),
                    Ok(number) => match column.yeast {
                        Some(yeast) => yeasts.push((column, number, yeast)),
                        None if number.share == Share::Own => {
                            self.put(&mut batch, column, target, number, number.value)
                        }
                        None => shares.push((column, target, number)),
                    },
                },
                Kind::When => match value::when(cell, column.dates) {
                    Ok(when) => batch.date = Some(when),
                    Err(message) => self.fault(column, message),
                },
                Kind::Choice(_) => self.text(&mut batch, column, target, value::word(cell, column.target)),
                Kind::Text if target == Column::mix_method => {
                    self.text(&mut batch, column, target, value::word(cell, column.target));
                }
                Kind::Text => self.text(&mut batch, column, target, value::text(cell)),
            }
        }
        self.one_yeast(&mut batch, yeasts, &mut shares);
        // The preferment's flour may itself be a share, and the base of others.
        shares.sort_by_key(|(_, target, _)| *target != Column::preferment_flour_g);
        for (column, target, number) in shares {
            self.put_share(&mut batch, column, target, number);
        }
        if let Some((column, time)) = clock {
            self.put_clock(&mut batch, column, time);
        }
        self.fill(&mut batch);
        self.beyond_the_headings();
        self.whole(&batch);
        batch
    }

    fn text(
        &mut self,
        batch: &mut Batch,
        column: &UnderstoodColumn,
        target: Column,
        text: Result<std::borrow::Cow<'_, str>, String>,
    ) {
        let set = text.and_then(|t| batch.set(target, &Value::Text(t.into_owned())).map_err(|e| e.expected));
        if let Err(message) = set {
            self.fault(column, message);
        }
    }

    /// Puts a number into the batch, or checks it against what another column has put there.
    fn put(
        &mut self,
        batch: &mut Batch,
        column: &UnderstoodColumn,
        target: Column,
        number: Number,
        value: f64,
    ) {
        if let Some(Value::Number(there)) = batch.get(target) {
            if !is_same(there, value, number, column) {
                let unit = target.unit();
                self.fault(
                    column,
                    format!(
                        "this is {value} {unit}, but another column says {there} {unit}: correct one of them"
                    ),
                );
            }
            return;
        }
        if let Err(refused) = batch.set(target, &Value::Number(value)) {
            let kept = column.target.quantity().map(Quantity::kept_in);
            let converted = Some(number.unit) != kept;
            let read =
                if converted { format!(" (this is {value} {})", target.unit()) } else { String::new() };
            let meant = match number.unit {
                Unit::Celsius => value::or_fahrenheit(self.cells.cell(column.place), column.target, value),
                _ => String::new(),
            };
            self.fault(column, refused.expected + &read + &meant);
        }
    }

    fn put_share(&mut self, batch: &mut Batch, column: &UnderstoodColumn, target: Column, number: Number) {
        let (base, name) = match number.share {
            Share::OfPreferment => (batch.preferment_flour_g, Column::preferment_flour_g),
            _ => (batch.flour_g, Column::flour_g),
        };
        match base {
            Some(flour) => self.put(batch, column, target, number, tidy(number.value * flour)),
            None => self.fault(column, format!("a share of the flour needs {name} in the same row")),
        }
    }

    /// Of several columns that each count one kind of yeast, one is filled in a row.
    fn one_yeast(
        &mut self,
        batch: &mut Batch,
        mut yeasts: Vec<(&'a UnderstoodColumn, Number, YeastType)>,
        shares: &mut Vec<(&'a UnderstoodColumn, Column, Number)>,
    ) {
        if yeasts.iter().any(|(_, n, _)| n.value > 0.0) {
            yeasts.retain(|(_, n, _)| n.value > 0.0);
        }
        let Some(&(column, _, yeast)) = yeasts.first() else { return };
        if let Some((second, _, _)) = yeasts.iter().find(|(_, _, other)| *other != yeast) {
            return self
                .fault(second, format!("'{}' counts yeast too: a batch has one kind", column.heading));
        }
        match batch.yeast_type {
            Some(said) if said != yeast => {
                return self
                    .fault(column, format!("this column counts {yeast} yeast, but yeast_type says {said}"));
            }
            _ => batch.yeast_type = Some(yeast),
        }
        for (column, number, _) in yeasts {
            match number.share {
                Share::Own => self.put(batch, column, Column::yeast_g, number, number.value),
                _ => shares.push((column, Column::yeast_g, number)),
            }
        }
    }

    fn put_clock(&mut self, batch: &mut Batch, column: &UnderstoodColumn, time: jiff::civil::Time) {
        let Some(date) = batch.date else { return };
        match date.clock() {
            Some(at) if at.time() != time => {
                self.fault(
                    column,
                    format!("the date says {} already: correct one of them", at.time().strftime("%H:%M")),
                );
            }
            _ => batch.date = Some(When::at(date.date().to_datetime(time))),
        }
    }

    /// What every row says though no column does, where the row says nothing else.
    fn fill(&mut self, batch: &mut Batch) {
        for (column, value) in &self.reader.understood.fill {
            if batch.get(*column).is_none()
                && let Err(refused) = batch.set(*column, value)
            {
                self.add(column.name(), &refused.value, refused.expected);
            }
        }
    }

    /// What must hold inside one batch.
    fn whole(&mut self, batch: &Batch) {
        // What a plan leaves blank is filled in later, from the latest batch or by the advice.
        let is_plan = self.reader.purpose == Purpose::Plan;
        let problems = check(batch, self.reader.purpose).into_iter();
        for problem in problems.filter(|p| !is_plan || batch.get(p.column).is_some()) {
            let at = self.columns().find(|c| c.target == Target::Column(problem.column));
            let (heading, value) = match at {
                Some(column) => (column.heading.as_str(), self.cells.cell(column.place).shown().into_owned()),
                None => (problem.column.name(), problem.value),
            };
            // A cell that could not be read is blank in the batch; that it is needed would be said twice. So it
            // would for the kind of yeast, which the column of the yeast may tell.
            let yeast = [Column::yeast_g, Column::yeast_type].contains(&problem.column);
            let known = |c: &&UnderstoodColumn| {
                yeast && c.target == Target::Column(Column::yeast_g) && self.has_fault(&c.heading)
            };
            if !self.has_fault(heading) && self.columns().find(known).is_none() {
                self.add(heading, &value, problem.message);
            }
        }
    }
}

/// Whether two columns tell the same, as far as the second was written out.
fn is_same(there: f64, here: f64, number: Number, column: &UnderstoodColumn) -> bool {
    let by_share = SAME_WITHIN * there.abs().max(here.abs());
    let rounding = match number.decimals {
        Some(n) if number.value != 0.0 => {
            let half_step = 0.5 * 10f64.powi(-i32::try_from(n).unwrap_or(0));
            let per_unit = column
                .target
                .quantity()
                .and_then(|q| Some(number.unit.convert(1.0, q)? - number.unit.convert(0.0, q)?));
            let base = if number.share == Share::Own { 1.0 } else { here / number.value };
            half_step * per_unit.unwrap_or(0.0).abs() * base
        }
        _ => 0.0,
    };
    let by_kind =
        if number.unit == Unit::Fahrenheit || number.unit == Unit::Celsius { SAME_TEMPERATURE } else { 0.0 };
    (there - here).abs() <= by_kind.max(by_share + 1.01 * rounding)
}
