//! What the minimiser hands back: a minimum, or why there is none.

use crate::inference::curvature::{Curvature, NotPositiveDefinite};
use thiserror::Error;

/// Which test ended the search.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Converged {
    /// A full Newton step promises too little.
    SmallReduction,
    /// A full Newton step is too short.
    SmallStep,
    /// No step, however short, lowers the function any more: the limit of its rounding is reached.
    Rounding,
}

/// A minimum.
#[derive(Clone, Debug)]
pub struct Minimum {
    /// Where it is.
    pub x: Vec<f64>,
    /// The function there.
    pub value: f64,
    /// The Euclidean length of the gradient there.
    pub gradient_norm: f64,
    /// By how much a further Newton step would lower the function: g' H^-1 g / 2.
    pub reduction_left: f64,
    /// The curvature there, freshly evaluated and positive definite.
    pub curvature: Curvature,
    /// Steps tried.
    pub iterations: usize,
    /// Gradients evaluated, those for curvatures by differences included.
    pub gradient_evaluations: usize,
    /// Curvatures evaluated.
    pub curvature_evaluations: usize,
    /// Which test ended the search.
    pub converged: Converged,
}

/// Why there is no minimum to show.
#[derive(Clone, Debug, Error)]
pub enum MinimiseError {
    /// The start has another length than the function's parameters.
    #[error("the start has {start} values where the function has {dim} parameters")]
    WrongLength {
        /// Values in the start.
        start: usize,
        /// Parameters of the function.
        dim: usize,
    },
    /// The function, its gradient or its curvature is not finite where the search stands.
    #[error(
        "the function, its gradient or its curvature is not finite after {iterations} steps (value {value})"
    )]
    NotFinite {
        /// The function there.
        value: f64,
        /// Steps tried before.
        iterations: usize,
    },
    /// The steps ran out.
    #[error("no minimum after {iterations} steps: value {value}, length of the gradient {gradient_norm}")]
    TooManyIterations {
        /// Steps tried.
        iterations: usize,
        /// The function at the best point.
        value: f64,
        /// The gradient there.
        gradient_norm: f64,
        /// The best point.
        x: Vec<f64>,
    },
    /// No step lowers the function, although the gradient says it could fall further: the two disagree.
    #[error("no step lowers the function below {value}, though its gradient promises {reduction_left} more")]
    Stalled {
        /// The function there.
        value: f64,
        /// What a Newton step should gain.
        reduction_left: f64,
        /// The best point.
        x: Vec<f64>,
    },
    /// The gradient vanishes, but not at a minimum: the function is flat or falls in some direction.
    #[error("the search ended where the function is no minimum (value {value}): {source}")]
    NotAMinimum {
        /// The function there.
        value: f64,
        /// The point.
        x: Vec<f64>,
        /// What is wrong with the curvature.
        source: NotPositiveDefinite,
    },
}
