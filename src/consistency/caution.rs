//! What to beware of when reading a chart; each text ends with the next step.

use std::fmt;

use serde::{Serialize, Serializer};

use super::limits::{NOT_NORMAL, SETTLED};
use super::series::Gap;
use crate::dough::When;

/// A caution about the series or its limits.
#[derive(Debug, Clone, PartialEq)]
pub enum Caution {
    /// No limits: a single batch.
    SingleBatch {
        /// The phase.
        phase: String,
    },
    /// No limits: every batch the same.
    NoSpread {
        /// The phase.
        phase: String,
        /// How many.
        batches: usize,
    },
    /// Few batches behind the limits.
    Provisional {
        /// The phase.
        phase: String,
        /// How many.
        batches: usize,
    },
    /// The values do not follow a normal distribution.
    NotNormal {
        /// Anderson-Darling p-value.
        p: f64,
    },
    /// Neighbouring batches resemble each other.
    NeighboursAlike {
        /// Lag-1 autocorrelation.
        lag1: f64,
        /// The bound it exceeds.
        bound: f64,
    },
    /// Each batch tends to lie on the other side than the one before.
    NeighboursOpposed {
        /// Lag-1 autocorrelation.
        lag1: f64,
        /// The bound it exceeds.
        bound: f64,
    },
    /// A long time without a batch.
    LongGap(Gap),
    /// A phase without batches.
    EmptyPhase {
        /// Its name.
        name: String,
    },
    /// Something changed within what is charted as one.
    UnmarkedChange {
        /// The likeliest day.
        when: When,
    },
    /// Days differ by more than their batches do.
    DaysDiffer,
    /// Capability of batches with signals.
    CapabilityOfUnsteady {
        /// How many signals.
        signals: usize,
    },
}

impl fmt::Display for Caution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::SingleBatch { phase } => {
                write!(f, "{phase}: a single batch has no spread; limits appear with the second")
            }
            Self::NoSpread { phase, batches } => write!(
                f,
                "{phase}: all {batches} batches have the same value, so there are no limits; read it off more finely"
            ),
            Self::Provisional { phase, batches } => write!(
                f,
                "{phase}: limits from {batches} batches are provisional; they settle from about {SETTLED} on"
            ),
            Self::NotNormal { .. } => write!(
                f,
                "the values are lopsided, stepped or have outliers (Anderson-Darling p below {NOT_NORMAL}), so limits come from \
                 quantiles; look at the outermost batches first"
            ),
            Self::NeighboursAlike { lag1, bound } => write!(
                f,
                "neighbouring batches resemble each other (r = {lag1:.2}, chance keeps within {bound:.2}), so signals look \
                 at what each adds to the last; look for what they share: room, flour lot, season"
            ),
            Self::NeighboursOpposed { lag1, bound } => write!(
                f,
                "a high batch tends to follow a low one (r = {lag1:.2}, chance keeps within {bound:.2}): corrections may be \
                 too strong; change less after a single batch"
            ),
            Self::LongGap(Gap { after, until, days }) => write!(
                f,
                "no batch for {days:.0} days between {} and {}; mark a phase there if something changed meanwhile",
                after.date(),
                until.date()
            ),
            Self::EmptyPhase { name } => write!(f, "no batch lies in the phase '{name}'; check its date"),
            Self::UnmarkedChange { when } => write!(
                f,
                "something changed about {day} (more than 9 in 10 sure), so limits mix before and after; mark a phase there: \
                 --phase \"what changed\"={day}",
                day = when.date()
            ),
            Self::DaysDiffer => write!(
                f,
                "days differ by more than the batches of a day do, so limits of a day's mean come from other days' means; look \
                 for what a day's batches share"
            ),
            Self::CapabilityOfUnsteady { signals } => write!(
                f,
                "capability describes a steady kitchen, and there are signals ({signals}); settle those first"
            ),
        }
    }
}

impl Serialize for Caution {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

crate::dough::words::text_schema!(Caution);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_caution_ends_with_the_next_step() {
        for (caution, next) in [
            (Caution::NotNormal { p: 0.001 }, "look at the outermost batches first"),
            (
                Caution::NeighboursAlike { lag1: 0.5, bound: 0.3 },
                "look for what they share: room, flour lot, season",
            ),
            (Caution::NeighboursOpposed { lag1: -0.5, bound: 0.3 }, "change less after a single batch"),
            (Caution::DaysDiffer, "look for what a day's batches share"),
            (Caution::CapabilityOfUnsteady { signals: 2 }, "there are signals (2); settle those first"),
        ] {
            assert!(caution.to_string().ends_with(next), "{caution}");
        }
        let when = "2026-03-01".parse().unwrap();
        assert!(
            Caution::UnmarkedChange { when }.to_string().ends_with("--phase \"what changed\"=2026-03-01")
        );
    }
}
