//! A kitchen's year: what is baked when, by a policy that chooses the yeast, with what goes wrong.
//!
//! Each batch draws its chance from streams of its own (one for the batch, one for the policy), so that a change to
//! one batch leaves the others' chance as it was, and two policies meet the same days and the same doughs.

use jiff::ToSpan;
use jiff::civil::Date;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::dough::{Batch, Reading, SurroundingsPoint, When};

use super::bake::Watch;
use super::habit::{Habit, on_the_scale, water_c};
use super::kitchen::Kitchen;
use super::mistake::Mistake;
use super::policy::{Case, Policy};

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
    /// How its yeast is chosen by habit at the start.
    pub habit: Habit,
    /// The batch for 1000 g of flour.
    pub per_kilo: Batch,
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
    /// Batches (from 0) before this have no fridge thermometer.
    pub fridge_measured_from: usize,
    /// Who mixes.
    pub bakers: Vec<String>,
    /// What goes wrong with which batch (from 0); such a batch is of the first recipe.
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
    /// ln rise of each batch as it truly was at the end.
    pub true_ln_rise: Vec<f64>,
    /// Which batch has which mistake in it.
    pub mistakes: Vec<(String, Mistake)>,
}

/// Hours between the lines of a logger.
const LOG_EVERY_H: f64 = 0.5;
/// Warmth of the room above which the preferment's yeast is halved, °C.
const WARM_ROOM_C: f64 = 22.0;

impl Calendar {
    /// So many batches of these recipes from January on, measured throughout, without mistakes or readings.
    pub fn plain(recipes: Vec<Recipe>, batches: usize, every_days: i64, seed: u64) -> Self {
        Self {
            recipes,
            first_day: jiff::civil::date(2025, 1, 7),
            batches,
            every_days,
            fridge_measured_from: 0,
            bakers: vec!["baker".to_string()],
            mistakes: vec![],
            watched: vec![],
            logged: vec![],
            seed,
        }
    }

    fn chance(&self, number: usize, of_policy: bool) -> ChaCha8Rng {
        let mut rng = ChaCha8Rng::seed_from_u64(self.seed);
        rng.set_stream(2 * number as u64 + u64::from(of_policy));
        rng
    }

    fn mistake(&self, number: usize) -> Option<Mistake> {
        self.mistakes.iter().find(|(i, _)| *i == number).map(|(_, m)| *m)
    }

    /// Whose turn it is among the recipes.
    fn turn(&self, number: usize, rng: &mut ChaCha8Rng) -> usize {
        let mut ticket = rng.random_range(0..self.recipes.iter().map(|r| r.weight).sum());
        let turn = self.recipes.iter().position(|r| {
            let own = ticket < r.weight;
            ticket = ticket.saturating_sub(r.weight);
            own
        });
        if self.mistake(number).is_some() { 0 } else { turn.unwrap_or(0) }
    }

    fn watch(&self, number: usize, plan: &Batch) -> Watch {
        let log_every_h = self.logged.contains(&number).then_some(LOG_EVERY_H);
        if !self.watched.contains(&number) {
            return Watch { log_every_h, ..Watch::default() };
        }
        let bulk = plan.bulk_hours.unwrap_or(0.0);
        let cold_end = bulk + plan.cold_hours.unwrap_or(0.0);
        let preferment_hours = plan.preferment_hours.map_or_else(Vec::new, |h| vec![0.5 * h, 0.75 * h]);
        Watch {
            dough_hours: vec![bulk, bulk + 2.0, bulk + 8.0, cold_end, cold_end + 1.0],
            preferment_hours,
            log_every_h,
        }
    }
}

impl Kitchen {
    /// Bakes a year with yeast as `policy` chooses it.
    pub fn year(&self, calendar: &Calendar, policy: &mut impl Policy) -> Year {
        let mut year = Year::default();
        for number in 0..calendar.batches {
            let mut rng = calendar.chance(number, false);
            let mistake = calendar.mistake(number);
            let (recipe, blank) = self.intended(calendar, number, &mut rng);
            let blank = mistake.map_or(blank.clone(), |m| m.intended(blank));
            let day = self.day(&blank, &mut rng);
            let foreseen = day.foreseen(self.usual_day(&blank));
            let plan = self.noted(&blank, &foreseen);
            let case =
                Case { kitchen: self, plan: &plan, foreseen: &foreseen, recipe, number, so_far: &year };
            let choice = policy.choose(&case, &mut calendar.chance(number, true));
            let plan = Batch {
                yeast_g: choice.yeast_g.map(on_the_scale),
                water_temp_c: choice.water_temp_c.or(plan.water_temp_c),
                ..plan
            };
            let made = mistake.map_or(plan.clone(), |m| m.made(plan.clone()));
            let bake = self.bake_on(&made, &day, &calendar.watch(number, &plan), &mut rng);
            let mut record = mistake.map_or(bake.batch.clone(), |m| m.written(bake.batch, &plan));
            if number < calendar.fridge_measured_from {
                record.cold_temp_c = None;
            }
            match (mistake, &record.batch_id) {
                (Some(m), Some(id)) => year.mistakes.push((id.clone(), m)),
                _ => policy.learn(recipe, &record),
            }
            year.batches.push(record);
            year.readings.extend(bake.readings);
            year.surroundings.extend(bake.surroundings);
            year.true_ln_rise.push(bake.true_ln_rise);
        }
        year
    }

    /// Which recipe is to be baked as the given batch, and how: yeast blank, water by the sum rule.
    fn intended(&self, calendar: &Calendar, number: usize, rng: &mut ChaCha8Rng) -> (usize, Batch) {
        let which = calendar.turn(number, rng);
        let recipe = &calendar.recipes[which];
        let mut any = |count: usize| rng.random_range(0..count);
        let day = calendar.first_day.saturating_add((number as i64 * calendar.every_days).days());
        let (hour, half) = (9 + any(7) as i8, 30 * any(2) as i8);
        let kilos = recipe.flour_kg[any(recipe.flour_kg.len())];
        let mut batch = Batch {
            batch_id: Some(format!("{}-{:03}", self.name, number + 1)),
            date: Some(When::at(day.at(hour, half, 0, 0))),
            flour_lot: self.lots.get(number * self.lots.len() / calendar.batches).map(|l| l.name.clone()),
            yeast_lot: self.packets.iter().rev().find(|p| p.opened <= day).map(|p| p.name.clone()),
            baker: Some(calendar.bakers[any(calendar.bakers.len())].clone()),
            mix_method: Some(recipe.mixers[any(recipe.mixers.len())].to_string()),
            cold_hours: Some(recipe.cold_hours[any(recipe.cold_hours.len())]),
            cold_place: Some(recipe.cold_places[any(recipe.cold_places.len())].to_string()),
            ..scaled(&recipe.per_kilo, kilos, self.season.usual(day))
        };
        let believed = self.truth.parameters.warming[self.mixer(&batch)].round();
        batch.water_temp_c = water_c(&self.noted(&batch, &self.usual_day(&batch)), believed);
        (which, batch)
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
