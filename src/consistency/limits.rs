//! The limits of a chart, after a look at what the values are like.
//!
//! - Normal and independent: individuals chart, sigma from the mean moving range.
//! - Not normal (Anderson-Darling p < 0.01): see [`super::quantile_limits`].
//! - Neighbours resemble each other: the rules look at the innovations of a first-order autoregression (Alwan & Roberts
//!   1988, *J Bus Econ Stat* 6:87-95); the limits drawn are those of the values, sigma / √(1 - φ²).
//!
//! Limits come from the base period alone; every batch is then judged by them.

use std::ops::Range;

use schemars::JsonSchema;
use serde::Serialize;

use super::autocorrelation::{Autocorrelation, innovations};
use super::constants::WIDTH;
use super::individuals::MovingRange;
use super::normality::{Normality, anderson_darling};
use super::quantile_limits::Scale;
use super::sample::{mean, positive_sd};

/// Fewer batches than this in the base period make the limits provisional (common practice, no source).
pub const SETTLED: usize = 20;
/// Below this p-value the values are not treated as normal.
pub const NOT_NORMAL: f64 = 0.01;

/// How the limits were found.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case", tag = "by")]
pub enum Method {
    /// Mean moving range of independent, normal values.
    MovingRange,
    /// Quantiles, since the values are not normal.
    Quantiles,
    /// Residuals of a first-order autoregression with this coefficient.
    Autoregression {
        /// φ.
        coefficient: f64,
        /// Whether sigma comes from quantiles of the residuals.
        quantiles: bool,
    },
}

/// What the values are like, phases taken out.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Shape {
    /// `None` for too few values.
    pub autocorrelation: Option<Autocorrelation>,
    /// `None` for too few values. Tested on the innovations when neighbours resemble each other.
    pub normality: Option<Normality>,
}

/// Center and limits, in the unit of the values, and every value's distance from the center in sigmas.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Limits {
    /// The middle line.
    pub center: f64,
    /// One standard deviation: a sixth of the way from limit to limit.
    pub sigma: f64,
    /// Lower limit.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
    /// How they were found.
    pub method: Method,
    /// Number of batches they were found from.
    pub base_batches: usize,
    /// Distance of each value (or of its innovation) from the center in sigmas; the rules read these.
    #[serde(skip)]
    pub z: Vec<f64>,
}

impl Shape {
    /// Looks at values in time order from which the phases' means and spreads have been taken out (so without unit).
    pub fn of(standardised: &[f64]) -> Self {
        let autocorrelation = Autocorrelation::of(standardised);
        let normality = match autocorrelation.filter(Autocorrelation::matters) {
            Some(a) => anderson_darling(&innovations(standardised, mean(standardised), a.coefficient())),
            None => anderson_darling(standardised),
        };
        Self { autocorrelation, normality }
    }

    /// The coefficient to reckon with: zero when neighbours do not resemble each other.
    pub fn coefficient(&self) -> f64 {
        self.autocorrelation.filter(Autocorrelation::matters).map_or(0.0, |a| a.coefficient())
    }

    /// Whether the values may be treated as normal.
    pub fn is_normal(&self) -> bool {
        self.normality.is_none_or(|n| n.p >= NOT_NORMAL)
    }
}

impl Limits {
    /// Limits from `values[base]` for all of `values`; `None` when the base period has fewer than two values, or
    /// values that are all the same.
    pub fn of(values: &[f64], base: Range<usize>, shape: &Shape) -> Option<Self> {
        let (phi, quantiles) = (shape.coefficient(), !shape.is_normal());
        let of_base = &values[base.clone()];
        positive_sd(of_base)?;
        let middle = mean(of_base);
        let charted: Vec<f64> = match phi {
            0.0 => values.iter().map(|x| x - middle).collect(),
            phi => innovations(values, middle, phi),
        };
        let charted_base = &charted[base];
        let by_quantiles = Some(charted_base).filter(|_| quantiles).and_then(Scale::by_quantiles);
        let scale = by_quantiles.or_else(|| by_ranges(charted_base))?;
        let widen = 1.0 / (1.0 - phi * phi).sqrt();
        let center = middle + scale.center / (1.0 - phi);
        let (below, above) = scale.three_sigma();
        Some(Self {
            center,
            sigma: widen * (below + above) / (2.0 * WIDTH),
            lower: center - widen * below,
            upper: center + widen * above,
            z: charted.iter().map(|c| scale.sigmas(*c)).collect(),
            method: match (phi, quantiles) {
                (0.0, false) => Method::MovingRange,
                (0.0, true) => Method::Quantiles,
                (coefficient, quantiles) => Method::Autoregression { coefficient, quantiles },
            },
            base_batches: of_base.len(),
        })
    }

