//! What the records say about the parameters.
//!
//! [`prepare`] makes a kitchen's records ready, [`priors`] say what is believed before them, [`layout`] where
//! each parameter stands, [`posterior`] puts them together. [`forecast`] says what a fit foretells, [`under_way`] what
//! readings of a batch under way change in that.
//! General tools: [`minimise`] with [`curvature`], [`student`].

pub mod beliefs;
pub mod bend;
pub mod calibration;
pub mod check;
pub mod compare;
pub mod curvature;
pub mod diagnostics;
pub mod drift;
mod far_off;
pub mod fit;
pub mod follow;
pub mod forecast;
pub mod foretold;
pub mod full;
pub mod laplace;
pub mod late;
pub mod layout;
pub mod lean;
pub mod learned;
pub mod left_out;
mod likelihood;
pub mod lots;
pub mod minimise;
pub mod pool;
pub mod posterior;
pub mod prepare;
pub mod priors;
pub mod psis;
pub mod quick;
pub mod residuals;
pub mod rows;
pub mod sampler;
pub mod sources;
pub mod standing;
pub mod student;
pub mod unbend;
pub mod under_way;
pub mod verdict;
pub mod worth;
