//! Functions whose minima are known, and an invented kitchen with the shape of a real posterior.

use super::*;

/// Rosenbrock's valley in pairs, from memory: least value 0 where every parameter is 1.
struct Valley {
    pairs: usize,
}

impl Objective for Valley {
    fn dim(&self) -> usize {
        2 * self.pairs
    }

    fn value_gradient(&self, x: &[f64], gradient: &mut [f64]) -> f64 {
        let mut value = 0.0;
        for (x, gradient) in x.chunks(2).zip(gradient.chunks_mut(2)) {
            let (along, across) = (1.0 - x[0], x[1] - x[0] * x[0]);
            value += along * along + 100.0 * across * across;
            gradient[0] = -2.0 * along - 400.0 * across * x[0];
            gradient[1] = 200.0 * across;
        }
        value
    }
}

/// An invented kitchen: ln(1 + gas) at four times in each batch, gas = M (1 - exp(-k max(t - lag, 0))), with
/// a shared rate, lots of flour, a vigour of each batch and an unknown noise; all parameters scaled by priors.
struct Kitchen {
    lots: usize,
    batches: usize,
}

const TIMES: [f64; 4] = [1.0, 2.0, 4.0, 8.0];
/// Rate, spread of vigour, ceiling, lag, noise.
const PHYSICS: usize = 5;

impl Kitchen {
    fn measured(batch: usize, time: f64) -> f64 {
        let wobble = ((7 * batch) as f64).sin() * 0.2 + ((3 * batch) as f64 + 11.0 * time).cos() * 0.08;
        (1.0 + 3.0 * (1.0 - (-0.35 * (time - 0.4) * wobble.exp()).exp())).ln()
            + 0.02 * (batch as f64 * time).sin()
    }
}

impl Objective for Kitchen {
    fn dim(&self) -> usize {
        PHYSICS + self.lots + self.batches
    }

    fn value_gradient(&self, x: &[f64], gradient: &mut [f64]) -> f64 {
        gradient.copy_from_slice(x);
        let mut value = x.iter().map(|x| x * x / 2.0).sum();
        let (rate, spread) = (0.3 * (0.4 * x[0]).exp(), 0.15 * (0.5 * x[1]).exp());
        let (ceiling, lag, noise) =
            (2.0 * (0.4 * x[2]).exp(), 0.5 * (0.3 * x[3]).exp(), 0.07 * (0.5 * x[4]).exp());
        for batch in 0..self.batches {
            let (lot, own) = (PHYSICS + batch % self.lots, PHYSICS + self.lots + batch);
            let k = rate * (0.2 * x[lot] + spread * x[own]).exp();
            for time in TIMES {
                let left = (-k * (time - lag)).exp();
                let gas = ceiling * (1.0 - left);
                if gas <= -1.0 {
                    return f64::INFINITY;
                }
                let residual = (gas.ln_1p() - Self::measured(batch, time)) / noise;
                value += residual * residual / 2.0 + noise.ln();
                let by_gas = residual / noise / (1.0 + gas);
                let by_ln_rate = by_gas * ceiling * left * k * (time - lag);
                gradient[0] += 0.4 * by_ln_rate;
                gradient[1] += by_ln_rate * 0.5 * spread * x[own];
                gradient[2] += by_gas * gas * 0.4;
                gradient[3] -= by_gas * ceiling * left * k * lag * 0.3;
                gradient[4] += 0.5 * (1.0 - residual * residual);
                gradient[lot] += 0.2 * by_ln_rate;
                gradient[own] += spread * by_ln_rate;
            }
        }
        value
    }
}

#[test]
fn finds_the_end_of_a_curved_valley() {
    for pairs in [1, 15] {
        let start: Vec<f64> = (0..2 * pairs).map(|i| if i % 2 == 0 { -1.2 } else { 1.0 }).collect();
        let minimum = minimise(&Valley { pairs }, &start, &Settings::default()).expect("a smooth valley");
        assert!(minimum.x.iter().all(|x| (x - 1.0).abs() < 1e-4), "{minimum:?}");
        assert!(minimum.value < 1e-9);
    }
}

/// From every start the same mode, with few gradients (a curvature of 35 parameters takes 70).
#[test]
fn finds_the_mode_of_an_invented_kitchen() {
    let kitchen = Kitchen { lots: 5, batches: 25 };
    let found = |at: f64| minimise(&kitchen, &vec![at; kitchen.dim()], &Settings::default());
    let first = found(0.0).expect("a proper posterior");
    for at in [-3.0, -1.0, 1.0] {
        let minimum = found(at).expect("a proper posterior");
        assert!((minimum.value - first.value).abs() < 1e-8, "{} {}", minimum.value, first.value);
        let apart: Vec<f64> = minimum.x.iter().zip(&first.x).map(|(a, b)| a - b).collect();
        let distance = vectors::dot(&apart, &first.curvature.multiply(&apart)).sqrt();
        assert!(distance < 1e-4, "{distance} posterior standard deviations apart");
        assert!(minimum.gradient_evaluations < 500, "{} gradients", minimum.gradient_evaluations);
    }
}

