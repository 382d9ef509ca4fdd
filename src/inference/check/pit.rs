//! Do the intervals hold for batches that took no part? LOO-PIT and coverage.
//!
//! u is the share of the forecast below the reading, the batch left out ([`crate::inference::foretold`]). When forecasts are
//! right u is uniform on 0..1: too many near 0 and 1 mean intervals too narrow, too many in the middle too wide, a
//! slope a forecast off to one side. The distance from uniform is told by Kolmogorov's D = max |F(u) - u| with p by its
//! limit (Kolmogorov 1933; Stephens 1970, *Journal of the Royal Statistical Society B* 32:115-122, for the correction
//! sqrt(n) + 0.12 + 0.11/sqrt(n)), and by how many readings lie inside central intervals.
//!
//! Limits: batches hang together through the parameters, so p is a guide; k-hat says where u itself is rough.

use schemars::JsonSchema;
use serde::Serialize;

use crate::inference::foretold::Foretold;

/// Bins of the histogram.
const BINS: usize = 10;
/// Levels of the intervals.
const LEVELS: [f64; 3] = [0.50, 0.80, 0.90];
/// Terms of Kolmogorov's series.
const TERMS: i32 = 100;

/// What LOO-PIT says.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Pit {
    /// Readings.
    pub readings: usize,
    /// u of each, sorted.
    pub values: Vec<f64>,
    /// Readings in each tenth.
    pub bins: Vec<usize>,
    /// Kolmogorov's distance from uniform.
    pub distance: f64,
    /// Chance of such a distance or a larger one when forecasts are right.
    pub p: f64,
    /// Readings inside central intervals.
    pub coverage: Vec<Inside>,
    /// What it means.
    pub says: String,
}

/// Readings inside central intervals of one level.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Inside {
    /// Level of the interval.
    pub level: f64,
    /// How many lie inside.
    pub inside: usize,
    /// Their share.
    pub share: f64,
}

/// LOO-PIT of batches foretold without themselves; `None` without any.
pub fn pit(told: &[Foretold]) -> Option<Pit> {
    let mut values: Vec<f64> = told.iter().map(|f| f.below).filter(|u| u.is_finite()).collect();
    if values.is_empty() {
        return None;
    }
    values.sort_by(f64::total_cmp);
    let n = values.len();
    let mut bins = vec![0; BINS];
    for u in &values {
        bins[((u * BINS as f64) as usize).min(BINS - 1)] += 1;
    }
    let inside = |level: f64| {
        let edge = 0.5 * (1.0 - level);
        let inside = values.iter().filter(|u| (edge..=1.0 - edge).contains(*u)).count();
        Inside { level, inside, share: inside as f64 / n as f64 }
    };
    let coverage: Vec<Inside> = LEVELS.map(inside).into();
    let distance = distance(&values);
    let p = chance(distance, n);
    let says = says(p, &coverage, &values);
    Some(Pit { readings: n, bins, distance, p, coverage, says, values })
}

/// Kolmogorov's distance of sorted values from uniform.
fn distance(sorted: &[f64]) -> f64 {
    let n = sorted.len() as f64;
    let one = |(i, u): (usize, &f64)| ((i as f64 + 1.0) / n - u).max(u - i as f64 / n);
    sorted.iter().enumerate().map(one).fold(0.0, f64::max)
}

/// Chance of a distance as large or larger among `n` uniform values.
fn chance(distance: f64, n: usize) -> f64 {
    let root = (n as f64).sqrt();
    let l = (root + 0.12 + 0.11 / root) * distance;
    if l < 0.2 {
        // The alternating series needs many terms there, and its sum is one.
        return 1.0;
    }
    let term = |k: i32| (-2.0 * f64::from(k * k) * l * l).exp() * if k % 2 == 1 { 2.0 } else { -2.0 };
    (1..=TERMS).map(term).sum::<f64>().clamp(0.0, 1.0)
}

fn says(p: f64, coverage: &[Inside], values: &[f64]) -> String {
    const UNLIKELY: f64 = 0.05;
    let n = values.len();
    let ninety = coverage.last().map_or(0.0, |c| 100.0 * c.share);
    let verdict = if n < 10 {
        "too few to judge by"
    } else if p >= UNLIKELY {
        "as they should"
    } else {
        let mean = values.iter().sum::<f64>() / n as f64;
        let half = coverage.first().map_or(0.5, |c| c.share);
        // 1/sqrt(12 n) is the standard error of the mean of uniform values.
        if (mean - 0.5).abs() > 2.0 / (12.0 * n as f64).sqrt() {
            if mean > 0.5 {
                "the doughs rise more than foretold"
            } else {
                "the doughs rise less than foretold"
            }
        } else if half < 0.5 {
            "the intervals are too narrow"
        } else {
            "the intervals are too wide"
        }
    };
    format!(
        "of {n} batches, each foretold without itself, {ninety:.0} % lie inside their 90 % interval: {verdict}"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// scipy.stats.kstwobign.sf(x) of SciPy: 1.0 0.26999967167735456, 1.36 0.04948586755181118 (the familiar
    /// 5 % point), from memory for the second's digits beyond the fourth.
    #[test]
    fn the_limit_of_kolmogorov() {
        let n = 100_000_000;
        let root = (n as f64).sqrt();
        let at = |l: f64| chance(l / (root + 0.12 + 0.11 / root), n);
        assert!((at(1.0) - 0.269_999_671_677_354_56).abs() < 1e-9);
        assert!((at(1.36) - 0.0495).abs() < 1e-4);
    }

    #[test]
    fn distance_of_few_values_by_hand() {
        // F jumps to 1/2 at 0.1 and to 1 at 0.4: the largest gap is 1 - 0.4.
        assert!((distance(&[0.1, 0.4]) - 0.6).abs() < 1e-15);
    }
}
