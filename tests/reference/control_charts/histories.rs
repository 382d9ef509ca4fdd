//! Invented histories with a known truth: how often is an improvement claimed, and how often found?

use doughwright::consistency::limits::{Limits, Shape};
use doughwright::consistency::reshuffle::Reshuffled;
use doughwright::consistency::rules::Rule;
use doughwright::consistency::spread::{SpreadRatio, Verdict};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal, StudentT};

const HISTORIES: usize = 1_000;

/// Shares of `HISTORIES` histories that give each answer.
fn shares(seed: u64, answer: impl Fn(&mut ChaCha8Rng) -> Verdict) -> (f64, f64) {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let answers: Vec<Verdict> = (0..HISTORIES).map(|_| answer(&mut rng)).collect();
    let share = |v| answers.iter().filter(|a| **a == v).count() as f64 / HISTORIES as f64;
    (share(Verdict::Narrower), share(Verdict::Wider))
}

fn normal(rng: &mut ChaCha8Rng, n: usize, spread: f64) -> Vec<f64> {
    (0..n).map(|_| spread * Distribution::<f64>::sample(&StandardNormal, rng)).collect()
}

/// First-order autoregression with unit spread.
fn remembering(rng: &mut ChaCha8Rng, n: usize, phi: f64) -> Vec<f64> {
    let mut last: f64 = StandardNormal.sample(rng);
    let mut step = |_| {
        let value = last;
        last = phi * last + (1.0 - phi * phi).sqrt() * Distribution::<f64>::sample(&StandardNormal, rng);
        value
    };
    (0..n).map(&mut step).collect()
}

/// The answer about the second half, its date known beforehand.
fn marked(values: &[f64], first: usize) -> Verdict {
    let (before, after) = values.split_at(first);
    let standardised = |part: &[f64]| {
        let m = part.iter().sum::<f64>() / part.len() as f64;
        let s = (part.iter().map(|x| (x - m).powi(2)).sum::<f64>() / (part.len() - 1) as f64).sqrt();
        part.iter().map(|x| (x - m) / s).collect::<Vec<_>>()
    };
    let shape = Shape::of(&[standardised(before), standardised(after)].concat());
    SpreadRatio::of(before, after, shape.coefficient()).unwrap().verdict
}

fn unmarked(values: &[f64]) -> Verdict {
    Reshuffled::of(values).unwrap().verdict
}

/// A claim at 95 % may be made in 2.5 to 7.5 % of 1,000 histories without a change.
fn honest((narrower, wider): (f64, f64)) {
    for share in [narrower, wider] {
        assert!(
            (0.025..=0.075).contains(&share),
            "narrower claimed in {narrower}, wider in {wider} of histories"
        );
    }
}

#[test]
fn steady_kitchens_are_called_steadier_one_time_in_twenty() {
    honest(shares(11, |rng| marked(&normal(rng, 60, 0.15), 30)));
    honest(shares(12, |rng| marked(&normal(rng, 35, 0.15), 30)));
    honest(shares(25, |rng| marked(&normal(rng, 12, 0.15), 6)));
    honest(shares(13, |rng| unmarked(&normal(rng, 60, 0.15))));
}

#[test]
fn a_halved_spread_is_found() {
    let halved = |rng: &mut ChaCha8Rng| [normal(rng, 30, 0.2), normal(rng, 30, 0.1)].concat();
    let (found, wrong) = shares(14, |rng| marked(&halved(rng), 30));
    println!("halved, marked: {found} {wrong}");
    assert!(found > 0.90 && wrong == 0.0, "found {found}, called wider {wrong}");
    // Without a date it has to be looked for, which costs some. 4,000 histories have a standard error of 0.45 %.
    let four = [15, 26, 27, 28].map(|seed| shares(seed, |rng| unmarked(&halved(rng))));
    let mean = |of: fn(&(f64, f64)) -> f64| four.iter().map(of).sum::<f64>() / 4.0;
    let (found, wrong) = (mean(|s| s.0), mean(|s| s.1));
    println!("halved, unmarked: {found} {wrong}");
    assert!(found > 0.90 && wrong < 0.005, "found {found}, called wider {wrong}");
}

#[test]
fn another_level_is_not_taken_for_another_spread() {
    for (seed, shift) in [(16, 0.15), (17, 0.30)] {
        honest(shares(seed, |rng| {
            let mut values = normal(rng, 60, 0.15);
            values[30..].iter_mut().for_each(|x| *x += shift);
            unmarked(&values)
        }));
    }
}

#[test]
fn neighbours_alike_do_not_feign_an_improvement() {
    for phi in [0.3, 0.6] {
        honest(shares(18, |rng| unmarked(&remembering(rng, 60, phi))));
        honest(shares(19, |rng| marked(&remembering(rng, 60, phi), 30)));
    }
}

#[test]
fn outliers_and_lopsided_values_do_not_feign_an_improvement() {
    let t = StudentT::new(3.0).unwrap();
    let heavy = |rng: &mut ChaCha8Rng| -> Vec<f64> { (0..60).map(|_| 0.1 * t.sample(rng)).collect() };
    honest(shares(20, |rng| unmarked(&heavy(rng))));
    honest(shares(21, |rng| marked(&heavy(rng), 30)));
    let lopsided =
        |rng: &mut ChaCha8Rng| -> Vec<f64> { normal(rng, 60, 0.5).iter().map(|x| x.exp()).collect() };
    honest(shares(22, |rng| unmarked(&lopsided(rng))));
    honest(shares(23, |rng| marked(&lopsided(rng), 30)));
}

#[test]
fn limits_keep_their_promise_on_values_that_are_not_normal_or_not_independent() {
    // False alarms of the default rules on 100 further batches, limits from the 60 before: with the handling no more than a
    // third of those without it, where it is needed, and no more than a tenth above it where it is not.
    let alarms = |make: &dyn Fn(&mut ChaCha8Rng) -> Vec<f64>| {
        let mut rng = ChaCha8Rng::seed_from_u64(24);
        let (mut plain, mut handled) = (0, 0);
        for _ in 0..400 {
            let values = make(&mut rng);
            let count = |shape: &Shape| {
                let z = Limits::of(&values, 0..60, shape).unwrap().z;
                (61..=values.len()).filter(|n| Rule::DEFAULT.iter().any(|r| r.completes(&z[..*n]))).count()
            };
            plain += count(&Shape { autocorrelation: None, normality: None });
            handled += count(&Shape::of(&values[..60]));
        }
        println!("per 100 batches: plain {:.2}, handled {:.2}", plain as f64 / 400.0, handled as f64 / 400.0);
        handled as f64 / plain as f64
    };
    assert!(alarms(&|rng| remembering(rng, 160, 0.5)) < 0.33);
    assert!(alarms(&|rng| remembering(rng, 160, 0.7)) < 0.33);
    assert!(alarms(&|rng| normal(rng, 160, 0.7).iter().map(|x| x.exp()).collect()) < 0.5);
    assert!(alarms(&|rng| normal(rng, 160, 1.0)) < 1.1);
}
