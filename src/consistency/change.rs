//! The batch where level or spread most likely changed, once, and how sure that is.
//!
//! Values are normal with one mean and spread up to a position and others from it on. Three descriptions are weighed:
//! no change (prior 1/2), another level with the same spread (1/4), another level and spread (1/4), every position
//! alike, at least three batches on each side. Priors are conjugate, on values less their median over their standard
//! deviation: σ² ~ inverse gamma(a = 1, b = 1/2), which puts a side's spread between 0.41 and 3.1 of the whole with
//! 90 %, and μ | σ² ~ N(0, σ²/κ), κ = 0.1. So every marginal likelihood is a closed form and the sum over positions is
//! exact (Smith 1975, *Biometrika* 62:407-416; the marginal: Murphy 2007, *Conjugate Bayesian analysis of the Gaussian
//! distribution*, section 3, or any text on the normal-inverse-gamma prior):
//!
//! ln m = ln Γ(a_n) - ln Γ(a) + a ln b - a_n ln b_n + ½ Σ ln(κ/(κ + n_i)) - (n/2) ln 2π,
//! a_n = a + n/2, b_n = b + ½ Σ [S_i + κ n_i x̄_i²/(κ + n_i)], over the groups that share the spread.
//!
//! Assumes independent values: neighbours that resemble each other make changes seem likelier than they are; see
//! [`super::reshuffle`] for a claim that allows for it.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Gamma, StandardNormal};
use schemars::JsonSchema;
use serde::Serialize;
use statrs::function::gamma::ln_gamma;

use super::sample::{Quantiles, mean, positive_sd, quantile_of_sorted, sorted};
use super::series::Point;
use crate::dough::When;

/// The fewest batches on a side of the change.
pub const FEWEST: usize = 3;
const SHAPE: f64 = 1.0;
const SCALE: f64 = 0.5;
const KAPPA: f64 = 0.1;
const DRAWS: usize = 4_000;
const SEED: u64 = 1_975;

/// A batch that may be the first after the change.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Position {
    /// The batch.
    pub batch_id: String,
    /// When it was mixed.
    pub when: When,
    /// Chance that it is the first one, if there was a change.
    pub probability: f64,
}

/// What the values say about a single change.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Change {
    /// Chance that level or spread changed at all.
    pub probability: f64,
    /// Chance that the spread changed.
    pub spread_changed: f64,
    /// The likeliest first batch after the change.
    pub most_likely: Position,
    /// With 90 % chance the change lies between these days, if there was one.
    pub between: (When, When),
    /// Mean after less mean before, if there was a change.
    pub level_shift: Quantiles,
    /// Spread after over spread before, if there was a change.
    pub spread_ratio: Quantiles,
    /// All positions, in time order.
    pub positions: Vec<Position>,
}

/// Log marginal likelihoods, by the number of batches before the change less [`FEWEST`].
pub(super) struct Evidence {
    /// Of no change, without a position.
    pub none: f64,
    /// Of another level with the same spread.
    pub level: Vec<f64>,
    /// Of another level and spread.
    pub both: Vec<f64>,
}

/// A group of values with a mean of its own.
#[derive(Clone, Copy)]
struct Group {
    n: f64,
    mean: f64,
    /// What it adds to b_n: ½ [S + κ n x̄²/(κ + n)].
    adds: f64,
}

impl Group {
    fn of(n: usize, sum: f64, squares: f64) -> Self {
        let n = n as f64;
        let mean = sum / n;
        let within = (squares - n * mean * mean).max(0.0);
        Self { n, mean, adds: 0.5 * (within + KAPPA * n * mean * mean / (KAPPA + n)) }
    }

    fn shrinkage(&self) -> f64 {
        0.5 * (KAPPA / (KAPPA + self.n)).ln()
    }
}

/// ln Γ(a + k/2) - ln Γ(a) + a ln b - (k/2) ln 2π for k = 0..=n.
pub(super) fn constants(n: usize) -> Vec<f64> {
    let of = |k: usize| {
        let half = k as f64 / 2.0;
        ln_gamma(SHAPE + half) - ln_gamma(SHAPE) + SHAPE * SCALE.ln()
            - half * (2.0 * std::f64::consts::PI).ln()
    };
    (0..=n).map(of).collect()
}

impl Evidence {
    /// Of standardised values; `constants` as of [`constants`] for their number.
    pub fn of(z: &[f64], constants: &[f64]) -> Self {
        let n = z.len();
        let (total, total_squares) = z.iter().fold((0.0, 0.0), |(s, q), x| (s + x, q + x * x));
        let log_marginal = |groups: &[Group]| {
            let k: f64 = groups.iter().map(|g| g.n).sum();
            let scale: f64 = SCALE + groups.iter().map(|g| g.adds).sum::<f64>();
            let shrinkage: f64 = groups.iter().map(Group::shrinkage).sum();
            constants[k as usize] - (SHAPE + k / 2.0) * scale.ln() + shrinkage
        };
        let none = log_marginal(&[Group::of(n, total, total_squares)]);
        let mut evidence = Self { none, level: Vec::new(), both: Vec::new() };
        let (mut sum, mut squares) = (0.0, 0.0);
        for (i, x) in z.iter().enumerate() {
            if (FEWEST..=n - FEWEST).contains(&i) {
                let before = Group::of(i, sum, squares);
                let after = Group::of(n - i, total - sum, total_squares - squares);
                evidence.level.push(log_marginal(&[before, after]));
                evidence.both.push(log_marginal(&[before]) + log_marginal(&[after]));
            }
            sum += x;
            squares += x * x;
        }
        evidence
    }
}

