//! A small simulation-based calibration; `examples/calibrate.rs` runs it at full length.

use doughwright::inference::calibration::calibrate;
use doughwright::inference::fit::{Method, Settings};
use doughwright::simulate::plans::plans;

/// The smallest chance allowed, all parameters together.
const LEAST: f64 = 0.005;
const BINS: usize = 5;

fn check(method: Method, settings: &Settings, kitchens: usize) {
    let found = calibrate(&plans(12), method, settings, kitchens).unwrap();
    let counted = found.kitchens.len();
    println!("{method}: {counted} kitchens, {} left out by k-hat", found.untrusted);
    assert!(counted >= 40, "only {counted} kitchens count");
    for (i, name) in found.names.iter().enumerate() {
        let chance = found.chance(i, BINS) * found.names.len() as f64;
        assert!(chance > LEAST, "{name}: {:?}, chance {chance}", found.counts(i, BINS));
    }
}

#[test]
fn the_full_method_is_right_about_kitchens_drawn_from_the_prior() {
    check(Method::Full, &Settings { seed: 5, draws: 150, chains: 2, warmup: 200 }, 60);
}

#[test]
fn the_quick_method_is_right_where_it_says_so() {
    check(Method::Quick, &Settings { seed: 6, draws: 500, ..Settings::default() }, 160);
}
