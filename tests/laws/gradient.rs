//! The hand-written gradient of the log posterior against dual numbers run through a second derivation of it.
//!
//! Draws come from the prior. A component g of the program and h of the second derivation agree when |g - h|
//! <= 1e-9 max(|h|, 1e-6 |h|max): relative to itself, or, where it all but cancels, to a millionth of the
//! largest component.

use doughwright::dough::{Batch, Ripeness};
use doughwright::inference::layout::Layout;
use doughwright::inference::lots::Centring;
use doughwright::inference::posterior::Posterior;
use doughwright::inference::prepare::{Records, prepare};
use doughwright::inference::priors::Core;
use num_dual::Dual64;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use crate::kitchen;
use crate::second::log_posterior;
use crate::second::rate::Cardinal;

const RELATIVE: f64 = 1e-9;
const RELATIVE_VALUE: f64 = 1e-11;
const SMALL: f64 = 1e-6;

/// Draws of x from the prior that lie inside its support and where `wanted` holds.
fn draws(posterior: &Posterior, count: usize, wanted: fn(&Layout, &[f64]) -> bool) -> Vec<Vec<f64>> {
    let mut random = ChaCha8Rng::seed_from_u64(20);
    let draw = || posterior.layout.draw_prior(|| StandardNormal.sample(&mut random));
    let inside = |x: &Vec<f64>| posterior.layout.parameters(x).is_some() && wanted(&posterior.layout, x);
    std::iter::repeat_with(draw).filter(inside).take(count).collect()
}

/// Value and gradient by dual numbers, one component at a time.
fn second(records: &Records, centring: Centring, names: &[String], x: &[f64]) -> (f64, Vec<f64>) {
    let along = |which: usize| {
        let dual = |(i, x): (usize, &f64)| Dual64::new(*x, if i == which { 1.0 } else { 0.0 });
        log_posterior(records, centring, names, &x.iter().enumerate().map(dual).collect::<Vec<_>>())
    };
    let gradient: Vec<Dual64> = (0..x.len()).map(along).collect();
    (gradient[0].re, gradient.iter().map(|d| d.eps).collect())
}

/// The greatest relative difference, and the name of the component that has it.
fn worst(names: &[String], ours: &[f64], theirs: &[f64]) -> (f64, String) {
    let largest = theirs.iter().fold(0.0_f64, |m, h| m.max(h.abs()));
    let differs = |((name, g), h): ((&String, &f64), &f64)| {
        ((g - h).abs() / h.abs().max(SMALL * largest), name.clone())
    };
    let all = names.iter().zip(ours).zip(theirs).map(differs);
    all.max_by(|a, b| a.0.total_cmp(&b.0)).expect("a posterior has parameters")
}

/// Compares value and gradient at draws of the prior, and says what differs most.
fn compare(records: &Records, centring: Centring, count: usize, wanted: fn(&Layout, &[f64]) -> bool) {
    let posterior = Posterior::new(prepare(records), centring);
    let names: Vec<String> = posterior.layout.shared.iter().map(|p| p.name.clone()).collect();
    let mut gradient = vec![0.0; posterior.dim()];
    let mut found = (0.0, String::new());
    for x in draws(&posterior, count, wanted) {
        let value = posterior.log_density_gradient(&x, &mut gradient);
        assert!(
            (value / posterior.log_density(&x) - 1.0).abs() < 1e-14,
            "with and without gradient, at {x:?}"
        );
        let (expected, by_duals) = second(records, centring, &names, &x);
        assert!((value / expected - 1.0).abs() <= RELATIVE_VALUE, "{value}, expected {expected}, at {x:?}");
        let (miss, name) = worst(&names, &gradient, &by_duals);
        assert!(miss <= RELATIVE, "{name} misses by {miss:e} at {x:?}");
        if miss > found.0 {
            found = (miss, name);
        }
    }
    println!("largest relative difference {:e} ({})", found.0, found.1);
}

fn one(batch: Batch) -> Records {
    Records { batches: vec![batch], ..Records::default() }
}

#[test]
fn gradient_equals_dual_numbers_across_the_prior() {
    compare(&kitchen::records(), Centring::None, 200, |_, _| true);
    compare(&kitchen::records(), Centring::Full, 200, |_, _| true);
}

#[test]
fn gradient_holds_where_the_pole_is_far() {
    // 3 Topt - Tmin - 2 Tmax is zero where the cardinal model has no pole; small ones are where a closed form
    // can lose digits.
    compare(&kitchen::records(), Centring::None, 300, |layout, x| {
        let [rho4, opt, max] = [Core::ColdRate, Core::Optimum, Core::Maximum].map(|c| layout.core(x, c));
        Cardinal::from_rho4(rho4, opt, max).bracket_slope().abs() < 8.0
    });
}

#[test]
fn a_rise_read_at_the_very_start_has_a_gradient() {
    let mut records = one(kitchen::plain("early"));
    records.readings = vec![kitchen::reading("early", 0.0, Some(1.02), Some(23.0))];
    compare(&records, Centring::None, 40, |_, _| true);
}

#[test]
fn a_dough_that_fell_against_all_expectation_has_a_gradient() {
    let hardly_any =
        Batch { yeast_g: Some(0.05), ripeness: Some(Ripeness::Collapsed), ..kitchen::plain("fell") };
    compare(&one(hardly_any), Centring::None, 400, |_, _| true);
}

#[test]
fn a_dough_without_time_to_rise_has_a_gradient() {
    let cold = Batch {
        dough_temp_c: Some(0.0),
        bulk_hours: None,
        cold_temp_c: Some(-5.0),
        ..kitchen::plain("cold")
    };
    compare(&one(cold), Centring::None, 400, |_, _| true);
}
