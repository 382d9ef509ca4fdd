//! The moments of a batch at which somebody must be there.

use schemars::JsonSchema;

use jiff::ZonedDateTime;

use super::later;
use crate::dough::Batch;
use crate::dough::words::word_enum;

/// How long mixing takes when nobody says, in min (common practice, no source).
pub const USUAL_MIX_MIN: f64 = 15.0;

/// A moment at which somebody must be there.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Step {
    /// The preferment is mixed.
    Preferment,
    /// Mixing begins.
    Mix,
    /// The dough is divided, and goes into the fridge when there is one.
    Divide,
    /// The pieces come out of the fridge.
    Out,
    /// The oven is lit.
    Oven,
    /// The first piece goes in.
    Bake,
}

word_enum!(Step {
    Preferment = "preferment",
    Mix = "mix",
    Divide = "divide",
    Out = "out",
    Oven = "oven",
    Bake = "bake"
});

/// The steps of a plan that is baked at `bake`, the oven lit `preheat_min` minutes before, in order of time.
pub fn steps(plan: &Batch, bake: &ZonedDateTime, preheat_min: f64) -> Vec<(Step, ZonedDateTime)> {
    let hours = |h: Option<f64>| h.unwrap_or(0.0);
    let (bulk, cold) = (hours(plan.bulk_hours), hours(plan.cold_hours));
    let mixed = later(bake, -plan.total_hours());
    let mix = later(&mixed, -plan.mix_minutes.unwrap_or(USUAL_MIX_MIN) / 60.0);
    let mut steps = Vec::new();
    if plan.preferment_share() > 0.0 {
        steps.push((Step::Preferment, later(&mix, -hours(plan.preferment_hours))));
    }
    steps.push((Step::Mix, mix));
    if cold > 0.0 || hours(plan.temper_hours) > 0.0 {
        steps.push((Step::Divide, later(&mixed, bulk)));
    }
    if cold > 0.0 && hours(plan.temper_hours) > 0.0 {
        steps.push((Step::Out, later(&mixed, bulk + cold)));
    }
    steps.push((Step::Oven, later(bake, -preheat_min / 60.0)));
    steps.push((Step::Bake, bake.clone()));
    steps.sort_by(|a, b| a.1.cmp(&b.1).then(a.0.cmp(&b.0)));
    steps
}

impl Step {
    /// What is done, for a plan.
    pub fn says(self, plan: &Batch) -> &'static str {
        match self {
            Self::Preferment => "mix the preferment",
            Self::Mix => "mix the dough",
            Self::Divide if plan.cold_hours.unwrap_or(0.0) > 0.0 => "divide, into the fridge",
            Self::Divide => "divide",
            Self::Out => "out of the fridge",
            Self::Oven => "oven on",
            Self::Bake => "bake",
        }
    }
}
