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

#[cfg(test)]
mod tests {
    use super::super::change::Position;
    use super::super::spread::Side;
    use super::*;

    fn day(text: &str) -> When {
        text.parse().unwrap()
    }

    fn since(before: usize, after: usize, verdict: Verdict) -> Improvement {
        let side = |batches, sd| Side { batches, mean: 0.0, sd };
        let ratio = Quantiles { p05: 0.4, p50: 0.5, p95: 0.6 };
        let (before, after) = (side(before, 0.2), side(after, 0.1));
        let comparison = SpreadRatio { ratio, chance_narrower: 0.99, verdict, before, after };
        let basis = Basis::Phases {
            phase: "new fridge".into(),
            from: day("2026-02-01"),
            comparison: Some(comparison),
        };
        Improvement { measure: Measure::Miss, batches: 60, basis }
    }

    fn somewhere(verdict: Verdict) -> Improvement {
        let most_likely = Position { batch_id: "b30".into(), when: day("2026-02-01"), probability: 0.5 };
        let change = Change {
            probability: 0.9,
            spread_changed: 0.8,
            most_likely: most_likely.clone(),
            between: (day("2026-01-28"), day("2026-02-03")),
            level_shift: Quantiles { p05: -0.1, p50: 0.0, p95: 0.1 },
            spread_ratio: Quantiles { p05: 0.4, p50: 0.5, p95: 0.6 },
            positions: vec![most_likely],
        };
        let chance = Some(Reshuffled { p_narrower: 0.01, p_wider: 0.002, verdict });
        let basis = Basis::ChangePoint { change: Some(change), chance, spreads: Some((0.2, 0.1)) };
        Improvement { measure: Measure::Miss, batches: 60, basis }
    }

    #[test]
    fn a_phase_that_is_not_told_from_chance_says_how_many_batches_it_takes() {
        // To show a halved spread after 30 batches takes 16, after 8 more than 500 (tests/reference, by SciPy).
        let said = |before, after| since(before, after, Verdict::NotTold).to_string();
        assert!(
            said(30, 10)
                .starts_with("Not yet told from chance: since 'new fridge' (2026-02-01) the spread of")
        );
        assert!(said(30, 10).ends_with(" A halved spread would show with about 6 more batches."));
        assert!(said(30, 16).ends_with(" A halved spread would have shown by now."));
        assert!(said(8, 10).ends_with(" There are too few batches before it for a halved spread to show."));
        let wider = since(30, 30, Verdict::Wider);
        assert!(wider.to_string().starts_with("Less steady since 'new fridge' (2026-02-01): the spread"));
        assert_eq!((wider.verdict(), wider.ratio().unwrap().p50), (Verdict::Wider, 0.5));
    }

    #[test]
    fn a_change_that_nobody_marked_is_dated() {
        // Spreads of 0.1 and 0.2 are 11 and 22 %; a p-value of k/1000 counts the batches' own order with the reshuffles.
        assert_eq!(
            somewhere(Verdict::Narrower).to_string(),
            "The miss of the rise became steadier about 2026-02-01 (90 % sure: 2026-01-28 to 2026-02-03): the spread is 0.50 \
             times what it was (90 % sure: 0.40 to 0.60); 9 of 999 reshuffles of the same batches look as clear; ±11 % where \
             it was ±22 %."
        );
        let wider = somewhere(Verdict::Wider);
        assert!(wider.to_string().contains("became less steady") && wider.to_string().contains("; 1 of 999"));
        assert_eq!((wider.verdict(), wider.ratio().unwrap().p50), (Verdict::Wider, 0.5));
        assert_eq!(
            somewhere(Verdict::NotTold).to_string(),
            "No steadier and no less steady that could be told from chance in 60 batches of the miss of the rise."
        );
    }
}
