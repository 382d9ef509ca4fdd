//! The demo data is what its seed makes, can be used as it stands, and looks like a hall's records.

use std::path::Path;

use doughwright::dough::{Purpose, Ripeness, check};
use doughwright::simulate::demo::{self, PLANNED_FROM, SEED};

fn committed(name: &str) -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data").join(name);
    std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

#[test]
fn the_committed_files_are_what_the_seed_makes() {
    for (name, made) in demo::text_files().unwrap() {
        assert!(
            made == committed(name),
            "{name} differs: run `cargo run --release --example make_demo_data`"
        );
    }
}

#[test]
fn every_batch_and_the_plan_pass_the_checks_of_a_record() {
    for batch in demo::year(SEED).batches {
        assert_eq!(check(&batch, Purpose::Record), [], "{:?}", batch.batch_id);
    }
    let plan = demo::plan();
    assert_eq!(check(&plan, Purpose::Plan), []);
    assert_eq!((plan.yeast_g, plan.water_temp_c, plan.rise), (None, None, None));
}

#[test]
fn any_seed_gives_a_plausible_year_that_grows_steadier() {
    for seed in [SEED, 1] {
        let year = demo::year(seed);
        assert_eq!(year.batches.len(), 120);
        let miss: Vec<f64> =
            year.batches.iter().map(|b| (b.rise.unwrap() / b.target_rise.unwrap()).ln()).collect();
        let usual = year.batches.iter().filter(|b| (1.6..=2.8).contains(&b.rise.unwrap())).count();
        assert!(usual >= 110, "seed {seed}: {usual} of 120 rises are usual");
        let rms = |part: &[f64]| (part.iter().map(|m| m * m).sum::<f64>() / part.len() as f64).sqrt();
        let (before, after) = miss.split_at(PLANNED_FROM);
        assert!((0.08..0.20).contains(&rms(before)), "seed {seed}: {}", rms(before));
        assert!((0.04..0.10).contains(&rms(after)), "seed {seed}: {}", rms(after));
        for b in &year.batches {
            assert!((19.0..=38.0).contains(&b.dough_temp_c.unwrap()), "{:?}", b.batch_id);
            assert!((13.0..=29.0).contains(&b.room_temp_c.unwrap()), "{:?}", b.batch_id);
        }
        assert!(year.batches.iter().any(|b| b.ripeness == Some(Ripeness::Collapsed)), "seed {seed}");
        assert!(year.readings.len() > 40 && year.surroundings.len() > 60);
    }
}

#[test]
fn a_seed_makes_one_year() {
    assert_eq!(demo::year(7), demo::year(7));
    assert_ne!(demo::year(7).batches, demo::year(8).batches);
}
