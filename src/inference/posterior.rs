//! The log posterior of one kitchen and its gradient.
//!
//! For each batch the course ([`crate::physics::course`]) gives ln rise f of what was read, with k multiplied by
//! e^(flour lot + yeast lot + own vigour). With t4 the density of Student's t with four degrees of freedom:
//!
//! - one rise read: t4(ln rise; f, v), v = sigma² + D² omega² + (S sigma_T)². The batch's own vigour, N(0, omega)
//!   on ln k, cannot be told from noise and is integrated out along the slope D = df/d ln k.
//! - more than one (readings, a preferment's rise): they share the own vigour, so it is kept as omega b, b ~ N(0,1),
//!   and each rise has v = sigma² + (S sigma_T)².
//! - a dough that collapsed: the probability that its unbounded rise passed the most that the flour bears.
//! - temperatures: t4(T; predicted, sigma_T²).
//!
//! sigma noise of ln rise, sigma_T of temperature in °C (both scales of t4), omega spread of vigour. S, in ln rise
//! per °C, is how a start temperature known only from the heat balance moves the rise; it is taken at the
//! medians of the priors, once, so that it stays a constant of the batch.
//!
//! Limits: linearised in the own vigour (exact to first order in omega D).

use rayon::prelude::*;

use crate::physics::course::{Adjoints, Output, Parameters, Seed, Start, Workspace};
use crate::physics::scalar::{Jet, Scalar};

use super::layout::{Layout, Lots};
use super::prepare::{Assumption, Observed, Prepared, Ready};
use super::priors::Core;
use super::student;

/// Batches a core works on at a time; sums are made in this order, so that the count of cores changes nothing.
const CHUNK: usize = 512;

/// One kitchen's posterior.
#[derive(Debug, Clone)]
pub struct Posterior {
    /// Which parameter stands where.
    pub layout: Layout,
    /// The batches as the likelihood reads them.
    pub batches: Vec<Evidence>,
}

/// A batch with what the likelihood needs beside it.
#[derive(Debug, Clone)]
pub struct Evidence {
    /// The prepared batch.
    pub prepared: Prepared,
    /// Where its own vigour stands in x, when it has one.
    pub own_vigour: Option<usize>,
    /// S: ln rise per °C of start temperature, zero when that was measured.
    pub start_slope: f64,
}

/// Scales of the noise.
#[derive(Debug, Clone, Copy)]
struct Noise {
    sigma: f64,
    sigma_t: f64,
    omega: f64,
}

/// What the batches of one chunk add up to.
struct Sums {
    value: f64,
    adjoints: Adjoints,
    /// Derivatives by ln sigma, ln sigma_T and ln omega.
    by_noise: [f64; 3],
    /// Derivative by ln k of each batch, in the order of the chunk.
    by_ln_k: Vec<f64>,
}

/// Memory that one batch's evaluation leaves for the next.
#[derive(Default)]
struct Scratch {
    plain: Workspace<f64>,
    sloped: Workspace<Jet>,
    seeds: Vec<Seed>,
    /// Derivatives by ln sigma, ln sigma_T and ln omega, added up.
    by_noise: [f64; 3],
}

impl Posterior {
    /// From records made ready.
    pub fn new(ready: Ready) -> Self {
        let unmeasured = ready.assumptions.contains_key(&Assumption::FridgeTemperature);
        let own: Vec<bool> = ready.batches.iter().map(|b| b.rises() > 1).collect();
        let layout = Layout::new(&ready.index, unmeasured, own.iter().filter(|o| **o).count());
        let median = layout.parameters(&layout.prior_median());
        let mut next = layout.shared.len();
        let batches = ready.batches.into_iter().zip(own).map(|(prepared, own)| {
            let own_vigour = own.then(|| {
                next += 1;
                next - 1
            });
            let start_slope = median.as_ref().map_or(0.0, |p| start_slope(&prepared, p));
            Evidence { prepared, own_vigour, start_slope }
        });
        let batches = batches.collect();
        Self { layout, batches }
    }

    /// Length of x.
    pub fn dim(&self) -> usize {
        self.layout.dim()
    }

    /// Log density at x, up to a constant of the data; minus infinity outside the support.
    pub fn log_density(&self, x: &[f64]) -> f64 {
        let Some(p) = self.layout.parameters(x) else { return f64::NEG_INFINITY };
        let noise = self.noise(x);
        let mut scratch = Scratch::default();
        let one = |b| self.batch_log_likelihood(b, x, &p, &noise, &mut scratch);
        let likelihood: f64 = self.batches.iter().map(one).sum();
        let mut unused = vec![0.0; self.dim()];
        self.layout.log_prior(x, &mut unused) + likelihood
    }

