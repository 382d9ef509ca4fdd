//! The scale of `fit --all-kitchens`: invented kitchens by the hundred, baked by the model's own closed forms, as one table.
//!
//! `cargo run --release --example kitchens_at_once -- FILE.csv [KITCHENS] [BATCHES]` writes the table (1,000 kitchens of
//! 200 batches unless said otherwise). Then `doughwright import FILE.csv` and `doughwright fit --all-kitchens`, whose
//! time and memory (`/usr/bin/time -v`) are what is measured.

use doughwright::dough::{Batch, When, YeastType};
use doughwright::inference::prepare::{Records, prepare};
use doughwright::simulate::invented::{Difference, kitchen};
use doughwright::simulate::model::{ModelNoise, bake_model};
use doughwright::simulate::tables;
use jiff::ToSpan;
use jiff::civil::{Date, date};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const NOISE: ModelNoise = ModelNoise { rise: 0.05, temperature_c: 0.5, vigour: 0.06 };
const FIRST_DAY: Date = date(2025, 1, 2);

/// A plan of some schedule, as a pizza kitchen has it.
fn plan(kitchen: &str, number: usize, lots: usize, rng: &mut ChaCha8Rng) -> Batch {
    let room = rng.random_range(18.0..26.0_f64).round();
    let day = FIRST_DAY.saturating_add((2 * number as i64).days());
    Batch {
        batch_id: Some(format!("{kitchen}-{number}")),
        kitchen: Some(kitchen.to_string()),
        date: Some(When::on(day)),
        flour_g: Some(1000.0),
        water_g: Some(rng.random_range(600.0..680.0_f64).round()),
        salt_g: Some(25.0),
        yeast_g: Some((rng.random_range(1.0..4.0_f64) * 100.0).round() / 100.0),
        yeast_type: Some(YeastType::Instant),
        flour_lot: Some(format!("lot{}", number % lots + 1)),
        room_temp_c: Some(room),
        water_temp_c: Some(rng.random_range(8.0..20.0_f64).round()),
        mix_method: Some("spiral".to_string()),
        dough_temp_c: Some(rng.random_range(21.0..26.0_f64).round()),
        bulk_hours: Some(1.0),
        bulk_temp_c: Some(room),
        cold_hours: Some([18.0, 24.0, 36.0, 48.0][number % 4]),
        cold_temp_c: Some((rng.random_range(3.0..6.0_f64) * 10.0).round() / 10.0),
        temper_hours: Some(2.0),
        temper_temp_c: Some(room),
        piece_g: Some(260.0),
        rise: Some(2.0),
        ..Batch::default()
    }
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut words = std::env::args().skip(1);
    let file = words.next().ok_or("name the file to write")?;
    let kitchens: u64 = words.next().map_or(Ok(1000), |w| w.parse())?;
    let count: usize = words.next().map_or(Ok(200), |w| w.parse())?;
    let mut all = Vec::new();
    for seed in 0..kitchens {
        let invented = kitchen(Difference::Nothing, seed);
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let batches: Vec<Batch> =
            (0..count).map(|i| plan(&invented.name, i, invented.lots.len(), &mut rng)).collect();
        let ready = prepare(&Records { batches: batches.clone(), ..Records::default() });
        for (prepared, batch) in ready.batches.iter().zip(batches) {
            let lot = invented.ln_effect(&batch);
            let seen = bake_model(&prepared.course, &invented.truth.parameters, lot, &NOISE, &mut rng);
            let rise = seen.last().map(|ln| (ln.exp() * 100.0).round() / 100.0);
            all.push(Batch { rise, ..batch });
        }
    }
    std::fs::write(&file, tables::batches(&all, &[])?)?;
    println!("{} batches of {kitchens} kitchens in {file}", all.len());
    Ok(())
}
