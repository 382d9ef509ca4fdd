//! Is it getting steadier, in one sentence.
//!
//! Where phases are marked, the last is compared with the first: dates chosen beforehand. Where none is, the change point is
//! looked for, and claimed only when reshuffles of the same batches seldom look as clear.

use std::fmt;

use serde::Serialize;

use super::change::Change;
use super::measure::Measure;
use super::reshuffle::{RESHUFFLES, Reshuffled};
use super::sample::{Quantiles, sd};
use super::spread::{SpreadRatio, Verdict, batches_to_show};
use crate::dough::When;

/// What was compared.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "by")]
pub enum Basis {
    /// The last phase with the first.
    Phases {
        /// The last phase.
        phase: String,
        /// Its first batch.
        from: When,
        /// The comparison; `None` when a side has fewer than three batches.
        comparison: Option<SpreadRatio>,
    },
    /// After with before an unknown date.
    ChangePoint {
        /// The change; `None` with fewer than six batches.
        change: Option<Change>,
        /// How often chance looks as clear; `None` with fewer than twenty batches.
        chance: Option<Reshuffled>,
        /// Standard deviation before and after the likeliest date.
        spreads: Option<(f64, f64)>,
    },
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Improvement {
    /// What was measured.
    pub measure: Measure,
    /// How many batches.
    pub batches: usize,
    /// What was compared.
    pub basis: Basis,
}

impl Improvement {
    /// What can be said.
    pub fn verdict(&self) -> Verdict {
        match &self.basis {
            Basis::Phases { comparison, .. } => comparison.as_ref().map_or(Verdict::NotTold, |c| c.verdict),
            Basis::ChangePoint { chance, .. } => chance.map_or(Verdict::NotTold, |c| c.verdict),
        }
    }

    /// Spread after over spread before.
    pub fn ratio(&self) -> Option<Quantiles> {
        match &self.basis {
            Basis::Phases { comparison, .. } => comparison.as_ref().map(|c| c.ratio),
            Basis::ChangePoint { change, .. } => change.as_ref().map(|c| c.spread_ratio),
        }
    }

    fn phases(&self, f: &mut fmt::Formatter<'_>, phase: &str, from: When, c: &SpreadRatio) -> fmt::Result {
        let m = self.measure;
        let Quantiles { p05, p50, p95 } = c.ratio;
        let since = format!("since '{phase}' ({})", from.date());
        let told = format!("{p50:.2} times what it was (90 % sure: {p05:.2} to {p95:.2})");
        let spreads =
            format!("±{} where it was ±{}", m.say_distance(c.after.sd), m.say_distance(c.before.sd));
        match c.verdict {
            Verdict::Narrower => {
                write!(
                    f,
                    "Steadier {since}: the spread of {} is {told}, more than chance; {spreads}.",
                    m.title()
                )
            }
            Verdict::Wider => {
                write!(
                    f,
                    "Less steady {since}: the spread of {} is {told}, more than chance; {spreads}.",
                    m.title()
                )
            }
            Verdict::NotTold => {
                write!(f, "Not yet told from chance: {since} the spread of {} is {told}.", m.title())?;
                match batches_to_show(c.before.batches, 0.5) {
                    Some(n) if n > c.after.batches => {
                        write!(
                            f,
                            " A halved spread would show with about {} more batches.",
                            n - c.after.batches
                        )
                    }
                    Some(_) => write!(f, " A halved spread would have shown by now."),
                    None => write!(f, " There are too few batches before it for a halved spread to show."),
                }
            }
        }
    }

    fn change_point(
        &self,
        f: &mut fmt::Formatter<'_>,
        change: &Change,
        chance: &Reshuffled,
        spreads: Option<(f64, f64)>,
    ) -> fmt::Result {
        let (title, Quantiles { p05, p50, p95 }) = (self.measure.title(), change.spread_ratio);
        let (word, p) = match chance.verdict {
            Verdict::Narrower => ("steadier", chance.p_narrower),
            Verdict::Wider => ("less steady", chance.p_wider),
            Verdict::NotTold => {
                return write!(
                    f,
                    "No steadier and no less steady that could be told from chance in {} batches of {title}.",
                    self.batches
                );
            }
        };
        let (earliest, latest) = (change.between.0.date(), change.between.1.date());
        write!(
            f,
            "{} became {word} about {} (90 % sure: {earliest} to {latest}): the spread is {p50:.2} times what it was (90 % \
             sure: {p05:.2} to {p95:.2}); {:.0} of {RESHUFFLES} reshuffles of the same batches look as clear",
            capital(title),
            change.most_likely.when.date(),
            p * (RESHUFFLES + 1) as f64 - 1.0,
        )?;
        match spreads {
            Some((before, after)) => {
                let say = |d| self.measure.say_distance(d);
                write!(f, "; ±{} where it was ±{}.", say(after), say(before))
            }
            None => write!(f, "."),
        }
    }
}

impl fmt::Display for Improvement {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.basis {
            Basis::Phases { phase, from, comparison: Some(c) } => self.phases(f, phase, *from, c),
            Basis::Phases { phase, .. } => {
                write!(
                    f,
                    "Too early to say: '{phase}' and what came before need three differing batches each."
                )
            }
            Basis::ChangePoint { change: Some(change), chance: Some(chance), spreads } => {
                self.change_point(f, change, chance, *spreads)
            }
            Basis::ChangePoint { .. } => {
                write!(
                    f,
                    "Too early to say: it takes twenty differing batches, and there are {}.",
                    self.batches
                )
            }
        }
    }
}

/// Spread before and after the likeliest date of a change.
pub(super) fn spreads(values: &[f64], change: &Change) -> Option<(f64, f64)> {
    let first = change.positions.iter().position(|p| *p == change.most_likely)? + super::change::FEWEST;
    Some((sd(&values[..first])?, sd(&values[first..])?))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|c| c.to_uppercase().chain(letters).collect()).unwrap_or_default()
}
