//! Limits for values that are not normal: lopsided, stepped, or with outliers.
//!
//! Center at the median; "one sigma" and "two sigma" on each side are where a normal distribution has them, at the
//! quantiles 15.87 % and 2.28 % from the end. The few batches of a kitchen hold nothing farther out, so three sigma
//! continues the curve: with d1 and d2 the distances from the center, d3 = 3 (d2 - d1), which keeps the second
//! difference (3 for a normal distribution), but at least 1.5 d2. In between, distances are linear. A choice of this
//! project; limits from quantiles as such: ISO 22514-2 and NIST/SEMATECH e-Handbook 6.1.6 use those of the three-sigma
//! points.
//!
//! A side without spread (ties) takes the other side's distances.

use super::sample::{quantile_of_sorted, sorted};

/// Shares of a normal distribution beyond one and beyond two sigma on one side.
const BEYOND_ONE: f64 = 0.158_655_253_931_457_05;
const BEYOND_TWO: f64 = 0.022_750_131_948_179_21;

/// A center and, on each side of it, how far one, two and three sigma lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// The middle line.
    pub center: f64,
    below: [f64; 3],
    above: [f64; 3],
}

impl Scale {
    /// The same sigma, above zero and in the unit of the center, on both sides.
    pub fn even(center: f64, sigma: f64) -> Self {
        let side = [sigma, 2.0 * sigma, 3.0 * sigma];
        Self { center, below: side, above: side }
    }

    /// From quantiles of at least two values in any order; `None` when the quantiles have no spread, since nearly all
    /// values are the same.
    pub fn by_quantiles(values: &[f64]) -> Option<Self> {
        let ascending = sorted(values);
        let at = |p| quantile_of_sorted(&ascending, p);
        let center = at(0.5);
        let below = side(center - at(BEYOND_ONE), center - at(BEYOND_TWO));
        let above = side(at(1.0 - BEYOND_ONE) - center, at(1.0 - BEYOND_TWO) - center);
        Some(Self { center, below: below.or(above)?, above: above.or(below)? })
    }

    /// How far the limits lie below and above the center, both above zero, in the unit of the values.
    pub fn three_sigma(&self) -> (f64, f64) {
        (self.below[2], self.above[2])
    }

    /// How many sigmas a value lies from the center; below zero on its lower side.
    pub fn sigmas(&self, value: f64) -> f64 {
        let distance = value - self.center;
        let [one, two, three] = if distance < 0.0 { self.below } else { self.above };
        let d = distance.abs();
        let sigmas = match d {
            d if d <= one => d / one,
            d if d <= two => 1.0 + (d - one) / (two - one),
            d => 2.0 + (d - two) / (three - two),
        };
        sigmas.copysign(distance)
    }
}

/// Distances of one, two and three sigma; `None` without a spread.
fn side(one: f64, two: f64) -> Option<[f64; 3]> {
    /// Ties at the center must not make every other value an outlier.
    const LEAST_SHARE: f64 = 0.25;
    let one = one.max(LEAST_SHARE * two);
    (one > 0.0).then(|| [one, two, (3.0 * (two - one)).max(1.5 * two)])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn between_one_two_and_three_sigma_distances_are_linear() {
        let scale = Scale { center: 1.0, below: [1.0, 3.0, 6.0], above: [2.0, 4.0, 8.0] };
        for (value, sigmas) in [
            (1.0, 0.0),
            (2.0, 0.5),
            (3.0, 1.0),
            (4.0, 1.5),
            (5.0, 2.0),
            (7.0, 2.5),
            (13.0, 4.0),
            (0.5, -0.5),
            (-1.0, -1.5),
            (-3.5, -2.5),
        ] {
            assert!((scale.sigmas(value) - sigmas).abs() < 1e-12, "{value}: {}", scale.sigmas(value));
        }
        assert_eq!(scale.three_sigma(), (6.0, 8.0));
        assert_eq!(
            Scale::even(1.0, 2.0),
            Scale { center: 1.0, below: [2.0, 4.0, 6.0], above: [2.0, 4.0, 6.0] }
        );
    }

    #[test]
    fn three_sigma_continues_the_curve() {
        // By arithmetic from the head of this file: 3 (d2 - d1), but at least 1.5 d2; d1 at least a quarter of d2.
        assert_eq!(side(1.0, 2.0), Some([1.0, 2.0, 3.0]));
        assert_eq!(side(1.0, 3.0), Some([1.0, 3.0, 6.0]));
        assert_eq!(side(1.0, 1.5), Some([1.0, 1.5, 2.25]));
        assert_eq!(side(0.0, 1.0), Some([0.25, 1.0, 2.25]));
        assert_eq!(side(0.0, 0.0), None);
    }

    #[test]
    fn sides_have_their_own_quantiles_and_ties_borrow_the_other_side() {
        // 0 to 100: the quantiles 15.87 and 2.28 % from each end lie 34.13 and 47.72 from the median.
        let even: Vec<f64> = (0..=100).map(f64::from).collect();
        let scale = Scale::by_quantiles(&even).unwrap();
        assert!((scale.center - 50.0).abs() < 1e-9);
        for side in [scale.below, scale.above] {
            assert!((side[0] - 34.134_474_6).abs() < 1e-6 && (side[1] - 47.724_986_8).abs() < 1e-6);
        }
        let half: Vec<f64> = even.iter().map(|x| x.max(50.0)).collect();
        let scale = Scale::by_quantiles(&half).unwrap();
        assert_eq!((scale.center, scale.below), (50.0, scale.above));
        assert_eq!(Scale::by_quantiles(&[1.0; 9]), None);
    }
}
