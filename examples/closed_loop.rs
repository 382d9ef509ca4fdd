//! Bakes with the workbench's advice, by a careful baker's habit, and as an oracle would, in invented kitchens
//! whose physics differs from the model in everything: `cargo run --release --example closed_loop [KITCHENS]`.
//!
//! Each kitchen bakes 36 batches through a year with new lots of flour and yeast, its seasons, and 18 to 48 hours in
//! the fridge; all three meet the same days and the same doughs. Before each batch the advice is worked out from a fit
//! to the records so far, from the first batch on, when there is none. Printed: the spread (root mean square of ln rise
//! over target, as the dough truly stood) of each, the share of bakes within 10 % of the target, and the ratios, each
//! with the 90 % interval over kitchens (2000 resamples of whole kitchens, percentiles).

use doughwright::advice::limits::Limits;
use doughwright::advice::recommend::recommend;
use doughwright::dough::Batch;
use doughwright::inference::fit::{Settings, quantile};
use doughwright::inference::prepare::Records;
use doughwright::inference::quick;
use doughwright::simulate::invented::{self, Difference};
use doughwright::simulate::policy::{Case, Choice, Habits, Oracle, Policy};
use doughwright::simulate::year::{Calendar, Year};
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

const KITCHENS: u64 = 20;
const BATCHES: usize = 36;
const EVERY_DAYS: i64 = 10;
const TARGET: f64 = 2.2;
const RESAMPLES: usize = 2000;
/// A batch counts as settled after so many: by then each recipe has been baked a few times.
const SETTLED: usize = 9;

/// The workbench.
struct Advice;

impl Policy for Advice {
    fn choose(&mut self, case: &Case<'_>, _rng: &mut impl Rng) -> Choice {
        let records = Records {
            batches: case.so_far.batches.clone(),
            readings: case.so_far.readings.clone(),
            surroundings: case.so_far.surroundings.clone(),
        };
        let settings = Settings { draws: 500, ..Settings::default() };
        let plan = Batch { water_temp_c: None, ..case.plan.clone() };
        let last = records.batches.iter().rev().find(|b| b.recipe == plan.recipe);
        let fit = quick::fit(&records, &settings).expect("records of an invented kitchen can be fitted");
        let mut forecaster = fit.forecaster().expect("a fit has draws");
        let answer = recommend(&mut forecaster, &plan, last, &Limits::default()).expect("the plan is sound");
        Choice { yeast_g: Some(answer.yeast_g), water_temp_c: Some(answer.water_temp_c) }
    }
}

/// ln rise over target of each bake.
fn misses(year: &Year) -> Vec<f64> {
    year.true_ln_rise.iter().map(|r| r - TARGET.ln()).collect()
}

/// Root mean square of some kitchens' misses.
fn rms<'a>(misses: impl Iterator<Item = &'a [f64]>) -> f64 {
    let all: Vec<f64> = misses.flatten().map(|m| m * m).collect();
    (all.iter().sum::<f64>() / all.len() as f64).sqrt()
}

/// Share within 10 % of the target.
fn near<'a>(misses: impl Iterator<Item = &'a [f64]>) -> f64 {
    let all: Vec<f64> = misses.flatten().map(|m| m.exp_m1().abs()).collect();
    all.iter().filter(|m| **m <= 0.10).count() as f64 / all.len() as f64
}

/// One kitchen's misses under each policy: advice, habit, oracle.
type Kitchen = [Vec<f64>; 3];

fn kitchen(seed: u64) -> Kitchen {
    let kitchen = invented::kitchen(Difference::Everything, seed);
    let calendar = Calendar::plain(invented::recipes(), BATCHES, EVERY_DAYS, seed);
    let mut habits = Habits(calendar.recipes.iter().map(|r| r.habit).collect());
    let years = [
        kitchen.year(&calendar, &mut Advice),
        kitchen.year(&calendar, &mut habits),
        kitchen.year(&calendar, &mut Oracle),
    ];
    years.map(|y| misses(&y))
}

/// A statistic of the kitchens with its 90 % interval.
fn with_interval(kitchens: &[Kitchen], of: impl Fn(&[&Kitchen]) -> f64) -> String {
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let mut resampled: Vec<f64> = (0..RESAMPLES)
        .map(|_| {
            let drawn: Vec<&Kitchen> =
                kitchens.iter().map(|_| &kitchens[rng.random_range(0..kitchens.len())]).collect();
            of(&drawn)
        })
        .collect();
    resampled.sort_by(f64::total_cmp);
    let all: Vec<&Kitchen> = kitchens.iter().collect();
    format!("{:.3} ({:.3} to {:.3})", of(&all), quantile(&resampled, 0.05), quantile(&resampled, 0.95))
}

fn table(kitchens: &[Kitchen], from: usize) {
    println!("bakes {} to {BATCHES} of {} kitchens:", from + 1, kitchens.len());
    let of = |policy: usize| move |k: &[&Kitchen]| rms(k.iter().map(|k| &k[policy][from..]));
    for (policy, name) in ["advice", "habit", "oracle"].into_iter().enumerate() {
        let share = with_interval(kitchens, |k| near(k.iter().map(|k| &k[policy][from..])));
        println!("  {name}: rms {}, share within 10 % {share}", with_interval(kitchens, of(policy)));
    }
    println!("  advice/habit {}", with_interval(kitchens, |k| of(0)(k) / of(1)(k)));
    println!("  advice/oracle {}", with_interval(kitchens, |k| of(0)(k) / of(2)(k)));
}

fn main() {
    let count = std::env::args().nth(1).map_or(KITCHENS, |n| n.parse().expect("a number of kitchens"));
    let kitchens: Vec<Kitchen> = (1..=count).into_par_iter().map(kitchen).collect();
    table(&kitchens, 0);
    table(&kitchens, SETTLED);
}
