//! The decimal mark of each column, and the order of day and month in its dates.

use super::super::dates::DateOrder;
use super::super::headings::Target;
use super::super::number::Decimal;
use super::super::question::{At, Question};
use super::super::understood::Understood;
use super::columns::AS_GOOD;
use super::{Draft, Drafts};

const BOTH: [Decimal; 2] = [Decimal::Point, Decimal::Comma];

impl Drafts<'_> {
    /// Decides the decimal mark of every column that has numbers with marks.
    pub(super) fn decide_decimals(&mut self) {
        let by_comma = self.table.separates_by_comma();
        let mut open = Vec::new();
        for (i, draft) in self.columns.iter_mut().enumerate() {
            if !draft.meanings.iter().any(|m| m.target.quantity().is_some()) {
                continue;
            }
            let told = draft.entry.and_then(|e| e.decimal).or(self.map.decimal);
            let survey = &draft.survey;
            let (decimal, why) = match (told, &survey.sure, &survey.either) {
                (Some(told), ..) => (told, "you said so".to_string()),
                (None, [Some(point), Some(comma)], Some((doubtful, _))) => {
                    let at = At { column: &draft.name(), example: doubtful };
                    self.questions.push(Question::both_decimals(at, point, comma));
                    continue;
                }
                // Each number has one reading only.
                (None, [Some(point), Some(comma)], None) => match point.row <= comma.row {
                    true => (Decimal::Point, format!("'{}' {}", point.value, Understood::SHOWN)),
                    false => (Decimal::Comma, format!("'{}' {}", comma.value, Understood::SHOWN)),
                },
                (None, [Some(point), None], _) => {
                    (Decimal::Point, format!("'{}' {}", point.value, Understood::SHOWN))
                }
                (None, [None, Some(comma)], _) => {
                    (Decimal::Comma, format!("'{}' {}", comma.value, Understood::SHOWN))
                }
                (None, [None, None], None) => continue,
                (None, [None, None], Some((_, Decimal::Point))) if by_comma => {
                    (Decimal::Point, "the file parts its cells by commas".to_string())
                }
                (None, [None, None], Some((example, _))) => match draft.decimal_by_size() {
                    Some(decimal) => (decimal, format!("'{}' would be unusual otherwise", example.value)),
                    None => {
                        open.push(i);
                        continue;
                    }
                },
            };
            draft.set_decimal(decimal, &why);
            draft.note_other_mark(decimal);
        }
        self.adopt_decimals(&open);
    }

    /// What all other columns agree on holds for one that leaves it open.
    fn adopt_decimals(&mut self, open: &[usize]) {
        let seen =
            |d| self.columns.iter().any(|c| c.decimal == Some(d) || c.survey.sure[d as usize].is_some());
        let agreed = match BOTH.map(seen) {
            [true, false] => Some(Decimal::Point),
            [false, true] => Some(Decimal::Comma),
            _ => None,
        };
        for &i in open {
            let draft = &mut self.columns[i];
            match (agreed, &draft.survey.either) {
                (Some(decimal), _) => draft.set_decimal(decimal, "as in the other columns"),
                (None, Some((example, mark))) => {
                    let at = At { column: &draft.name(), example };
                    self.questions.push(Question::which_decimal(at, *mark));
                }
                (None, None) => {}
            }
        }
    }

    /// Decides in which order day and month stand in dates of figures.
    pub(super) fn decide_dates(&mut self) {
        for draft in self.columns.iter_mut().filter(|d| d.target.is_some_and(Target::is_date)) {
            let dates = &draft.survey.dates;
            let name = draft.name();
            let at = |example| At { column: &name, example };
            let stored_only_to_12 = dates.stored > 0 && dates.stored_after_12 == 0;
            let (order, why) = match (self.map.dates, &dates.day_first, &dates.month_first, &dates.both) {
                (Some(told), ..) => (told, "you said so".to_string()),
                (None, Some(day), Some(month), _) => {
                    let (earlier, later) = if day.row <= month.row { (day, month) } else { (month, day) };
                    self.questions.push(Question::both_orders(at(later), earlier));
                    continue;
                }
                (None, Some(example), None, _) | (None, None, Some(example), _) if stored_only_to_12 => {
                    self.questions.push(Question::exchanged(at(example)));
                    continue;
                }
                (None, Some(day), None, _) => (DateOrder::DayFirst, format!("'{}' shows it", day.value)),
                (None, None, Some(month), _) => {
                    (DateOrder::MonthFirst, format!("'{}' shows it", month.value))
                }
                (None, None, None, Some(both)) => {
                    self.questions.push(Question::which_order(at(both)));
                    continue;
                }
                (None, None, None, None) => continue,
            };
            let word = if order == DateOrder::DayFirst { "day first" } else { "month first" };
            draft.dates = Some(order);
            draft.why.push(format!("{word}: {why}"));
        }
    }
}

impl Draft<'_> {
    fn set_decimal(&mut self, decimal: Decimal, why: &str) {
        self.decimal = Some(decimal);
        let marked = self.survey.sure.iter().any(Option::is_some) || self.survey.either.is_some();
        self.decimal_why = marked.then(|| why.to_string());
    }

    /// Notes that some numbers have the other mark than the column, and are read by their own.
    fn note_other_mark(&mut self, decimal: Decimal) {
        let [own, other] = [decimal, decimal.other()].map(|d| self.survey.sure[d as usize].as_ref());
        let Some(other) = other else { return };
        let beside = own.map_or(String::new(), |own| format!(" beside '{}' in row {}", own.value, own.row));
        self.notes.push(format!(
            "'{}' in row {} has a decimal {}{beside}: such numbers have one reading only, and are taken by it",
            other.value,
            other.row,
            decimal.other().name()
        ));
    }

    /// The mark under which the numbers are usual, when only one is.
    fn decimal_by_size(&self) -> Option<Decimal> {
        let fit = |decimal: Decimal| {
            let within = |t: Target| {
                let ranges = self.ranges(t).into_iter();
                ranges.map(|(_, r)| self.survey.marked[decimal as usize].within(r)).fold(0.0, f64::max)
            };
            self.meanings.iter().map(|m| within(m.target)).fold(0.0, f64::max)
        };
        match BOTH.map(fit) {
            [point, comma] if comma < AS_GOOD * point => Some(Decimal::Point),
            [point, comma] if point < AS_GOOD * comma => Some(Decimal::Comma),
            _ => None,
        }
    }
}
