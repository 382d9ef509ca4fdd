//! X-bar and s charts, for days with several batches (Shewhart; NIST/SEMATECH e-Handbook 6.3.2.1).
//!
//! Sigma within: Σ h s/c4 / Σ h over the days with at least two batches, h = c4²/(1 - c4²), the least-variance mix of
//! unequal sizes (Burr 1969, *J Qual Technol* 1:163-167); with equal sizes it is mean s / c4. Limits of a mean of n:
//! center ± 3 sigma/√n (A3); of a standard deviation: B3 and B4 times c4 sigma. Center: mean of all batches.
//!
//! Batches of a day share a room and often a flour lot, so days may differ by more than their batches do. When a one-way
//! analysis of variance says so (p < 0.01), the limits of the means come from their own moving range instead, as if each
//! day were one batch (the "between" chart; Wheeler 1995, *Advanced Topics in Statistical Process Control* - from memory).

use schemars::JsonSchema;
use serde::Serialize;
use statrs::distribution::{ContinuousCDF, FisherSnedecor};

use super::constants::{WIDTH, c4};
use super::individuals::MovingRange;
use super::sample::{mean, positive_sd, sd, sum_of_squares};
use super::series::Point;

/// Below this p-value the days differ by more than their batches explain.
pub const DAYS_DIFFER: f64 = 0.01;

/// One subgroup on both charts, in the unit of the values.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Subgroup {
    /// Its name, the day's as a rule.
    pub name: String,
    /// Number of batches.
    pub batches: usize,
    /// Their mean.
    pub mean: f64,
    /// Limits of the mean.
    pub mean_lower: f64,
    /// Limits of the mean.
    pub mean_upper: f64,
    /// Their standard deviation; `None` for a single batch.
    pub sd: Option<f64>,
    /// Limits of the standard deviation.
    pub sd_lower: Option<f64>,
    /// Limits of the standard deviation.
    pub sd_upper: Option<f64>,
}

/// Both charts.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct XbarS {
    /// Mean of all batches.
    pub center: f64,
    /// Standard deviation within a subgroup.
    pub sigma_within: f64,
    /// Chance of means so far apart if the subgroups were alike; `None` without a spread within.
    pub p_alike: Option<f64>,
    /// Whether the limits of the means come from the moving range of the means.
    pub from_means: bool,
    /// The subgroups, in time order.
    pub subgroups: Vec<Subgroup>,
}

impl XbarS {
    /// `None` unless at least two subgroups hold two batches or more, not all the same.
    pub fn of(points: &[Point]) -> Option<Self> {
        let groups = gather(points);
        let several: Vec<&[f64]> = groups.iter().filter(|g| g.1.len() >= 2).map(|g| g.1.as_slice()).collect();
        if several.len() < 2 {
            return None;
        }
        let sigma_within = pooled(&several);
        let all: Vec<f64> = groups.iter().flat_map(|g| g.1.iter().copied()).collect();
        positive_sd(&all)?;
        let center = mean(&all);
        let p_alike = p_alike(&groups, &all);
        let from_means = p_alike.is_none_or(|p| p < DAYS_DIFFER);
        let means: Vec<f64> = groups.iter().map(|g| mean(&g.1)).collect();
        let sigma_of_means = MovingRange::of(&means)?.sigma();
        let subgroups = groups
            .iter()
            .zip(&means)
            .map(|((name, values), mean)| {
                let n = values.len();
                let half = WIDTH * if from_means { sigma_of_means } else { sigma_within / (n as f64).sqrt() };
                let of_sd = sd(values).map(|_| sd_limits(n, sigma_within));
                Subgroup {
                    name: name.clone(),
                    batches: n,
                    mean: *mean,
                    mean_lower: center - half,
                    mean_upper: center + half,
                    sd: sd(values),
                    sd_lower: of_sd.map(|l| l.0),
                    sd_upper: of_sd.map(|l| l.1),
                }
            })
            .collect();
        Some(Self { center, sigma_within, p_alike, from_means, subgroups })
    }
}

impl Subgroup {
    /// What lies beyond its limits: the mean, the spread, or neither.
    pub fn beyond(&self) -> Option<&'static str> {
        let wide = self.sd.zip(self.sd_upper).is_some_and(|(sd, upper)| sd > upper);
        match (self.mean_lower..=self.mean_upper).contains(&self.mean) {
            false => Some("its mean is beyond the limits"),
            true if wide => Some("its batches differ by more than usual"),
            true => None,
        }
    }
}

/// Subgroups in the order of their first batch; a point without a name is a subgroup of its own.
fn gather(points: &[Point]) -> Vec<(String, Vec<f64>)> {
    let mut groups: Vec<(String, Vec<f64>)> = Vec::new();
    for point in points {
        let name = point.subgroup.as_ref().unwrap_or(&point.batch_id);
        match groups.iter_mut().find(|g| g.0 == *name) {
            Some(group) => group.1.push(point.value),
            None => groups.push((name.clone(), vec![point.value])),
        }
    }
    groups
}

fn pooled(several: &[&[f64]]) -> f64 {
    let (mut weighted, mut weights) = (0.0, 0.0);
    for values in several {
        let c4 = c4(values.len());
        let h = c4 * c4 / (1.0 - c4 * c4);
        weighted += h * sd(values).unwrap_or(0.0) / c4;
        weights += h;
    }
    weighted / weights
}

