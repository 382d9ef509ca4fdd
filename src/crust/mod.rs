//! What makes a better crust? Records with a score from 1 to 10, or a verdict under, ready or over, go in; what goes with a
//! better crust comes out, with its uncertainty, and the honest word when the records do not explain it.
//!
//! The way through: [`oven`] what the fermentation model knows at the oven · [`table`] the predictors · [`ordered`] the
//! regression · [`draws`] its posterior, and each batch foretold by the others · [`dependence`] effects, curves and the
//! best that was tried · [`score`] how well scores were foretold · [`baselines`] plainer models beside it (the one file
//! here that knows linfa) · [`study`](mod@study) all of it · [`foretell`] what a plan is likely to score.

pub mod baselines;
pub mod dependence;
pub mod draws;
pub mod foretell;
pub mod ordered;
pub mod oven;
pub mod score;
pub mod study;
pub mod table;

#[cfg(test)]
mod tests;

pub use study::{Crust, CrustError, Fitted, Of, study};
