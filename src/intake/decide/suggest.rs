//! What a heading that is not known may be: by what its cells could be, and by the words that it shares with known
//! headings. Where neither says enough nothing is suggested, since a wrong column is worse than a question.

use super::super::headings::{TableKind, Target};
use super::super::spellings::Spellings;
use super::Draft;
use crate::dough::nearest::likeness;
use crate::dough::{Column, Kind};

/// The share of the cells that a column must be able to hold to be suggested.
const ENOUGH_CELLS: f64 = 0.5;
/// How like a known heading an unknown one must be, with its cells.
const ENOUGH_LIKE: f64 = 0.55;
/// How like a heading is that has a word of the list of hints.
const BY_HINT: f64 = 0.7;
/// What is nearly as like as the best is suggested beside it.
const AS_LIKE: f64 = 0.9;
/// Suggestions at most.
const MOST: usize = 3;

impl Draft<'_> {
    /// Whether most of its cells are dates.
    pub(super) fn holds_dates(&self) -> bool {
        2 * self.date_cells() > self.survey.filled
    }

    pub(super) fn date_cells(&self) -> u64 {
        self.survey.dates.written + self.survey.dates.stored
    }

    /// The columns that it may be, likeliest first; none that another heading names.
    pub(super) fn suggestions(&self, kind: TableKind, taken: &[Target]) -> Vec<Target> {
        let words = Spellings::get().telling_words(self.heading);
        let free = |t: &Target| kind.holds(*t) && !taken.contains(t);
        let others = [Target::Hours, Target::SurroundingsTemp];
        let targets = Column::ALL.iter().map(|c| Target::Column(*c)).chain(others).filter(free);
        let mut scored: Vec<(f64, Target)> = targets
            .filter_map(|target| {
                let held = self.share_held(target);
                let like = if target.is_date() { 1.0 } else { like(&words, target) };
                (held >= ENOUGH_CELLS && like * held >= ENOUGH_LIKE).then_some((like * held, target))
            })
            .collect();
        scored.sort_by(|a, b| b.0.total_cmp(&a.0));
        let best = scored.first().map_or(0.0, |s| s.0);
        scored.into_iter().filter(|s| s.0 >= AS_LIKE * best).map(|s| s.1).take(MOST).collect()
    }

    /// The share of its cells that a target could hold.
    fn share_held(&self, target: Target) -> f64 {
        let survey = &self.survey;
        let words = survey.words.saturating_sub(self.date_cells()) as f64;
        let held = match target {
            Target::Column(Column::date) => self.date_cells() as f64,
            target if target.quantity().is_some() => self.fit(target),
            Target::Column(c) if matches!(c.kind(), Kind::Choice(_)) => words,
            // A lot or a name may be a number, but most numbers are none.
            _ => words + 0.6 * survey.bare as f64,
        };
        held / (survey.filled as f64).max(1.0)
    }
}

/// How like the words of a heading are to those of the known headings of a target, 0 to 1.
fn like(words: &[String], target: Target) -> f64 {
    let spellings = Spellings::get();
    if words.iter().any(|w| spellings.hints(w).contains(&target)) {
        return BY_HINT;
    }
    let of_phrase = |phrase: &str| {
        let own: Vec<&str> = phrase.split(' ').collect();
        let best = |w: &String| own.iter().map(|o| likeness(w, o)).fold(0.0, f64::max);
        2.0 * words.iter().map(best).sum::<f64>() / (words.len() + own.len()) as f64
    };
    spellings.phrases(target).map(of_phrase).fold(0.0, f64::max)
}
