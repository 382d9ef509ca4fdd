//! What the records say about the parameters.
//!
//! [`prepare`] makes a kitchen's records ready, [`priors`] say what is believed before them, [`layout`] where
//! each parameter stands, [`posterior`] puts them together. [`forecast`] says what a fit foretells.
//! General tools: [`minimise`] with [`arrow`], [`student`].

pub mod arrow;
pub mod diagnostics;
pub mod fit;
pub mod forecast;
pub mod full;
pub mod laplace;
pub mod late;
pub mod layout;
pub mod lots;
pub mod minimise;
pub mod posterior;
pub mod prepare;
pub mod priors;
pub mod psis;
pub mod quick;
pub mod residuals;
pub mod sampler;
pub mod sources;
pub mod standing;
pub mod student;
pub mod unbend;
pub mod verdict;
