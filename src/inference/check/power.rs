//! Do answers hang on the priors or on the records? Power scaling.
//!
//! The prior (or the likelihood) is raised to a power a slightly off one, by weights prior^(a-1) on the draws; how far
//! each parameter's distribution moves is its sensitivity: the cumulative Jensen-Shannon distance between the two
//! distribution functions P and Q, central difference along log2 a.
//! CJS(P|Q) = int P log2(2P/(P+Q)) + int (Q-P)/(2 ln 2); the distance is sqrt{[CJS(P|Q) + CJS(Q|P)]/int (P+Q)}, the
//! larger of those of the parameter and of its negative. Without unit; from 0.05 on a parameter counts as sensitive.
//!
//! The prior is that of all parameters but lots and drift, whose priors hang on a spread that has one itself.
//!
//! Source: Kallioinen, Paananen, Bürkner & Vehtari 2024, *Statistics and Computing* 34:57, also for the limit and for the
//! reading of the two figures. Limits: local, about the priors as they are.

use schemars::JsonSchema;
use serde::Serialize;

use crate::inference::diagnostics::variance;
use crate::inference::fit::Fit;
use crate::inference::lots::Centring;
use crate::inference::posterior::Posterior;
use crate::inference::prepare::{Records, prepare};
use crate::inference::priors::standard_normal;
use crate::inference::psis::smooth;

/// The powers are one and this, and its reciprocal.
const DELTA: f64 = 0.01;
/// From here on a parameter is sensitive (Kallioinen et al. 2024).
pub const SENSITIVE: f64 = 0.05;
/// Records that took away less than this share of the prior's variance do not touch a parameter.
const TOUCHED: f64 = 0.05;
/// Draws used at most.
const MOST_DRAWS: usize = 2000;

/// What a parameter hangs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum HangsOn {
    /// The records; moving the prior a little changes nothing.
    Records,
    /// Prior and records, which pull against each other or are both strong.
    Both,
    /// The prior; the records say little.
    Prior,
    /// Neither a little more of the one nor of the other moves it.
    Neither,
}

/// Sensitivities of one parameter.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Sensitivity {
    /// The parameter.
    pub name: String,
    /// To the prior's power.
    pub prior: f64,
    /// To the likelihood's power.
    pub likelihood: f64,
    /// The reading of the two.
    pub hangs_on: HangsOn,
}

/// Sensitivities of all parameters but lots and drift; empty when no draw is usable.
pub fn sensitivities(fit: &Fit, records: &Records) -> Vec<Sensitivity> {
    let posterior = Posterior::new(prepare(records).believing(fit.index.beliefs.clone()), Centring::None);
    let layout = &posterior.layout;
    let width = posterior.dim();
    let step = (fit.draws.len() / width).div_ceil(MOST_DRAWS).max(1);
    let own: Vec<usize> = (0..width).filter(|i| layout.is_own(*i)).collect();
    let (mut draws, mut priors, mut likelihoods) = (Vec::new(), Vec::new(), Vec::new());
    for x in fit.draws.chunks_exact(width).step_by(step) {
        let Some(by_batch) = posterior.pointwise(x) else { continue };
        priors.push(own.iter().map(|i| standard_normal(x[*i])).sum::<f64>());
        likelihoods.push(by_batch.iter().sum::<f64>());
        draws.push(x);
    }
    let of = |i: &usize| {
        let values: Vec<f64> = draws.iter().map(|x| layout.value(x, *i)).collect();
        let (prior, likelihood) = (sensitivity(&values, &priors), sensitivity(&values, &likelihoods));
        // What the draws still hold as wide as the prior does, the records do not touch: its sensitivities are chance.
        let xs: Vec<f64> = draws.iter().map(|x| x[*i]).collect();
        let untouched = xs.len() > 1 && variance(&xs) > 1.0 - TOUCHED;
        let hangs_on = match (prior >= SENSITIVE, likelihood >= SENSITIVE) {
            _ if untouched => HangsOn::Prior,
            (false, true) => HangsOn::Records,
            (true, true) => HangsOn::Both,
            (true, false) => HangsOn::Prior,
            (false, false) => HangsOn::Neither,
        };
        Sensitivity { name: layout.shared[*i].name.clone(), prior, likelihood, hangs_on }
    };
    own.iter().map(of).collect()
}

/// Sensitivity, without unit, of equally weighted draws of one quantity to a power of a density whose logarithm at each
/// draw is given; both slices have one entry a draw.
pub fn sensitivity(values: &[f64], log_density: &[f64]) -> f64 {
    let moved = |power: f64| {
        let ratios: Vec<f64> = log_density.iter().map(|l| (power - 1.0) * l).collect();
        distance(values, &smooth(&ratios).weights())
    };
    let up = 1.0 + DELTA;
    (moved(up) + moved(1.0 / up)) / (2.0 * up.log2())
}

/// Distance, without unit, between equally weighted draws and the same draws with weights that sum to one, one a draw.
pub fn distance(values: &[f64], weights: &[f64]) -> f64 {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let even = 1.0 / values.len() as f64;
    // From below and, for the negative, from above: distribution functions between neighbours.
    let (mut below, mut above) = (Integrals::default(), Integrals::default());
    let (mut p, mut q) = (0.0, 0.0);
    for pair in order.windows(2) {
        p += even;
        q += weights[pair[0]];
        let gap = values[pair[1]] - values[pair[0]];
        below.add(gap, p, q);
        above.add(gap, 1.0 - p, 1.0 - q);
    }
    below.distance().max(above.distance())
}

/// Integrals over the quantity.
#[derive(Default)]
struct Integrals {
    divergence: f64,
    sum: f64,
}

impl Integrals {
    fn add(&mut self, gap: f64, p: f64, q: f64) {
        let half = |a: f64, middle: f64| if a > 0.0 { a * (a / middle).log2() } else { 0.0 };
        let middle = 0.5 * (p + q);
        // The terms int (Q-P) and int (P-Q) of the two directions cancel.
        self.divergence += gap * (half(p, middle) + half(q, middle));
        self.sum += gap * (p + q);
    }

    fn distance(&self) -> f64 {
        if self.sum > 0.0 { (self.divergence / self.sum).max(0.0).sqrt() } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two draws at 0 and 1, weights 1/4 and 3/4: between them P = 1/2 and Q = 1/4 from below, 1/2 and 3/4 from above.
    #[test]
    fn distance_of_two_draws_by_hand() {
        let of = |p: f64, q: f64| {
            let m = 0.5 * (p + q);
            ((p * (p / m).log2() + q * (q / m).log2()) / (p + q)).sqrt()
        };
        let found = distance(&[1.0, 0.0], &[0.75, 0.25]);
        assert!((found - of(0.5, 0.25).max(of(0.5, 0.75))).abs() < 1e-15, "{found}");
    }

    #[test]
    fn what_does_not_hang_on_the_density_does_not_move() {
        let values: Vec<f64> = (0..400).map(|i| (f64::from(i) * 0.618_033_988_749_895).fract()).collect();
        let flat = vec![-3.0; 400];
        // The root of what rounding leaves in the sums.
        assert!(sensitivity(&values, &flat) < 1e-6);
        let steep: Vec<f64> = values.iter().map(|v| 40.0 * v).collect();
        assert!(sensitivity(&values, &steep) > SENSITIVE);
    }
}
