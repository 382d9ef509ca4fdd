//! Prints a table of invented batches of any length, for measuring the import:
//! `cargo run --release --example many_batches 1000000 > many.csv`.

use std::io::{self, BufWriter, Write};

use rand::{RngExt, SeedableRng};

fn main() -> io::Result<()> {
    let rows: usize = std::env::args().nth(1).and_then(|n| n.parse().ok()).unwrap_or(1_000_000);
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(7);
    let mut out = BufWriter::new(io::stdout().lock());
    writeln!(
        out,
        "batch_id,date,flour_g,water_g,salt_g,yeast_g,yeast_type,rise,kitchen,recipe,flour_lot,room_temp_c,\
         water_temp_c,dough_temp_c,mix_method,mix_minutes,bulk_hours,bulk_temp_c,cold_hours,cold_temp_c,\
         temper_hours,temper_temp_c,piece_g,target_rise,notes"
    )?;
    for i in 0..rows {
        let flour = [1000.0, 2000.0, 5000.0, 40_000.0][random.random_range(0..4)];
        let mut between = |low: f64, high: f64| random.random_range(low..high);
        let (water, yeast) = (flour * between(0.58, 0.7), flour * between(0.0005, 0.004));
        let (rise, room, pour, dough) =
            (between(1.2, 3.0), between(16.0, 30.0), between(8.0, 30.0), between(20.0, 27.0));
        let (bulk, cold, fridge, temper) =
            (between(1.0, 3.0), between(18.0, 48.0), between(3.0, 6.0), between(1.0, 4.0));
        let (year, month, day) =
            (random.random_range(2020..2030), random.random_range(1..13), random.random_range(1..29));
        let recipe = ["pizza", "loaf", "focaccia"][random.random_range(0..3)];
        let notes = ["", "", "warm day", "new bag"][random.random_range(0..4)];
        writeln!(
            out,
            "b{i:07},{year}-{month:02}-{day:02},{flour},{water:.1},{:.1},{yeast:.2},instant,{rise:.2},hall,{recipe},A101,\
             {room:.1},{pour:.1},{dough:.1},spiral,10,{bulk:.2},{room:.1},{cold:.1},{fridge:.1},{temper:.1},{room:.1},250,2.2,{notes}",
            flour * 0.025
        )?;
    }
    out.flush()
}