fn sd_limits(n: usize, sigma: f64) -> (f64, f64) {
    let c4 = c4(n);
    let half = WIDTH * (1.0 - c4 * c4).sqrt();
    ((c4 - half).max(0.0) * sigma, (c4 + half) * sigma)
}

fn p_alike(groups: &[(String, Vec<f64>)], all: &[f64]) -> Option<f64> {
    let within: f64 = groups.iter().map(|g| sum_of_squares(&g.1)).sum();
    let between = sum_of_squares(all) - within;
    let (df_between, df_within) = ((groups.len() - 1) as f64, (all.len() - groups.len()) as f64);
    if within <= 0.0 {
        return None;
    }
    let f = FisherSnedecor::new(df_between, df_within).ok()?;
    Some(f.sf((between / df_between) / (within / df_within)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(days: &[&[f64]]) -> Vec<Point> {
        let of_day = |(day, values): (usize, &&[f64])| -> Vec<Point> {
            let when = format!("2026-01-{:02}", 1 + day).parse().unwrap();
            let point = |value: &f64| Point {
                batch_id: format!("{day}-{value}"),
                when,
                value: *value,
                subgroup: Some(format!("day {day}")),
            };
            values.iter().map(point).collect()
        };
        days.iter().enumerate().flat_map(of_day).collect()
    }

    #[test]
    fn days_of_unlike_size_count_by_what_they_tell() {
        // By arithmetic from the head of this file with c4(3) = 0.886227 and c4(4) = 0.921318; SciPy 1.17.1, f_oneway.
        let chart = XbarS::of(&points(&[&[1.0, 2.0, 3.0], &[1.5, 2.5, 3.5, 2.0]])).unwrap();
        assert!((chart.sigma_within - 1.006_366).abs() < 2e-5, "{}", chart.sigma_within);
        assert!((chart.p_alike.unwrap() - 0.614_605_598_9).abs() < 1e-8, "{:?}", chart.p_alike);
        assert!(!chart.from_means);
        // A day of one batch has no spread, and limits as wide as one batch needs.
        let chart = XbarS::of(&points(&[&[1.0, 2.0, 3.0], &[1.5, 2.5, 3.5, 2.0], &[2.2]])).unwrap();
        let single = &chart.subgroups[2];
        assert_eq!((single.sd, single.sd_lower, single.sd_upper), (None, None, None));
        assert!((single.mean_upper - single.mean_lower - 6.0 * chart.sigma_within).abs() < 1e-12);
        assert_eq!(XbarS::of(&points(&[&[1.0, 2.0], &[1.5], &[2.0]])), None);
        assert_eq!(XbarS::of(&points(&[&[1.0, 1.0], &[1.0, 1.0]])), None);
    }

    #[test]
    fn limits_of_spreads_are_those_of_the_table() {
        // B3 and B4 times c4, for a sigma of one; Walpole et al., table A.22: c4(4) 0.9213, B4 2.266; c4(8) 0.9650,
        // B3 0.185, B4 1.815.
        let (lower, upper) = sd_limits(4, 1.0);
        assert!(lower == 0.0 && (upper - 2.266 * 0.9213).abs() < 1e-3, "{upper}");
        let (lower, upper) = sd_limits(8, 2.0);
        assert!((lower - 2.0 * 0.185 * 0.9650).abs() < 2e-3 && (upper - 2.0 * 1.815 * 0.9650).abs() < 2e-3);
    }

    #[test]
    fn days_that_differ_are_judged_by_other_days() {
        // Means 0.005 and 1.005 in turn: their mean moving range is one, sigma 1/d2, by arithmetic.
        let days: [&[f64]; 4] = [&[0.0, 0.01], &[1.0, 1.01], &[0.0, 0.01], &[1.0, 1.01]];
        let chart = XbarS::of(&points(&days)).unwrap();
        assert!(chart.from_means && chart.p_alike.unwrap() < 1e-6);
        assert!(
            (chart.subgroups[0].mean_upper - (0.505 + 3.0 / std::f64::consts::FRAC_2_SQRT_PI)).abs() < 1e-8
        );
        // Days without a spread within tell nothing of it.
        let chart = XbarS::of(&points(&[&[0.0, 0.0], &[1.0, 1.0], &[0.0, 0.0]])).unwrap();
        assert_eq!((chart.p_alike, chart.from_means), (None, true));
    }

    #[test]
    fn what_lies_beyond_is_named() {
        let inside = Subgroup {
            name: "day".into(),
            batches: 3,
            mean: 0.0,
            mean_lower: -1.0,
            mean_upper: 1.0,
            sd: Some(0.5),
            sd_lower: Some(0.0),
            sd_upper: Some(0.5),
        };
        assert_eq!(inside.beyond(), None);
        let mean = Subgroup { mean: 1.1, ..inside.clone() };
        assert_eq!(mean.beyond(), Some("its mean is beyond the limits"));
        let wide = Subgroup { sd: Some(0.6), ..inside };
        assert_eq!(wide.beyond(), Some("its batches differ by more than usual"));
    }
}
