//! What to do next: from a fit and a plan with blanks to the yeast and the water of the next batch.
//!
//! [`plan`] completes a plan from the latest batch, [`limits`] say what a kitchen can do, [`water`] turns a wanted
//! temperature into tap water and ice, [`recommend`] searches, [`reasons`] says why in figures, [`window`] when the
//! dough is ready, [`crust_side`] what crust to expect, [`clock`] puts it on the clock, [`adjust`] says what to do
//! mid-course, [`predict`] draws the curve of a plan, [`yeast_for`] tells the yeast for many hours, [`cautions`] warns.

pub mod adjust;
pub mod cautions;
pub mod clock;
pub mod compare;
pub mod crust_side;
pub mod heat;
pub mod limits;
pub mod plan;
pub mod predict;
pub mod readiness;
pub mod reasons;
pub mod recommend;
pub mod scaling;
pub mod trial;
pub mod vary;
pub mod water;
pub mod weighing;
pub mod window;
pub mod yeast_for;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::inference::forecast::Mixture;

/// The 5, 50 and 95 % points of a forecast.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Interval {
    /// 5 % lie below.
    pub p05: f64,
    /// Half lie below.
    pub p50: f64,
    /// 95 % lie below.
    pub p95: f64,
}

impl Interval {
    /// Of a mixture, on its own scale.
    pub fn of(mixture: &Mixture) -> Self {
        let q = |p| mixture.quantile(p);
        Self { p05: q(0.05), p50: q(0.50), p95: q(0.95) }
    }

    /// Of a mixture on the scale of a logarithm, turned back.
    pub fn of_log(mixture: &Mixture) -> Self {
        Self::of(mixture).map(f64::exp)
    }

    /// Each point through a rising function.
    pub fn map(self, f: impl Fn(f64) -> f64) -> Self {
        Self { p05: f(self.p05), p50: f(self.p50), p95: f(self.p95) }
    }
}

/// Why a plan could not be worked out, with the way out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AdviceError {
    /// The plan has nothing blank.
    #[error(
        "the plan{0} has both yeast_g and water_temp_c, so there is nothing to recommend: leave one or both blank, or ask for its rise with `predict`"
    )]
    NothingBlank(String),
    /// The plan has no target.
    #[error(
        "the plan{0} has no target_rise: say how far the dough should rise, for example --target-rise 2.2"
    )]
    NoTarget(String),
    /// Predicting needs yeast.
    #[error("the plan{0} has no yeast_g: give it, or ask for it with `recommend`")]
    NoYeast(String),
    /// The plan does not hold together.
    #[error("the plan{plan} cannot be used: {problems}")]
    Unsound {
        /// Which plan.
        plan: String,
        /// What is wrong, each with its column.
        problems: String,
    },
    /// The dough's temperature cannot be worked out.
    #[error(
        "the plan{0} has no room_temp_c, so the water temperature cannot be worked out: give the room's temperature, for example --room-temp-c 22"
    )]
    NoRoom(String),
    /// A limit that no dough can keep.
    #[error("{0}")]
    Limits(String),
    /// A bake that the clock does not allow.
    #[error("{0}")]
    Clock(String),
    /// Readings that contradict themselves or the plan.
    #[error("{0}")]
    Readings(String),
    /// The fit has no draws that can be used.
    #[error("the fit kept in the logbook cannot forecast this plan: run `fit` again")]
    NoForecast,
}

/// " NAME" of a plan that has one, for messages.
pub(crate) fn plan_name(batch: &crate::dough::Batch) -> String {
    batch.batch_id.as_ref().map(|id| format!(" '{id}'")).unwrap_or_default()
}
