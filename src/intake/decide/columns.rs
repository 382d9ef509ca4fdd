//! Which table a sheet is, and which column of it each heading names.

use super::super::column_map::{ColumnMap, IGNORE};
use super::super::headings::{TableKind, Target, column_letters};
use super::super::question::{At, Question};
use super::super::set_aside::PROBLEM_HEADING;
use super::super::spellings::{Meaning, Spellings};
use super::super::survey::ColumnSurvey;
use super::super::table::Table;
use super::super::understood::LeftOut;
use super::super::units::Unit;
use super::{Draft, Drafts};
use crate::dough::Column;

/// A meaning is as good as the best when at least this share of the cells that fit the best fit it too.
pub const AS_GOOD: f64 = 0.9;

impl<'a> Drafts<'a> {
    /// Looks up all headings of a table, and which table they make.
    pub fn of(table: &'a Table, map: &'a ColumnMap) -> Self {
        let words = Spellings::get();
        let as_exported = table.is_as_exported();
        let columns = table.headings.iter().enumerate().filter(|(_, h)| h.text != PROBLEM_HEADING).map(
            |(place, heading)| {
                let entry = map.entry(place, &heading.text);
                let (mut meanings, written) = words.heading(&heading.text);
                if let Some(alone) = &heading.alone {
                    meanings.extend(words.heading(alone).0);
                }
                let written = entry.and_then(|e| e.unit).or(written);
                if let Some(column) = entry.and_then(|e| e.column.as_deref()) {
                    let yeast = entry.and_then(|e| e.yeast_type);
                    let told = |target| vec![Meaning { target, unit: None, yeast, in_log: false }];
                    meanings = Target::of_name(column).map_or(vec![], told);
                }
                if let Some(target) = Target::of_name(&heading.text).filter(|_| as_exported) {
                    meanings = vec![Meaning { target, unit: None, yeast: None, in_log: false }];
                }
                Draft {
                    as_exported,
                    place,
                    heading: &heading.text,
                    entry,
                    meanings,
                    written,
                    survey: ColumnSurvey::default(),
                    target: None,
                    unit: None,
                    percent: None,
                    decimal: None,
                    decimal_why: None,
                    dates: None,
                    yeast: None,
                    open: Vec::new(),
                    why: Vec::new(),
                    notes: Vec::new(),
                    suggested: Vec::new(),
                }
            },
        );
        let mut drafts = Self {
            table,
            map,
            kind: TableKind::Batches,
            columns: columns.collect(),
            questions: Vec::new(),
            left_out: Vec::new(),
        };
        drafts.find_kind();
        drafts
    }

    /// The table of which most headings are known, among those whose needed columns are there.
    fn find_kind(&mut self) {
        let held =
            |kind: TableKind, m: &Meaning| kind.holds(m.target) && !(m.in_log && kind == TableKind::Batches);
        let known = |kind: TableKind| {
            self.columns.iter().filter(|d| d.meanings.iter().any(|m| held(kind, m))).count()
        };
        let complete = |kind: TableKind| {
            let there = |t: &&Target| self.columns.iter().any(|d| d.meanings.iter().any(|m| m.target == **t));
            kind.needed().iter().filter(|t| **t != Target::Column(Column::yeast_type)).all(|t| there(&t))
        };
        let score = |kind: TableKind| (complete(kind), known(kind));
        let best = TableKind::ALL.into_iter().rev().max_by_key(|k| score(*k)).unwrap_or(TableKind::Batches);
        let rivals: Vec<TableKind> =
            TableKind::ALL.into_iter().filter(|k| score(*k) == score(best)).collect();
        self.kind = best;
        for draft in &mut self.columns {
            draft.meanings.retain(|m| rivals.iter().any(|k| held(*k, m)));
            let mut seen = Vec::new();
            draft.meanings.retain(|m| {
                !seen.contains(&(m.target, m.unit, m.yeast)) && {
                    seen.push((m.target, m.unit, m.yeast));
                    true
                }
            });
        }
    }

    /// The place of the one column that can only be this target.
    pub fn sole_place(&self, target: Target) -> Option<usize> {
        let mut only =
            self.columns.iter().filter(|d| d.meanings.len() == 1 && d.meanings[0].target == target);
        only.next().map(|d| d.place).filter(|_| only.next().is_none())
    }

