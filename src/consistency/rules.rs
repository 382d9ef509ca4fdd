//! Run rules: patterns of points that chance seldom makes.
//!
//! Western Electric Co. 1956, *Statistical Quality Control Handbook* (four zone tests), and Nelson 1984, *J Qual
//! Technol* 16:237-239 (eight). They read distances from the center in sigmas. A rule signals at every point that
//! completes its pattern; "beyond" is strictly beyond, and a point on the center line ends a run. Every further
//! rule cries wolf more often, so the default is two: a point beyond three sigma, and nine in a row on one side.

use std::fmt;
use std::str::FromStr;

use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use super::error::ConsistencyError;
use super::series::Point;
use crate::dough::When;

/// A pattern, in sigmas from the center.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Pattern {
    /// One point farther than this.
    Beyond(f64),
    /// So many in a row on one side.
    OneSide(usize),
    /// So many in a row, each above (or each below) the one before.
    Trend(usize),
    /// So many in a row, up and down in turn.
    UpAndDown(usize),
    /// `count` of `of` in a row farther than `sigmas` on one side, the last one among them.
    Zone { count: usize, of: usize, sigmas: f64 },
    /// So many in a row nearer than one sigma.
    AllNear(usize),
    /// So many in a row farther than one sigma, on either side.
    AllFar(usize),
}

/// A run rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rule {
    name: &'static str,
    says: &'static str,
    pattern: Pattern,
}

const fn rule(name: &'static str, says: &'static str, pattern: Pattern) -> Rule {
    Rule { name, says, pattern }
}

/// A rule that signalled at a batch.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Signal {
    /// The batch that completed the pattern.
    pub batch_id: String,
    /// When it was mixed.
    pub when: When,
    /// The rule.
    pub rule: Rule,
}

impl Rule {
    /// Every rule, by name.
    pub const ALL: [Self; 12] = [
        rule("nelson-1", "beyond three sigma", Pattern::Beyond(3.0)),
        rule("nelson-2", "nine in a row on one side", Pattern::OneSide(9)),
        rule("nelson-3", "six in a row, each higher or each lower than the last", Pattern::Trend(6)),
        rule("nelson-4", "fourteen in a row, up and down in turn", Pattern::UpAndDown(14)),
        rule(
            "nelson-5",
            "two of three beyond two sigma on one side",
            Pattern::Zone { count: 2, of: 3, sigmas: 2.0 },
        ),
        rule(
            "nelson-6",
            "four of five beyond one sigma on one side",
            Pattern::Zone { count: 4, of: 5, sigmas: 1.0 },
        ),
        rule("nelson-7", "fifteen in a row within one sigma", Pattern::AllNear(15)),
        rule("nelson-8", "eight in a row beyond one sigma on either side", Pattern::AllFar(8)),
        rule("western-electric-1", "beyond three sigma", Pattern::Beyond(3.0)),
        rule(
            "western-electric-2",
            "two of three beyond two sigma on one side",
            Pattern::Zone { count: 2, of: 3, sigmas: 2.0 },
        ),
        rule(
            "western-electric-3",
            "four of five beyond one sigma on one side",
            Pattern::Zone { count: 4, of: 5, sigmas: 1.0 },
        ),
        rule("western-electric-4", "eight in a row on one side", Pattern::OneSide(8)),
    ];
    /// The default: a point beyond three sigma, and nine in a row on one side.
    pub const DEFAULT: [Self; 2] = [Self::ALL[0], Self::ALL[1]];
    /// The eight of Nelson.
    pub const NELSON: &'static [Self] = Self::ALL.split_at(8).0;
    /// The four of Western Electric.
    pub const WESTERN_ELECTRIC: &'static [Self] = Self::ALL.split_at(8).1;

    /// The rules of a word: `default`, `nelson`, `western-electric`, or names with commas between.
    ///
    /// # Errors
    /// When a name is not known.
    pub fn set(words: &str) -> Result<Vec<Self>, ConsistencyError> {
        match words {
            "default" => Ok(Self::DEFAULT.to_vec()),
            "nelson" => Ok(Self::NELSON.to_vec()),
            "western-electric" => Ok(Self::WESTERN_ELECTRIC.to_vec()),
            names => names.split(',').map(|n| n.trim().parse()).collect(),
        }
    }

