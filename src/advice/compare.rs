//! A paired comparison: two kinds of one thing (two flours, two rooms), baked side by side, and how often.
//!
//! Both doughs of a pair are mixed on one day, so that room, fridge and tap are the same for both; d is their difference
//! of ln rise, with standard deviation s_d = sqrt(2 v + 2 v): v the squared scale of t4 of one batch under the fit (its
//! reading and its own vigour), 2 v its variance. The paired t test at level 0.05, two-sided, finds a difference D with
//! power P(|T| > t) where T is noncentral t of n - 1 degrees and noncentrality sqrt(n) D/s_d:
//! T = (Z + delta)/sqrt(X/nu), integrated over the chi-square X by its quantiles.
//!
//! Source: any text on power of t tests; checked against SciPy's noncentral t. Limits: the t test holds for normal
//! differences; the noise here has heavier tails, so the count is a little low when a jar is misread.

use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use schemars::JsonSchema;
use serde::Serialize;
use statrs::distribution::{ChiSquared, ContinuousCDF, Normal, StudentsT};

use super::{AdviceError, Interval, plan_name};
use crate::dough::{Batch, Column, Value};
use crate::inference::forecast::{Component, Forecaster, Mixture};
use crate::inference::student::VARIANCE;

/// Level of the test, two-sided.
const LEVEL: f64 = 0.05;
/// Quantiles of the chi-square that the power is summed over.
const QUANTILES: usize = 2000;
/// Pairs looked at, at most.
const MOST_PAIRS: usize = 400;

/// How to compare.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Comparison {
    /// Which column differs.
    pub factor: Column,
    /// Its two values.
    pub between: [String; 2],
    /// Difference of rise to be found, as a share.
    pub difference: f64,
    /// Standard deviation of the difference of ln rise of a pair.
    pub pair_sd: f64,
    /// Pairs to bake.
    pub pairs: usize,
    /// Batches in all.
    pub batches: usize,
    /// The power that so many give.
    pub power: f64,
    /// Which is mixed first, pair by pair: in each two pairs, each is first once.
    pub order: Vec<[String; 2]>,
    /// What the fit already says of the difference of ln rise, second against first, as a share.
    pub foretold: Interval,
    /// Those of the two values with which no batch was baked: of them the fit knows only what holds for most kitchens.
    pub never_baked: Vec<String>,
}

impl Comparison {
    /// Names the values with which none of these batches was baked.
    pub fn naming_the_new(mut self, batches: &[Batch]) -> Self {
        let baked = |value: &&String| {
            batches.iter().any(|b| b.get(self.factor).is_some_and(|v| v.to_string() == **value))
        };
        self.never_baked = self.between.iter().filter(|value| !baked(value)).cloned().collect();
        self
    }
}

/// Plans the comparison of two values of a column about a filled plan.
///
/// # Errors
/// When the column cannot hold the values, the plan cannot be foretold, or so many pairs are needed that nobody bakes
/// them.
pub fn compare(
    forecaster: &mut Forecaster,
    plan: &Batch,
    factor: Column,
    between: [&str; 2],
    difference: f64,
    power: f64,
    seed: u64,
) -> Result<Comparison, AdviceError> {
    let with = |value: &str| {
        let mut b = Batch { dough_temp_c: plan.dough_temp_c.or(Some(24.0)), ..plan.clone() };
        b.set(factor, &Value::Text(value.into())).map_err(|e| AdviceError::Limits(e.to_string()))?;
        super::predict::asked(&b)?;
        Ok::<_, AdviceError>(b)
    };
    let [a, b] = [with(between[0])?, with(between[1])?];
    if between[0] == between[1] {
        return Err(AdviceError::Limits(format!(
            "{factor} is '{}' on both sides: give two values",
            between[0]
        )));
    }
    let forecasts = [&a, &b].map(|batch| {
        let (prepared, _) = forecaster.ready(batch);
        // What is not known of lots stays out of the noise of a pair: it may be the very thing that is compared.
        (forecaster.rise(&prepared).0, forecaster.own_noise(&prepared))
    });
    let pair_sd = (VARIANCE * (forecasts[0].1 + forecasts[1].1)).sqrt();
    let wanted = difference.ln_1p().abs();
    let pairs = (2..=MOST_PAIRS).find(|n| power_of(*n, wanted / pair_sd) >= power).ok_or_else(|| {
        AdviceError::Limits(format!(
            "a difference of {:.1} % is too small to find{}: it takes more than {MOST_PAIRS} pairs; ask for a larger one",
            100.0 * difference,
            plan_name(plan)
        ))
    })?;
    let centres = |i: usize| forecasts[i].0.iter().map(|c| c.centre);
    let differences =
        Mixture(centres(1).zip(centres(0)).map(|(b, a)| Component { centre: b - a, scale: 1e-6 }).collect());
    Ok(Comparison {
        factor,
        between: between.map(String::from),
        difference,
        pair_sd,
        pairs,
        batches: 2 * pairs,
        power: power_of(pairs, wanted / pair_sd),
        order: order(pairs, between, seed),
        foretold: Interval::of(&differences).map(f64::exp_m1),
        never_baked: Vec::new(),
    })
}

