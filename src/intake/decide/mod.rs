//! From headings and a survey of all cells to what each column is: its target, unit, decimal mark and
//! order of day and month. Each is decided for the whole column and says why; what cannot be known becomes
//! a question.

mod columns;
mod marks;
mod suggest;
mod units;

use super::column_map::{ColumnMap, Mapped};
use super::dates::DateOrder;
use super::headings::{TableKind, Target, column_letters};
use super::number::Decimal;
use super::question::{At, Question};
use super::spellings::Meaning;
use super::survey::{Asked, ColumnSurvey, Example};
use super::table::Table;
use super::understood::{LeftOut, UnderstoodColumn};
use super::units::{Share, Unit};
use crate::dough::{Column, YeastType};

/// One column of the sheet while it is being made out.
#[derive(Debug)]
pub struct Draft<'a> {
    /// Whether the table is one that was exported, whose numbers are in the units of the contract.
    as_exported: bool,
    /// Counted from 0.
    pub place: usize,
    /// As it stands in the sheet.
    pub heading: &'a str,
    /// What the baker says about it.
    entry: Option<&'a Mapped>,
    /// What its heading may mean.
    meanings: Vec<Meaning>,
    /// The unit that the heading, the row of units or the baker names.
    written: Option<Unit>,
    /// What its cells look like.
    pub survey: ColumnSurvey,
    target: Option<Target>,
    unit: Option<Unit>,
    percent: Option<Unit>,
    decimal: Option<Decimal>,
    decimal_why: Option<String>,
    dates: Option<DateOrder>,
    yeast: Option<YeastType>,
    /// Units that its cells allow, where they allow several.
    open: Vec<Unit>,
    why: Vec<String>,
    /// What the baker should know though nothing is asked.
    notes: Vec<String>,
    /// What it may be, where its heading is not known.
    suggested: Vec<Target>,
}

impl<'a> Draft<'a> {
    fn name(&self) -> String {
        if self.heading.is_empty() { column_letters(self.place) } else { self.heading.to_string() }
    }

    fn example(&self, heading_row: u64) -> Example {
        self.survey.first.clone().unwrap_or(Example { row: heading_row, value: String::new() })
    }

    fn decimal(&self) -> Decimal {
        self.decimal.unwrap_or(Decimal::Point)
    }

    /// Whether the unit of its bare numbers is still to be found out, as far as the heading goes.
    fn is_open(&self) -> bool {
        let targets: Vec<Target> = self.meanings.iter().map(|m| m.target).collect();
        let numeric = targets.iter().any(|t| t.quantity().is_some());
        let implied = self.meanings.iter().any(|m| m.unit.is_some());
        numeric
            && ((self.written.is_none() && !implied) || targets.len() > 1 || self.share_of_flour_written())
    }

    fn share_of_flour_written(&self) -> bool {
        let unit = self.written.or(self.meanings.first().and_then(|m| m.unit));
        matches!(unit, Some(Unit::Percent)) || unit.is_some_and(|u| u.share() != Share::Own)
    }

    fn ask(&self, questions: &mut Vec<Question>, heading_row: u64, ask: impl FnOnce(At<'_>) -> Question) {
        let example = self.example(heading_row);
        questions.push(ask(At { column: &self.name(), example: &example }));
    }
}

/// All columns of a sheet while they are being made out.
#[derive(Debug)]
pub struct Drafts<'a> {
    table: &'a Table,
    map: &'a ColumnMap,
    /// Which table it is.
    pub kind: TableKind,
    /// Every column with a heading or a cell.
    pub columns: Vec<Draft<'a>>,
    /// What cannot be known.
    pub questions: Vec<Question>,
    /// Columns that are not used.
    pub left_out: Vec<LeftOut>,
}

impl<'a> Drafts<'a> {
    /// What each column is asked by the survey.
    pub fn asked(&self) -> Vec<(usize, Asked)> {
        let any_open = self.columns.iter().any(Draft::is_open);
        let ask = |d: &Draft<'_>| {
            let has = |t: Target| d.meanings.iter().any(|m| m.target == t);
            let flour =
                has(Target::Column(Column::flour_g)) || has(Target::Column(Column::preferment_flour_g));
            // Of a heading that is not known all is asked, to suggest what it may be.
            let unknown = d.meanings.is_empty();
            Asked {
                numbers: unknown || d.meanings.iter().any(|m| m.target.quantity().is_some()),
                sizes: unknown || d.is_open() || (any_open && flour),
                dates: d.meanings.iter().any(|m| m.target.is_date()),
                choices: d.meanings.iter().map(|m| m.target).find(|t| d.meanings.len() > 1 && t.is_choice()),
            }
        };
        self.columns.iter().map(|d| (d.place, ask(d))).collect()
    }

    /// Decides everything that can be decided, once the cells have been looked at.
    pub fn decide(mut self) -> Decided {
        self.decide_targets();
        self.decide_decimals();
        self.decide_units();
        self.decide_dates();
        self.ask_for_doubles();
        self.ask_for_needed();
        let columns = self.columns.iter().filter_map(Draft::decided).collect();
        Decided { columns, questions: self.questions, left_out: self.left_out }
    }
}

/// What was decided about all columns.
#[derive(Debug)]
pub struct Decided {
    /// Columns that are used.
    pub columns: Vec<UnderstoodColumn>,
    /// What cannot be known.
    pub questions: Vec<Question>,
    /// Columns that are not used.
    pub left_out: Vec<LeftOut>,
}

impl Draft<'_> {
    fn decided(&self) -> Option<UnderstoodColumn> {
        let target = self.target?;
        Some(UnderstoodColumn {
            place: self.place,
            heading: self.name(),
            target,
            unit: self.unit,
            percent: self.percent,
            decimal: self.decimal,
            decimal_why: self.decimal_why.clone(),
            dates: self.dates,
            yeast: self.yeast,
            why: self.why.clone(),
            notes: self.notes.clone(),
        })
    }
}
