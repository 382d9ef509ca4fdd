//! The minimum of a smooth function of many parameters, by Newton's method inside a trust region.
//!
//! Used for the mode of the posterior (f = minus its logarithm, in nats), where a gradient is cheap and a
//! curvature dear, and for least squares (f = half the sum of squares, curvature J'J), where it is cheap:
//!
//! - each step minimises the local quadratic model inside a trust region ([`Settings::scaling`] sets its
//!   shape), and is kept only if the function falls by a fair part of what the model foretold;
//! - a dear curvature is kept for many steps and corrected from the gradients seen on the way; it is evaluated
//!   anew when progress is poor, and always at the minimum, so that the result never rests on a stale one;
//! - far from the minimum, where the curvature is indefinite, the step is damped until the model is convex.
//!
//! The function may be `+inf` outside its support; its gradient is not looked at there.
//!
//! Sources: Moré & Sorensen 1983 (see `region`), Conn, Gould & Toint 2000, *Trust-Region Methods*, for the
//! ratio test and its guard against rounding (section 17.4), Moré 1978, *The Levenberg-Marquardt algorithm:
//! implementation and theory*, for the scaling by the largest curvature seen. Limits: finds one local minimum.

mod differences;
mod outcome;
mod quadratic;
mod region;
mod settings;
#[cfg(test)]
mod tests;
mod vectors;

use crate::inference::curvature::Curvature;
pub use differences::{central_differences, forward_differences};
use nalgebra::DMatrix;
pub use outcome::{Converged, MinimiseError, Minimum};
use quadratic::Quadratic;
pub use settings::{Scaling, Settings};
use vectors::{dot, norm, scaled_norm};

/// A smooth function to be minimised.
pub trait Objective: Sync {
    /// The number of parameters.
    fn dim(&self) -> usize;

    /// The function and, written into `gradient`, its derivatives; `+inf` outside the support.
    fn value_gradient(&self, x: &[f64], gradient: &mut [f64]) -> f64;

    /// The function alone.
    fn value(&self, x: &[f64]) -> f64 {
        self.value_gradient(x, &mut vec![0.0; self.dim()])
    }

    /// How far rounding may put a value off; the default is a few units of its last digit.
    fn rounding(&self, value: f64) -> f64 {
        10.0 * f64::EPSILON * value.abs()
    }

    /// The second derivatives, or a positive semidefinite stand-in such as J'J, where the function has them
    /// cheaply, and they are evaluated at every step; else differences of the gradient are used, sparingly.
    fn curvature(&self, x: &[f64]) -> Option<Curvature> {
        let _ = x;
        None
    }
}

/// A step is kept when the function falls by this part of what was foretold.
const ACCEPT: f64 = 1e-4;
/// Below this part the radius shrinks, above the other it may grow.
const POOR: f64 = 0.25;
const GOOD: f64 = 0.75;
/// Poor steps on one curvature by differences before it is evaluated anew, and steps on it at most.
const POOR_STEPS: usize = 12;
const STALE_STEPS: usize = 40;
/// A search that cannot go on although a Newton step promises this many times the rounding has stalled.
const STALLED: f64 = 1e6;

/// Finds a local minimum of `objective` from `start`.
pub fn minimise<O: Objective + ?Sized>(
    objective: &O,
    start: &[f64],
    settings: &Settings,
) -> Result<Minimum, MinimiseError> {
    if start.len() != objective.dim() {
        return Err(MinimiseError::WrongLength { start: start.len(), dim: objective.dim() });
    }
    let mut search = Search::begin(objective, start, settings)?;
    while search.iterations < settings.max_iterations {
        if let Some(converged) = search.advance()? {
            return search.finish(converged);
        }
    }
    Err(MinimiseError::TooManyIterations {
        iterations: search.iterations,
        value: search.value,
        gradient_norm: norm(&search.gradient),
        x: search.x,
    })
}

struct Search<'a, O: ?Sized> {
    objective: &'a O,
    settings: &'a Settings,
    x: Vec<f64>,
    value: f64,
    gradient: Vec<f64>,
    model: Quadratic,
    /// Whether the function gives its curvature itself.
    known_curvature: bool,
    scale: Vec<f64>,
    radius: f64,
    /// The least fall promised by a step whose promise was below rounding.
    least_promise: f64,
    /// Steps tried since the curvature was evaluated, how many of them were poor, and whether one was kept.
    since: usize,
    poor: usize,
    moved: bool,
    iterations: usize,
    gradients: usize,
    curvatures: usize,
}

impl<'a, O: Objective + ?Sized> Search<'a, O> {
    fn begin(objective: &'a O, start: &[f64], settings: &'a Settings) -> Result<Self, MinimiseError> {
        let mut gradient = vec![0.0; start.len()];
        let value = objective.value_gradient(start, &mut gradient);
        if !is_finite(value, &gradient) {
            return Err(MinimiseError::NotFinite { value, iterations: 0 });
        }
        let mut search = Search {
            objective,
            settings,
            x: start.to_vec(),
            value,
            gradient,
            model: Quadratic::new(Curvature(DMatrix::zeros(start.len(), start.len()))),
            known_curvature: false,
            scale: vec![if settings.scaling == Scaling::Unit { 1.0 } else { 0.0 }; start.len()],
            radius: 0.0,
            least_promise: f64::INFINITY,
            since: 0,
            poor: 0,
            moved: false,
            iterations: 0,
            gradients: 1,
            curvatures: 0,
        };
        search.look_around()?;
        let length = match settings.scaling {
            Scaling::Unit => (start.len() as f64).sqrt(),
            Scaling::LargestCurvature => scaled_norm(start, &search.scale),
        };
        search.radius = settings.first_radius * if length > 0.0 { length } else { 1.0 };
        Ok(search)
    }

