//! Simulation-based calibration at full length: `cargo run --release --example calibrate -- full 500 OUT.svg [SEED]`.
//!
//! Prints for each parameter how even the ranks of its true values are, and draws them.

use std::process::ExitCode;

use doughwright::charts::{RankHistogram, rank_histograms};
use doughwright::inference::calibration::calibrate;
use doughwright::inference::fit::{Method, Settings};
use doughwright::simulate::plans::plans;

const BATCHES: usize = 24;
const BINS: usize = 20;
const SEED: u64 = 20;

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let (method, kitchens, out, seed) = match words.as_slice() {
        [method, kitchens, out] => (method, kitchens, out, SEED),
        [method, kitchens, out, seed] if seed.parse::<u64>().is_ok() => {
            (method, kitchens, out, seed.parse().unwrap_or(SEED))
        }
        _ => {
            eprintln!("wanted: full|quick KITCHENS OUT.svg [SEED]");
            return ExitCode::from(2);
        }
    };
    let method = if method == "full" { Method::Full } else { Method::Quick };
    let Ok(kitchens) = kitchens.parse() else {
        eprintln!("'{kitchens}' is no number of kitchens");
        return ExitCode::from(2);
    };
    let settings = Settings {
        seed,
        draws: if method == Method::Full { 400 } else { 1000 },
        chains: 2,
        warmup: 400,
        ..Settings::default()
    };
    let found = match calibrate(&plans(BATCHES), method, &settings, kitchens) {
        Ok(found) => found,
        Err(e) => {
            eprintln!("{e}");
            return ExitCode::FAILURE;
        }
    };
    println!(
        "{method}: {} kitchens of {BATCHES} batches, {} left out by k-hat",
        found.kitchens.len(),
        found.untrusted
    );
    let mut least: f64 = 1.0;
    let mut histograms = Vec::new();
    for (i, name) in found.names.iter().enumerate() {
        let chance = found.chance(i, BINS);
        least = least.min(chance);
        println!("{name:32} chi-squared p {chance:.4}");
        histograms.push(RankHistogram { parameter: name.clone(), counts: found.counts(i, BINS) });
    }
    let all = (least * found.names.len() as f64).min(1.0);
    println!("least p {least:.4}; allowing for {} parameters {all:.4}", found.names.len());
    let drawn = rank_histograms(&histograms, 1200).map_err(|e| e.to_string());
    match drawn.and_then(|figure| std::fs::write(out, figure.svg).map_err(|e| e.to_string())) {
        Ok(()) => ExitCode::SUCCESS,
        Err(e) => {
            eprintln!("{out}: {e}");
            ExitCode::FAILURE
        }
    }
}
