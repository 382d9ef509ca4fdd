//! A kitchen's year: what is baked when, how yeast is chosen, what goes wrong.
//!
//! Until [`Calendar::planned_from`] yeast follows the bakers' habit ([`super::habit`]); from there on a stand-in
//! for the workbench chooses it: the yeast that truly hits the target in the day's room and the fridge's usual
//! temperature, off by what a fit cannot know (a new lot's effect, half known after two batches of it) and by
//! a general error. Each batch draws its chance from a stream of its own, so that a change to one leaves
//! the others as they were.

use std::collections::BTreeMap;

use jiff::ToSpan;
use jiff::civil::Date;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::dough::{Batch, Reading, SurroundingsPoint, When};

use super::bake::Watch;
use super::chance::normal;
use super::habit::{Habit, on_the_scale, water_c};
use super::kitchen::Kitchen;
use super::season::Day;

/// A recipe as a kitchen bakes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Recipe {
    /// How often it is baked, beside the other recipes.
    pub weight: u32,
    /// Amounts of flour to choose from, kg.
    pub flour_kg: &'static [f64],
    /// Rests in the fridge to choose from, h.
    pub cold_hours: &'static [f64],
    /// Mixing methods to choose from.
    pub mixers: &'static [&'static str],
    /// Cold places to choose from.
    pub cold_places: &'static [&'static str],
    /// How its yeast is chosen at the start.
    pub habit: Habit,
    /// The batch for 1000 g of flour.
    pub per_kilo: Batch,
}

/// What goes wrong with a batch or with its record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mistake {
    /// The probe was read ten degrees too high.
    MisreadProbe,
    /// A double batch with the yeast of a single one; the record shows what was planned.
    YeastNotDoubled,
    /// The hours in the fridge written with their figures the wrong way round.
    TransposedHours,
    /// The dough stood in a warm room for twice as long as planned, and fell.
    Forgotten,
}

impl Mistake {
    /// What happened, for a reader.
    pub const fn story(self) -> &'static str {
        match self {
            Self::MisreadProbe => "`dough_temp_c` misread by ten degrees",
            Self::YeastNotDoubled => {
                "a double batch made with the yeast of a single one; `yeast_g` is what was planned"
            }
            Self::TransposedHours => "`cold_hours` written with its two figures the wrong way round",
            Self::Forgotten => "pieces forgotten in the room until the dough fell; the hours are right",
        }
    }
}

/// What a year is made from.
#[derive(Debug, Clone)]
pub struct Calendar {
    /// What is baked.
    pub recipes: Vec<Recipe>,
    /// Day of the first batch.
    pub first_day: Date,
    /// How many batches.
    pub batches: usize,
    /// Days from one batch to the next.
    pub every_days: i64,
    /// The batch (from 0) from which yeast is planned; later than the last for none.
    pub planned_from: usize,
    /// Batches (from 0) before this have no fridge thermometer.
    pub fridge_measured_from: usize,
    /// Who mixes.
    pub bakers: Vec<String>,
    /// What goes wrong with which batch (from 0).
    pub mistakes: Vec<(usize, Mistake)>,
    /// Batches (from 0) with readings while they rise.
    pub watched: Vec<usize>,
    /// Batches (from 0) with a logger beside them.
    pub logged: Vec<usize>,
    /// Seed of all chance.
    pub seed: u64,
}

/// A year's records.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Year {
    /// The batches, in the order of their dates.
    pub batches: Vec<Batch>,
    /// Readings while they rose.
    pub readings: Vec<Reading>,
    /// Logs of the surroundings.
    pub surroundings: Vec<SurroundingsPoint>,
    /// Which batch has which mistake in it.
    pub mistakes: Vec<(String, Mistake)>,
}

