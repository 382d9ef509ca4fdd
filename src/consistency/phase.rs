//! Phases: from this day on something was different. Marked by the baker, or begun by the first plan followed.

use std::fmt;
use std::str::FromStr;

use serde::Serialize;

use super::error::ConsistencyError;
use super::series::Series;
use crate::dough::When;

/// A phase runs from its first day to the next phase, or to the end.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Phase {
    /// What was different.
    pub name: String,
    /// Its first day, or moment.
    pub from: When,
}

impl Phase {
    /// The phase that the first batch baked by a plan began; `None` when no batch was.
    pub fn plans_began(series: &Series, followed: impl Fn(&str) -> bool) -> Option<Self> {
        let first = series.points().iter().find(|p| followed(&p.batch_id))?;
        Some(Self { name: "plans followed".into(), from: first.when })
    }
}

impl fmt::Display for Phase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({})", self.name, self.from.date())
    }
}

impl FromStr for Phase {
    type Err = ConsistencyError;

    /// Reads `new fridge=2026-03-01`.
    fn from_str(s: &str) -> Result<Self, ConsistencyError> {
        let unreadable = || ConsistencyError::PhaseUnreadable { text: s.to_string() };
        let (name, from) = s.rsplit_once('=').ok_or_else(unreadable)?;
        let name = name.trim().trim_matches('"');
        match from.parse() {
            Ok(from) if !name.is_empty() => Ok(Self { name: name.to_string(), from }),
            _ => Err(unreadable()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::measure::Measure;
    use super::super::series::Point;
    use super::*;

    #[test]
    fn plans_begin_a_phase_with_the_first_batch_that_followed_one() {
        let point = |i: usize| Point {
            batch_id: format!("b{i}"),
            when: format!("2026-01-{:02}", 1 + i).parse().unwrap(),
            value: 0.0,
            subgroup: None,
        };
        let series = Series::new(Measure::Miss, (0..5).map(point).collect()).unwrap();
        let began = Phase::plans_began(&series, |id| id >= "b2").unwrap();
        assert_eq!(began.to_string(), "plans followed (2026-01-03)");
        assert_eq!(Phase::plans_began(&series, |_| false), None);
    }

    #[test]
    fn a_phase_has_a_name_and_a_day() {
        let phase: Phase = "\"new = old\"=2026-03-01".parse().unwrap();
        assert_eq!((phase.name.as_str(), phase.from), ("new = old", "2026-03-01".parse().unwrap()));
        assert!("=2026-03-01".parse::<Phase>().is_err() && "\"\"=2026-03-01".parse::<Phase>().is_err());
    }
}
