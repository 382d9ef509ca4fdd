//! Simulate and recover: kitchens drawn from the prior bake by the model itself; the fit to 60 of their batches must
//! foretell the next ones nearly as well as the noise allows.

#[path = "recover/drift.rs"]
mod drift;

use doughwright::dough::{Batch, YeastType};
use doughwright::inference::fit::Settings;
use doughwright::inference::layout::Layout;
use doughwright::inference::lots::Centring;
use doughwright::inference::prepare::{Index, Records, prepare};
use doughwright::inference::quick;
use doughwright::physics::course::{Parameters, Workspace};
use doughwright::simulate::model::{ModelNoise, bake_model};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

/// Batches that the fit sees, and as many that it does not.
const SEEN: usize = 60;
const NOISE: ModelNoise = ModelNoise { rise: 0.05, temperature_c: 0.5, vigour: 0.08 };
const LOT_SPREAD: f64 = 0.12;
const LOTS: usize = 4;

struct Kitchen {
    parameters: Parameters,
    lots: Vec<f64>,
}

fn kitchen(rng: &mut ChaCha8Rng) -> Kitchen {
    let index = Index { methods: vec!["hand".into()], places: vec!["fridge".into()], ..Index::default() };
    let layout = Layout::new(&index, false, Centring::None);
    let parameters = loop {
        let x = layout.draw_prior(|| rng.sample(StandardNormal));
        if let Some(p) = layout.parameters(&x) {
            break p;
        }
    };
    let lots = (0..LOTS).map(|_| LOT_SPREAD * rng.sample::<f64, _>(StandardNormal)).collect();
    Kitchen { parameters, lots }
}

/// A plan of some schedule, with more or less yeast.
fn plan(number: usize, rng: &mut ChaCha8Rng) -> Batch {
    let room = rng.random_range(17.0..28.0_f64).round();
    let cold = rng.random_bool(0.7);
    Batch {
        batch_id: Some(format!("b{number}")),
        flour_g: Some(1000.0),
        water_g: Some(rng.random_range(600.0..700.0)),
        salt_g: Some(rng.random_range(18.0..28.0)),
        yeast_g: Some(rng.random_range(0.3_f64.ln()..12.0_f64.ln()).exp()),
        yeast_type: Some(YeastType::Instant),
        flour_lot: Some(format!("lot{}", number % LOTS)),
        room_temp_c: Some(room),
        dough_temp_c: Some(rng.random_range(21.0..27.0)),
        bulk_hours: Some(rng.random_range(0.5..4.0)),
        bulk_temp_c: Some(room),
        cold_hours: cold.then(|| rng.random_range(12.0..60.0)),
        cold_temp_c: cold.then(|| rng.random_range(3.0..7.0)),
        temper_hours: cold.then(|| rng.random_range(0.5..3.0)),
        temper_temp_c: cold.then_some(room),
        piece_g: Some(rng.random_range(200.0..400.0)),
        ..Batch::default()
    }
}

/// Baked batches whose rise a baker would have aimed at, and ln rise without noise of each.
fn bake(kitchen: &Kitchen, rng: &mut ChaCha8Rng) -> (Vec<Batch>, Vec<f64>) {
    let (mut batches, mut truths) = (Vec::new(), Vec::new());
    while batches.len() < 2 * SEEN {
        let plan = Batch { rise: Some(2.0), ..plan(batches.len(), rng) };
        let records = Records { batches: vec![plan.clone()], ..Records::default() };
        let ready = prepare(&records);
        let course = &ready.batches[0].course;
        let effect = kitchen.lots[batches.len() % LOTS];
        let mut ws = Workspace::<f64>::default();
        course.forward(&kitchen.parameters, kitchen.parameters.k * effect.exp(), &mut ws);
        let truth = ws.answers[0].value;
        if (1.3_f64.ln()..2.8_f64.ln()).contains(&truth) {
            let seen = bake_model(course, &kitchen.parameters, effect, &NOISE, rng);
            batches.push(Batch { rise: Some(seen[0].exp()), ..plan });
            truths.push(truth);
        }
    }
    (batches, truths)
}

fn rms(values: impl Iterator<Item = f64>) -> f64 {
    let squares: Vec<f64> = values.map(|v| v * v).collect();
    (squares.iter().sum::<f64>() / squares.len() as f64).sqrt()
}

#[test]
fn held_out_rises_are_foretold_nearly_as_well_as_the_noise_allows() {
    for seed in 1..=6 {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let kitchen = kitchen(&mut rng);
        let (batches, truths) = bake(&kitchen, &mut rng);
        let (seen, held_out) = batches.split_at(SEEN);
        let records = Records { batches: seen.to_vec(), ..Records::default() };
        let fit = quick::fit(&records, &Settings::default()).unwrap();
        let mut forecaster = fit.forecaster().unwrap();
        let misses = held_out.iter().map(|b| {
            let (prepared, _) = forecaster.ready(&Batch { rise: None, ..b.clone() });
            b.rise.unwrap().ln() - forecaster.rise(&prepared).quantile(0.5)
        });
        let miss = rms(misses);
        let noise = rms(held_out.iter().zip(&truths[SEEN..]).map(|(b, t)| b.rise.unwrap().ln() - t));
        println!(
            "kitchen {seed}: held-out error {miss:.4}, noise put in {noise:.4}, ratio {:.3}, k-hat {:.2}",
            miss / noise,
            fit.diagnostics.k_hat.unwrap()
        );
        assert!(miss < 1.3 * noise, "kitchen {seed}: {miss} against {noise}");
    }
}