/// ln of the mean of the exponentials.
pub(super) fn log_mean(logs: impl Iterator<Item = f64> + Clone, of: usize) -> f64 {
    let top = logs.clone().fold(f64::NEG_INFINITY, f64::max);
    if top == f64::NEG_INFINITY {
        return top;
    }
    top + (logs.map(|l| (l - top).exp()).sum::<f64>() / of as f64).ln()
}

/// Values less their median over their standard deviation, and that standard deviation; `None` with fewer than six
/// values, or when all are the same.
pub(super) fn standardised(values: &[f64]) -> Option<(Vec<f64>, f64)> {
    if values.len() < 2 * FEWEST {
        return None;
    }
    let spread = positive_sd(values)?;
    let middle = quantile_of_sorted(&sorted(values), 0.5);
    Some((values.iter().map(|x| (x - middle) / spread).collect(), spread))
}

impl Change {
    /// Of points in time order; `None` with fewer than six, or when all are the same.
    pub fn of(points: &[Point]) -> Option<Self> {
        let values: Vec<f64> = points.iter().map(|p| p.value).collect();
        let (z, unit) = standardised(&values)?;
        let e = Evidence::of(&z, &constants(z.len()));
        let places = e.both.len();
        let (level, both) =
            (log_mean(e.level.iter().copied(), places), log_mean(e.both.iter().copied(), places));
        let top = e.none.max(level).max(both);
        let odds = [0.5 * (e.none - top).exp(), 0.25 * (level - top).exp(), 0.25 * (both - top).exp()];
        let sum: f64 = odds.iter().sum();

        let weights: Vec<f64> =
            e.level.iter().zip(&e.both).map(|(l, b)| (l - top).exp() + (b - top).exp()).collect();
        let all: f64 = weights.iter().sum();
        let positions: Vec<Position> = weights
            .iter()
            .zip(&points[FEWEST..])
            .map(|(w, p)| Position { batch_id: p.batch_id.clone(), when: p.when, probability: w / all })
            .collect();
        let most_likely = positions.iter().max_by(|a, b| a.probability.total_cmp(&b.probability))?.clone();
        let (level_shift, spread_ratio) = draws(&z, &positions);
        Some(Self {
            probability: (odds[1] + odds[2]) / sum,
            spread_changed: odds[2] / sum,
            between: (reached(&positions, 0.05), reached(&positions, 0.95)),
            most_likely,
            level_shift: Quantiles::of(level_shift.iter().map(|d| d * unit).collect())?,
            spread_ratio: Quantiles::of(spread_ratio)?,
            positions,
        })
    }
}

/// The day by which the change has come with this chance.
fn reached(positions: &[Position], chance: f64) -> When {
    let mut sum = 0.0;
    let by = positions.iter().find(|p| {
        sum += p.probability;
        sum >= chance
    });
    by.or(positions.last()).expect("a change has at least one position").when
}

/// Draws of level shift and spread ratio, with level and spread free on both sides.
fn draws(z: &[f64], positions: &[Position]) -> (Vec<f64>, Vec<f64>) {
    let mut rng = ChaCha8Rng::seed_from_u64(SEED);
    let side = |values: &[f64], rng: &mut ChaCha8Rng| {
        let squares = values.iter().map(|x| x * x).sum();
        let g = Group::of(values.len(), mean(values) * values.len() as f64, squares);
        let gamma = Gamma::new(SHAPE + g.n / 2.0, 1.0).expect("shape and scale are positive");
        let sigma = ((SCALE + g.adds) / gamma.sample(rng)).sqrt();
        let noise: f64 = StandardNormal.sample(rng);
        (g.n * g.mean / (KAPPA + g.n) + sigma * noise / (KAPPA + g.n).sqrt(), sigma)
    };
    (0..DRAWS)
        .map(|_| {
            let mut left: f64 = rng.random();
            let chosen = positions.iter().position(|p| {
                left -= p.probability;
                left < 0.0
            });
            let at = FEWEST + chosen.unwrap_or(positions.len() - 1);
            let (before, after) = (side(&z[..at], &mut rng), side(&z[at..], &mut rng));
            (after.0 - before.0, after.1 / before.1)
        })
        .unzip()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn position(day: usize, probability: f64) -> Position {
        let when = format!("2026-01-{day:02}").parse().unwrap();
        Position { batch_id: format!("b{day}"), when, probability }
    }

    #[test]
    fn the_day_by_which_a_change_has_come() {
        let positions = [position(1, 0.04), position(2, 0.5), position(3, 0.41), position(4, 0.05)];
        assert_eq!(reached(&positions, 0.05), positions[1].when);
        assert_eq!(reached(&positions, 0.53), positions[1].when);
        assert_eq!(reached(&positions, 0.94), positions[2].when);
        // Rounding must not leave it without a day.
        assert_eq!(reached(&positions, 1.1), positions[3].when);
    }

    #[test]
    fn means_of_exponentials_are_taken_where_they_would_overflow() {
        let logs = [1_000.0, 1_000.0 + 3.0_f64.ln()];
        assert!((log_mean(logs.iter().copied(), 2) - (1_000.0 + 2.0_f64.ln())).abs() < 1e-12);
        assert_eq!(log_mean([f64::NEG_INFINITY; 2].into_iter(), 2), f64::NEG_INFINITY);
    }

    #[test]
    fn six_batches_are_the_fewest() {
        assert!(standardised(&[1.0, 2.0, 3.0, 4.0, 5.0]).is_none());
        let (z, unit) = standardised(&[1.0, 2.0, 3.0, 4.0, 5.0, 9.0]).unwrap();
        // Median 3.5; sum of squares about the mean of four is 40, over five.
        assert!((unit - 8.0_f64.sqrt()).abs() < 1e-12);
        assert!((z[5] - 5.5 / unit).abs() < 1e-12);
        assert!(standardised(&[1.0; 6]).is_none());
    }
}
