//! The spread after, divided by the spread before, of two sets of batches named beforehand.
//!
//! The interval holds every ratio that a permutation test does not reject: divide the later deviations by a supposed
//! ratio, and the batches of both sides should be exchangeable, so reshuffle them over the sides and see how often the
//! ratio of standard deviations comes out as large as the one seen (Pitman 1937, *Suppl J R Stat Soc* 4:119-130, for
//! the test; an interval by inverting it, Garthwaite 1996, *Biometrics* 52:1387-1393 - both from memory). So "p95 below
//! 1" is claimed of 5 % of kitchens in which nothing changed, whether their values are normal or not; on normal values
//! it lies close to the variance-ratio interval with F(n0 - 1, n1 - 1), which is claimed of many more once there are
//! outliers.
//!
//! Deviations are from each side's mean. Where neighbours resemble each other, they are the innovations of a
//! first-order autoregression, which have the same ratio.

use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;
use schemars::JsonSchema;
use serde::Serialize;
use statrs::distribution::{ContinuousCDF, FisherSnedecor};

use super::autocorrelation::innovations;
use super::sample::{Quantiles, mean, positive_sd};

/// The fewest batches on a side.
pub const FEWEST: usize = 3;
const RESHUFFLES: usize = 999;
const SEED: u64 = 1_937;

/// What can be said of the spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Narrower than before, more than chance.
    Narrower,
    /// Wider than before, more than chance.
    Wider,
    /// Not to be told from chance.
    NotTold,
}

/// One side of the comparison, in the unit of the measure.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Side {
    /// Number of batches.
    pub batches: usize,
    /// Their mean.
    pub mean: f64,
    /// Their standard deviation.
    pub sd: f64,
}

/// Spread after over spread before.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SpreadRatio {
    /// Median and central 90 %.
    #[serde(flatten)]
    pub ratio: Quantiles,
    /// Chance that the spread is narrower.
    pub chance_narrower: f64,
    /// What can be said.
    pub verdict: Verdict,
    /// The earlier batches.
    pub before: Side,
    /// The later batches.
    pub after: Side,
}

impl SpreadRatio {
    /// Of values in time order, both sides in one unit. `phi`: how strongly neighbours resemble each other, zero if they do
    /// not. `None` when a side has fewer than three batches, or no spread.
    pub fn of(before: &[f64], after: &[f64], phi: f64) -> Option<Self> {
        let reshuffled = Reshuffled::of(&left(before, phi), &left(after, phi));
        let (before, after) = (Side::of(before)?, Side::of(after)?);
        let ratio =
            Quantiles { p05: reshuffled.at(0.05)?, p50: reshuffled.at(0.50)?, p95: reshuffled.at(0.95)? };
        let verdict = match ratio {
            Quantiles { p95, .. } if p95 < 1.0 => Verdict::Narrower,
            Quantiles { p05, .. } if p05 > 1.0 => Verdict::Wider,
            _ => Verdict::NotTold,
        };
        Some(Self { ratio, chance_narrower: reshuffled.chance_below(1.0), verdict, before, after })
    }
}

impl Side {
    fn of(values: &[f64]) -> Option<Self> {
        let sd = positive_sd(values).filter(|_| values.len() >= FEWEST)?;
        Some(Self { batches: values.len(), mean: mean(values), sd })
    }
}

/// What the mean, and the batch before, do not foretell.
fn left(values: &[f64], phi: f64) -> Vec<f64> {
    innovations(values, mean(values), phi)
}

/// Number, sum and sum of squares.
#[derive(Clone, Copy, Default)]
struct Sums {
    n: f64,
    sum: f64,
    squares: f64,
}

