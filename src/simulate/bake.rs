//! A batch baked in an invented kitchen, as its baker would have written it down.
//!
//! A plan (a batch without outcomes) comes back with temperatures as found on the day, dough temperature, rises,
//! verdict and score, each with its error and rounded as a baker rounds. Amounts and water temperature stay as
//! planned; what truly went into the bowl differs by scale and thermometer (`bowl`). The dough is drawn before
//! anything is read, in a fixed order: the same day and the same state of the generator give the same dough,
//! whatever its hours and however often it is looked at.

use rand::Rng;

use crate::dough::{Batch, Reading, SurroundingsPoint, Vessel};
use crate::physics::course::{Course, Output, Start};

use super::chance::{normal, student_t4, to_half, to_twentieth};
use super::follow::Found;
use super::kitchen::Kitchen;
use super::season::Day;
use super::verdict::{FALLEN, ripeness, score};

/// What is looked at while a batch rises.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Watch {
    /// Hours after mixing at which rise and temperature of the dough are read.
    pub dough_hours: Vec<f64>,
    /// Hours after its own mixing at which the preferment's rise is read.
    pub preferment_hours: Vec<f64>,
    /// A logger beside the dough that writes a line each so many hours.
    pub log_every_h: Option<f64>,
}

/// A batch baked.
#[derive(Debug, Clone, PartialEq)]
pub struct Bake {
    /// As written down.
    pub batch: Batch,
    /// Readings asked for.
    pub readings: Vec<Reading>,
    /// The log asked for.
    pub surroundings: Vec<SurroundingsPoint>,
    /// ln rise as it truly was at the end.
    pub true_ln_rise: f64,
}

/// Standard deviation of the baker's eye for ripeness, on ln rise.
const EYE: f64 = 0.04;
/// The lowest rise a jar can show: dough sinks a little as it settles.
const LEAST_RISE: f64 = 0.95;

impl Kitchen {
    /// Bakes a plan on a day of its date.
    pub fn bake(&self, plan: &Batch, rng: &mut impl Rng) -> Bake {
        let day = self.day(plan, rng);
        self.bake_on(plan, &day, &Watch::default(), rng)
    }

    /// Bakes a plan on a given day and takes readings.
    pub fn bake_on(&self, plan: &Batch, day: &Day, watch: &Watch, rng: &mut impl Rng) -> Bake {
        let mut course = self.course(&self.weighed(plan, rng), day);
        let warmed = course.start_c(&self.truth.parameters) + self.noise.mixing_c * normal(rng);
        course.start = Start::Measured(warmed);
        let effect = self.ln_effect(plan) + self.noise.vigour * normal(rng);
        let asked = Asked::of(&mut course, plan, watch);
        let found = self.truth.follow(&course, effect, self.air(plan, day));
        let (dough, preferment) = found.split_at(2 * asked.dough_hours.len());

        let fell = dough[0].unbounded > self.truth.parameters.max_rise.ln();
        let end = dough[0].value;
        let over_target = end - plan.target_rise.unwrap_or(f64::NAN).ln();
        let rise = self.read(dough[2].value, rng);
        let preferment_rise = preferment.first().map(|f| self.read(f.value, rng));
        let batch = Batch {
            kitchen: Some(self.name.clone()),
            dough_temp_c: Some(self.probe(warmed, rng)),
            preferment_rise,
            rise: Some(if fell { to_twentieth(rise * FALLEN) } else { rise }),
            ripeness: plan.target_rise.map(|_| ripeness(over_target + EYE * normal(rng), fell)),
            crust_score: plan
                .target_rise
                .map(|_| score(plan, over_target, fell, self.noise.crust * normal(rng))),
            ..self.noted_by(plan, day, |t| t + self.noise.thermometer_c * normal(rng))
        };
        let readings = self.readings(plan, &asked, dough, preferment, rng);
        let surroundings =
            watch.log_every_h.map_or_else(Vec::new, |every| self.log(plan, &course, day, every));
        Bake { batch, readings, surroundings, true_ln_rise: end }
    }

    fn readings(
        &self,
        plan: &Batch,
        asked: &Asked,
        dough: &[Found],
        preferment: &[Found],
        rng: &mut impl Rng,
    ) -> Vec<Reading> {
        let batch_id = plan.batch_id.clone().unwrap_or_default();
        let blank = Reading { batch_id, hours: 0.0, rise: None, dough_temp_c: None, vessel: Vessel::Dough };
        let mut readings = Vec::new();
        for (hours, found) in asked.preferment_hours.iter().zip(preferment).skip(1) {
            let rise = Some(self.read(found.value, rng));
            readings.push(Reading { hours: *hours, rise, vessel: Vessel::Preferment, ..blank.clone() });
        }
        for (hours, found) in asked.dough_hours.iter().zip(dough.chunks(2)).skip(2) {
            let rise = Some(self.read(found[0].value, rng));
            let dough_temp_c = Some(self.probe(found[1].value, rng));
            readings.push(Reading { hours: *hours, rise, dough_temp_c, ..blank.clone() });
        }
        readings
    }

    /// A rise as read off the jar.
    fn read(&self, ln_rise: f64, rng: &mut impl Rng) -> f64 {
        to_twentieth((ln_rise + self.noise.rise * student_t4(rng)).exp()).max(LEAST_RISE)
    }

    /// A temperature as read off the probe.
    fn probe(&self, t: f64, rng: &mut impl Rng) -> f64 {
        to_half(t + self.noise.thermometer_c * normal(rng))
    }
}

/// The moments at which a batch is looked at.
struct Asked {
    /// The end, the reading of `rise`, and what is watched; for each the course gives rise and temperature.
    dough_hours: Vec<f64>,
    /// Its use (when there is a preferment), and what is watched.
    preferment_hours: Vec<f64>,
}

impl Asked {
    /// Asks a course for them; moments after its end are left out.
    fn of(course: &mut Course, plan: &Batch, watch: &Watch) -> Self {
        let end = course.hours();
        let own = [end, read_after(plan).unwrap_or(end)];
        let inside = watch.dough_hours.iter().copied().filter(|h| *h <= end);
        let dough_hours: Vec<f64> = own.into_iter().chain(inside).collect();
        let preferment_hours = course.preferment.map_or_else(Vec::new, |v| {
            std::iter::once(v.hours).chain(watch.preferment_hours.iter().copied()).collect()
        });
        // Marks first: each one made moves those after it.
        for hours in &dough_hours {
            course.mark(*hours);
        }
        let after: Vec<usize> = dough_hours.iter().filter_map(|h| course.mark(*h)).collect();
        let of_dough = after.into_iter().flat_map(|n| [Output::Rise(n), Output::Temperature(n)]);
        let of_preferment = preferment_hours.iter().copied().map(Output::PrefermentRise);
        course.outputs = of_dough.chain(of_preferment).collect();
        Self { dough_hours, preferment_hours }
    }
}

/// Hours from mixing to the reading of `rise`.
fn read_after(plan: &Batch) -> Option<f64> {
    let last = plan.stages().last()?.kind;
    let at = plan.rise_at.unwrap_or(last);
    Some(plan.stages().take_while(|s| s.kind <= at).map(|s| s.hours).sum())
}
