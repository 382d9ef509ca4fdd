//! Simulation-based calibration: is the fit right about kitchens whose truth is known?
//!
//! Parameters are drawn from the prior, outcomes of a fixed set of plans from the likelihood at them, and the fit to those
//! outcomes gives draws. Over many such kitchens the rank of the true value among [`RANKS`] draws is uniform on 0 to
//! [`RANKS`] for every parameter, if and only if prior, likelihood and sampler belong together.
//!
//! Outcomes are drawn from the likelihood as it stands ([`super::posterior`]): the rises of a batch are f + sqrt(4/c) (a e +
//! omega D n), c chi-squared with 4 degrees of freedom, e a standard normal for each rise and n one for the batch, a² the
//! squared noise; temperatures likewise with sigma_T. So this checks prior, densities, gradients, search and sampler, not
//! the linearisation of a batch's own vigour, nor the physics.
//!
//! Source: Talts et al. 2018, arXiv:1804.06788. Limits: plans without verdicts and without collapsed doughs.

use std::sync::atomic::AtomicBool;

use rand::Rng;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{ChiSquared, Distribution, StandardNormal};
use rayon::prelude::*;
use statrs::distribution::{ChiSquared as ChiSquaredLaw, ContinuousCDF};

use crate::physics::course::{Output, Workspace};
use crate::physics::scalar::Jet;

use super::fit::{InferenceError, Method, Settings};
use super::lots::Centring;
use super::posterior::Posterior;
use super::prepare::{Records, prepare};
use super::priors::Core;
use super::quick;
use super::sampler::sample;
use super::student;

/// Draws among which a true value is ranked.
pub const RANKS: usize = 99;

/// The ranks of one kitchen's true values, one a parameter, each from 0 to [`RANKS`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ranked(pub Vec<usize>);

/// What many kitchens gave.
#[derive(Debug, Clone)]
pub struct Calibration {
    /// Names of the parameters.
    pub names: Vec<String>,
    /// One entry a kitchen.
    pub kitchens: Vec<Ranked>,
    /// Kitchens whose quick fit said by k-hat that it is not to be trusted; left out.
    pub untrusted: usize,
}

/// Ranks of the true values in so many kitchens that bake the plans of `records` (their outcomes are overwritten).
///
/// # Errors
/// When a fit fails.
pub fn calibrate(
    records: &Records,
    method: Method,
    settings: &Settings,
    kitchens: usize,
) -> Result<Calibration, InferenceError> {
    let names = plain(records).layout.shared.iter().map(|p| p.name.clone()).collect();
    let found: Vec<Option<Ranked>> = (0..kitchens)
        .into_par_iter()
        .map(|kitchen| one(records, method, settings, kitchen))
        .collect::<Result<_, _>>()?;
    let untrusted = found.iter().filter(|k| k.is_none()).count();
    Ok(Calibration { names, kitchens: found.into_iter().flatten().collect(), untrusted })
}

impl Calibration {
    /// How many kitchens fell into each of `bins` bins of equal width, for one parameter.
    pub fn counts(&self, parameter: usize, bins: usize) -> Vec<u64> {
        let mut counts = vec![0; bins];
        for Ranked(ranks) in &self.kitchens {
            counts[ranks[parameter] * bins / (RANKS + 1)] += 1;
        }
        counts
    }

    /// The chance of counts at least as uneven as these if ranks are uniform (Pearson's chi-squared test).
    pub fn chance(&self, parameter: usize, bins: usize) -> f64 {
        let expected = self.kitchens.len() as f64 / bins as f64;
        let square = |n: u64| (n as f64 - expected).powi(2) / expected;
        let sum: f64 = self.counts(parameter, bins).into_iter().map(square).sum();
        ChiSquaredLaw::new(bins as f64 - 1.0).map_or(f64::NAN, |law| law.sf(sum))
    }
}

fn plain(records: &Records) -> Posterior {
    Posterior::new(prepare(records), Centring::None)
}

/// One kitchen; `None` when the quick fit is not to be trusted.
fn one(
    records: &Records,
    method: Method,
    settings: &Settings,
    kitchen: usize,
) -> Result<Option<Ranked>, InferenceError> {
    let mut rng = ChaCha8Rng::seed_from_u64(settings.seed);
    rng.set_stream(1 + kitchen as u64);
    let mut posterior = plain(records);
    let truth = posterior.layout.draw_possible(|| normal(&mut rng));
    bake(&mut posterior, &truth, &mut rng);
    let settings = Settings { seed: settings.seed + kitchen as u64, ..*settings };
    let draws = match method {
        Method::Full => {
            let found = quick::unbent_mode(&posterior, &settings)?;
            let never = AtomicBool::new(false);
            let chains = sample(&found.upright, &found.mode, &settings, &|_, _, _| {}, &never)?;
            chains.into_iter().flat_map(|c| c.draws).collect()
        }
        Method::Quick | Method::Prior => match quick::trusted_draws(&posterior, &settings)? {
            Some(draws) => draws,
            None => return Ok(None),
        },
    };
    let layout = &posterior.layout;
    let rank = |i: usize| {
        let true_value = layout.value(&truth, i);
        thinned(&draws).filter(|x| layout.value(x, i) < true_value).count()
    };
    Ok(Some(Ranked((0..posterior.dim()).map(rank).collect())))
}

/// [`RANKS`] of the draws, evenly.
fn thinned(draws: &[Vec<f64>]) -> impl Iterator<Item = &Vec<f64>> {
    (1..=RANKS).map(move |i| &draws[i * draws.len() / (RANKS + 1)])
}

/// Overwrites what was observed by what the likelihood gives at `x`.
fn bake(posterior: &mut Posterior, x: &[f64], rng: &mut impl Rng) {
    let layout = posterior.layout.clone();
    let Some(p) = layout.parameters(x) else { return };
    let [sigma, sigma_t, omega] =
        [Core::RiseNoise, Core::TemperatureNoise, Core::BatchSpread].map(|c| layout.core(x, c));
    let mut ws = Workspace::<Jet>::default();
    for evidence in &mut posterior.batches {
        let prepared = &mut evidence.prepared;
        let lots = [(&layout.flour, prepared.flour_lot), (&layout.yeast, prepared.yeast_lot)];
        let effect: f64 = lots
            .into_iter()
            .filter_map(|(lots, lot)| lots.as_ref().zip(lot))
            .map(|(lots, lot)| lots.effect(&lots.unit(x), x, lot).value)
            .sum();
        let k = p.k * effect.exp();
        prepared.course.forward(&p, Jet::new(k, k), &mut ws);
        let own = omega * normal(rng);
        let noise = (sigma * sigma + (evidence.start_slope * sigma_t).powi(2)).sqrt();
        let together = stretch(rng);
        let outputs = prepared.course.outputs.iter().zip(&ws.answers);
        for ((output, answer), seen) in outputs.zip(&mut prepared.observed) {
            let e = normal(rng);
            seen.value = match output {
                Output::Rise(_) | Output::PrefermentRise(_) => {
                    answer.value.x + together * (noise * e + own * answer.value.d)
                }
                Output::MixedTemperature | Output::Temperature(_) => {
                    answer.value.x + sigma_t * e * stretch(rng)
                }
            };
        }
    }
}

fn normal(rng: &mut impl Rng) -> f64 {
    StandardNormal.sample(rng)
}

/// What turns a normal number into one of Student's t with four degrees of freedom.
fn stretch(rng: &mut impl Rng) -> f64 {
    let c: f64 = ChiSquared::new(student::DEGREES).map_or(f64::NAN, |law| law.sample(rng));
    (student::DEGREES / c).sqrt()
}
