//! What a degree does in the bowl: the heat balance with learned warming, told beside the trade's sum rule.
//!
//! Each figure is a difference of the model at the mean of the posterior when one temperature is a degree higher.
//! Source: the heat balance of the physics (`heat`). Limits: all ice melts; the figures hold near the plan's temperatures.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::dough::Batch;
use crate::inference::forecast::Forecaster;
use crate::inference::prepare::bowl;
use crate::physics::composition::USUAL_PROTEIN_PCT;

/// What stands behind a water temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Heat {
    /// Share of the dough's heat that the water added at mixing carries, 0 to 1.
    pub water_share: f64,
    /// Learned warming by mixing in °C.
    pub warming_c: f64,
    /// °C of dough for a degree of flour.
    pub by_flour: f64,
    /// °C of dough for a degree of water.
    pub by_water: f64,
    /// °C of dough for a degree of room, the flour's temperature as it is.
    pub by_room: f64,
    /// Change of the rise, as a share, for a degree of dough after mixing.
    pub rise_by_degree: f64,
    /// Water by the trade's sum rule in °C.
    pub sum_rule_c: Option<f64>,
    /// The dough in °C that the heat balance foretells with that water.
    pub dough_by_sum_rule_c: Option<f64>,
}

/// Of a filled plan whose dough comes to `dough_c` °C, at the first draw of `central`; `None` without room or water
/// temperature.
pub fn heat(central: &Forecaster, plan: &Batch, dough_c: f64) -> Option<Heat> {
    let mut forecaster = central.clone();
    let room_c = plan.room_temp_c?;
    let plan = &Batch {
        flour_temp_c: plan.flour_temp_c.or(Some(room_c)),
        preferment_temp_c: plan.preferment_temp_c.or(Some(room_c)),
        dough_temp_c: None,
        ..plan.clone()
    };
    let warmer = |t: Option<f64>| t.map(|t| t + 1.0);
    let mut start = |b: &Batch| {
        let (prepared, _) = forecaster.ready(b);
        prepared.course.start_c(&forecaster.draws[0].parameters)
    };
    let here = start(plan);
    let by_flour = start(&Batch { flour_temp_c: warmer(plan.flour_temp_c), ..plan.clone() }) - here;
    let by_water = start(&Batch { water_temp_c: warmer(plan.water_temp_c), ..plan.clone() }) - here;
    let by_room = start(&Batch { room_temp_c: Some(room_c + 1.0), ..plan.clone() }) - here;
    let (prepared, _) = forecaster.ready(plan);
    let warming_c = forecaster.draws[0].parameters.warming[prepared.course.mixing?.method];
    let mut rise = |b: &Batch| {
        let (prepared, _) = forecaster.ready(b);
        forecaster.draws[0].ln_rise(&prepared)
    };
    let probed = |by: f64| Batch { dough_temp_c: Some(here + by), ..plan.clone() };
    let rise_by_degree = (rise(&probed(1.0)) - rise(&probed(0.0))).exp_m1();
    let sum_rule_c = super::water::by_sum_rule(plan, dough_c, warming_c);
    Some(Heat {
        water_share: bowl(plan, plan.flour_protein_pct.unwrap_or(USUAL_PROTEIN_PCT))?.water_share(),
        warming_c,
        by_flour,
        by_water,
        by_room,
        rise_by_degree,
        sum_rule_c,
        dough_by_sum_rule_c: sum_rule_c.map(|w| here + by_water * (w - plan.water_temp_c.unwrap_or(w))),
    })
}
