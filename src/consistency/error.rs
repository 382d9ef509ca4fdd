//! What can be wrong with a call to this room. Each says the value, its place, and the way out.

use crate::dough::When;

/// A request that cannot be answered as it stands.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ConsistencyError {
    /// No batch carries the measure.
    #[error("no batch has {measure}: {way_out}")]
    NothingMeasured {
        /// The measure asked for.
        measure: &'static str,
        /// What the records would need.
        way_out: &'static str,
    },
    /// A value that is not a number.
    #[error("the value of batch {batch_id} is {value}, not a number: leave that batch out or correct it")]
    NotANumber {
        /// The batch.
        batch_id: String,
        /// The value found.
        value: f64,
    },
    /// Limits of one's own that stand the wrong way round, or none at all.
    #[error("limits from {lower} to {upper} leave no room: give a lower one below the upper one")]
    LimitsCrossed {
        /// The lower limit as given; -inf when absent.
        lower: f64,
        /// The upper limit as given; +inf when absent.
        upper: f64,
    },
    /// A base period in which no batch lies.
    #[error("no batch lies in the base period from {from} to {to}: the batches run from {first} to {last}")]
    BaseWithoutBatches {
        /// First day of the period.
        from: When,
        /// Last day of the period.
        to: When,
        /// The first batch.
        first: When,
        /// The last batch.
        last: When,
    },
    /// A phase that cannot be read.
    #[error("'{text}' is not a phase: write its name and its first day, such as \"new fridge\"=2026-03-01")]
    PhaseUnreadable {
        /// The text as given.
        text: String,
    },
    /// A name that no rule bears.
    #[error(
        "there is no rule '{name}': nelson-1 to nelson-8 and western-electric-1 to western-electric-4 are known"
    )]
    UnknownRule {
        /// The name as given.
        name: String,
    },
    /// A name that no measure bears.
    #[error("there is no measure '{name}': one of {} is known", super::measure::Measure::WORDS.join(", "))]
    UnknownMeasure {
        /// The name as given.
        name: String,
    },
}
