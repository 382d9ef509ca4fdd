//! How often a set of rules cries wolf, by simulation with a fixed seed.
//!
//! Two answers: the average run length, the number of batches from one false alarm to the next when center and
//! sigma are known (370.4 for three sigma alone; Champ & Woodall 1987, *Technometrics* 29:393-399, for combinations);
//! and the chance that a perfectly steady history of so many batches shows a signal when its limits are learned
//! from itself, which is what a baker's first chart does.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use schemars::JsonSchema;
use serde::Serialize;

use super::limits::{Limits, Shape};
use super::rules::Rule;

/// The longest pattern of any rule: earlier points need not be kept.
const LONGEST: usize = 15;
/// Runs behind a stated average run length: its standard error is 1.1 %.
const RUNS: usize = 8_000;
/// Steady histories behind a stated chance: its standard error is at most 1.6 points of a hundred.
const HISTORIES: usize = 1_000;
const SEED: u64 = 1_956;

/// What the rules do to a perfectly steady kitchen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct FalseAlarms {
    /// Once in so many batches, center and sigma known.
    pub once_in: f64,
    /// Chance that a steady history of this length shows any signal, limits learned from it.
    pub chance_here: f64,
}

impl FalseAlarms {
    /// For a chart of `batches` batches.
    pub fn of(rules: &[Rule], batches: usize) -> Self {
        Self {
            once_in: average_run_length(rules, 0.0, RUNS, SEED),
            chance_here: chance_of_signal(rules, batches),
        }
    }
}

/// Mean number of points up to and with the first signal, over so many `runs`, of independent normal points whose mean
/// lies `shift` sigmas off the center. Infinite for an empty set of rules.
pub fn average_run_length(rules: &[Rule], shift: f64, runs: usize, seed: u64) -> f64 {
    if rules.is_empty() {
        return f64::INFINITY;
    }
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut total = 0;
    let mut z: Vec<f64> = Vec::with_capacity(2 * LONGEST);
    for _ in 0..runs {
        z.clear();
        loop {
            if z.len() == 2 * LONGEST {
                z.drain(..LONGEST);
            }
            let noise: f64 = StandardNormal.sample(&mut rng);
            z.push(noise + shift);
            total += 1;
            if rules.iter().any(|r| r.completes(&z)) {
                break;
            }
        }
    }
    total as f64 / runs as f64
}

fn chance_of_signal(rules: &[Rule], batches: usize) -> f64 {
    let mut rng = ChaCha8Rng::seed_from_u64(SEED);
    let steady = Shape { autocorrelation: None, normality: None };
    let cried_wolf = |_: &usize| {
        let values: Vec<f64> = (0..batches).map(|_| StandardNormal.sample(&mut rng)).collect();
        let z = Limits::of(&values, 0..batches, &steady).map(|l| l.z).unwrap_or_default();
        (1..=z.len()).any(|n| rules.iter().any(|r| r.completes(&z[n.saturating_sub(LONGEST)..n])))
    };
    (0..HISTORIES).filter(cried_wolf).count() as f64 / HISTORIES as f64
}
