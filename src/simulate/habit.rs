//! How a careful baker without a model chooses yeast and water.
//!
//! Yeast: a percentage kept for each recipe, nudged after every bake by the last miss,
//! pct <- pct (target/rise)^gain; for a longer or shorter rest by a power of the hours, for a warmer or colder
//! room by a percentage a degree. Water: the trade's sum rule with a friction factor for the mixer.
//! Common practice, no source; the figures below are choices.

use crate::dough::Batch;
use crate::physics::heat::sum_rule;

/// One recipe's habit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Habit {
    /// Yeast in % of all flour at the usual rest and room, as weighed.
    pub yeast_pct: f64,
    /// The rest in the fridge for which that holds, h.
    pub usual_cold_hours: f64,
    /// The room for which that holds, °C.
    pub usual_room_c: f64,
    /// Share of a miss that the next batch makes good.
    pub gain: f64,
    /// Yeast goes with (usual hours/hours) to this power.
    pub hours_power: f64,
    /// Share of yeast left out for each degree of a warmer room.
    pub by_degree: f64,
}

/// The dough temperature aimed at, °C.
pub const DOUGH_C: f64 = 24.0;
/// What a jug from the fridge and a warm tap give, °C.
const WATER_RANGE_C: (f64, f64) = (4.0, 40.0);
/// The finest that the scale shows, as steps a gram.
pub const SCALE_STEPS: f64 = 10.0;

impl Habit {
    /// A careful baker's habit that starts at `yeast_pct` for so many hours in the fridge: half the yeast for twice the
    /// hours, and a twentieth less for each degree of the room. Both are near what the model itself asks for
    /// (powers of 1.0 to 1.2 and 5 to 6 % a degree in invented kitchens), so the habit is a strong one of its kind.
    pub fn new(yeast_pct: f64, usual_cold_hours: f64) -> Self {
        Self { yeast_pct, usual_cold_hours, usual_room_c: 20.0, gain: 0.6, hours_power: 1.0, by_degree: 0.05 }
    }

    /// Yeast in g for a plan whose hours and room are known, before the scale rounds it.
    pub fn yeast_g(&self, plan: &Batch) -> Option<f64> {
        let rest = match plan.cold_hours {
            Some(hours) if hours > 0.0 => (self.usual_cold_hours / hours).powf(self.hours_power),
            _ => 1.0,
        };
        let warmer = plan.room_temp_c.map_or(0.0, |t| t - self.usual_room_c);
        Some(plan.flour_g? * self.yeast_pct / 100.0 * rest * (-self.by_degree * warmer).exp())
    }

    /// Learns from how a batch came out.
    pub fn learn(&mut self, batch: &Batch) {
        if let (Some(rise), Some(target)) = (batch.rise, batch.target_rise) {
            self.yeast_pct *= (target / rise).powf(self.gain);
        }
    }
}

/// Water temperature in whole °C by the sum rule, for a plan whose room and flour temperatures are known and a
/// mixer believed to warm the dough by `warming_c`.
pub fn water_c(plan: &Batch, warming_c: f64) -> Option<f64> {
    let mut others = vec![plan.flour_temp_c?, plan.room_temp_c?];
    others.extend(plan.preferment_temp_c);
    let friction = (others.len() + 1) as f64 * warming_c;
    Some(sum_rule(DOUGH_C, &others, friction).round().clamp(WATER_RANGE_C.0, WATER_RANGE_C.1))
}

/// What the scale shows of so many grams, at least its finest step.
pub fn on_the_scale(grams: f64) -> f64 {
    (SCALE_STEPS * grams).round().max(1.0) / SCALE_STEPS
}
