//! From a wanted water temperature to what to pour: tap water, warm water, or tap water with ice; and the
//! trade's sum rule beside it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::dough::Batch;
use crate::physics::heat::{ice_for, sum_rule};

/// What a cold tap gives when nobody measured it, in °C (common practice, no source: 8-20 by season).
pub const USUAL_TAP_C: f64 = 15.0;

/// What to pour.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Pour {
    /// Temperature of the water as a whole, in °C.
    pub water_temp_c: f64,
    /// Water in g, ice not counted.
    pub liquid_g: f64,
    /// Ice in g, in place of as much tap water.
    pub ice_g: f64,
    /// What the tap was taken to give, in °C.
    pub tap_c: f64,
    /// Whether the tap's temperature was measured.
    pub tap_known: bool,
}

/// What to pour so that the water added at mixing comes to `wanted_c` °C; ice to the gram.
pub fn pour(plan: &Batch, wanted_c: f64) -> Pour {
    let water_g = plan.water_added_g().unwrap_or(0.0);
    let tap_c = plan.tap_temp_c.unwrap_or(USUAL_TAP_C);
    let ice_g = if wanted_c < tap_c { ice_for(water_g, tap_c, wanted_c).round() } else { 0.0 };
    Pour {
        water_temp_c: wanted_c,
        liquid_g: water_g - ice_g,
        ice_g,
        tap_c,
        tap_known: plan.tap_temp_c.is_some(),
    }
}

/// The trade's sum rule for the water in °C, for a dough of `dough_c` °C and a true warming of `warming_c` °C:
/// three parts, or four with a preferment. It differs from the heat balance because it gives each part the same
/// weight, while water carries more than half of a dough's heat. `None` without a room temperature.
pub fn by_sum_rule(plan: &Batch, dough_c: f64, warming_c: f64) -> Option<f64> {
    let room = plan.room_temp_c?;
    let mut others = vec![plan.flour_temp_c.unwrap_or(room), room];
    if plan.preferment_share() > 0.0 {
        others.push(plan.preferment_temp_c.unwrap_or(room));
    }
    let friction = warming_c * (others.len() + 1) as f64;
    Some(sum_rule(dough_c, &others, friction))
}
