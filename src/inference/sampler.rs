//! The full method: Hamiltonian sampling of the posterior (No-U-Turn), in coordinates in which it is nearly standard
//! normal. The one file that knows the sampler crate.
//!
//! With m the mode in the coordinates v of [`super::lean`] and H = M M' the curvature there, the chains walk in z,
//! v = m + M'^-1 z. What the mode does not tell, the crate's low-rank mass matrix learns while the chains warm up.
//!
//! Source: Hoffman & Gelman 2014, JMLR 15:1593-1623. A chain's random numbers hang on the seed and its number only, so
//! that the count of cores changes nothing. Limits: one mode, about which the chains begin.

use std::collections::HashMap;
use std::sync::atomic::{AtomicBool, Ordering};

use nalgebra::{DMatrix, DVector};
use nuts_rs::{
    Chain, CpuLogpFunc, CpuMath, CpuMathError, HasDims, KineticEnergyKind, LogpError, LowRankNutsSettings,
    Settings as _,
};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

use super::fit::{InferenceError, Settings};
use super::lean::Upright;
use super::minimise::Minimum;

/// How far from the mode, in standard deviations, chains begin.
const START_SPREAD: f64 = 1.0;
/// The step that chains begin with, and the draws after which the mass matrix is first learned: the coordinates are good
/// already, so a short step and a hasty matrix only cost gradients (3 %).
const FIRST_STEP: f64 = 0.5;
const FIRST_WINDOW: u64 = 40;
/// Deepest tree.
const MAX_DEPTH: u64 = 10;

/// What is told while chains run: chain, draws done, draws in all.
pub type Progress<'a> = &'a (dyn Fn(usize, usize, usize) + Sync);

/// The draws of one chain after warm-up.
#[derive(Debug, Clone)]
pub struct ChainDraws {
    /// One vector x a draw.
    pub draws: Vec<Vec<f64>>,
    /// Energy of each draw: minus its log density, and the kinetic energy of its momentum.
    pub energy: Vec<f64>,
    /// Divergent transitions.
    pub divergences: usize,
    /// Transitions that reached the deepest tree.
    pub deepest: usize,
    /// Gradients evaluated, warm-up included.
    pub gradients: usize,
}

/// Runs all chains over the cores.
///
/// # Errors
/// When stopped, or when a chain cannot begin.
pub fn sample(
    upright: &Upright,
    mode: &Minimum,
    settings: &Settings,
    progress: Progress<'_>,
    stop: &AtomicBool,
) -> Result<Vec<ChainDraws>, InferenceError> {
    let straight = Straightened::new(upright, mode)?;
    (0..settings.chains)
        .into_par_iter()
        .map(|chain| run(&straight, settings, chain, progress, stop))
        .collect()
}

fn run(
    straight: &Straightened<'_>,
    settings: &Settings,
    chain: usize,
    progress: Progress<'_>,
    stop: &AtomicBool,
) -> Result<ChainDraws, InferenceError> {
    let mut nuts = LowRankNutsSettings {
        num_tune: settings.warmup as u64,
        num_draws: settings.draws as u64,
        maxdepth: MAX_DEPTH,
        seed: settings.seed,
        // Exact steps for a standard normal, which the posterior nearly is here: 5 % fewer gradients.
        trajectory_kind: KineticEnergyKind::ExactNormal,
        ..LowRankNutsSettings::default()
    };
    nuts.adapt_options.step_size_settings.initial_step = FIRST_STEP;
    nuts.adapt_options.early_mass_matrix_switch_freq = FIRST_WINDOW;
    let mut rng = ChaCha8Rng::seed_from_u64(settings.seed);
    rng.set_stream(chain as u64);
    let failed = |e: &dyn std::fmt::Display| InferenceError::NoStart(e.to_string());
    let mut start_rng = rng.clone();
    let mut walker =
        nuts.new_chain(chain as u64, CpuMath::new(straight), &mut rng).map_err(|e| failed(&e))?;
    begin(&mut walker, straight.dim(), &mut start_rng)?;
    let mut out = ChainDraws { draws: vec![], energy: vec![], divergences: 0, deepest: 0, gradients: 0 };
    let total = settings.warmup + settings.draws;
    for i in 0..total {
        if stop.load(Ordering::Relaxed) {
            return Err(InferenceError::Stopped);
        }
        let (z, _, stats, info) = walker.expanded_draw().map_err(|e| failed(&e))?;
        out.gradients += info.num_gradients as usize;
        if i >= settings.warmup {
            out.divergences += usize::from(info.diverging);
            out.deepest += usize::from(info.num_steps + 1 >= 1 << MAX_DEPTH);
            out.energy.push(stats.point.energy);
            out.draws.push(straight.upright.x(&straight.v(&z)).ok_or_else(|| failed(&NoDensity))?);
        }
        progress(chain, i + 1, total);
    }
    Ok(out)
}

