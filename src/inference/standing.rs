//! The vigour at which a middling batch of the records would rise as it does at the mode, whatever the other parameters.
//!
//! V(o) solves F(k e^(V s), o) = F(k*, o*) with F ln rise of that batch (as if its flour bore any rise), k the vigour, s the
//! spread of its prior on ln k (V is in units of x), o the other parameters, * at the mode. By Newton's method on ln k;
//! dV/do = -F_o/(s F_ln k).
//!
//! Source: the derivative of an implicit function, as in any text on calculus.
//! Limits: `None` where no vigour lets the batch rise so.

use crate::physics::course::{Adjoints, Course, Output, Parameters, Seed, Workspace};
use crate::physics::scalar::Jet;

use super::layout::Layout;
use super::posterior::Posterior;
use super::priors::Core;

/// Newton steps at most.
const STEPS: usize = 60;
/// A step of ln k below this ends the search; or below what the rounding of ln rise, at most this, makes of it where the
/// rise hardly follows the vigour.
const SMALL: f64 = 1e-13;
const ROUNDING: f64 = 16.0 * f64::EPSILON;
/// A batch that made nearly all its gas does not stand for any vigour: ln rise must follow ln k by more than this.
const LEAST_SLOPE: f64 = 0.05;
/// The longest step of ln k.
const LONG: f64 = 1.0;

/// A middling batch and its rise at the mode.
#[derive(Debug)]
pub struct Standing {
    course: Course,
    /// ln rise at the mode.
    ln_rise: f64,
    /// ln k at the mode.
    ln_k: f64,
}

/// V at one place, with what its derivatives need.
#[derive(Debug)]
pub struct Stands {
    /// V, in units of x.
    pub shift: f64,
    parameters: Parameters,
    /// Derivatives of V by the physics' parameters.
    slopes: Adjoints,
}

impl Standing {
    /// The batch whose unbounded rise is the median of all at `x`, and that rise; `None` when no batch has a rise that follows the vigour, or x
    /// lies outside the support.
    pub fn new(posterior: &Posterior, x: &[f64]) -> Option<Self> {
        let p = posterior.layout.parameters(x)?;
        let mut ws = Workspace::default();
        let mut rises: Vec<(f64, Course)> = Vec::new();
        for evidence in &posterior.batches {
            let course = &evidence.prepared.course;
            let Some(last) = course.outputs.iter().rposition(|o| matches!(o, Output::Rise(_))) else {
                continue;
            };
            let course = Course { outputs: vec![course.outputs[last]], ..course.clone() };
            course.forward(&p, Jet::new(p.k, p.k), &mut ws);
            let unbounded = ws.answers[0].unbounded;
            if unbounded.d > LEAST_SLOPE {
                rises.push((unbounded.x, course));
            }
        }
        rises.sort_by(|a, b| a.0.total_cmp(&b.0));
        let middle = rises.len() / 2;
        let (ln_rise, course) = rises.into_iter().nth(middle)?;
        Some(Self { course, ln_rise, ln_k: p.k.ln() })
    }

    /// V at x, whatever stands there for the vigour; `None` outside the support, or where no vigour lets the batch rise so.
    pub fn at(&self, layout: &Layout, x: &[f64]) -> Option<Stands> {
        let mut p = layout.parameters(x)?;
        let mut ws = Workspace::default();
        self.course.pass(&p, &mut ws);
        let mut ln_k = self.ln_k;
        for _ in 0..STEPS {
            p.k = ln_k.exp();
            self.course.answer(&p, Jet::new(p.k, p.k), &mut ws);
            let Jet { x: ln_rise, d: slope } = ws.answers[0].unbounded;
            let step = (self.ln_rise - ln_rise) / slope;
            if !step.is_finite() {
                return None;
            }
            if step.abs() < SMALL.max(ROUNDING / slope.abs()) {
                return Some(self.stands(layout, x, p, slope, ln_k, &mut ws));
            }
            ln_k += step.clamp(-LONG, LONG);
        }
        None
    }

    fn stands(
        &self,
        layout: &Layout,
        x: &[f64],
        p: Parameters,
        slope: f64,
        ln_k: f64,
        ws: &mut Workspace<Jet>,
    ) -> Stands {
        let vigour = Core::Vigour as usize;
        let (k, k_by_x) = layout.shared[vigour].form.value(x[vigour]);
        let spread = k_by_x / k;
        let mut slopes = Adjoints::zero(&p);
        let seed = Seed { unbounded: -1.0 / (slope * spread), ..Seed::default() };
        self.course.backward(&p, ws, &[seed], &mut slopes);
        slopes.ln_k = 0.0;
        Stands { shift: (ln_k - self.ln_k) / spread, parameters: p, slopes }
    }
}

impl Stands {
    /// Adds `by_shift` times the derivatives of V by x to `gradient`, which is as long as x.
    pub fn chain(&self, layout: &Layout, x: &[f64], by_shift: f64, gradient: &mut [f64]) {
        let mut own = vec![0.0; gradient.len()];
        layout.chain(x, &self.parameters, &self.slopes, &mut own);
        gradient.iter_mut().zip(own).for_each(|(g, o)| *g += by_shift * o);
    }
}
