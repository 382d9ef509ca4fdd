//! How well scores were foretold.
//!
//! Ranked probability score of a forecast with chances p over the scores s_1 < ... < s_K, in points of score:
//! Σ_k (s_(k+1) - s_k) (P_k - [y ≤ k])², P_k = p_1 + ... + p_k (Epstein 1969, *J Appl Meteorol* 8:985-987, each step
//! weighted by its width, which makes it the continuous one of Hersbach 2000, *Weather Forecast* 15:559-570). For a
//! single score said with certainty it is the distance to what came. Lower is better.

use schemars::JsonSchema;
use serde::Serialize;

/// One way of foretelling beside the others, each batch foretold from others only.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Compared {
    /// Which way.
    pub model: &'static str,
    /// Mean ranked probability score, points; `None` where it foretells no scores.
    pub rps: Option<f64>,
    /// Mean distance of the expected score, points; `None` where it foretells no scores.
    pub mean_error: Option<f64>,
    /// Brier score of "better than the usual score": mean squared distance of the chance from what came.
    pub brier: Option<f64>,
}

/// Ranked probability score, in points, of chances over rising `scores`, as many, when class `y` (from 0) came.
pub fn ranked_probability(chances: &[f64], scores: &[f64], y: usize) -> f64 {
    let (mut below, mut sum) = (0.0, 0.0);
    for k in 0..scores.len() - 1 {
        below += chances[k];
        let came = if y <= k { 1.0 } else { 0.0 };
        sum += (scores[k + 1] - scores[k]) * (below - came).powi(2);
    }
    sum
}

/// The expected score of `chances`, one a score, in points.
pub fn expected(chances: &[f64], scores: &[f64]) -> f64 {
    chances.iter().zip(scores).map(|(p, s)| p * s).sum()
}

/// Shares of the classes (`y` one a batch, from 0) among all batches but one; two batches at least.
pub fn others(y: &[usize], classes: usize, batch: usize) -> Vec<f64> {
    let mut shares = vec![0.0; classes];
    for (i, class) in y.iter().enumerate() {
        if i != batch {
            shares[*class] += 1.0 / (y.len() as f64 - 1.0);
        }
    }
    shares
}

/// The class, from 0, in the middle of rising classes with these shares, which sum to one.
pub fn middle(shares: &[f64]) -> usize {
    let mut below = 0.0;
    let reached = shares.iter().position(|p| {
        below += p;
        below >= 0.5 - 1e-12
    });
    reached.unwrap_or(shares.len() - 1)
}

/// How much better than a reference: 1 - a/b over the batches, and whether the difference is more than chance, by a paired
/// z of 1.645 (one-sided 95 %) with the batches taken as independent.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Skill {
    /// 1 is perfect, 0 no better than the reference, negative worse.
    pub skill: f64,
    /// The reference's mean score less the model's, points.
    pub better_by: f64,
    /// Its standard error, points.
    pub standard_error: f64,
    /// Whether it is more than chance.
    pub more_than_chance: bool,
}

/// One-sided 95 % of a unit normal.
const Z_95: f64 = 1.644_853_626_951_472_7;

impl Skill {
    /// From the scores of each batch by both, in the same order, lower being better.
    pub fn of(model: &[f64], reference: &[f64]) -> Self {
        let n = model.len() as f64;
        let differences: Vec<f64> = reference.iter().zip(model).map(|(r, m)| r - m).collect();
        let better_by = differences.iter().sum::<f64>() / n;
        let squares: f64 = differences.iter().map(|d| (d - better_by).powi(2)).sum();
        let standard_error = (squares / (n - 1.0) / n).sqrt();
        let of_reference = reference.iter().sum::<f64>() / n;
        Self {
            skill: if of_reference > 0.0 { better_by / of_reference } else { 0.0 },
            better_by,
            standard_error,
            more_than_chance: better_by > Z_95 * standard_error,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_certain_forecast_scores_its_distance() {
        let scores = [4.0, 6.0, 6.5];
        assert_eq!(ranked_probability(&[1.0, 0.0, 0.0], &scores, 2), 2.5);
        assert_eq!(ranked_probability(&[0.0, 0.0, 1.0], &scores, 2), 0.0);
        // Half and half between 4 and 6, and 6 came: 2 (1/2)², by arithmetic.
        assert_eq!(ranked_probability(&[0.5, 0.5, 0.0], &scores, 1), 0.5);
        assert_eq!(expected(&[0.5, 0.5, 0.0], &scores), 5.0);
        assert_eq!((middle(&[0.5, 0.3, 0.2]), middle(&[0.4, 0.3, 0.3])), (0, 1));
    }
}
