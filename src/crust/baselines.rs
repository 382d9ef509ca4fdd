//! Plainer models on the same columns, to see whether the ordered one is worth its trouble; the one file of this room
//! that knows linfa.
//!
//! Elastic net (Zou & Hastie 2005, *J R Stat Soc B* 67:301-320) foretells the score; its chances of each score come
//! from a normal distribution with the residual spread of the fold's own training. Logistic regression with a squared
//! penalty foretells "better than the usual score". Ten folds, dealt out in turn; within each the penalty with the
//! least error over five folds of its own.

use linfa::prelude::*;
use linfa_elasticnet::ElasticNet;
use linfa_logistic::{FittedLogisticRegression, LogisticRegression};
use ndarray::{Array1, Array2};
use statrs::distribution::{ContinuousCDF, Normal};

const FOLDS: usize = 10;
const INNER_FOLDS: usize = 5;
/// Penalties tried, from strong to weak.
const PENALTIES: [f64; 5] = [1.0, 0.3, 0.1, 0.03, 0.01];
/// Strengths of the squared penalty tried, from strong to weak.
const STRENGTHS: [f64; 4] = [100.0, 10.0, 1.0, 0.1];

/// What the elastic net foretells of one batch: the mean and the spread of its score.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Normally {
    /// Mean, in points of score.
    pub mean: f64,
    /// Standard deviation, in points of score.
    pub sd: f64,
}

impl Normally {
    /// Chances of rising scores, one a score, which sum to one: each stands for what lies nearer to it than to its
    /// neighbours.
    pub fn chances(self, scores: &[f64]) -> Vec<f64> {
        let normal = Normal::new(self.mean, self.sd.max(1e-6)).ok();
        let below = |x: f64| normal.as_ref().map_or(f64::NAN, |n| n.cdf(x));
        let edges: Vec<f64> = scores.windows(2).map(|w| below(0.5 * (w[0] + w[1]))).collect();
        let from = std::iter::once(0.0).chain(edges.iter().copied());
        let to = edges.iter().copied().chain(std::iter::once(1.0));
        from.zip(to).map(|(a, b)| b - a).collect()
    }
}

/// The elastic net's forecast of each batch from the other folds; `x` one row of columns a batch, `y` the scores.
/// `None` when a fold cannot be fitted.
pub fn elastic_net(x: &[Vec<f64>], y: &[f64]) -> Option<Vec<Normally>> {
    let fit = |rows: &[usize], penalty: f64| {
        let data = Dataset::new(matrix(x, rows), rows.iter().map(|i| y[*i]).collect::<Array1<f64>>());
        ElasticNet::params().penalty(penalty).l1_ratio(0.5).fit(&data).ok()
    };
    let foretold = |rows: &[usize], of: &[usize], penalty: f64| {
        Some(fit(rows, penalty)?.predict(&matrix(x, of)).to_vec())
    };
    let squares = |rows: &[usize], penalty: f64| {
        let mut sum = 0.0;
        for fold in 0..INNER_FOLDS {
            let (train, test) = split(rows, INNER_FOLDS, fold);
            sum += foretold(&train, &test, penalty)?
                .iter()
                .zip(&test)
                .map(|(m, i)| (m - y[*i]).powi(2))
                .sum::<f64>();
        }
        Some(sum)
    };
    crossed(x.len(), |train, test| {
        let penalty = least(&PENALTIES, |p| squares(train, p))?;
        let sd = (squares(train, penalty)? / train.len() as f64).sqrt();
        Some(foretold(train, test, penalty)?.into_iter().map(|mean| Normally { mean, sd }).collect())
    })
}