/// Power of the paired t test, two-sided at 0.05, with `pairs` pairs and a difference of `effect` standard deviations of a
/// pair's difference.
pub fn power_of(pairs: usize, effect: f64) -> f64 {
    power(pairs as f64 - 1.0, (pairs as f64).sqrt() * effect)
}

/// P(|T| > t) for a noncentral t of `degrees` and noncentrality `delta`.
fn power(degrees: f64, delta: f64) -> f64 {
    let (Ok(student), Ok(chi), Ok(normal)) =
        (StudentsT::new(0.0, 1.0, degrees), ChiSquared::new(degrees), Normal::new(0.0, 1.0))
    else {
        return f64::NAN;
    };
    let t = student.inverse_cdf(1.0 - LEVEL / 2.0);
    let beyond = |i: usize| {
        let x = chi.inverse_cdf((i as f64 + 0.5) / QUANTILES as f64);
        let edge = t * (x / degrees).sqrt();
        normal.cdf(delta - edge) + normal.cdf(-edge - delta)
    };
    (0..QUANTILES).map(beyond).sum::<f64>() / QUANTILES as f64
}

/// In each two pairs one begins with the first and one with the second, by chance.
fn order(pairs: usize, between: [&str; 2], seed: u64) -> Vec<[String; 2]> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let [a, b] = between.map(String::from);
    let mut all = Vec::new();
    while all.len() < pairs {
        let mut two = [[a.clone(), b.clone()], [b.clone(), a.clone()]];
        two.shuffle(&mut rng);
        all.extend(two);
    }
    all.truncate(pairs);
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn power_agrees_with_scipy() {
        // SciPy 1.17.1: c = t.ppf(.975, n-1); nct.sf(c, n-1, sqrt(n) e) + nct.cdf(-c, n-1, sqrt(n) e).
        for (pairs, effect, expected) in SCIPY {
            let found = power_of(pairs, effect);
            assert!((found - expected).abs() < 2e-4, "{pairs} {effect}: {found} {expected}");
        }
    }

    const SCIPY: [(usize, f64, f64); 5] = [
        (34, 0.5, 0.807_777_501_279_273_8),
        (10, 1.0, 0.803_096_856_632_721_9),
        (5, 2.0, 0.908_884_868_100_944),
        (3, 1.5, 0.316_381_861_559_150_66),
        (60, 0.2, 0.331_678_646_201_806_7),
    ];

    #[test]
    fn each_two_pairs_begin_once_with_each() {
        let all = order(7, ["a", "b"], 3);
        assert_eq!(all.len(), 7);
        for two in all.chunks(2).filter(|c| c.len() == 2) {
            assert_ne!(two[0], two[1]);
        }
        assert_eq!(all, order(7, ["a", "b"], 3));
    }
}
