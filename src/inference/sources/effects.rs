//! What time of year and person share of the residuals, by Gibbs sampling.
//!
//! y_b = m + a sin_b + c cos_b + u_group(b) + e_b with a, c ~ N(0, tau_s²), u ~ N(0, tau_u²), e ~ N(0, s²); tau half-normal
//! with the scale that the lots have, s² with density 1/s². One sweep follows each draw of the fit, so that the chain
//! moves along the posterior with it (a cut of the feedback: residuals of the fit do not learn from these effects).
//!
//! Source: Gelfand & Smith 1990, *J Am Stat Assoc* 85:398-409. tau is drawn from its full conditional on a grid of
//! even steps of its prior. Limits: one yearly wave, and groups that share one spread.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{ChiSquared, Distribution, StandardNormal};

use crate::inference::priors::{Form, LOT_SPREAD};

const SEED: u64 = 2_005;
/// Sweeps for each draw of the fit.
const SWEEPS: usize = 5;
/// Points of the grid of tau.
const GRID: usize = 60;

/// What is told of the batches.
pub struct Design {
    /// Sine and cosine of the time of year of each batch; empty when the records are too short.
    pub season: Vec<(f64, f64)>,
    /// What the groups are, and the group of each batch.
    pub groups: Option<(&'static str, Vec<Option<usize>>)>,
}

/// The state of the chain.
pub struct Effects {
    rng: ChaCha8Rng,
    season: [f64; 2],
    group: Vec<f64>,
    tau_season: f64,
    tau_group: f64,
    variance: f64,
}

/// The effects on each batch, and what they leave: on ln rise, one a batch.
pub struct Shared {
    /// Time of year.
    pub season: Vec<f64>,
    /// Person or mixer.
    pub group: Vec<f64>,
    /// The rest.
    pub rest: Vec<f64>,
}

impl Effects {
    /// Before the first draw, for so many batches.
    pub fn new(design: &Design, batches: usize) -> Self {
        let groups = design.groups.iter().flat_map(|(_, of)| of.iter().flatten()).max().map_or(0, |g| g + 1);
        debug_assert!(design.season.is_empty() || design.season.len() == batches);
        let rng = ChaCha8Rng::seed_from_u64(SEED);
        Self {
            rng,
            season: [0.0; 2],
            group: vec![0.0; groups],
            tau_season: 0.05,
            tau_group: 0.05,
            variance: 0.01,
        }
    }

    /// Moves along, given the residuals of a draw on ln rise, one a batch; so are the effects that come back.
    pub fn sweep(&mut self, design: &Design, residuals: &[f64]) -> Shared {
        let mean = residuals.iter().sum::<f64>() / residuals.len() as f64;
        let y: Vec<f64> = residuals.iter().map(|r| r - mean).collect();
        for _ in 0..SWEEPS {
            self.step(design, &y);
        }
        let season: Vec<f64> = (0..y.len()).map(|b| self.season_of(design, b)).collect();
        let group: Vec<f64> = (0..y.len()).map(|b| self.group_of(design, b)).collect();
        let rest = y.iter().zip(&season).zip(&group).map(|((y, s), g)| y - s - g).collect();
        Shared { season, group, rest }
    }

    fn step(&mut self, design: &Design, y: &[f64]) {
        if !design.season.is_empty() {
            for which in 0..2 {
                let x = |b: usize| if which == 0 { design.season[b].0 } else { design.season[b].1 };
                let (mut xx, mut xy) = (0.0, 0.0);
                for (b, y) in y.iter().enumerate() {
                    let others =
                        self.season_of(design, b) - self.season[which] * x(b) + self.group_of(design, b);
                    xx += x(b) * x(b);
                    xy += x(b) * (y - others);
                }
                self.season[which] = self.normal(xx, xy, self.tau_season);
            }
            self.tau_season = self.tau(&self.season.clone());
        }
        if let Some((_, of)) = &design.groups {
            for g in 0..self.group.len() {
                let (mut count, mut sum) = (0.0, 0.0);
                for (b, y) in y.iter().enumerate().filter(|(b, _)| of[*b] == Some(g)) {
                    count += 1.0;
                    sum += y - self.season_of(design, b);
                }
                self.group[g] = self.normal(count, sum, self.tau_group);
            }
            self.tau_group = self.tau(&self.group.clone());
        }
        let left = |b: usize, y: &f64| y - self.season_of(design, b) - self.group_of(design, b);
        let squares: f64 = y.iter().enumerate().map(|(b, y)| left(b, y).powi(2)).sum();
        if let Ok(chi) = ChiSquared::new(y.len() as f64 - 1.0) {
            // Residuals that are all the same leave nothing to share out.
            self.variance = (squares / chi.sample(&mut self.rng)).max(1e-12);
        }
    }

