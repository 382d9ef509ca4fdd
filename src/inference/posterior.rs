//! The log posterior of one kitchen and its gradient.
//!
//! For each batch the course ([`crate::physics::course`]) gives ln rise f of what was read, with k multiplied by
//! e^(flour lot + yeast lot). The batch's own vigour, N(0, omega) on ln k, is shared by all its rises and is
//! integrated out along their slopes D = df/d ln k, whether one rise was read or many:
//!
//! - rises r = ln rise - f together: a multivariate t4 of squared scale V = A + omega² D D', A diagonal with
//!   sigma² + (S sigma_T)²; q = r'V⁻¹r and ln|V| by the matrix determinant and inversion lemmas of a rank-one change
//! - a dough that collapsed: the probability that its unbounded rise passed the most that the flour bears
//! - temperatures: t4(T; predicted, sigma_T²), each by itself
//! - the baker's verdict at the oven: see [`super::verdict`]
//!
//! sigma noise of ln rise, sigma_T of temperature in °C (both scales of t4), omega spread of vigour. S, in ln rise
//! per °C, is how a start temperature known only from the heat balance moves the rise; it is taken at the
//! medians of the priors, once, so that it stays a constant of the batch.
//!
//! Source: a choice of this project; the lemmas of a rank-one change are in any text on matrices.
//! Limits: linearised in the own vigour (the next term is of order omega², some thousandths of ln rise); one badly
//! read rise makes all rises of its batch count for less.

use std::cell::RefCell;

use rayon::prelude::*;

use crate::physics::course::{Adjoints, Answer, Output, Parameters, Seed, Start, Workspace};
use crate::physics::courses;
use crate::physics::scalar::{Jet, Scalar};

use super::drift::Periods;
use super::layout::Layout;
use super::lots::{Centring, Lots};
use super::prepare::{Assumption, Observed, Prepared, Ready};
use super::priors::Core;
use super::student;
use super::verdict::{self, Scales, Thresholds};

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

/// Scales of the noise.
#[derive(Debug, Clone, Copy)]
struct Noise {
    sigma: f64,
    sigma_t: f64,
    omega: f64,
    thresholds: Option<Thresholds>,
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

/// What the likelihood of one batch leaves beside its value.
#[derive(Default)]
struct Scratch {
    seeds: Vec<Seed>,
    /// Derivatives by ln sigma, ln sigma_T and ln omega, added up.
    by_noise: [f64; 3],
    /// Derivatives by what the verdicts bring, added up.
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

    /// Works out the courses of `batches` and hands over their workspaces, one a batch.
    fn forward<N: Scalar, T>(
        &self,
        batches: &[Evidence],
        memory: &'static std::thread::LocalKey<Workspaces<N>>,
        k: impl Fn(f64) -> N,
        then: impl FnOnce(&mut [Workspace<N>]) -> T,
    ) -> T {
        let ks: Vec<N> = batches.iter().map(|b| k(self.k(b))).collect();
        memory.with_borrow_mut(|ws| {
            if ws.len() < batches.len() {
                ws.resize_with(batches.len(), Workspace::default);
            }
            let ws = &mut ws[..batches.len()];
            courses::forward(|i| &batches[i].prepared.course, &self.parameters, &ks, ws);
            then(ws)
        })
    }

    /// Log likelihood of each batch.
    fn log_likelihoods(&self, batches: &[Evidence]) -> Vec<f64> {
        let mut scratch = Scratch::default();
        let mut of_chunk = |batches: &[Evidence]| {
            self.forward(
                batches,
                &NUMBERS,
                |k| k,
                |ws| {
                    let of_one =
                        |(b, ws): (&Evidence, &Workspace<f64>)| self.seeds(b, &ws.answers, &mut scratch);
                    batches.iter().zip(&*ws).map(of_one).collect::<Vec<_>>()
                },
            )
        };
        batches.chunks(CHUNK).flat_map(&mut of_chunk).collect()
    }

    /// Which period of the drift a batch belongs to.
    fn period(&self, b: &Evidence) -> Option<usize> {
        Some(self.periods?.of(b.prepared.day?))
    }

