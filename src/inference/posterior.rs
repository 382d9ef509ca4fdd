//! The log posterior of one kitchen and its gradient: the priors ([`super::layout`]) and what each batch tells
//! ([`super::likelihood`]), its k multiplied by e^(flour lot + yeast lot + drift).
//!
//! Source: a choice of this project. Limits: those of the likelihood.

use std::cell::RefCell;
use std::thread::LocalKey;

use rayon::prelude::*;

use crate::physics::course::{Adjoints, Output, Parameters, Start, Workspace};
use crate::physics::courses::{self, Case};
use crate::physics::scalar::{Jet, Scalar};

use super::drift::Periods;
use super::layout::Layout;
use super::likelihood::{Noise, Tally};
use super::lots::{Centring, Lots};
use super::prepare::{Assumption, Observed, Prepared, Ready};
use super::priors::Core;
use super::verdict;

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
    /// S: ln rise per °C of start temperature, zero when that was measured.
    pub start_slope: f64,
}

/// What all batches share at one x.
struct Given {
    parameters: Parameters,
    noise: Noise,
    /// What each lot does to k.
    flour: Vec<f64>,
    yeast: Vec<f64>,
    /// What the drift does to k in each of its periods.
    drift: Vec<f64>,
    periods: Option<Periods>,
}

/// What the batches of one chunk add up to.
struct Sums {
    value: f64,
    adjoints: Adjoints,
    /// Derivatives by ln sigma, ln sigma_T and ln omega.
    by_noise: [f64; 3],
    /// Derivatives by the effect of each flour lot, and of each yeast lot.
    by_flour: Vec<f64>,
    by_yeast: Vec<f64>,
    /// Derivatives by the level of each period of the drift.
    by_drift: Vec<f64>,
    /// Derivatives by what the verdicts bring.
    by_verdict: [f64; verdict::PARAMETERS],
}

/// Memory for the courses of one chunk, kept from one evaluation to the next.
type Workspaces<N> = RefCell<Vec<Workspace<N>>>;

thread_local! {
    static NUMBERS: Workspaces<f64> = const { RefCell::new(Vec::new()) };
    static JETS: Workspaces<Jet> = const { RefCell::new(Vec::new()) };
}

impl Posterior {
    /// From records made ready, lots told in one way or the other.
    pub fn new(ready: Ready, centring: Centring) -> Self {
        let unmeasured = ready.assumptions.contains_key(&Assumption::FridgeTemperature);
        let layout = Layout::new(&ready.index, unmeasured, centring);
        let median = layout.parameters(&layout.prior_median());
        let evidence = |prepared: Prepared| {
            let start_slope = median.as_ref().map_or(0.0, |p| start_slope(&prepared, p));
            Evidence { prepared, start_slope }
        };
        let batches = ready.batches.into_iter().map(evidence).collect();
        Self { layout, batches }
    }

    /// The same posterior with lots told so.
    pub fn retold(&self, centring: Centring) -> Self {
        Self { layout: self.layout.retold(centring), batches: self.batches.clone() }
    }

    /// Length of x.
    pub fn dim(&self) -> usize {
        self.layout.dim()
    }

    /// Log density at x in nats, up to a constant of the data; minus infinity outside the support.
    pub fn log_density(&self, x: &[f64]) -> f64 {
        let Some(p) = self.layout.parameters(x) else { return f64::NEG_INFINITY };
        let likelihood: f64 = self.given(x, p).log_likelihoods(&self.batches).iter().sum();
        let mut unused = vec![0.0; self.dim()];
        self.layout.log_prior(x, &mut unused) + likelihood
    }

    /// Log density at x in nats; `gradient`, as long as x, is overwritten by its derivatives.
    pub fn log_density_gradient(&self, x: &[f64], gradient: &mut [f64]) -> f64 {
        gradient.fill(0.0);
        let Some(p) = self.layout.parameters(x) else { return f64::NEG_INFINITY };
        let given = self.given(x, p);
        let chunk = |batches: &[Evidence]| given.sums(batches);
        let sums: Vec<Sums> = if self.batches.len() <= CHUNK {
            vec![chunk(&self.batches)]
        } else {
            self.batches.par_chunks(CHUNK).map(chunk).collect()
        };
        let mut value = self.layout.log_prior(x, gradient);
        for s in &sums {
            value += s.value;
            self.layout.chain(x, &given.parameters, &s.adjoints, gradient);
            for (core, by) in
                [Core::RiseNoise, Core::TemperatureNoise, Core::BatchSpread].iter().zip(s.by_noise)
            {
                let (v, slope) = self.layout.shared[*core as usize].form.value(x[*core as usize]);
                gradient[*core as usize] += by * slope / v;
            }
            self.layout.chain_verdict(x, &s.by_verdict, gradient);
            lot_gradient(&self.layout.flour, x, &s.by_flour, gradient);
            lot_gradient(&self.layout.yeast, x, &s.by_yeast, gradient);
            if let Some(drift) = &self.layout.drift {
                drift.add_gradient(x, &s.by_drift, gradient);
            }
        }
        value
    }

    /// What all batches share at x.
    fn given(&self, x: &[f64], parameters: Parameters) -> Given {
        Given {
            parameters,
            noise: self.noise(x),
            flour: lot_factors(&self.layout.flour, x),
            yeast: lot_factors(&self.layout.yeast, x),
            drift: self.layout.drift.iter().flat_map(|d| d.levels(x)).map(f64::exp).collect(),
            periods: self.layout.drift.as_ref().map(|d| d.periods),
        }
    }

