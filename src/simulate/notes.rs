//! What the thermometers of an invented kitchen show, as it is written down.

use crate::dough::{Batch, SurroundingsPoint};
use crate::physics::course::Course;

use super::chance::to_half;
use super::kitchen::Kitchen;
use super::season::Day;

impl Kitchen {
    /// A plan with its temperatures filled from a day, as a thermometer of half degrees shows them; the water's
    /// is left as it stands.
    pub fn noted(&self, plan: &Batch, day: &Day) -> Batch {
        self.noted_by(plan, day, |t| t)
    }

    /// The same with each reading passed through a thermometer.
    pub(super) fn noted_by(&self, plan: &Batch, day: &Day, mut thermometer: impl FnMut(f64) -> f64) -> Batch {
        let mut shown = |t: f64| Some(to_half(thermometer(t)));
        let stage = |hours: Option<f64>| hours.is_some_and(|h| h > 0.0);
        let mut noted =
            Batch { room_temp_c: shown(day.room_c), flour_temp_c: shown(day.flour_c), ..plan.clone() };
        noted.preferment_temp_c = plan.preferment_flour_g.and_then(|_| shown(day.before_c));
        noted.bulk_temp_c = if stage(plan.bulk_hours) { shown(day.room_c) } else { None };
        noted.cold_temp_c =
            if stage(plan.cold_hours) { shown(day.fridges[self.fridge(plan)].mean_c) } else { None };
        noted.temper_temp_c = if stage(plan.temper_hours) { shown(day.after_c) } else { None };
        noted
    }

    /// Means of the air over each interval of a logger, to a tenth of a degree.
    pub(super) fn log(&self, plan: &Batch, course: &Course, day: &Day, every: f64) -> Vec<SurroundingsPoint> {
        const SAMPLES: usize = 20;
        let air = self.air(plan, day);
        let at = |hours: f64| {
            let mut end = 0.0;
            let within = course.segments.iter().find(|s| {
                end += s.hours;
                hours < end
            });
            within.or(course.segments.last()).map_or(f64::NAN, |s| air(s, hours))
        };
        let lines = (course.hours() / every).ceil() as usize;
        let line = |i: usize| {
            let from = i as f64 * every;
            let sample = |j: usize| at(from + every * (j as f64 + 0.5) / SAMPLES as f64);
            let mean = (0..SAMPLES).map(sample).sum::<f64>() / SAMPLES as f64;
            SurroundingsPoint {
                batch_id: plan.batch_id.clone().unwrap_or_default(),
                hours: from,
                surroundings_temp_c: (10.0 * mean).round() / 10.0,
            }
        };
        (0..lines).map(line).collect()
    }
}
