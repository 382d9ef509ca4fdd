//! What a batch of dough is: the columns of the batch table, their units, kinds and limits, and the
//! checks that hold inside one batch. Every other room speaks of dough in these types.
//!
//! - [`columns`] the one table of columns, from which [`Batch`], intake, export and the command line follow
//! - [`nearest`] the column that a wrong name most likely means
//! - [`batch`] derived quantities of a batch (percentages, stages, the water added at mixing)
//! - [`mod@check`] what must hold inside one batch, said with column, value and remedy
//! - [`reading`] readings while it rises, and temperature logs
//! - [`yeast`] yeast types and their equivalence by weight
//! - [`units`] newtypes for temperatures, masses and times at the borders
//! - [`when`] a local date, with the hour when it is known; [`hours`] a length of time

pub mod batch;
pub mod check;
pub mod columns;
pub mod counted;
pub mod hours;
pub mod nearest;
pub mod reading;
pub mod units;
pub mod when;
pub(crate) mod words;
pub mod yeast;

pub use batch::{Stage, StageKind};
pub use check::{Problem, Purpose, check};
pub use columns::{Batch, Column, Kind, Ripeness, SetError, Value};
pub use nearest::NoColumn;
pub use reading::{Reading, SurroundingsPoint, Vessel};
pub use units::{Celsius, Grams, Hours};
pub use when::When;
pub use yeast::YeastType;