    /// The log likelihood of a batch's outputs; fills one seed an output and adds the derivatives by the log
    /// scales of the noise.
    fn seeds<N: Scalar>(&self, b: &Evidence, answers: &[Answer<N>], scratch: &mut Scratch) -> f64 {
        let (p, noise) = (&self.parameters, &self.noise);
        let Scratch { seeds, by_noise, by_verdict } = scratch;
        seeds.clear();
        let mut value = 0.0;
        let sigma2 = noise.sigma * noise.sigma;
        let start2 = (b.start_slope * noise.sigma_t).powi(2);
        let omega2 = noise.omega * noise.omega;
        let a = sigma2 + start2;
        let mut rises = Rises::default();
        for ((output, seen), answer) in
            b.prepared.course.outputs.iter().zip(&b.prepared.observed).zip(answers)
        {
            let r = seen.value - answer.value();
            let seed = match output {
                Output::MixedTemperature | Output::Temperature(_) => {
                    let v = noise.sigma_t * noise.sigma_t;
                    let (log, by_r, by_v) = student::log_density(r, v);
                    by_noise[1] += 2.0 * v * by_v;
                    value += log;
                    Seed { value: -by_r, ..Seed::default() }
                }
                Output::Rise(_) | Output::PrefermentRise(_) if seen.collapsed => {
                    let v = sigma2 + omega2;
                    let (log, seed, by_v) = collapsed(answer.unbounded.value(), p.max_rise, v);
                    by_noise[0] += 2.0 * sigma2 * by_v;
                    by_noise[2] += 2.0 * omega2 * by_v;
                    value += log;
                    seed
                }
                Output::Rise(_) | Output::PrefermentRise(_) => {
                    rises.add(r, answer.by_ln_k());
                    // Filled below, when all rises of the batch are known.
                    Seed::default()
                }
            };
            seeds.push(seed);
        }
        if rises.count > 0.0 {
            let joint = rises.joint(a, omega2);
            value += joint.log_density;
            by_noise[0] += 2.0 * sigma2 * joint.by_a;
            by_noise[1] += 2.0 * start2 * joint.by_a;
            by_noise[2] += 2.0 * omega2 * joint.by_omega2;
            let outputs = b.prepared.course.outputs.iter().zip(&b.prepared.observed);
            for (((output, seen), answer), seed) in outputs.zip(answers).zip(seeds.iter_mut()) {
                if matches!(output, Output::Rise(_) | Output::PrefermentRise(_)) && !seen.collapsed {
                    let (by_r, by_d) = joint.slopes(seen.value - answer.value(), answer.by_ln_k());
                    *seed = Seed { value: -by_r, slope: by_d, ..Seed::default() };
                }
            }
        }
        if let (Some(judged), Some(thresholds)) = (&b.prepared.judged, &noise.thresholds) {
            let scales = Scales { rise: sigma2, vigour: omega2, start: start2 };
            let added = verdict::added(judged, thresholds, &scales, answers.get(b.prepared.observed.len()));
            value += added.log;
            seeds.extend(added.seed);
            by_noise.iter_mut().zip(added.by_noise).for_each(|(sum, by)| *sum += by);
            by_verdict.iter_mut().zip(added.by_parameters).for_each(|(sum, by)| *sum += by);
        }
        value
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
        let mut scratch = Scratch::default();
        let mut by_ln_k = 0.0;
        let backward = |ws: &mut [Workspace<Jet>]| {
            for (b, ws) in batches.iter().zip(ws) {
                sums.value += self.seeds(b, &ws.answers, &mut scratch);
                sums.adjoints.ln_k = 0.0;
                b.prepared.course.backward(p, ws, &scratch.seeds, &mut sums.adjoints);
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
        self.forward(batches, &JETS, |k| Jet::new(k, k), backward);
        sums.adjoints.ln_k = by_ln_k;
        (sums.by_noise, sums.by_verdict) = (scratch.by_noise, scratch.by_verdict);
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

/// The sums that the joint density of a batch's rises hangs on.
#[derive(Default)]
struct Rises {
    count: f64,
    /// r'r
    rr: f64,
    /// D'r
    dr: f64,
    /// D'D
    dd: f64,
}

/// The joint log density of a batch's rises, with its derivatives.
struct Joint {
    log_density: f64,
    by_a: f64,
    by_omega2: f64,
    a: f64,
    omega2: f64,
    /// 1 + omega² D'D/a
    det: f64,
    /// D'V⁻¹r
    dvr: f64,
    /// Derivative by q.
    by_q: f64,
}

impl Rises {
    fn add(&mut self, r: f64, d: f64) {
        self.count += 1.0;
        self.rr += r * r;
        self.dr += d * r;
        self.dd += d * d;
    }

    /// Multivariate t4 of the residuals r at squared scale V = a I + omega² D D'.
    fn joint(&self, a: f64, omega2: f64) -> Joint {
        let Self { count: n, rr, dr, dd } = *self;
        let det = 1.0 + omega2 * dd / a;
        let dvr = dr / (a * det);
        let q = (rr - omega2 * dr * dvr) / a;
        let half = 0.5 * (student::DEGREES + n);
        let log_density =
            student::ln_norm(n) - 0.5 * (n * a.ln() + det.ln()) - half * (q / student::DEGREES).ln_1p();
        let by_q = -half / (student::DEGREES + q);
        // D'V⁻¹D = D'D/(a det); dq/d omega² = -(D'V⁻¹r)², dq/da = -r'V⁻²r.
        let dvd = dd / (a * det);
        let rvvr = (rr - 2.0 * omega2 * dvr * dr + omega2 * omega2 * dvr * dvr * dd) / (a * a);
        let trace = (n - omega2 * dvd) / a;
        Joint {
            log_density,
            by_a: -0.5 * trace - by_q * rvvr,
            by_omega2: -0.5 * dvd - by_q * dvr * dvr,
            a,
            omega2,
            det,
            dvr,
            by_q,
        }
    }
}

impl Joint {
    /// Derivatives by one residual r and by its slope d.
    fn slopes(&self, r: f64, d: f64) -> (f64, f64) {
        // V⁻¹r and V⁻¹D of this reading; dq/dr = 2 V⁻¹r, dq/dD = -2 omega² (D'V⁻¹r) V⁻¹r, d ln|V|/dD = 2 omega² V⁻¹D.
        let vr = (r - self.omega2 * self.dvr * d) / self.a;
        let vd = d / (self.a * self.det);
        let by_d = -self.omega2 * vd - 2.0 * self.by_q * self.omega2 * self.dvr * vr;
        (2.0 * self.by_q * vr, by_d)
    }
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