    /// Whether too few batches stand behind them.
    pub fn provisional(&self) -> bool {
        self.base_batches < SETTLED
    }
}

fn by_ranges(deviations: &[f64]) -> Option<Scale> {
    Some(Scale::even(0.0, MovingRange::of(deviations)?.sigma()))
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;
    use rand_distr::{Distribution, StandardNormal};

    use super::*;

    /// First-order autoregression with unit spread about 5.
    fn remembering(n: usize, phi: f64) -> Vec<f64> {
        let mut rng = ChaCha8Rng::seed_from_u64(40);
        let mut last: f64 = StandardNormal.sample(&mut rng);
        let mut step = |_| {
            let noise: f64 = StandardNormal.sample(&mut rng);
            last = phi * last + (1.0 - phi * phi).sqrt() * noise;
            5.0 + last
        };
        (0..n).map(&mut step).collect()
    }

    fn near(ours: f64, theirs: f64, share: f64) {
        assert!((ours / theirs - 1.0).abs() < share, "{ours} is not near {theirs}");
    }

    #[test]
    fn limits_of_values_that_remember_are_those_of_the_values() {
        // Spread one by construction; 4,000 values with a memory of 0.6 tell it to some 2 %, and their mean to 0.03.
        let values = remembering(4_000, 0.6);
        let limits = Limits::of(&values, 0..values.len(), &Shape::of(&values)).unwrap();
        assert!(matches!(limits.method, Method::Autoregression { coefficient, quantiles: false }
            if (coefficient - 0.6).abs() < 0.04));
        near(limits.sigma, 1.0, 0.06);
        near(limits.upper - 5.0, 3.0, 0.08);
        near(5.0 - limits.lower, 3.0, 0.08);
        // What the rules read has no memory and a spread of one.
        near(positive_sd(&limits.z).unwrap(), 1.0, 0.05);
        assert!(!Autocorrelation::of(&limits.z).unwrap().matters());
    }

    #[test]
    fn limits_of_lopsided_values_are_lopsided() {
        // exp(x/2), x standard normal: median 1, one and two sigma at e^±0.5 and e^±1; three sigma by the rule of
        // `quantile_limits.rs`: 3 (1.71828 - 0.64872) = 3.2087 above, 1.5 * 0.63212 = 0.9482 below. The quantile at two
        // sigma has a standard error of 0.04 sigma with 4,000 values.
        let values: Vec<f64> = remembering(4_000, 0.0).iter().map(|x| ((x - 5.0) / 2.0).exp()).collect();
        let shape = Shape { autocorrelation: None, ..Shape::of(&values) };
        let limits = Limits::of(&values, 0..values.len(), &shape).unwrap();
        assert_eq!(limits.method, Method::Quantiles);
        near(limits.center, 1.0, 0.05);
        near(limits.upper - limits.center, 3.2087, 0.15);
        near(limits.center - limits.lower, 0.9482, 0.08);
        near(limits.sigma, (3.2087 + 0.9482) / 6.0, 0.12);
    }

    #[test]
    fn limits_settle_with_twenty_batches_of_the_base_period() {
        let values = remembering(40, 0.0);
        let steady = Shape { autocorrelation: None, normality: None };
        let provisional = |base| Limits::of(&values, base, &steady).unwrap().provisional();
        assert!(provisional(0..19) && !provisional(0..20));
        assert_eq!(Limits::of(&values, 3..4, &steady), None);
        // The limits are those of the base period, and judge the others too.
        let limits = Limits::of(&values, 10..20, &steady).unwrap();
        let sigma = MovingRange::of(&values[10..20]).unwrap().sigma();
        assert!(
            (limits.center - mean(&values[10..20])).abs() < 1e-12 && (limits.sigma - sigma).abs() < 1e-12
        );
        assert!((limits.z[30] - (values[30] - limits.center) / sigma).abs() < 1e-9);
        let doubtful = |p| Shape { normality: Some(Normality { a_squared: 1.0, p }), ..steady };
        assert!(doubtful(0.01).is_normal() && !doubtful(0.0099).is_normal());
    }
}