/// Puts a chain near the mode; nearer and nearer while the place has no density.
fn begin<'a, C: Chain<CpuMath<&'a Straightened<'a>>>>(
    walker: &mut C,
    dim: usize,
    rng: &mut ChaCha8Rng,
) -> Result<(), InferenceError> {
    let mut spread = START_SPREAD;
    let mut why = String::new();
    for _ in 0..20 {
        let z: Vec<f64> = (0..dim)
            .map(|_| {
                let z: f64 = StandardNormal.sample(rng);
                spread * z
            })
            .collect();
        match walker.set_position(&z) {
            Ok(()) => return Ok(()),
            Err(e) => why = e.to_string(),
        }
        spread *= 0.7;
    }
    Err(InferenceError::NoStart(why))
}

/// The posterior in the coordinates z.
struct Straightened<'a> {
    upright: &'a Upright,
    mode: DVector<f64>,
    /// M'^-1.
    unwhiten: DMatrix<f64>,
}

impl<'a> Straightened<'a> {
    fn new(upright: &'a Upright, mode: &Minimum) -> Result<Self, InferenceError> {
        let factor = mode.curvature.factor().map_err(|e| InferenceError::NoStart(e.to_string()))?;
        let d = mode.x.len();
        let column = |i: usize| {
            let mut unit = vec![0.0; d];
            unit[i] = 1.0;
            DVector::from_vec(factor.unwhiten(&unit))
        };
        let columns: Vec<DVector<f64>> = (0..d).map(column).collect();
        Ok(Self {
            upright,
            mode: DVector::from_column_slice(&mode.x),
            unwhiten: DMatrix::from_columns(&columns),
        })
    }

    fn dim(&self) -> usize {
        self.mode.len()
    }

    fn v(&self, z: &[f64]) -> Vec<f64> {
        (&self.mode + &self.unwhiten * DVector::from_column_slice(z)).data.into()
    }
}

/// A place without density; the chain turns back.
#[derive(Debug, thiserror::Error)]
#[error("the density is zero or not a number there")]
struct NoDensity;

impl LogpError for NoDensity {
    fn is_recoverable(&self) -> bool {
        true
    }
}

impl HasDims for &Straightened<'_> {
    fn dim_sizes(&self) -> HashMap<String, u64> {
        HashMap::from([("unconstrained_parameter".to_string(), self.dim() as u64)])
    }
}

impl CpuLogpFunc for &Straightened<'_> {
    type LogpError = NoDensity;
    type FlowParameters = ();
    type ExpandedVector = Vec<f64>;

    fn dim(&self) -> usize {
        self.mode.len()
    }

    fn logp(&mut self, position: &[f64], gradient: &mut [f64]) -> Result<f64, NoDensity> {
        let v = self.v(position);
        let mut by_v = DVector::zeros(v.len());
        let value = self.upright.log_density_gradient(&v, by_v.as_mut_slice());
        if !value.is_finite() {
            return Err(NoDensity);
        }
        let by_z = self.unwhiten.tr_mul(&by_v);
        gradient.copy_from_slice(by_z.as_slice());
        Ok(value)
    }

    fn expand_vector<R: rand::Rng + ?Sized>(
        &mut self,
        _rng: &mut R,
        position: &[f64],
    ) -> Result<Vec<f64>, CpuMathError> {
        Ok(position.to_vec())
    }
}