    /// The name, such as `nelson-2`.
    pub const fn name(self) -> &'static str {
        self.name
    }

    /// What it looks for, in words.
    pub const fn says(self) -> &'static str {
        self.says
    }

    /// Whether the last point of `z`, distances from the center in sigmas in time order, completes the pattern.
    pub fn completes(self, z: &[f64]) -> bool {
        let last = |n: usize| z.len().checked_sub(n).map(|from| &z[from..]);
        match self.pattern {
            Pattern::Beyond(sigmas) => last(1).is_some_and(|w| w[0].abs() > sigmas),
            Pattern::OneSide(n) => {
                last(n).is_some_and(|w| w.iter().all(|x| *x > 0.0) || w.iter().all(|x| *x < 0.0))
            }
            Pattern::Trend(n) => last(n).is_some_and(|w| {
                let mut steps = w.windows(2).map(|s| s[1] - s[0]);
                steps.clone().all(|d| d > 0.0) || steps.all(|d| d < 0.0)
            }),
            Pattern::UpAndDown(n) => {
                last(n).is_some_and(|w| w.windows(3).all(|s| (s[1] - s[0]) * (s[2] - s[1]) < 0.0))
            }
            Pattern::Zone { count, of, sigmas } => {
                let window = last(of.min(z.len())).unwrap_or_default();
                let far = |side: f64| {
                    window.last().is_some_and(|x| side * x > sigmas)
                        && window.iter().filter(|x| side * **x > sigmas).count() >= count
                };
                far(1.0) || far(-1.0)
            }
            Pattern::AllNear(n) => last(n).is_some_and(|w| w.iter().all(|x| x.abs() < 1.0)),
            Pattern::AllFar(n) => last(n).is_some_and(|w| w.iter().all(|x| x.abs() > 1.0)),
        }
    }
}

/// All signals of `rules`; `z` is each point's distance from the center in sigmas. In time order and, within a batch,
/// in the order of the rules.
pub fn signals(points: &[Point], z: &[f64], rules: &[Rule]) -> Vec<Signal> {
    let at = |i: usize| rules.iter().filter(move |r| r.completes(&z[..=i])).map(move |r| (i, *r));
    (0..points.len().min(z.len()))
        .flat_map(at)
        .map(|(i, rule)| Signal { batch_id: points[i].batch_id.clone(), when: points[i].when, rule })
        .collect()
}

impl fmt::Display for Rule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name)
    }
}

impl FromStr for Rule {
    type Err = ConsistencyError;

    fn from_str(s: &str) -> Result<Self, ConsistencyError> {
        let unknown = || ConsistencyError::UnknownRule { name: s.to_string() };
        Self::ALL.into_iter().find(|r| r.name == s).ok_or_else(unknown)
    }
}

impl Serialize for Rule {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.serialize_str(self.name)
    }
}

crate::dough::words::text_schema!(Rule);

#[cfg(test)]
mod tests {
    use super::*;

    fn completes(name: &str, z: &[f64]) -> bool {
        name.parse::<Rule>().unwrap().completes(z)
    }

    #[test]
    fn beyond_is_strictly_beyond() {
        assert!(!completes("nelson-1", &[3.0]) && completes("nelson-1", &[-3.01]));
        assert!(!completes("nelson-5", &[2.5, 2.0]) && completes("nelson-5", &[2.5, 2.01]));
        assert!(!completes("nelson-5", &[2.0, 2.5]) && completes("nelson-5", &[-2.01, 0.0, -2.5]));
        assert!(!completes("nelson-7", &[1.0; 15]) && completes("nelson-7", &[-0.99; 15]));
        assert!(!completes("nelson-8", &[1.0; 8]) && completes("nelson-8", &[-1.01; 8]));
    }

    #[test]
    fn ties_end_a_run() {
        assert!(!completes("nelson-3", &[1.0, 2.0, 3.0, 3.0, 4.0, 5.0]));
        assert!(!completes("nelson-3", &[5.0, 4.0, 3.0, 3.0, 2.0, 1.0]));
        assert!(completes("nelson-3", &[5.0, 4.0, 3.0, 2.5, 2.0, 1.0]));
        assert!(!completes("nelson-2", &[0.5, 0.5, 0.5, 0.5, 0.0, 0.5, 0.5, 0.5, 0.5]));
        assert!(!completes("nelson-2", &[-0.5, -0.5, -0.5, -0.5, 0.0, -0.5, -0.5, -0.5, -0.5]));
        let turns: Vec<f64> = (0..14).map(|i| if i % 2 == 0 { 0.2 } else { -0.2 }).collect();
        let mut tie = turns.clone();
        tie[13] = tie[12];
        assert!(completes("nelson-4", &turns) && !completes("nelson-4", &tie));
    }

    #[test]
    fn rules_are_found_by_word_and_by_name() {
        let names =
            |words: &str| -> Vec<&str> { Rule::set(words).unwrap().iter().map(|r| r.name()).collect() };
        assert_eq!(names("default"), ["nelson-1", "nelson-2"]);
        assert_eq!((names("nelson").len(), names("western-electric").len()), (8, 4));
        assert_eq!(names("nelson-3, western-electric-4"), ["nelson-3", "western-electric-4"]);
        assert!(Rule::set("nelson-9").is_err());
        assert_eq!(Rule::ALL[2].says(), "six in a row, each higher or each lower than the last");
        assert_eq!(serde_json::to_value(Rule::ALL[11]).unwrap(), "western-electric-4");
    }
}
