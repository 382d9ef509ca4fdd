//! Criticism of a fit: does it make records like these, and what do its answers hang on?
//!
//! - [`predictive`] would the model, before and after the records, make such rises?
//! - [`pit`] do intervals hold for batches that took no part (LOO-PIT, coverage)?
//! - [`power`] do answers hang on the priors or on the records (power scaling)?
//! - [`conflict`] where records and priors disagree, in plain words

pub mod conflict;
pub mod pit;
pub mod power;
pub mod predictive;
