//! Is a change of spread, at a date that nobody named beforehand, more than chance?
//!
//! Picking the clearest of many possible dates makes chance look like a change. So how clearly the spread became
//! narrower is compared with how clearly it does in reshuffles of the same batches. How clearly: the mean, over dates
//! with ten batches or more on each side, of the likelihood ratio for a spread of R = 0.6 times the former from that
//! date on, against one spread throughout, levels on both sides and the common scale left free:
//!
//! ln ratio = -(n1 - 1) ln R - ((n - 2)/2) ln[(S0 + S1/R²)/(S0 + S1)],
//!
//! n1 batches after the date, S0 and S1 the sums of squares about the means before and after it; 1/R for a spread that
//! became wider. For one date that is the most powerful test which levels and scale do not move (Lehmann & Romano 2005,
//! *Testing Statistical Hypotheses*, chapter 6; the mean over dates: Andrews & Ploberger 1994, *Econometrica*
//! 62:1383-1414 - both from memory). R between "halved" and "the same" keeps the power even over the dates: by 20,000
//! simulated histories of 60 normal batches with critical values known, R = 0.6 against R = 0.5 finds a halving after
//! 15, 30 and 45 batches in 0.864, 0.950 and 0.797 against 0.855, 0.938 and 0.828.
//!
//! What is shuffled is what the likelier of "no change" and "another level" leaves over; where neighbours resemble each
//! other, the innovations of a first-order autoregression, with the resemblance put back. The share of reshuffles at
//! least as clear is the p-value (a permutation test of residuals; Freedman & Lane 1983, *J Bus Econ Stat* 1:292-298).
//! No distribution is assumed.

use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;
use serde::Serialize;

use super::autocorrelation::{Autocorrelation, innovations};
use super::change::{Evidence, FEWEST, constants, log_mean, standardised};
use super::sample::{mean, positive_sd};
use super::spread::Verdict;

/// Reshuffles behind a p-value.
pub const RESHUFFLES: usize = 999;
/// The fewest batches on each side of a date.
pub const FEWEST_A_SIDE: usize = 10;
/// R: the change of spread that is looked for.
const RATIO: f64 = 0.6;
const SEED: u64 = 1_983;
/// A change of spread is claimed below this one-sided p-value, or at it.
pub const CLAIM: f64 = 0.05;

/// How often chance makes as clear a change.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Reshuffled {
    /// Share of reshuffles that look at least as much like a narrowing.
    pub p_narrower: f64,
    /// Share of reshuffles that look at least as much like a widening.
    pub p_wider: f64,
    /// What can be said: the likelier of the two, from 0.05 down.
    pub verdict: Verdict,
}

impl Reshuffled {
    /// Of values in time order; `None` with fewer than twenty, or when all are the same.
    pub fn of(values: &[f64]) -> Option<Self> {
        let (z, _) = standardised(values).filter(|(z, _)| z.len() >= 2 * FEWEST_A_SIDE)?;
        let plain = Plain::of(&z, &Evidence::of(&z, &constants(z.len())));
        positive_sd(&plain.left)?;
        let seen = clearness(&plain.left);
        let mut rng = ChaCha8Rng::seed_from_u64(SEED);
        let (mut narrower, mut wider) = (1, 1);
        for _ in 0..RESHUFFLES {
            let shuffled = clearness(&plain.reshuffled(&mut rng));
            narrower += usize::from(shuffled.0 >= seen.0);
            wider += usize::from(shuffled.1 >= seen.1);
        }
        let share = |k: usize| k as f64 / (RESHUFFLES + 1) as f64;
        let (p_narrower, p_wider) = (share(narrower), share(wider));
        let verdict = match (p_narrower <= p_wider, p_narrower.min(p_wider) <= CLAIM) {
            (_, false) => Verdict::NotTold,
            (true, true) => Verdict::Narrower,
            (false, true) => Verdict::Wider,
        };
        Some(Self { p_narrower, p_wider, verdict })
    }
}

/// Log mean likelihood ratio of a spread that became narrower, and of one that became wider.
fn clearness(values: &[f64]) -> (f64, f64) {
    let n = values.len();
    let total = mean(values) * n as f64;
    let total_squares: f64 = values.iter().map(|x| x * x).sum();
    let (mut sum, mut squares) = (0.0, 0.0);
    let (mut narrower, mut wider) = (Vec::new(), Vec::new());
    for (i, x) in values.iter().enumerate() {
        if (FEWEST_A_SIDE..=n - FEWEST_A_SIDE).contains(&i) {
            let (before, after) = (i as f64, (n - i) as f64);
            let s0 = squares - sum * sum / before;
            let s1 = total_squares - squares - (total - sum).powi(2) / after;
            let log_ratio = |r: f64| {
                let scale = (s0 + s1 / (r * r)) / (s0 + s1);
                -(after - 1.0) * r.ln() - (n as f64 - 2.0) / 2.0 * scale.ln()
            };
            narrower.push(log_ratio(RATIO));
            wider.push(log_ratio(1.0 / RATIO));
        }
        sum += x;
        squares += x * x;
    }
    let mean_of = |logs: Vec<f64>| log_mean(logs.iter().copied(), logs.len());
    (mean_of(narrower), mean_of(wider))
}

/// What the likelier description without a change of spread leaves over.
struct Plain {
    left: Vec<f64>,
    phi: f64,
    innovations: Vec<f64>,
}