    /// Log density at x, and its gradient.
    pub fn log_density_gradient(&self, x: &[f64], gradient: &mut [f64]) -> f64 {
        gradient.fill(0.0);
        let Some(p) = self.layout.parameters(x) else { return f64::NEG_INFINITY };
        let noise = self.noise(x);
        let chunk = |batches: &[Evidence]| self.sums(batches, x, &p, &noise);
        let sums: Vec<Sums> = if self.batches.len() <= CHUNK {
            vec![chunk(&self.batches)]
        } else {
            self.batches.par_chunks(CHUNK).map(chunk).collect()
        };
        let mut value = self.layout.log_prior(x, gradient);
        for (batches, s) in self.batches.chunks(CHUNK).zip(&sums) {
            value += s.value;
            self.layout.chain(x, &p, &s.adjoints, gradient);
            for (core, by) in
                [Core::RiseNoise, Core::TemperatureNoise, Core::BatchSpread].iter().zip(s.by_noise)
            {
                let (v, slope) = self.layout.shared[*core as usize].form.value(x[*core as usize]);
                gradient[*core as usize] += by * slope / v;
            }
            for (b, &by) in batches.iter().zip(&s.by_ln_k) {
                self.vigour_gradient(b, x, &noise, by, gradient);
            }
        }
        value
    }

    fn noise(&self, x: &[f64]) -> Noise {
        Noise {
            sigma: self.layout.core(x, Core::RiseNoise),
            sigma_t: self.layout.core(x, Core::TemperatureNoise),
            omega: self.layout.core(x, Core::BatchSpread),
        }
    }

    /// The kitchen's k times what this batch's lots and own vigour do to it.
    fn batch_k(&self, b: &Evidence, x: &[f64], p: &Parameters, noise: &Noise) -> f64 {
        let own = b.own_vigour.map_or(0.0, |i| noise.omega * x[i]);
        let lots = self.layout.lot_effect(&self.layout.flour, x, b.prepared.flour_lot)
            + self.layout.lot_effect(&self.layout.yeast, x, b.prepared.yeast_lot);
        let effect: f64 = own + lots;
        if effect == 0.0 { p.k } else { p.k * effect.exp() }
    }

    fn vigour_gradient(&self, b: &Evidence, x: &[f64], noise: &Noise, by: f64, gradient: &mut [f64]) {
        let mut lot = |lots: &Option<Lots>, which: Option<usize>| {
            if let (Some(l), Some(i)) = (lots, which) {
                let (spread, slope) = self.layout.shared[l.spread].form.value(x[l.spread]);
                gradient[l.spread] += by * x[l.effects.start + i] * slope;
                gradient[l.effects.start + i] += by * spread;
            }
        };
        lot(&self.layout.flour, b.prepared.flour_lot);
        lot(&self.layout.yeast, b.prepared.yeast_lot);
        if let Some(i) = b.own_vigour {
            let which = Core::BatchSpread as usize;
            gradient[i] += by * noise.omega;
            gradient[which] += by * x[i] * self.layout.shared[which].form.value(x[which]).1;
        }
    }

    /// Log likelihood of each batch at x: what leave-one-out compares. `None` outside the support.
    pub fn pointwise(&self, x: &[f64]) -> Option<Vec<f64>> {
        let p = self.layout.parameters(x)?;
        let noise = self.noise(x);
        let mut scratch = Scratch::default();
        let one = |b| self.batch_log_likelihood(b, x, &p, &noise, &mut scratch);
        Some(self.batches.iter().map(one).collect())
    }

    /// Log likelihood of one batch; leaves its answers and seeds in `scratch`.
    fn batch_log_likelihood(
        &self,
        b: &Evidence,
        x: &[f64],
        p: &Parameters,
        noise: &Noise,
        scratch: &mut Scratch,
    ) -> f64 {
        let k = self.batch_k(b, x, p, noise);
        let Scratch { plain, sloped, seeds: own, by_noise } = scratch;
        if b.own_vigour.is_some() {
            b.prepared.course.forward(p, k, plain);
            seeds(b, plain, p, noise, own, by_noise)
        } else {
            b.prepared.course.forward(p, Jet::new(k, k), sloped);
            seeds(b, sloped, p, noise, own, by_noise)
        }
    }

