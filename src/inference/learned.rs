//! What the records say of each parameter, and what they do not.
//!
//! A prior is standard normal in its number x: 1 - var(x) over the draws is the share of the prior's variance that the
//! records took away. Source: the contraction of Schad, Betancourt & Vasishth 2021, *Psychological Methods* 26:103-126.
//! Limits: a ridge between parameters leaves each of them wide though their product is known; forecasts may be
//! better than this list looks.

use schemars::JsonSchema;
use serde::Serialize;

use super::fit::Fit;

/// From this share on the records tell a parameter.
const TOLD: f64 = 0.75;
/// Below this one it is still the prior.
const UNTOLD: f64 = 0.25;

/// How far the records tell a parameter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Told {
    /// The records tell it.
    Records,
    /// Records and prior together.
    Partly,
    /// Still the prior.
    Prior,
}

/// What the records say of one parameter.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Learned {
    /// Its name.
    pub name: String,
    /// What it means.
    pub meaning: &'static str,
    /// Share of the prior's variance that the records took away, 0 to 1.
    pub share: f64,
    /// In a word.
    pub told: Told,
}

/// All parameters with a prior of their own, best told first.
pub fn learned(fit: &Fit) -> Vec<Learned> {
    let layout = fit.layout();
    let width = layout.dim();
    let n = (fit.draws.len() / width) as f64;
    let mut found: Vec<Learned> = (0..width)
        .filter(|i| layout.is_own(*i) && n > 1.0)
        .map(|i| {
            let values = || fit.draws.chunks_exact(width).map(|x| x[i]);
            let mean = values().sum::<f64>() / n;
            let variance = values().map(|x| (x - mean).powi(2)).sum::<f64>() / (n - 1.0);
            let share = (1.0 - variance).clamp(0.0, 1.0);
            let told = match share {
                s if s >= TOLD => Told::Records,
                s if s < UNTOLD => Told::Prior,
                _ => Told::Partly,
            };
            let prior = &layout.shared[i];
            Learned { name: prior.name.clone(), meaning: prior.meaning, share, told }
        })
        .collect();
    found.sort_by(|a, b| b.share.total_cmp(&a.share));
    found
}
