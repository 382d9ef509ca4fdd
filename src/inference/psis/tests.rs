//! What holds of weights whatever the fit; the numbers are checked against ArviZ in tests/reference/arviz.rs.

use super::*;

#[test]
fn equal_ratios_make_equal_weights() {
    let smoothed = smooth(&[-3.0; 100]);
    assert!(smoothed.weights().iter().all(|w| (w - 0.01).abs() < 1e-15));
    assert_eq!(smoothed.k_hat, f64::NEG_INFINITY);
    assert!(smoothed.trusted());
    assert!((smoothed.effective() - 100.0).abs() < 1e-9);
}

#[test]
fn nobody_trusts_what_cannot_be_fitted() {
    let mut ratios: Vec<f64> = (0..1000).map(|i| (f64::from(i) * 0.7).sin()).collect();
    assert!(smooth(&ratios).trusted());
    ratios[3] = f64::NAN;
    let smoothed = smooth(&ratios);
    assert!(!smoothed.trusted());
    assert_eq!(smoothed.weights()[3], 0.0);
    for few in [vec![], vec![1.0, 2.0], vec![f64::NEG_INFINITY; 9], vec![f64::INFINITY, 1.0]] {
        let smoothed = smooth(&few);
        assert!(!smoothed.trusted());
        let sum: f64 = smoothed.weights().iter().sum();
        assert!(few.is_empty() || (sum - 1.0).abs() < 1e-12, "{few:?}");
    }
}

#[test]
fn draws_outside_the_support_weigh_nothing() {
    let mut ratios: Vec<f64> = (0..1000).map(|i| (f64::from(i) * 0.7).sin()).collect();
    ratios.extend([f64::NEG_INFINITY; 50]);
    let smoothed = smooth(&ratios);
    assert!(smoothed.trusted());
    assert!(smoothed.weights()[1000..].iter().all(|w| *w == 0.0));
    assert!(resample(&smoothed, 5_000, 1).iter().all(|place| *place < 1000));
}

#[test]
fn resampling_keeps_to_the_weights() {
    let ratios: Vec<f64> = (0..300).map(|i| (f64::from(i) * 1.3).cos() * 2.0).collect();
    let smoothed = smooth(&ratios);
    let chosen = resample(&smoothed, 2_000, 5);
    assert_eq!(chosen.len(), 2_000);
    assert_eq!(chosen, resample(&smoothed, 2_000, 5));
    assert_ne!(chosen, resample(&smoothed, 2_000, 6));
    for (place, weight) in smoothed.weights().iter().enumerate() {
        let times = chosen.iter().filter(|c| **c == place).count() as f64;
        assert!((times - 2_000.0 * weight).abs() < 1.0 + 1e-9, "{place}: {times} for {}", 2_000.0 * weight);
    }
    assert!(resample(&smooth(&[]), 10, 1).is_empty());
}

/// Weights for draws of N(0, 1) that stand for N(0.3, 0.9): the weighted mean and variance are those wanted.
#[test]
fn weighted_draws_stand_for_another_distribution() {
    use rand_distr::StandardNormal;
    let mut rng = ChaCha8Rng::seed_from_u64(3);
    let draws: Vec<f64> = (0..20_000).map(|_| rng.sample(StandardNormal)).collect();
    let ratios: Vec<f64> = draws.iter().map(|x| x * x / 2.0 - ((x - 0.3) / 0.9).powi(2) / 2.0).collect();
    let smoothed = smooth(&ratios);
    let weights = smoothed.weights();
    let mean: f64 = draws.iter().zip(&weights).map(|(x, w)| x * w).sum();
    let variance: f64 = draws.iter().zip(&weights).map(|(x, w)| (x - mean).powi(2) * w).sum();
    let error = 0.9 / smoothed.effective().sqrt();
    assert!((mean - 0.3).abs() < 4.0 * error, "{mean}");
    assert!((variance - 0.81).abs() < 4.0 * error * 2.0_f64.sqrt(), "{variance}");
    assert!(smoothed.trusted());
}

#[test]
fn leaving_out_says_what_is_wrong() {
    let posterior = Drawn::FromPosterior(1.0);
    assert_eq!(loo(&[], posterior), Err(LooError::Empty));
    assert_eq!(loo(&[vec![]], posterior), Err(LooError::Empty));
    let ragged = [vec![0.0, 1.0], vec![0.0]];
    assert_eq!(loo(&ragged, posterior), Err(LooError::Ragged { draw: 1, has: 1, wanted: 2 }));
    let infinite = [vec![0.0, 1.0], vec![f64::NEG_INFINITY, 1.0]];
    let error = LooError::NotFinite { draw: 1, observation: 0, value: f64::NEG_INFINITY };
    assert_eq!(loo(&infinite, posterior), Err(error));
    let short = Drawn::FromProposal(&[0.0]);
    assert_eq!(loo(&[vec![0.0], vec![1.0]], short), Err(LooError::WrongRatios { ratios: 1, draws: 2 }));
}

/// A normal mean with known variance 1 and a flat prior, where leaving out can be done exactly: y_i given the others
/// is normal about their mean with variance 1 + 1/(n - 1).
#[test]
fn leaving_out_agrees_with_the_exact_answer() {
    use rand_distr::StandardNormal;
    let data = [-1.2, 0.4, 0.9, -0.3, 1.7, 0.1, -0.8, 0.6];
    let count = data.len() as f64;
    let mean = data.iter().sum::<f64>() / count;
    let ln_density = |x: f64, centre: f64, variance: f64| {
        -0.5 * (std::f64::consts::TAU * variance).ln() - (x - centre).powi(2) / (2.0 * variance)
    };
    let exact: f64 = data
        .iter()
        .map(|y| ln_density(*y, (mean * count - y) / (count - 1.0), 1.0 + 1.0 / (count - 1.0)))
        .sum();
    let mut rng = ChaCha8Rng::seed_from_u64(11);
    let standard: Vec<f64> = (0..20_000).map(|_| rng.sample(StandardNormal)).collect();
    let likelihood = |centre: f64| data.iter().map(|y| ln_density(*y, centre, 1.0)).collect::<Vec<f64>>();

    let posterior: Vec<Vec<f64>> = standard.iter().map(|z| likelihood(mean + z / count.sqrt())).collect();
    let found = loo(&posterior, Drawn::FromPosterior(1.0)).expect("finite");
    assert!((found.elpd - exact).abs() < 0.02, "{} {exact}", found.elpd);
    assert!(found.influential().is_empty());

    // The same from draws half as wide again, with their log ratios.
    let wide = 1.5 / count.sqrt();
    let centres: Vec<f64> = standard.iter().map(|z| mean + 0.1 + z * wide).collect();
    let ratios: Vec<f64> = centres
        .iter()
        .map(|c| ln_density(*c, mean, 1.0 / count) - ln_density(*c, mean + 0.1, wide * wide))
        .collect();
    let proposal: Vec<Vec<f64>> = centres.iter().map(|c| likelihood(*c)).collect();
    let found = loo(&proposal, Drawn::FromProposal(&ratios)).expect("finite");
    assert!((found.elpd - exact).abs() < 0.02, "{} {exact}", found.elpd);
    assert!((found.parameters - 1.0).abs() < 0.4, "{}", found.parameters);
}