    fn sums(&self, batches: &[Evidence], x: &[f64], p: &Parameters, noise: &Noise) -> Sums {
        let mut value = 0.0;
        let mut adjoints = Adjoints::zero(p);
        let mut by_ln_k = Vec::with_capacity(batches.len());
        let mut scratch = Scratch::default();
        for b in batches {
            value += self.batch_log_likelihood(b, x, p, noise, &mut scratch);
            let Scratch { plain, sloped, seeds, .. } = &mut scratch;
            adjoints.ln_k = 0.0;
            match b.own_vigour {
                Some(_) => b.prepared.course.backward(p, plain, seeds, &mut adjoints),
                None => b.prepared.course.backward(p, sloped, seeds, &mut adjoints),
            }
            by_ln_k.push(adjoints.ln_k);
        }
        adjoints.ln_k = by_ln_k.iter().sum();
        Sums { value, adjoints, by_noise: scratch.by_noise, by_ln_k }
    }
}

/// The log likelihood of a batch's outputs; fills one seed an output and adds the derivatives by the log
/// scales of the noise.
fn seeds<N: Scalar>(
    b: &Evidence,
    ws: &Workspace<N>,
    p: &Parameters,
    noise: &Noise,
    seeds: &mut Vec<Seed>,
    by_noise: &mut [f64; 3],
) -> f64 {
    seeds.clear();
    let mut value = 0.0;
    let sigma2 = noise.sigma * noise.sigma;
    let start2 = (b.start_slope * noise.sigma_t).powi(2);
    let omega2 = noise.omega * noise.omega;
    for ((output, seen), answer) in
        b.prepared.course.outputs.iter().zip(&b.prepared.observed).zip(&ws.answers)
    {
        let (log, seed) = match output {
            Output::MixedTemperature | Output::Temperature(_) => {
                let r = seen.value - answer.value.value();
                let v = noise.sigma_t * noise.sigma_t;
                let (log, by_r, by_v) = student::log_density(r, v);
                by_noise[1] += 2.0 * v * by_v;
                (log, Seed { value: -by_r, ..Seed::default() })
            }
            Output::Rise(_) | Output::PrefermentRise(_) if seen.collapsed => {
                let v = sigma2 + omega2;
                let (log, seed, by_v) = collapsed(answer.unbounded.value(), p.max_rise, v);
                by_noise[0] += 2.0 * sigma2 * by_v;
                by_noise[2] += 2.0 * omega2 * by_v;
                (log, seed)
            }
            Output::Rise(_) | Output::PrefermentRise(_) => {
                // The slope along ln k, or zero when the own vigour is kept.
                let d = answer.value.contract(0.0, 1.0);
                let own2 = d * d * omega2;
                let r = seen.value - answer.value.value();
                let (log, by_r, by_v) = student::log_density(r, sigma2 + own2 + start2);
                by_noise[0] += 2.0 * sigma2 * by_v;
                by_noise[1] += 2.0 * start2 * by_v;
                by_noise[2] += 2.0 * own2 * by_v;
                (log, Seed { value: -by_r, slope: 2.0 * d * omega2 * by_v, ..Seed::default() })
            }
        };
        value += log;
        seeds.push(seed);
    }
    value
}

/// ln P(unbounded rise, with noise of squared scale v, passes what the flour bears), its seed and its
/// derivative by v.
fn collapsed(ln_unbounded: f64, max_rise: f64, v: f64) -> (f64, Seed, f64) {
    let s = v.sqrt();
    let w = (ln_unbounded - max_rise.ln()) / s;
    let chance = student::below(w);
    let by_w = student::density(w) / chance;
    let seed = Seed { unbounded: by_w / s, max_rise: -by_w / (s * max_rise), ..Seed::default() };
    (chance.ln(), seed, -by_w * w / (2.0 * v))
}

/// ln rise per °C of start temperature, when that is known only from the heat balance: by central
/// difference over one degree, for the last rise read.
fn start_slope(prepared: &Prepared, p: &Parameters) -> f64 {
    let course = &prepared.course;
    let Some(at) = course.outputs.iter().rposition(|o| matches!(o, Output::Rise(_))) else { return 0.0 };
    if course.start != Start::Mixed {
        return 0.0;
    }
    let start_c = course.start_c(p);
    let ln_rise = |t: f64| {
        let mut moved = course.clone();
        moved.start = Start::Measured(t);
        let mut ws = Workspace::<f64>::default();
        moved.forward(p, p.k, &mut ws);
        ws.answers[at].value
    };
    ln_rise(start_c + 0.5) - ln_rise(start_c - 0.5)
}

impl Observed {
    /// The rise or temperature as it was written down.
    pub fn shown(&self, output: Output) -> f64 {
        match output {
            Output::Rise(_) | Output::PrefermentRise(_) => self.value.exp(),
            Output::MixedTemperature | Output::Temperature(_) => self.value,
        }
    }
}