impl Plain {
    fn of(z: &[f64], e: &Evidence) -> Self {
        let clearest = e.level.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1));
        let (at, likelihood) = clearest.map_or((0, f64::NEG_INFINITY), |(i, l)| (i + FEWEST, *l));
        let changed = likelihood - (e.level.len() as f64).ln() > e.none;
        let cut = if changed { at } else { z.len() };
        let level = |part: &[f64]| vec![mean(part); part.len()];
        let levels = [level(&z[..cut]), if changed { level(&z[cut..]) } else { Vec::new() }].concat();
        let left: Vec<f64> = z.iter().zip(&levels).map(|(x, l)| x - l).collect();
        let phi =
            Autocorrelation::of(&left).filter(Autocorrelation::matters).map_or(0.0, |a| a.coefficient());
        Self { phi, innovations: innovations(&left, 0.0, phi), left }
    }

    fn reshuffled(&self, rng: &mut ChaCha8Rng) -> Vec<f64> {
        let mut order = self.innovations.clone();
        order.shuffle(rng);
        order[0] /= (1.0 - self.phi * self.phi).sqrt();
        for i in 1..order.len() {
            order[i] += self.phi * order[i - 1];
        }
        order
    }
}

#[cfg(test)]
mod tests {
    use rand_distr::{Distribution, StandardNormal};

    use super::*;

    fn noise(seed: u64, n: usize) -> Vec<f64> {
        StandardNormal.sample_iter(ChaCha8Rng::seed_from_u64(seed)).take(n).collect()
    }

    /// The formula at the head of this file, each sum of squares taken about its mean.
    fn by_formula(values: &[f64], r: f64) -> f64 {
        let about = |part: &[f64]| {
            let m = part.iter().sum::<f64>() / part.len() as f64;
            part.iter().map(|x| (x - m) * (x - m)).sum::<f64>()
        };
        let n = values.len() as f64;
        let dates = 10..=values.len() - 10;
        let ratio = |at: usize| {
            let (s0, s1) = (about(&values[..at]), about(&values[at..]));
            let n1 = n - at as f64;
            r.powf(1.0 - n1) * ((s0 + s1 / r.powi(2)) / (s0 + s1)).powf(1.0 - n / 2.0)
        };
        (dates.clone().map(ratio).sum::<f64>() / dates.count() as f64).ln()
    }

    #[test]
    fn clearness_is_the_mean_likelihood_ratio_over_dates() {
        for n in [20, 21, 47] {
            let values: Vec<f64> = noise(1, n).iter().map(|x| 3.0 + 0.7 * x).collect();
            let (narrower, wider) = clearness(&values);
            assert!((narrower - by_formula(&values, 0.6)).abs() < 1e-9, "{n}: {narrower}");
            assert!((wider - by_formula(&values, 1.0 / 0.6)).abs() < 1e-9, "{n}: {wider}");
        }
    }

    #[test]
    fn a_spread_that_fell_to_a_quarter_is_narrower_and_turned_round_wider() {
        let mut values = noise(2, 60);
        values[30..].iter_mut().for_each(|x| *x *= 0.25);
        let found = Reshuffled::of(&values).unwrap();
        assert_eq!((found.verdict, found.p_narrower), (Verdict::Narrower, 0.001));
        assert!(found.p_wider > 0.5);
        values.reverse();
        let turned = Reshuffled::of(&values).unwrap();
        assert_eq!((turned.verdict, turned.p_wider), (Verdict::Wider, 0.001));
        assert!(Reshuffled::of(&values[..20]).is_some() && Reshuffled::of(&values[..19]).is_none());
        assert!(Reshuffled::of(&[0.5; 30]).is_none());
    }

    #[test]
    fn a_level_that_changed_is_taken_out_before_the_shuffle() {
        let mut values = noise(3, 40);
        values[25..].iter_mut().for_each(|x| *x += 6.0);
        let of = |z: &[f64]| Plain::of(z, &Evidence::of(z, &constants(z.len())));
        let plain = of(&values);
        for part in [&plain.left[..25], &plain.left[25..]] {
            assert!(mean(part).abs() < 1e-12);
        }
        // Without a change one mean is taken out.
        let even = of(&values[..25]);
        assert!(mean(&even.left).abs() < 1e-12 && mean(&even.left[..10]).abs() > 1e-6);
    }

    #[test]
    fn reshuffles_keep_what_neighbours_share() {
        let mut values = noise(4, 400);
        for i in 1..values.len() {
            values[i] = 0.6 * values[i - 1] + 0.8 * values[i];
        }
        let plain = Plain::of(&values, &Evidence::of(&values, &constants(values.len())));
        // 0.6 by construction; 400 values tell it to 0.04.
        assert!((plain.phi - 0.6).abs() < 0.12, "{}", plain.phi);
        let mut rng = ChaCha8Rng::seed_from_u64(5);
        let shuffled: Vec<Vec<f64>> = (0..50).map(|_| plain.reshuffled(&mut rng)).collect();
        let average = |of: &dyn Fn(&[f64]) -> f64| shuffled.iter().map(|s| of(s)).sum::<f64>() / 50.0;
        let memory = average(&|s| Autocorrelation::of(s).unwrap().coefficient());
        assert!((memory - plain.phi).abs() < 0.05, "{memory}");
        let spread = average(&|s| positive_sd(s).unwrap()) / positive_sd(&plain.left).unwrap();
        assert!((spread - 1.0).abs() < 0.05, "{spread}");
        // Nothing is added or lost but the order.
        let mut alone = innovations(&shuffled[0], 0.0, plain.phi);
        let mut seen = plain.innovations.clone();
        alone.sort_by(f64::total_cmp);
        seen.sort_by(f64::total_cmp);
        assert!(alone.iter().zip(&seen).all(|(a, b)| (a - b).abs() < 1e-9));
    }
}