    fn noise(&self, x: &[f64]) -> Noise {
        Noise {
            sigma: self.layout.core(x, Core::RiseNoise),
            sigma_t: self.layout.core(x, Core::TemperatureNoise),
            omega: self.layout.core(x, Core::BatchSpread),
            thresholds: self.layout.thresholds(x),
        }
    }

    /// Log likelihood in nats of each batch at x: what leave-one-out compares. `None` outside the support.
    pub fn pointwise(&self, x: &[f64]) -> Option<Vec<f64>> {
        Some(self.given(x, self.layout.parameters(x)?).log_likelihoods(&self.batches))
    }
}

impl Given {
    /// k of one batch, its own vigour apart.
    fn k(&self, b: &Evidence) -> f64 {
        let factor = |factors: &[f64], lot: Option<usize>| lot.and_then(|i| factors.get(i)).copied();
        let flour = factor(&self.flour, b.prepared.flour_lot).unwrap_or(1.0);
        let yeast = factor(&self.yeast, b.prepared.yeast_lot).unwrap_or(1.0);
        let drift = factor(&self.drift, self.period(b)).unwrap_or(1.0);
        self.parameters.k * flour * yeast * drift
    }

    /// Works out the courses of `batches` by `forward` and hands over their workspaces, one a batch.
    fn worked_out<N: Scalar, T>(
        &self,
        batches: &[Evidence],
        memory: &'static LocalKey<Workspaces<N>>,
        forward: impl FnOnce(&[Case], &mut [Workspace<N>]),
        then: impl FnOnce(&mut [Workspace<N>]) -> T,
    ) -> T {
        let cases: Vec<Case> = batches
            .iter()
            .map(|b| Case { course: &b.prepared.course, parameters: &self.parameters, k: self.k(b) })
            .collect();
        memory.with_borrow_mut(|ws| {
            if ws.len() < batches.len() {
                ws.resize_with(batches.len(), Workspace::default);
            }
            let ws = &mut ws[..batches.len()];
            forward(&cases, ws);
            then(ws)
        })
    }

    /// Log likelihood of each batch.
    fn log_likelihoods(&self, batches: &[Evidence]) -> Vec<f64> {
        let told = |batches: &[Evidence], ws: &[Workspace<f64>]| {
            let mut tally = Tally::default();
            for (b, ws) in batches.iter().zip(ws) {
                tally.tell(b, &self.noise, self.parameters.max_rise, &ws.answers);
            }
            tally.finish();
            tally.values
        };
        let of_chunk =
            |chunk| self.worked_out(chunk, &NUMBERS, courses::forward, |ws: &mut [_]| told(chunk, ws));
        batches.chunks(CHUNK).flat_map(of_chunk).collect()
    }

    /// Which period of the drift a batch belongs to.
    fn period(&self, b: &Evidence) -> Option<usize> {
        Some(self.periods?.of(b.prepared.day?))
    }

    fn sums(&self, batches: &[Evidence]) -> Sums {
        let p = &self.parameters;
        let mut sums = Sums {
            value: 0.0,
            adjoints: Adjoints::zero(p),
            by_noise: [0.0; 3],
            by_verdict: [0.0; verdict::PARAMETERS],
            by_flour: vec![0.0; self.flour.len()],
            by_yeast: vec![0.0; self.yeast.len()],
            by_drift: vec![0.0; self.drift.len()],
        };
        let mut tally = Tally::default();
        let mut by_ln_k = 0.0;
        let backward = |ws: &mut [Workspace<Jet>]| {
            for (b, ws) in batches.iter().zip(ws) {
                tally.tell(b, &self.noise, p.max_rise, &ws.answers);
                sums.adjoints.ln_k = 0.0;
                b.prepared.course.backward(p, ws, &tally.seeds, &mut sums.adjoints);
                let own = sums.adjoints.ln_k;
                by_ln_k += own;
                let told = [
                    (&mut sums.by_flour, b.prepared.flour_lot),
                    (&mut sums.by_yeast, b.prepared.yeast_lot),
                    (&mut sums.by_drift, self.period(b)),
                ];
                for (by, which) in told {
                    if let Some(by) = which.and_then(|i| by.get_mut(i)) {
                        *by += own;
                    }
                }
            }
        };
        self.worked_out(batches, &JETS, courses::forward_with_slopes, backward);
        tally.finish();
        sums.value = tally.values.iter().sum();
        sums.adjoints.ln_k = by_ln_k;
        (sums.by_noise, sums.by_verdict) = (tally.by_noise, tally.by_verdict);
        sums
    }
}

/// What each lot does to k; nothing where lots are not told apart.
fn lot_factors(lots: &Option<Lots>, x: &[f64]) -> Vec<f64> {
    let Some(l) = lots else { return Vec::new() };
    let unit = l.unit(x);
    (0..l.effects.len()).map(|i| l.effect(&unit, x, i).value.exp()).collect()
}

/// Turns derivatives by each lot's effect into derivatives by x, added to `gradient`.
fn lot_gradient(lots: &Option<Lots>, x: &[f64], by_effect: &[f64], gradient: &mut [f64]) {
    let Some(l) = lots else { return };
    let unit = l.unit(x);
    for (i, by) in by_effect.iter().enumerate() {
        let effect = l.effect(&unit, x, i);
        gradient[l.spread] += by * effect.by_spread;
        gradient[l.effects.start + i] += by * effect.by_number;
    }
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