/// Standard deviation of the planner's error on ln yeast.
const PLANNING_ERROR: f64 = 0.05;
/// Batches of a lot after which half its effect is known.
const HALF_KNOWN: f64 = 2.0;
/// Hours between the lines of a logger.
const LOG_EVERY_H: f64 = 0.5;
/// Warmth of the room above which the preferment's yeast is halved, °C.
const WARM_ROOM_C: f64 = 22.0;

impl Kitchen {
    /// Bakes a year.
    pub fn year(&self, calendar: &Calendar) -> Year {
        let mut year = Year::default();
        let mut habits: Vec<Habit> = calendar.recipes.iter().map(|r| r.habit).collect();
        let mut seen: BTreeMap<String, f64> = BTreeMap::new();
        for number in 0..calendar.batches {
            let mut rng = ChaCha8Rng::seed_from_u64(calendar.seed);
            rng.set_stream(number as u64);
            let mistake = calendar.mistakes.iter().find(|(i, _)| *i == number).map(|(_, m)| *m);
            let (which, blank) = self.intended(calendar, number, mistake, &mut rng);
            let day = self.day(&blank, &mut rng);
            let plan = self.noted(&blank, &day);
            let known = seen.entry(plan.flour_lot.clone().unwrap_or_default()).or_default();
            let wanted = if number < calendar.planned_from {
                habits[which].yeast_g(&plan)
            } else {
                self.planned_yeast(&plan, &day, *known, &mut rng)
            };
            *known += 1.0;
            let plan = Batch { yeast_g: wanted.map(on_the_scale), ..plan };
            let made = went_wrong(&plan, mistake);
            let watch = watch(calendar, number, &plan);
            let bake = self.bake_on(&made, &day, &watch, &mut rng);
            let mut record = written(bake.batch, &plan, mistake);
            if number < calendar.fridge_measured_from {
                record.cold_temp_c = None;
            }
            if mistake.is_none() {
                habits[which].learn(&record);
            }
            year.mistakes.extend(mistake.map(|m| (record.batch_id.clone().unwrap_or_default(), m)));
            year.batches.push(record);
            year.readings.extend(bake.readings);
            year.surroundings.extend(bake.surroundings);
        }
        year
    }

    /// What is to be baked as the given batch, its yeast apart, and which recipe that is.
    fn intended(
        &self,
        calendar: &Calendar,
        number: usize,
        mistake: Option<Mistake>,
        rng: &mut ChaCha8Rng,
    ) -> (usize, Batch) {
        let total: u32 = calendar.recipes.iter().map(|r| r.weight).sum();
        let mut ticket = rng.random_range(0..total);
        let mut which = 0;
        while ticket >= calendar.recipes[which].weight {
            ticket -= calendar.recipes[which].weight;
            which += 1;
        }
        if mistake.is_some() {
            which = 0;
        }
        let recipe = &calendar.recipes[which];
        let mut any = |count: usize| rng.random_range(0..count);
        let kilos = recipe.flour_kg[any(recipe.flour_kg.len())];
        let cold_hours = match mistake {
            Some(Mistake::TransposedHours) => 42.0,
            _ => recipe.cold_hours[any(recipe.cold_hours.len())],
        };
        let day = calendar.first_day.saturating_add((number as i64 * calendar.every_days).days());
        let clock = day.at(9 + any(7) as i8, 30 * any(2) as i8, 0, 0);
        let lot = number * self.lots.len() / calendar.batches;
        let packet = self.packets.iter().rev().find(|p| p.opened <= day);
        let method = recipe.mixers[any(recipe.mixers.len())];
        let place = recipe.cold_places[any(recipe.cold_places.len())];
        let baker = calendar.bakers[any(calendar.bakers.len())].clone();
        let room = self.season.usual(day);
        let scaled = scaled(&recipe.per_kilo, kilos, room);
        let mut batch = Batch {
            batch_id: Some(format!("{}-{:03}", self.name, number + 1)),
            date: Some(When::at(clock)),
            flour_lot: self.lots.get(lot).map(|l| l.name.clone()),
            yeast_lot: packet.map(|p| p.name.clone()),
            baker: Some(baker),
            mix_method: Some(method.to_string()),
            cold_hours: Some(cold_hours),
            cold_place: Some(place.to_string()),
            ..scaled
        };
        let noted = self.noted(&batch, &self.usual_day(&batch));
        let believed = self.truth.parameters.warming[self.mixer(&batch)].round();
        batch.water_temp_c = water_c(&noted, believed);
        (which, batch)
    }

