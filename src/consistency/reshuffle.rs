//! Is a change of spread, at a date that nobody named beforehand, more than chance?
//!
//! Picking the clearest of many possible dates makes chance look like a change. So how clearly the spread became narrower is
//! compared with how clearly it does in reshuffles of the same batches. How clearly: the mean, over dates with eight
//! batches or more on each side, of the odds that the marginal likelihoods of [`super::change`] give to a spread of its own on
//! each side, against one spread and two levels; dates at which the spread became wider count nothing (and the other way
//! round). What is shuffled is what the likelier of "no change" and "another level" leaves over; where neighbours
//! resemble each other, the innovations of a first-order autoregression, with the resemblance put back. The share of reshuffles
//! at least as clear is the p-value (a permutation test of residuals; Freedman & Lane 1983, *J Bus Econ Stat* 1:292-298). No
//! distribution is assumed.

use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;
use serde::Serialize;

use super::autocorrelation::{Autocorrelation, innovations};
use super::change::{Evidence, FEWEST, constants, log_mean, standardised};
use super::sample::mean;
use super::spread::Verdict;

/// Reshuffles behind a p-value.
pub const RESHUFFLES: usize = 999;
/// The fewest batches on each side of a date.
pub const FEWEST_A_SIDE: usize = 8;
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
    /// Of values in time order; `None` with fewer than sixteen, or when all are the same.
    pub fn of(values: &[f64]) -> Option<Self> {
        let (z, _) = standardised(values).filter(|(z, _)| z.len() >= 2 * FEWEST_A_SIDE)?;
        let constants = constants(z.len());
        let clearness_of =
            |left: &[f64]| standardised(left).map(|(z, _)| clearness(&Evidence::of(&z, &constants)));
        let plain = Plain::of(&z, &Evidence::of(&z, &constants));
        let seen = clearness_of(&plain.left)?;
        let mut rng = ChaCha8Rng::seed_from_u64(SEED);
        let (mut narrower, mut wider) = (1, 1);
        for _ in 0..RESHUFFLES {
            let Some(shuffled) = clearness_of(&plain.reshuffled(&mut rng)) else { continue };
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

/// Log mean odds of a spread that became narrower, and of one that became wider.
fn clearness(e: &Evidence) -> (f64, f64) {
    let places = FEWEST_A_SIDE - FEWEST..e.both.len() + FEWEST - FEWEST_A_SIDE;
    let toward = |narrower: bool| {
        let these = places.clone().filter(move |i| e.narrower[*i] == narrower);
        log_mean(these.map(|i| e.both[i] - e.level[i]), places.len())
    };
    (toward(true), toward(false))
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
        let changed = likelihood - (e.level.len() as f64).ln() > e.none + 0.0;
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
