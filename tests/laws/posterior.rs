//! What the log posterior keeps whatever the records: the order in which they stand, how they are summed, how
//! lots are told.

use doughwright::inference::lots::Centring;
use doughwright::inference::posterior::Posterior;
use doughwright::inference::prepare::{Records, prepare};
use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use crate::kitchen;

fn posterior(records: &Records, centring: Centring) -> Posterior {
    Posterior::new(prepare(records), centring)
}

/// Draws of x from the prior inside the support.
fn draws(posterior: &Posterior, count: usize) -> Vec<Vec<f64>> {
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let draw = || posterior.layout.draw_prior(|| StandardNormal.sample(&mut random));
    std::iter::repeat_with(draw).filter(|x| posterior.layout.parameters(x).is_some()).take(count).collect()
}

#[track_caller]
fn same(a: f64, b: f64, scale: f64) {
    assert!((a - b).abs() <= 1e-12 * (1.0 + scale.abs()), "{a} differs from {b}");
}

#[test]
fn the_order_of_records_changes_nothing() {
    let records = kitchen::records();
    let first = posterior(&records, Centring::Full);
    let mut random = ChaCha8Rng::seed_from_u64(12);
    for x in draws(&first, 20) {
        let mut shuffled = records.clone();
        shuffled.batches.shuffle(&mut random);
        shuffled.readings.shuffle(&mut random);
        shuffled.surroundings.shuffle(&mut random);
        let second = posterior(&shuffled, Centring::Full);
        // Methods, places and lots stand in the order of their first use: follow their names.
        let place = |name: &String| first.layout.shared.iter().position(|p| p.name == *name).unwrap();
        let order: Vec<usize> = second.layout.shared.iter().map(|p| place(&p.name)).collect();
        let moved: Vec<f64> = order.iter().map(|i| x[*i]).collect();
        let (mut g, mut h) = (vec![0.0; x.len()], vec![0.0; x.len()]);
        let value = first.log_density_gradient(&x, &mut g);
        same(second.log_density_gradient(&moved, &mut h), value, value);
        let largest = g.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
        for (i, by) in order.iter().zip(&h) {
            same(*by, g[*i], 10.0 * largest);
        }
    }
}

#[test]
fn the_sum_over_batches_is_the_same_in_pieces() {
    // More batches than one core takes at a time.
    let one = kitchen::records();
    let mut many = one.clone();
    for copy in 1..50 {
        let rename = |id: &str| format!("{id} {copy}");
        many.batches.extend(one.batches.iter().cloned().map(|mut b| {
            b.batch_id = b.batch_id.as_deref().map(rename);
            // Another baker's batch is no repeat.
            b.baker = b.baker.as_deref().map(rename);
            b
        }));
        many.readings.extend(one.readings.iter().cloned().map(|mut r| {
            r.batch_id = rename(&r.batch_id);
            r
        }));
        many.surroundings.extend(one.surroundings.iter().cloned().map(|mut s| {
            s.batch_id = rename(&s.batch_id);
            s
        }));
    }
    let (one, many) = (posterior(&one, Centring::None), posterior(&many, Centring::None));
    assert!(many.batches.len() > 1024);
    for x in draws(&one, 5) {
        let mut g = vec![0.0; x.len()];
        let prior = one.layout.log_prior(&x, &mut g);
        let likelihood: f64 = one.pointwise(&x).unwrap().iter().sum();
        same(one.log_density(&x), prior + likelihood, 50.0 * likelihood);
        let value = many.log_density_gradient(&x, &mut g);
        same(value, prior + 50.0 * likelihood, 50.0 * likelihood);
        same(many.log_density(&x), value, value);
    }
}

#[test]
fn lots_told_either_way_are_the_same_lots() {
    // A lot's number changes from z to z rho, so that the density changes by 1/rho (change of variables).
    let records = kitchen::records();
    let (plain, by_itself) = (posterior(&records, Centring::None), posterior(&records, Centring::Full));
    for x in draws(&plain, 20) {
        let mut other = x.clone();
        let mut ln_jacobian = 0.0;
        for lots in [&plain.layout.flour, &plain.layout.yeast].into_iter().flatten() {
            let rho = plain.layout.value(&x, lots.spread) / 0.15;
            for i in lots.effects.clone() {
                other[i] = x[i] * rho;
                ln_jacobian += rho.ln();
            }
        }
        for (a, b) in by_itself.layout.centred(&x).iter().zip(&other) {
            same(*a, *b, *b);
        }
        let value = plain.log_density(&x);
        same(by_itself.log_density(&other), value - ln_jacobian, value);
    }
}