    /// Evaluates the curvature where the search stands.
    fn look_around(&mut self) -> Result<(), MinimiseError> {
        let known = self.objective.curvature(&self.x);
        self.known_curvature = known.is_some();
        let curvature = known.unwrap_or_else(|| {
            self.gradients += self.x.len();
            forward_differences(self.objective, &self.x, &self.gradient)
        });
        self.curvatures += 1;
        let diagonal = curvature.diagonal();
        if diagonal.iter().any(|d| !d.is_finite()) {
            return Err(MinimiseError::NotFinite { value: self.value, iterations: self.iterations });
        }
        if self.settings.scaling == Scaling::LargestCurvature {
            for (scale, d) in self.scale.iter_mut().zip(&diagonal) {
                *scale = scale.max(d.abs().sqrt());
                // A parameter without any effect at the start gets the unit, as in MINPACK.
                if *scale == 0.0 {
                    *scale = 1.0;
                }
            }
        }
        self.model = Quadratic::new(curvature);
        (self.since, self.poor, self.moved) = (0, 0, false);
        Ok(())
    }

    /// Tries one step, or ends the search.
    fn advance(&mut self) -> Result<Option<Converged>, MinimiseError> {
        self.iterations += 1;
        let Some(step) = region::step(&self.model, &self.gradient, &self.scale, self.radius) else {
            return self.end_unless_stale(Converged::Rounding);
        };
        let Settings { reduction, relative_reduction, relative_step, .. } = *self.settings;
        if step.newton && step.predicted <= reduction + relative_reduction * self.value.abs() {
            return self.end_unless_stale(Converged::SmallReduction);
        }
        let rounding = self.objective.rounding(self.value);
        if step.newton && step.predicted <= rounding {
            // Values no longer tell; go on by the gradient alone, as long as each step promises half the last.
            if step.predicted > self.least_promise / 2.0 {
                return self.end_unless_stale(Converged::Rounding);
            }
            self.least_promise = step.predicted;
        }
        if step.length <= relative_step * scaled_norm(&self.x, &self.scale) {
            return self.end_unless_stale(if step.newton {
                Converged::SmallStep
            } else {
                Converged::Rounding
            });
        }

        let trial: Vec<f64> = self.x.iter().zip(&step.change).map(|(x, p)| x + p).collect();
        let mut gradient = vec![0.0; trial.len()];
        let value = self.objective.value_gradient(&trial, &mut gradient);
        self.gradients += 1;
        self.since += 1;
        if !is_finite(value, &gradient) {
            self.radius = step.length * POOR;
            return Ok(None);
        }
        let ratio = (self.value - value + rounding) / (step.predicted + rounding);
        if ratio < POOR {
            self.radius = step.length * POOR;
            self.poor += 1;
        } else if ratio > GOOD {
            self.radius = self.radius.max(2.0 * step.length);
        }
        if !self.known_curvature {
            let change: Vec<f64> = gradient.iter().zip(&self.gradient).map(|(new, old)| new - old).collect();
            self.model.learn(&step.change, &change);
        }
        if ratio > ACCEPT {
            (self.x, self.value, self.gradient) = (trial, value, gradient);
            self.moved = true;
        }
        if self.moved && (self.known_curvature || self.poor >= POOR_STEPS || self.since >= STALE_STEPS) {
            self.look_around()?;
        }
        Ok(None)
    }

    /// Ends the search if the curvature belongs to this very point, else evaluates it and goes on.
    fn end_unless_stale(&mut self, converged: Converged) -> Result<Option<Converged>, MinimiseError> {
        if self.moved {
            self.look_around()?;
            return Ok(None);
        }
        if self.model.forget() {
            // The curvature is of this point, but the step was made from what failed steps had taught.
            return Ok(None);
        }
        Ok(Some(converged))
    }

    fn finish(mut self, converged: Converged) -> Result<Minimum, MinimiseError> {
        let curvature = if self.known_curvature {
            self.model.into_evaluated()
        } else {
            self.gradients += 2 * self.x.len();
            self.curvatures += 1;
            central_differences(self.objective, &self.x)
        };
        let factor = match curvature.factor() {
            Ok(factor) => factor,
            Err(source) => return Err(MinimiseError::NotAMinimum { value: self.value, x: self.x, source }),
        };
        let reduction_left = dot(&self.gradient, &factor.solve(&self.gradient)) / 2.0;
        let excusable = self.settings.reduction + STALLED * self.objective.rounding(self.value);
        if converged == Converged::Rounding && reduction_left > excusable {
            return Err(MinimiseError::Stalled { value: self.value, reduction_left, x: self.x });
        }
        Ok(Minimum {
            gradient_norm: norm(&self.gradient),
            x: self.x,
            value: self.value,
            reduction_left,
            curvature,
            iterations: self.iterations,
            gradient_evaluations: self.gradients,
            curvature_evaluations: self.curvatures,
            converged,
        })
    }
}

fn is_finite(value: f64, gradient: &[f64]) -> bool {
    value.is_finite() && gradient.iter().all(|g| g.is_finite())
}