    fn season_of(&self, design: &Design, batch: usize) -> f64 {
        design.season.get(batch).map_or(0.0, |(sin, cos)| self.season[0] * sin + self.season[1] * cos)
    }

    fn group_of(&self, design: &Design, batch: usize) -> f64 {
        design.groups.as_ref().and_then(|(_, of)| of[batch]).map_or(0.0, |g| self.group[g])
    }

    /// A coefficient, given the sums of x² and of x times what it should explain.
    fn normal(&mut self, xx: f64, xy: f64, tau: f64) -> f64 {
        let precision = xx / self.variance + 1.0 / (tau * tau);
        let z: f64 = StandardNormal.sample(&mut self.rng);
        xy / self.variance / precision + z / precision.sqrt()
    }

    /// The spread of effects, given them.
    fn tau(&mut self, effects: &[f64]) -> f64 {
        let Form::HalfNormal { sd } = LOT_SPREAD else { unreachable!("the spread of lots is half-normal") };
        let grid: Vec<f64> = (1..=GRID).map(|i| 3.0 * sd * i as f64 / GRID as f64).collect();
        let squares: f64 = effects.iter().map(|e| e * e).sum();
        let log: Vec<f64> = grid
            .iter()
            .map(|t| -0.5 * (t / sd).powi(2) - effects.len() as f64 * t.ln() - 0.5 * squares / (t * t))
            .collect();
        let top = log.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let weights: Vec<f64> = log.iter().map(|l| (l - top).exp()).collect();
        let mut left = self.rng.random::<f64>() * weights.iter().sum::<f64>();
        let chosen = weights.iter().position(|w| {
            left -= w;
            left < 0.0
        });
        grid[chosen.unwrap_or(GRID - 1)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Invented residuals: two persons 0.2 apart, a yearly swing of amplitude 0.1, noise of 0.05.
    #[test]
    fn a_person_and_a_season_are_found_again() {
        let mut rng = ChaCha8Rng::seed_from_u64(3);
        let n = 200;
        let season: Vec<(f64, f64)> =
            (0..n).map(|b| (std::f64::consts::TAU * b as f64 / n as f64).sin_cos()).collect();
        let of: Vec<Option<usize>> = (0..n).map(|b| Some(b * 7 % 3 % 2)).collect();
        let y: Vec<f64> = (0..n)
            .map(|b| {
                let z: f64 = StandardNormal.sample(&mut rng);
                let person = if of[b] == Some(0) { 0.1 } else { -0.1 };
                person + 0.1 * season[b].0 + 0.05 * z
            })
            .collect();
        let design = Design { season, groups: Some(("person", of)) };
        let mut effects = Effects::new(&design, n);
        let (mut swing, mut apart, mut noise) = (0.0, 0.0, 0.0);
        const DRAWS: usize = 400;
        for _ in 0..DRAWS {
            effects.sweep(&design, &y);
            swing += effects.season[0] / DRAWS as f64;
            apart += (effects.group[0] - effects.group[1]) / DRAWS as f64;
            noise += effects.variance.sqrt() / DRAWS as f64;
        }
        // Standard errors of the three from 200 batches: 0.005, 0.0075, 0.0025.
        assert!((swing - 0.1).abs() < 0.015, "{swing}");
        assert!((apart - 0.2).abs() < 0.02, "{apart}");
        assert!((noise - 0.05).abs() < 0.008, "{noise}");
    }
}
