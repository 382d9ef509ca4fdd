//! What three readings are worth: `cargo run --release --example mid_course [KITCHENS]`.
//!
//! In each invented kitchen whose physics differs from the model in everything, a fit to 24 batches foretells when the
//! next 12 are ready (the rise reaches the target while the pieces stand in the room), first without and then with three
//! readings: half way through the fridge, when the pieces come out, and an hour later. Printed: how much narrower the
//! 80 % interval is, and how often it holds the time at which the dough truly was ready, with 90 % intervals over kitchens
//! (2000 resamples of whole kitchens, percentiles). Doughs that are ready before the last reading are left out.
//!
//! Told twice: for bakers who never wrote a reading down before, and for those who did so with every third batch. From
//! rises at the end alone nothing tells the noise of reading from a batch's own vigour.

use doughwright::advice::adjust::{Taken, adjust};
use doughwright::dough::Batch;
use doughwright::inference::fit::{Settings, quantile};
use doughwright::inference::prepare::Records;
use doughwright::inference::quick;
use doughwright::simulate::invented::{self, Difference};
use doughwright::simulate::policy::Habits;
use doughwright::simulate::year::Calendar;
use doughwright::simulate::{Kitchen, Watch};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

const KITCHENS: u64 = 20;
const SEEN: usize = 24;
const BATCHES: usize = 36;
/// Every so manieth earlier batch has readings, where there are any.
const WATCHED_EVERY: usize = 3;
const LONGEST_H: f64 = 20.0;

/// One dough: widths of the 80 % intervals without and with readings, and whether each held the truth.
struct Case {
    widths: [f64; 2],
    held: [bool; 2],
}

/// Hours after mixing at which a dough is truly ready, its last stage going on; `None` before or long after that stage.
fn truly_ready(kitchen: &Kitchen, plan: &Batch, seed: u64) -> Option<f64> {
    let ln_rise = |temper: f64| {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let day = kitchen.day(plan, &mut rng);
        let longer = Batch { temper_hours: Some(temper), ..plan.clone() };
        kitchen.bake_on(&longer, &day, &Watch::default(), &mut rng).true_ln_rise
    };
    let target = plan.target_rise?.ln();
    let (mut low, mut high) = (0.01, LONGEST_H);
    if ln_rise(low) >= target || ln_rise(high) < target {
        return None;
    }
    while high - low > 0.005 {
        let middle = 0.5 * (low + high);
        if ln_rise(middle) < target { low = middle } else { high = middle }
    }
    Some(plan.bulk_hours.unwrap_or(0.0) + plan.cold_hours.unwrap_or(0.0) + high)
}

fn cases(seed: u64, watched: bool) -> Vec<Case> {
    let kitchen = invented::kitchen(Difference::Everything, seed);
    let earlier = (0..SEEN).step_by(WATCHED_EVERY).filter(|_| watched).collect();
    let calendar = Calendar { watched: earlier, ..Calendar::plain(invented::recipes(), BATCHES, 10, seed) };
    let mut habits = Habits(calendar.recipes.iter().map(|r| r.habit).collect());
    let year = kitchen.year(&calendar, &mut habits);
    let batches = year.batches[..SEEN].to_vec();
    let records = Records { batches, readings: year.readings.clone(), ..Records::default() };
    let fit =
        quick::fit(&records, &Settings::default()).expect("records of an invented kitchen can be fitted");
    let mut forecaster = fit.forecaster().expect("a fit has draws");
    let mut cases = Vec::new();
    for (i, batch) in year.batches.iter().enumerate().skip(SEEN) {
        let plan =
            Batch { rise: None, ripeness: None, crust_score: None, preferment_rise: None, ..batch.clone() };
        let chance = 1000 * seed + i as u64;
        let out = plan.bulk_hours.unwrap_or(0.0) + plan.cold_hours.unwrap_or(0.0);
        let hours = [out - 0.5 * plan.cold_hours.unwrap_or(0.0), out, out + 1.0];
        let Some(truth) = truly_ready(&kitchen, &plan, chance).filter(|t| *t > hours[2]) else { continue };
        let mut rng = ChaCha8Rng::seed_from_u64(chance);
        let day = kitchen.day(&plan, &mut rng);
        let watch = Watch { dough_hours: hours.to_vec(), ..Watch::default() };
        let bake = kitchen.bake_on(&plan, &day, &watch, &mut rng);
        let taken = Taken {
            rises: bake.readings.iter().filter_map(|r| Some((r.hours, r.rise?))).collect(),
            temperatures: vec![],
        };
        let known =
            Batch { rise: None, ripeness: None, crust_score: None, preferment_rise: None, ..bake.batch };
        let Ok(found) = adjust(&mut forecaster, &known, &taken, None, 0.1, false) else {
            println!("kitchen {seed}, batch {i}: readings refused");
            continue;
        };
        let intervals = [found.ready_without_readings_80, found.ready_in_hours_80];
        let truth_in = truth - found.now_hours;
        cases.push(Case {
            widths: intervals.map(|(a, b)| b - a),
            held: intervals.map(|(a, b)| (a..=b).contains(&truth_in)),
        });
    }
    cases
}

fn with_interval(kitchens: &[Vec<Case>], of: impl Fn(&[&Case]) -> f64) -> String {
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let mut resampled: Vec<f64> = (0..2000)
        .map(|_| {
            let drawn = kitchens.iter().flat_map(|_| &kitchens[rng.random_range(0..kitchens.len())]);
            of(&drawn.collect::<Vec<_>>())
        })
        .collect();
    resampled.sort_by(f64::total_cmp);
    let all: Vec<&Case> = kitchens.iter().flatten().collect();
    format!("{:.3} ({:.3} to {:.3})", of(&all), quantile(&resampled, 0.05), quantile(&resampled, 0.95))
}

fn main() {
    let count = std::env::args().nth(1).map_or(KITCHENS, |n| n.parse().expect("a number of kitchens"));
    for (watched, name) in [(false, "no readings before"), (true, "readings of every third batch before")] {
        let kitchens: Vec<Vec<Case>> = (1..=count).into_par_iter().map(|seed| cases(seed, watched)).collect();
        println!("{name}: {} doughs in {count} kitchens", kitchens.iter().map(Vec::len).sum::<usize>());
        tell(&kitchens);
    }
}

fn tell(kitchens: &[Vec<Case>]) {
    let mean = |c: &[&Case], of: &dyn Fn(&Case) -> f64| c.iter().map(|c| of(c)).sum::<f64>() / c.len() as f64;
    for (i, name) in ["without readings", "with three readings"].into_iter().enumerate() {
        println!(
            "  {name}: 80 % interval {} h wide, holds the truth in {}",
            with_interval(kitchens, |c| mean(c, &|c| c.widths[i])),
            with_interval(kitchens, |c| mean(c, &|c| f64::from(u8::from(c.held[i]))))
        );
    }
    let ratio = with_interval(kitchens, |c| mean(c, &|c| c.widths[1]) / mean(c, &|c| c.widths[0]));
    println!("  width with readings over width without: {ratio}");
}
