//! Which model foretells this kitchen's rises best: the usual one, its rivals, and a plain regression without physics.
//!
//! - [`mod@table`] the candidates side by side: leave-one-batch-out, the last weeks out, each flour lot out
//! - `held_out` fitting without some batches and foretelling them
//! - `plain` the regression, on `features`
//!
//! What is compared is the log predictive density of each batch's ln rise at its end, in nats; higher is better.

mod features;
mod held_out;
mod plain;
mod table;

pub use held_out::{Foretelling, Split, last_weeks, lots_out};
pub use plain::Plain;
pub use table::{Candidate, Comparison, Row, compare};
