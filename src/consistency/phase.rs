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
