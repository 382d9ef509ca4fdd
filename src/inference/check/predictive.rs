//! Prior and posterior predictive checks: would the model make rises such as these?
//!
//! For each draw of the parameters, from the prior or from the fit, all rises at the end are made anew, each from its
//! forecast (t4 about f with scale s, [`crate::inference::forecast`]); a figure of all rises together is compared with
//! the same figure of the records. p is the share of draws whose figure is at least the observed one: near 0 or 1 the
//! model does not make such records.
//!
//! Source: Gelman, Meng & Stern 1996, *Statistica Sinica* 6:733-807. Limits: after the fit the records are used twice, so
//! p keeps nearer to a half than it should; [`super::pit`] does not.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Exp1, StandardNormal};
use schemars::JsonSchema;
use serde::Serialize;

use crate::inference::fit::{Fit, quantile};
use crate::inference::forecast::{Forecaster, Mixture};
use crate::inference::foretold::{end_components, end_rise};
use crate::inference::layout::Layout;
use crate::inference::lots::Centring;
use crate::inference::prepare::{Prepared, Records, prepare};
use crate::inference::student::DEGREES;

/// Draws of the parameters used.
const DRAWS: usize = 500;
/// Below this p, or above one less it, the model does not make such records.
const STRANGE: f64 = 0.025;

/// One figure of all rises, as observed and as the model makes it.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Figure {
    /// Which figure.
    pub figure: &'static str,
    /// Of the records.
    pub observed: f64,
    /// 5 % point of what the model makes.
    pub p05: f64,
    /// Median of what the model makes.
    pub p50: f64,
    /// 95 % point of what the model makes.
    pub p95: f64,
    /// Share of the draws that make at least the observed.
    pub p: f64,
}

impl Figure {
    /// Whether the model does not make such records.
    pub fn strange(&self) -> bool {
        self.p < STRANGE || self.p > 1.0 - STRANGE
    }
}

/// Checks before and after the records.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Predictive {
    /// Before: parameters from the priors.
    pub prior: Vec<Figure>,
    /// Share of the rises inside the priors' own 90 % intervals.
    pub prior_inside_90: f64,
    /// After: parameters from the fit.
    pub posterior: Vec<Figure>,
}

const FIGURES: [&str; 4] = ["mean ln rise", "spread of ln rise", "least rise", "most rise"];

fn figures(ln_rises: &[f64]) -> [f64; 4] {
    let n = ln_rises.len() as f64;
    let mean = ln_rises.iter().sum::<f64>() / n;
    let sd = (ln_rises.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / n).sqrt();
    let least = ln_rises.iter().copied().fold(f64::INFINITY, f64::min);
    let most = ln_rises.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    [mean, sd, least.exp(), most.exp()]
}

/// A t4 number: a normal one over the root of a chi-squared one with four degrees, itself the sum of two exponentials.
fn student_t4(rng: &mut ChaCha8Rng) -> f64 {
    let normal: f64 = StandardNormal.sample(rng);
    let (a, b): (f64, f64) = (Exp1.sample(rng), Exp1.sample(rng));
    normal / (2.0 * (a + b) / DEGREES).sqrt()
}

/// Both checks; `None` without a rise, or when no draw is usable.
pub fn predictive(fit: &Fit, records: &Records, seed: u64) -> Option<Predictive> {
    let ready = prepare(records).believing(fit.index.beliefs.clone());
    let seen: Vec<(Prepared, f64)> = ready
        .batches
        .into_iter()
        .filter_map(|p| Some((end_rise(records, &p)?, p)))
        .map(|(y, p)| (p, y))
        .collect();
    if seen.is_empty() {
        return None;
    }
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let after = fit.forecaster()?.thinned(DRAWS);
    let layout = Layout::new(&fit.index, fit.unmeasured_fridge, Centring::None);
    let drawn: Vec<Vec<f64>> =
        (0..DRAWS).map(|_| layout.draw_prior(|| StandardNormal.sample(&mut rng))).collect();
    let before = Forecaster::new(&layout, &fit.index, drawn.iter().map(Vec::as_slice))?;
    let (posterior, _) = against(&after, &seen, &mut rng);
    let (prior, prior_inside_90) = against(&before, &seen, &mut rng);
    Some(Predictive { prior, prior_inside_90, posterior })
}

/// The figures under a forecaster, and the share of the rises inside its 90 % intervals.
fn against(forecaster: &Forecaster, seen: &[(Prepared, f64)], rng: &mut ChaCha8Rng) -> (Vec<Figure>, f64) {
    let mixtures: Vec<Mixture> = seen.iter().map(|(p, _)| Mixture(end_components(forecaster, p))).collect();
    let inside =
        seen.iter().zip(&mixtures).filter(|((_, y), m)| (0.05..=0.95).contains(&m.below(*y))).count();
    let mut made: Vec<[f64; 4]> = Vec::with_capacity(forecaster.draws.len());
    for draw in 0..forecaster.draws.len() {
        let one = |m: &Mixture| {
            let c = m.0[draw];
            c.centre + c.scale * student_t4(rng)
        };
        made.push(figures(&mixtures.iter().map(one).collect::<Vec<_>>()));
    }
    let observed = figures(&seen.iter().map(|(_, y)| *y).collect::<Vec<_>>());
    let of = |(i, name): (usize, &'static str)| {
        let mut values: Vec<f64> = made.iter().map(|m| m[i]).collect();
        values.sort_by(f64::total_cmp);
        let at_least = values.iter().filter(|v| **v >= observed[i]).count();
        Figure {
            figure: name,
            observed: observed[i],
            p05: quantile(&values, 0.05),
            p50: quantile(&values, 0.50),
            p95: quantile(&values, 0.95),
            p: at_least as f64 / values.len() as f64,
        }
    };
    (FIGURES.into_iter().enumerate().map(of).collect(), inside as f64 / seen.len() as f64)
}