/// The logistic regression's chance that each batch is among the `better` (one a row of `x`), from the other folds; `None`
/// when a fold cannot be fitted, as when all of its batches are alike.
pub fn logistic(x: &[Vec<f64>], better: &[bool]) -> Option<Vec<f64>> {
    let foretold = |rows: &[usize], of: &[usize], strength: f64| -> Option<Vec<f64>> {
        let classes: Array1<usize> = rows.iter().map(|i| usize::from(better[*i])).collect();
        let data = Dataset::new(matrix(x, rows), classes);
        let fitted: FittedLogisticRegression<f64, usize> =
            LogisticRegression::default().alpha(strength).fit(&data).ok()?;
        // linfa tells the chance of the class that it saw more often.
        let of_better = fitted.labels().pos.class == 1;
        let chances = fitted.predict_probabilities(&matrix(x, of));
        Some(chances.iter().map(|p| if of_better { *p } else { 1.0 - p }).collect())
    };
    let squares = |rows: &[usize], strength: f64| {
        let mut sum = 0.0;
        for fold in 0..INNER_FOLDS {
            let (train, test) = split(rows, INNER_FOLDS, fold);
            let chances = foretold(&train, &test, strength)?;
            sum += chances
                .iter()
                .zip(&test)
                .map(|(p, i)| (p - f64::from(u8::from(better[*i]))).powi(2))
                .sum::<f64>();
        }
        Some(sum)
    };
    crossed(x.len(), |train, test| {
        let strength = least(&STRENGTHS, |s| squares(train, s))?;
        foretold(train, test, strength)
    })
}

/// Each batch's forecast by the folds that it is not in.
fn crossed<T: Clone>(
    batches: usize,
    forecast: impl Fn(&[usize], &[usize]) -> Option<Vec<T>>,
) -> Option<Vec<T>> {
    let all: Vec<usize> = (0..batches).collect();
    let mut found: Vec<Option<T>> = vec![None; batches];
    for fold in 0..FOLDS {
        let (train, test) = split(&all, FOLDS, fold);
        if test.is_empty() {
            continue;
        }
        for (i, value) in test.iter().zip(forecast(&train, &test)?) {
            found[*i] = Some(value);
        }
    }
    found.into_iter().collect()
}

/// The rows of the other folds, and those of this one.
fn split(rows: &[usize], folds: usize, fold: usize) -> (Vec<usize>, Vec<usize>) {
    let (test, train): (Vec<_>, Vec<_>) = rows.iter().enumerate().partition(|(i, _)| i % folds == fold);
    let plain = |part: Vec<(usize, &usize)>| part.into_iter().map(|(_, r)| *r).collect();
    (plain(train), plain(test))
}

/// The setting with the least error; `None` when none can be told.
fn least(settings: &[f64], error: impl Fn(f64) -> Option<f64>) -> Option<f64> {
    let found = settings.iter().filter_map(|s| Some((*s, error(*s)?)));
    found.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(s, _)| s)
}

fn matrix(x: &[Vec<f64>], rows: &[usize]) -> Array2<f64> {
    let width = x.first().map_or(0, Vec::len);
    Array2::from_shape_fn((rows.len(), width), |(i, j)| x[rows[i]][j])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Invented: the score follows the first of two columns.
    #[test]
    fn both_find_a_plain_effect() {
        let x: Vec<Vec<f64>> =
            (0..60).map(|i| vec![(i as f64 * 0.9).sin() * 1.4, (i as f64 * 2.3).cos() * 1.4]).collect();
        let y: Vec<f64> =
            x.iter().enumerate().map(|(i, r)| 6.0 + r[0] + 0.1 * (i as f64 * 5.1).sin()).collect();
        let net = elastic_net(&x, &y).unwrap();
        let off = net.iter().zip(&y).map(|(n, y)| (n.mean - y).abs()).sum::<f64>() / 60.0;
        assert!(off < 0.15, "{off}");
        for least in [5.2, 6.0, 6.8] {
            let better: Vec<bool> = y.iter().map(|y| *y > least).collect();
            let chances = logistic(&x, &better).unwrap();
            let right = chances.iter().zip(&better).filter(|(p, b)| (**p > 0.5) == **b).count();
            assert!(right >= 54, "{least}: {right}");
        }
        let sum: f64 = net[0].chances(&[5.0, 6.0, 7.0]).iter().sum();
        assert!((sum - 1.0).abs() < 1e-12);
        assert_eq!(logistic(&x, &[true; 60]), None);
    }
}
