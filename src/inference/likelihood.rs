//! What one batch tells of its kitchen: the log likelihood of its outputs, with its derivatives.
//!
//! The course ([`crate::physics::course`]) gives ln rise f of what was read. The batch's own vigour, N(0, omega) on ln k, is
//! shared by all its rises and is integrated out along their slopes D = df/d ln k, whether one rise was read or many:
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

use crate::physics::abreast::{Step, Waiting};
use crate::physics::course::{Answer, Output, Seed};
use crate::physics::elementary::ln;
use crate::physics::scalar::Scalar;

use super::posterior::Evidence;
use super::student;
use super::verdict::{self, Scales, Thresholds};

/// Scales of the noise.
#[derive(Debug, Clone, Copy)]
pub(super) struct Noise {
    /// Of ln rise.
    pub sigma: f64,
    /// Of temperature in °C.
    pub sigma_t: f64,
    /// Of a batch's own vigour on ln k.
    pub omega: f64,
    pub thresholds: Option<Thresholds>,
}

/// What batches told one after another add up to.
#[derive(Default)]
pub(super) struct Tally {
    /// The log likelihood of each, when [`Tally::finish`] is done.
    pub values: Vec<f64>,
    /// One seed an output of the last batch told.
    pub seeds: Vec<Seed>,
    /// Derivatives by ln sigma, ln sigma_T and ln omega, added up.
    pub by_noise: [f64; 3],
    /// Derivatives by what the verdicts bring, added up.
    pub by_verdict: [f64; verdict::PARAMETERS],
    /// Logarithms that wait: whose they are, and the factor that they count with.
    logs: Waiting<(usize, f64), f64>,
}

/// Natural logarithm.
struct Ln;

impl Step for Ln {
    type In = f64;
    type Out = f64;

    #[inline(always)]
    fn one(&self, x: &f64) -> f64 {
        ln(*x)
    }
}

impl Tally {
    /// Adds the log likelihood of a batch, and its derivatives by the log scales of the noise; fills the seeds.
    pub fn tell<N: Scalar>(&mut self, b: &Evidence, noise: &Noise, max_rise: f64, answers: &[Answer<N>]) {
        self.values.push(0.0);
        self.seeds.clear();
        let sigma2 = noise.sigma * noise.sigma;
        let start2 = (b.start_slope * noise.sigma_t).powi(2);
        let omega2 = noise.omega * noise.omega;
        let a = sigma2 + start2;
        let mut rises = Rises::default();
        for ((output, seen), answer) in
            b.prepared.course.outputs.iter().zip(&b.prepared.observed).zip(answers)
        {
            let r = seen.value - answer.value.value();
            let seed = match output {
                Output::MixedTemperature | Output::Temperature(_) => {
                    let v = noise.sigma_t * noise.sigma_t;
                    let told = student::Told::new(r, v);
                    self.by_noise[1] += 2.0 * v * told.by_v;
                    self.add(student::LN_PEAK);
                    self.add_ln(-0.5, v);
                    self.add_ln(-student::POWER, told.bound);
                    Seed { value: -told.by_r, ..Seed::default() }
                }
                Output::Rise(_) | Output::PrefermentRise(_) if seen.collapsed => {
                    let v = sigma2 + omega2;
                    let (log, seed, by_v) = collapsed(answer.unbounded.value(), max_rise, v);
                    self.by_noise[0] += 2.0 * sigma2 * by_v;
                    self.by_noise[2] += 2.0 * omega2 * by_v;
                    self.add(log);
                    seed
                }
                Output::Rise(_) | Output::PrefermentRise(_) => {
                    rises.add(r, answer.by_ln_k());
                    // Filled below, when all rises of the batch are known.
                    Seed::default()
                }
            };
            self.seeds.push(seed);
        }
        if rises.count > 0.0 {
            let joint = rises.joint(a, omega2);
            self.add(joint.ln_norm);
            self.add_ln(-0.5 * joint.count, joint.a);
            self.add_ln(-0.5, joint.det);
            self.add_ln(-joint.half, joint.bound);
            self.by_noise[0] += 2.0 * sigma2 * joint.by_a;
            self.by_noise[1] += 2.0 * start2 * joint.by_a;
            self.by_noise[2] += 2.0 * omega2 * joint.by_omega2;
            let outputs = b.prepared.course.outputs.iter().zip(&b.prepared.observed);
            for (((output, seen), answer), seed) in outputs.zip(answers).zip(self.seeds.iter_mut()) {
                if matches!(output, Output::Rise(_) | Output::PrefermentRise(_)) && !seen.collapsed {
                    let (by_r, by_d) = joint.slopes(seen.value - answer.value.value(), answer.by_ln_k());
                    *seed = Seed { value: -by_r, slope: by_d, ..Seed::default() };
                }
            }
        }
        if let (Some(judged), Some(thresholds)) = (&b.prepared.judged, &noise.thresholds) {
            let scales = Scales { rise: sigma2, vigour: omega2, start: start2 };
            let added = verdict::added(judged, thresholds, &scales, answers.get(b.prepared.observed.len()));
            self.add(added.log);
            self.seeds.extend(added.seed);
            self.by_noise.iter_mut().zip(added.by_noise).for_each(|(sum, by)| *sum += by);
            self.by_verdict.iter_mut().zip(added.by_parameters).for_each(|(sum, by)| *sum += by);
        }
    }

    /// Adds the logarithms that still wait.
    pub fn finish(&mut self) {
        self.logs.finish(&Ln, |(i, factor), _, ln| self.values[i] += factor * ln);
    }

    fn add(&mut self, value: f64) {
        if let Some(last) = self.values.last_mut() {
            *last += value;
        }
    }

    /// Adds `factor` ln `x`, soon.
    fn add_ln(&mut self, factor: f64, x: f64) {
        let whose = (self.values.len() - 1, factor);
        self.logs.add(&Ln, whose, x, |(i, factor), _, ln| self.values[i] += factor * ln);
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
    /// ln of the factor before the density.
    ln_norm: f64,
    /// (4 + n)/2 and 1 + q/4: the log density takes ln of one, times less the other.
    half: f64,
    bound: f64,
    count: f64,
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
        let by_q = -half / (student::DEGREES + q);
        // D'V⁻¹D = D'D/(a det); dq/d omega² = -(D'V⁻¹r)², dq/da = -r'V⁻²r.
        let dvd = dd / (a * det);
        let rvvr = (rr - 2.0 * omega2 * dvr * dr + omega2 * omega2 * dvr * dvr * dd) / (a * a);
        let trace = (n - omega2 * dvd) / a;
        Joint {
            ln_norm: student::ln_norm(n),
            half,
            bound: 1.0 + q * (1.0 / student::DEGREES),
            count: n,
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
