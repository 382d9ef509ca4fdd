//! Invented kitchens, for demonstration and for testing what the workbench claims.
//!
//! A [`Kitchen`] has hidden numbers and bakes what it is told to; only what a baker could have written
//! down comes out. Its [`Truth`] is the model's own physics or deliberately another one, and is always
//! followed by plain numerical integration ([`follow`]), independent of the closed forms in `physics`.
//!
//! - [`truth`] what really goes on: kinetics, conduction inside a piece, heat of fermentation
//! - [`follow`] one dough through time, by small Runge-Kutta steps; [`piece`] its shells
//! - [`season`] the day: room, flour, tap and fridges through the year
//! - [`kitchen`] hidden numbers; `bowl` what truly goes in; `oracle` who knows them
//! - [`bake`] a batch as its baker would have written it down; `notes`, `verdict`
//! - [`habit`] how a careful baker chooses yeast and water without a model; [`policy`] who else may choose
//! - [`year`] a kitchen's year; [`mistake`] what goes wrong in it
//! - [`invented`] kitchens by the dozen, with the model's physics or another; [`hall`] the invented community hall; [`demo`] its year from a committed seed,
//!   as the files of `demo-data`; [`tables`] how they are written
//! - [`plans`] plans that tell a model something; [`model`] outcomes of the model itself with its own noise
//! - `chance` draws and rounding
//!
//! Everything follows from a seed. The generator (ChaCha) is the same everywhere; elementary functions
//! may differ in the last digit between platforms, which the rounding of a record hides.

pub mod bake;
mod bowl;
mod chance;
pub mod demo;
pub mod follow;
pub mod habit;
pub mod hall;
pub mod invented;
pub mod kitchen;
pub mod mistake;
pub mod model;
mod notes;
mod oracle;
pub mod piece;
pub mod plans;
pub mod policy;
pub mod season;
pub mod tables;
pub mod truth;
mod verdict;
pub mod year;

pub use bake::{Bake, Watch};
pub use kitchen::Kitchen;
pub use truth::Truth;