    /// Decides what each column is, by its heading, and by its cells where the heading leaves it open.
    pub(super) fn decide_targets(&mut self) {
        let (heading_row, kind) = (self.table.heading_row, self.kind);
        for draft in &mut self.columns {
            // Cells that are dates never make a number, whatever the heading says.
            if draft.holds_dates() && draft.entry.is_none_or(|e| e.column.is_none()) {
                draft.meanings.retain(|m| m.target.quantity().is_none());
            }
        }
        let known = self.columns.iter().map(Draft::fitting).filter(|fitting| fitting.len() == 1);
        let taken: Vec<Target> = known.map(|fitting| fitting[0].target).collect();
        for draft in &mut self.columns {
            if draft.entry.and_then(|e| e.column.as_deref()) == Some(IGNORE) {
                self.left_out.push(LeftOut::new(draft.place, draft.heading, LeftOut::TOLD));
                continue;
            }
            let empty = draft.survey.filled == 0;
            if draft.meanings.is_empty() {
                match (draft.heading.is_empty(), empty) {
                    (true, true) => {}
                    (false, true) => {
                        self.left_out.push(LeftOut::new(draft.place, draft.heading, "it has no cells"))
                    }
                    (true, false) => draft.ask(&mut self.questions, heading_row, Question::no_heading),
                    (false, false) => {
                        draft.suggested = draft.suggestions(kind, &taken);
                        let (suggested, dates) = (draft.suggested.clone(), draft.holds_dates());
                        draft.ask(&mut self.questions, heading_row, |at| {
                            Question::unknown(at, &suggested, dates)
                        });
                    }
                }
                continue;
            }
            let fitting = draft.fitting();
            match fitting.as_slice() {
                [meaning] => draft.take(*meaning),
                several if empty => draft.take(several[0]),
                several => {
                    let targets: Vec<Target> = several.iter().map(|m| m.target).collect();
                    draft.ask(&mut self.questions, heading_row, |at| Question::which_column(at, &targets));
                }
            }
        }
    }

    /// Columns that hold the same: only where one can check the other, or each counts its own yeast.
    pub(super) fn ask_for_doubles(&mut self) {
        for (i, second) in self.columns.iter().enumerate() {
            let Some(target) = second.target else { continue };
            let clash = self.columns[..i].iter().find(|first| {
                let other_unit = first.unit.is_some() && second.unit.is_some() && first.unit != second.unit;
                let other_yeast = first.yeast != second.yeast;
                first.target == Some(target) && !other_unit && !other_yeast
            });
            if let Some(first) = clash {
                let example = second.example(self.table.heading_row);
                let same = first.heading == second.heading;
                let name = |d: &Draft<'_>| if same { column_letters(d.place) } else { d.name() };
                let at = At { column: &name(second), example: &example };
                self.questions.push(Question::twice(at, target, &name(first)));
            }
        }
    }

    /// Columns that every row needs and no heading names.
    pub(super) fn ask_for_needed(&mut self) {
        for &needed in self.kind.needed() {
            let filled = matches!(needed, Target::Column(c) if self.map.fill.contains_key(&c));
            let is_type = needed == Target::Column(Column::yeast_type);
            let implied = is_type && self.columns.iter().any(|d| d.yeast.is_some());
            let may_be = |d: &Draft<'_>| {
                d.target == Some(needed)
                    || (d.target.is_none() && d.meanings.iter().any(|m| m.target == needed))
            };
            if !filled && !implied && !self.columns.iter().any(may_be) {
                let perhaps = self.columns.iter().filter(|d| d.suggested.contains(&needed));
                let perhaps: Vec<&str> = perhaps.map(|d| d.heading).collect();
                self.questions.push(Question::needed(self.table.heading_row, needed, &perhaps));
            }
        }
    }
}

impl Draft<'_> {
    fn take(&mut self, meaning: Meaning) {
        let said = match (self.entry.and_then(|e| e.column.as_ref()), self.meanings.len()) {
            (Some(_), _) => "you said so",
            (None, 1) => "by its heading",
            (None, _) => "by its heading and its cells",
        };
        self.why.push(said.to_string());
        self.target = Some(meaning.target);
        // "Hydration %": what the percent sign is of is in the words.
        if self.written.is_none() || self.written == Some(Unit::Percent) {
            self.written = meaning.unit.or(self.written);
        }
        self.yeast = meaning.yeast;
    }

    /// The meanings that the cells allow: the one that most fit, and those that nearly as many fit.
    fn fitting(&self) -> Vec<Meaning> {
        if self.meanings.len() == 1 || self.survey.filled == 0 {
            return self.meanings.clone();
        }
        let fits: Vec<f64> = self.meanings.iter().map(|m| self.fit(m.target)).collect();
        let best = fits.iter().copied().fold(0.0, f64::max);
        let kept = self.meanings.iter().zip(&fits).filter(|(_, fit)| **fit > 0.0 && **fit >= AS_GOOD * best);
        let kept: Vec<Meaning> = kept.map(|(m, _)| *m).collect();
        if kept.is_empty() { self.meanings.clone() } else { kept }
    }

    /// How many cells a target could hold.
    pub(super) fn fit(&self, target: Target) -> f64 {
        let survey = &self.survey;
        let Some(_) = target.quantity() else {
            let words = survey.words as f64;
            // Free text holds anything, but a column whose cells are all known words is the column of those.
            return if target.is_date() {
                self.date_cells() as f64
            } else if target.is_choice() || target == Target::Clock {
                survey.choices as f64
            } else {
                0.95 * words
            };
        };
        let named =
            survey.units.iter().filter(|(u, _)| !u.meanings(target).is_empty()).map(|(_, n)| *n as f64);
        let bare = match self.written {
            Some(unit) if !unit.meanings(target).is_empty() => survey.bare as f64,
            Some(_) => 0.0,
            None => self.most_within(target),
        };
        named.sum::<f64>() + bare
    }
}