impl Sums {
    fn of<'a>(values: impl Iterator<Item = &'a f64>) -> Self {
        values.fold(Self::default(), |s, x| Self { n: s.n + 1.0, sum: s.sum + x, squares: s.squares + x * x })
    }

    fn less(self, other: Self) -> Self {
        Self { n: self.n - other.n, sum: self.sum - other.sum, squares: self.squares - other.squares }
    }

    /// Variance of these and, divided by `ratio`, those.
    fn variance_with(self, those: Self, ratio: f64) -> f64 {
        let (n, sum) = (self.n + those.n, self.sum + those.sum / ratio);
        (self.squares + those.squares / (ratio * ratio) - sum * sum / n) / (n - 1.0)
    }
}

/// The reshuffles of both sides, kept as sums so that any supposed ratio can be tried on them.
struct Reshuffled {
    before: Sums,
    after: Sums,
    /// Of the batches that a reshuffle puts on the later side: the sums of the earlier and of the later ones.
    moved: Vec<(Sums, Sums)>,
}

impl Reshuffled {
    fn of(before: &[f64], after: &[f64]) -> Self {
        let mut order: Vec<usize> = (0..before.len() + after.len()).collect();
        let mut rng = ChaCha8Rng::seed_from_u64(SEED);
        let mut one = |_| {
            let (later, _) = order.partial_shuffle(&mut rng, after.len());
            let earlier = later.iter().filter_map(|i| before.get(*i));
            let rest = later.iter().filter_map(|i| after.get(i.checked_sub(before.len())?));
            (Sums::of(earlier), Sums::of(rest))
        };
        let moved = (0..RESHUFFLES).map(&mut one).collect();
        Self { before: Sums::of(before.iter()), after: Sums::of(after.iter()), moved }
    }

    /// Chance that the ratio lies below this: the share of reshuffles, under this ratio, in which the later side's
    /// variance over the earlier's is at least as large as the one seen.
    fn chance_below(&self, ratio: f64) -> f64 {
        let none = Sums::default();
        let seen = none.variance_with(self.after, ratio) / self.before.variance_with(none, ratio);
        let as_large = |(earlier, later): &&(Sums, Sums)| {
            let before = self.before.less(*earlier).variance_with(self.after.less(*later), ratio);
            earlier.variance_with(*later, ratio) >= seen * before
        };
        (1 + self.moved.iter().filter(as_large).count()) as f64 / (RESHUFFLES + 1) as f64
    }

    /// The ratio below which the true one lies with this chance, by bisection of its logarithm; `None` without a spread.
    fn at(&self, chance: f64) -> Option<f64> {
        const HALVINGS: usize = 40;
        const WIDEST: f64 = 12.0;
        let none = Sums::default();
        let seen = (none.variance_with(self.after, 1.0) / self.before.variance_with(none, 1.0)).sqrt();
        if !(seen.is_finite() && seen > 0.0) {
            return None;
        }
        let (mut low, mut high) = (seen.ln() - WIDEST, seen.ln() + WIDEST);
        for _ in 0..HALVINGS {
            let middle = (low + high) / 2.0;
            match self.chance_below(middle.exp()) < chance {
                true => low = middle,
                false => high = middle,
            }
        }
        Some(((low + high) / 2.0).exp())
    }
}

/// About how many batches after it takes to find, in 9 of 10 kitchens, a spread that fell to `ratio` of what it was,
/// when there are `before` batches before; by the variance-ratio test of normal values. `None` when 500 do not suffice.
pub fn batches_to_show(before: usize, ratio: f64) -> Option<usize> {
    const POWER: f64 = 0.90;
    const MOST: usize = 500;
    let degrees = before.checked_sub(1)? as f64;
    let found = |n: &usize| {
        let df = (n - 1) as f64;
        let critical = FisherSnedecor::new(degrees, df).map(|f| f.inverse_cdf(0.95));
        let sampling = FisherSnedecor::new(df, degrees);
        matches!((critical, sampling), (Ok(c), Ok(s)) if s.cdf(1.0 / (ratio * ratio * c)) >= POWER)
    };
    (FEWEST..=MOST).find(found)
}