/// Against the whole matrix by differences of one gradient entry at a time.
#[test]
fn differences_find_the_curvature() {
    let kitchen = Kitchen { lots: 3, batches: 6 };
    let x: Vec<f64> = (0..kitchen.dim()).map(|i| 0.3 * (i as f64).sin()).collect();
    let curvature = central_differences(&kitchen, &x);
    let mut here = vec![0.0; x.len()];
    kitchen.value_gradient(&x, &mut here);
    let rough = forward_differences(&kitchen, &x, &here);
    assert!((&curvature.0 - &rough.0).amax() < 1e-3 * curvature.0.amax());
    for i in 0..kitchen.dim() {
        let mut unit = vec![0.0; kitchen.dim()];
        unit[i] = 1.0;
        let gradient = |side: f64| {
            let moved: Vec<f64> = x.iter().zip(&unit).map(|(x, u)| x + side * 1e-4 * u).collect();
            let mut gradient = vec![0.0; x.len()];
            kitchen.value_gradient(&moved, &mut gradient);
            gradient
        };
        let (above, below, row) = (gradient(1.0), gradient(-1.0), curvature.multiply(&unit));
        for j in 0..kitchen.dim() {
            let difference = (above[j] - below[j]) / 2e-4;
            assert!(
                (row[j] - difference).abs() < 1e-5 * (1.0 + row[j].abs()),
                "{i} {j}: {} {difference}",
                row[j]
            );
        }
    }
}

/// f = x0^2 - ln x0 + x1^4 / 4 - x1^2 / 2: least at (1/sqrt 2, 1), with a saddle at (1/sqrt 2, 0).
struct Walled;

impl Objective for Walled {
    fn dim(&self) -> usize {
        2
    }

    fn value_gradient(&self, x: &[f64], gradient: &mut [f64]) -> f64 {
        if x[0] <= 0.0 {
            return f64::INFINITY;
        }
        gradient[0] = 2.0 * x[0] - 1.0 / x[0];
        gradient[1] = x[1].powi(3) - x[1];
        x[0] * x[0] - x[0].ln() + x[1].powi(4) / 4.0 - x[1] * x[1] / 2.0
    }
}

/// One side of every pair falls outside the support.
#[test]
fn differences_work_at_the_edge_of_the_support() {
    let (near, mut gradient) = ([1e-6, 1.0], [0.0; 2]);
    Walled.value_gradient(&near, &mut gradient);
    // The exact second derivatives are 2 + 1/x0^2 and 3 x1^2 - 1; a step of ten times x0 can show only the
    // slope of the chord, (1/x0)(1 - 1/11)/1e-5.
    let chord = (1.0 - 1.0 / 11.0) / 1e-6 / 1e-5;
    for curvature in [central_differences(&Walled, &near), forward_differences(&Walled, &near, &gradient)] {
        assert!((curvature.0[(0, 0)] / (2.0 + chord) - 1.0).abs() < 1e-6, "{curvature:?}");
        assert!((curvature.0[(1, 1)] - 2.0).abs() < 1e-4, "{curvature:?}");
    }
}

/// A gradient with the wrong sign.
struct Backwards;

impl Objective for Backwards {
    fn dim(&self) -> usize {
        1
    }

    fn value_gradient(&self, x: &[f64], gradient: &mut [f64]) -> f64 {
        gradient[0] = x[0] - 3.0;
        -(x[0] - 3.0).powi(2) / 2.0
    }
}

#[test]
fn tells_a_wrong_gradient_from_rounding() {
    let error = minimise(&Backwards, &[1.0], &Settings::default()).expect_err("the gradient is wrong");
    assert!(matches!(error, MinimiseError::Stalled { .. }), "{error}");
}

#[test]
fn stays_inside_the_support() {
    let exact = Settings { reduction: 1e-14, ..Settings::default() };
    let minimum = minimise(&Walled, &[40.0, 0.01], &exact).expect("a minimum inside");
    assert!((minimum.x[0] - 0.5_f64.sqrt()).abs() < 1e-6 && (minimum.x[1] - 1.0).abs() < 1e-6, "{minimum:?}");
}

#[test]
fn says_why_there_is_no_minimum() {
    let from =
        |start: &[f64]| minimise(&Walled, start, &Settings::default()).expect_err("no minimum from here");
    assert!(matches!(from(&[1.0]), MinimiseError::WrongLength { start: 1, dim: 2 }));
    assert!(matches!(from(&[-1.0, 0.0]), MinimiseError::NotFinite { iterations: 0, .. }));
    assert!(matches!(from(&[1.0, 0.0]), MinimiseError::NotAMinimum { .. }), "a saddle");
    let hasty = Settings { max_iterations: 2, ..Settings::default() };
    let error = minimise(&Walled, &[40.0, 0.5], &hasty).expect_err("two steps are too few");
    assert!(matches!(error, MinimiseError::TooManyIterations { iterations: 2, .. }));
}