    /// The yeast in g of the stand-in for the workbench; `known` batches of this lot were baked before.
    fn planned_yeast(&self, plan: &Batch, day: &Day, known: f64, rng: &mut ChaCha8Rng) -> Option<f64> {
        let usual = self.usual_day(plan);
        let foreseen = Day { fridges: usual.fridges, ..day.clone() };
        let lot = self.lots.iter().find(|l| Some(&l.name) == plan.flour_lot.as_ref());
        let unknown = lot.map_or(0.0, |l| l.ln_vigour) * HALF_KNOWN / (HALF_KNOWN + known);
        Some(self.yeast_for(plan, &foreseen)? * (unknown + PLANNING_ERROR * normal(rng)).exp())
    }
}

/// A recipe's amounts for so many kilos of flour; the preferment's yeast is halved in a warm room.
fn scaled(per_kilo: &Batch, kilos: f64, room_c: f64) -> Batch {
    let times = |grams: Option<f64>| grams.map(|g| (g * kilos).round());
    let warm = if room_c > WARM_ROOM_C { 0.5 } else { 1.0 };
    Batch {
        flour_g: times(per_kilo.flour_g),
        water_g: times(per_kilo.water_g),
        salt_g: times(per_kilo.salt_g),
        oil_g: times(per_kilo.oil_g),
        sugar_g: times(per_kilo.sugar_g),
        preferment_flour_g: times(per_kilo.preferment_flour_g),
        preferment_water_g: times(per_kilo.preferment_water_g),
        preferment_yeast_g: per_kilo.preferment_yeast_g.map(|g| on_the_scale(g * kilos * warm)),
        ..per_kilo.clone()
    }
}

/// The batch as it was truly made.
fn went_wrong(plan: &Batch, mistake: Option<Mistake>) -> Batch {
    let mut made = plan.clone();
    match mistake {
        Some(Mistake::YeastNotDoubled) => made.yeast_g = plan.yeast_g.map(|g| 0.5 * g),
        Some(Mistake::Forgotten) => made.temper_hours = plan.temper_hours.map(|h| h + 7.0),
        _ => {}
    }
    made
}

/// The record as it was written down.
fn written(mut record: Batch, plan: &Batch, mistake: Option<Mistake>) -> Batch {
    match mistake {
        Some(Mistake::YeastNotDoubled) => record.yeast_g = plan.yeast_g,
        Some(Mistake::MisreadProbe) => record.dough_temp_c = record.dough_temp_c.map(|t| t + 10.0),
        Some(Mistake::TransposedHours) => record.cold_hours = Some(24.0),
        Some(Mistake::Forgotten) => record.notes = Some("forgotten in the room, fell".to_string()),
        None => {}
    }
    record
}

fn watch(calendar: &Calendar, number: usize, plan: &Batch) -> Watch {
    let watched = calendar.watched.contains(&number);
    let bulk = plan.bulk_hours.unwrap_or(0.0);
    let cold_end = bulk + plan.cold_hours.unwrap_or(0.0);
    let preferment = plan.preferment_hours.map(|h| vec![0.5 * h, 0.75 * h]);
    Watch {
        dough_hours: if watched {
            vec![bulk, bulk + 2.0, bulk + 8.0, cold_end, cold_end + 1.0]
        } else {
            vec![]
        },
        preferment_hours: preferment.filter(|_| watched).unwrap_or_default(),
        log_every_h: calendar.logged.contains(&number).then_some(LOG_EVERY_H),
    }
}
