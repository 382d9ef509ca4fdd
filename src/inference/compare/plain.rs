//! A plain regression without physics, as the mark that the physics has to beat: ln rise at the end as a linear function of
//! [`super::features`], by an elastic net. The one file of this room that knows linfa.
//!
//! Minimises sum (y - Xb)²/(2n) + p [l |b| + (1 - l) b'b/2]; penalty p and mixture l are those with the least squared
//! error in cross-validation by fives. Its forecast is a Student t with four degrees of freedom, as the model's own,
//! whose scale is the most likely one of the errors in that cross-validation (by EM: s² = mean of w r², w = 5/(4 + r²/s²)).
//!
//! Source: Zou & Hastie 2005, *Journal of the Royal Statistical Society B* 67:301-320. Limits: the scale is the same for
//! all batches, and does not know how far a batch lies from those learned from.

use linfa::Dataset;
use linfa::traits::{Fit, Predict};
use linfa_elasticnet::ElasticNet;
use ndarray::{Array1, Array2};

use crate::dough::Batch;
use crate::inference::student;

use super::features::Features;

/// Penalties to choose from, as a share of the standard deviation of y.
const PENALTIES: [f64; 8] = [0.001, 0.003, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5];
/// Mixtures of the two penalties to choose from.
const MIXTURES: [f64; 2] = [0.2, 0.9];
/// Parts of the cross-validation that chooses.
const FOLDS: usize = 5;
/// Turns of the scale's search, which gains a digit every few.
const TURNS: usize = 100;
/// The least scale: readings are told to about a percent.
const LEAST_SCALE: f64 = 0.005;

/// A regression learned from batches.
#[derive(Debug, Clone)]
pub struct Plain {
    features: Features,
    model: Linear,
    /// Scale of its t4 forecast on ln rise.
    pub scale: f64,
}

/// Coefficients of a linear function.
#[derive(Debug, Clone)]
struct Linear {
    intercept: f64,
    slopes: Vec<f64>,
}

impl Linear {
    fn at(&self, row: &[f64]) -> f64 {
        self.intercept + self.slopes.iter().zip(row).map(|(b, x)| b * x).sum::<f64>()
    }
}

/// Forecast of one batch: the centre of its t4, and the log density at what was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forecast {
    /// Centre on ln rise.
    pub centre: f64,
    /// Log density at the reading, nats.
    pub elpd: f64,
}

impl Plain {
    /// Learns from batches and their ln rise, one a batch; `None` for fewer than two parts of the cross-validation.
    pub fn learn(batches: &[&Batch], ln_rise: &[f64]) -> Option<Self> {
        if batches.len() < 2 * FOLDS {
            return None;
        }
        let features = Features::learn(batches);
        let rows: Vec<Vec<f64>> = batches.iter().map(|b| features.row(b)).collect();
        let spread = spread(ln_rise);
        let settings =
            || PENALTIES.iter().flat_map(|p| MIXTURES.iter().map(move |l| (p * spread.max(LEAST_SCALE), *l)));
        let tried = settings().filter_map(|s| Some((s, held_out_errors(&rows, ln_rise, s)?)));
        let square = |errors: &[f64]| errors.iter().map(|e| e * e).sum::<f64>();
        let (best, errors) = tried.min_by(|a, b| square(&a.1).total_cmp(&square(&b.1)))?;
        let model = learn(&rows.iter().collect::<Vec<_>>(), ln_rise, best)?;
        Some(Self { features, model, scale: scale(&errors) })
    }

    /// What it foretells of a batch of this ln rise.
    pub fn forecast(&self, batch: &Batch, ln_rise: f64) -> Forecast {
        let centre = self.model.at(&self.features.row(batch));
        let elpd = student::log_density(ln_rise - centre, self.scale * self.scale);
        Forecast { centre, elpd }
    }
}

fn spread(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n).sqrt()
}

/// Errors of each row when its part is left out.
fn held_out_errors(rows: &[Vec<f64>], y: &[f64], settings: (f64, f64)) -> Option<Vec<f64>> {
    let mut errors = vec![0.0; rows.len()];
    for fold in 0..FOLDS {
        let (mut x, mut seen) = (Vec::new(), Vec::new());
        for i in (0..rows.len()).filter(|i| i % FOLDS != fold) {
            x.push(&rows[i]);
            seen.push(y[i]);
        }
        let model = learn(&x, &seen, settings)?;
        for i in (fold..rows.len()).step_by(FOLDS) {
            errors[i] = y[i] - model.at(&rows[i]);
        }
    }
    Some(errors)
}

fn learn(rows: &[&Vec<f64>], y: &[f64], (penalty, mixture): (f64, f64)) -> Option<Linear> {
    let width = rows.first()?.len();
    let mean = y.iter().sum::<f64>() / y.len() as f64;
    if width == 0 {
        return Some(Linear { intercept: mean, slopes: Vec::new() });
    }
    let x = Array2::from_shape_fn((rows.len(), width), |(i, j)| rows[i][j]);
    let data = Dataset::new(x, Array1::from(y.to_vec()));
    let net = ElasticNet::params().penalty(penalty).l1_ratio(mixture).fit(&data).ok()?;
    // The value at zero, asked for so that nothing is said twice about how the crate keeps its intercept.
    let intercept = net.predict(&Array2::zeros((1, width)))[0];
    Some(Linear { intercept, slopes: net.hyperplane().to_vec() })
}

/// The most likely scale of a t4 with these errors.
fn scale(errors: &[f64]) -> f64 {
    let n = errors.len() as f64;
    let mut square = errors.iter().map(|e| e * e).sum::<f64>() / n;
    for _ in 0..TURNS {
        square = square.max(LEAST_SCALE * LEAST_SCALE);
        square = errors.iter().map(|e| 5.0 / (4.0 + e * e / square) * e * e).sum::<f64>() / n;
    }
    square.sqrt().max(LEAST_SCALE)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scale_is_where_the_likelihood_is_largest() {
        let errors = [0.02, -0.05, 0.11, -0.03, 0.3, -0.07, 0.01, 0.04];
        let s = scale(&errors);
        let ln_likelihood = |s: f64| errors.iter().map(|e| student::log_density(*e, s * s)).sum::<f64>();
        assert!(ln_likelihood(s) > ln_likelihood(s * 1.001));
        assert!(ln_likelihood(s) > ln_likelihood(s / 1.001));
    }
}
