//! A batch under way: what readings of it say of this very dough, on top of a fit.
//!
//! Two things are a batch's own under each draw s of the posterior: u, its vigour on ln k beside what its lots
//! are known for (squared scale omega² + lots not seen before), and v in °C, how far it began from the temperature
//! that the heat balance foretells (squared scale sigma_T²; none when the dough was probed). With y the readings
//! less what the draw foretells (ln rise, °C), H their slopes by (u, v), R = diag(sigma² or sigma_T²) and
//! Q = diag(squared scales of u and v), y and (u, v) together are a multivariate t4, as in the likelihood of the fit:
//!
//! - P = Q⁻¹ + H'R⁻¹H, m = P⁻¹H'R⁻¹y, q = y'R⁻¹y - m'Pm
//! - ln density of y: ln_norm(n) - (ln|R| + ln|Q| + ln|P|)/2 - (4+n)/2 ln(1 + q/4): the weight of the draw
//! - (u, v) given y: bivariate t of 4+n degrees about m with squared scale (4+q)/(4+n) P⁻¹
//!
//! H is taken at (0, 0) and once more at the m found. The draws are then resampled by their weights (systematically)
//! and each copy gets a (u, v) of its own, so that what follows is equally weighted.
//!
//! Source: conjugate updating of a linear model; the t by its scale mixture (Gelman et al., *Bayesian Data Analysis*, 3rd
//! ed., chapters 14 and 17). Limits: readings share one robust weight, as in the fit; few draws may be left
//! ([`UnderWay::effective`]).

use nalgebra::{Matrix2, Vector2};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{ChiSquared, Distribution, StandardNormal};

use crate::physics::course::{Course, Output, Parameters, Start, Workspace};

use super::forecast::{Component, Draw, Forecaster, Mixture};
use super::prepare::Prepared;
use super::student::{DEGREES, ln_norm};

/// Something read of a dough under way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Seen {
    /// ln rise so many hours after mixing.
    Rise(f64, f64),
    /// Dough temperature in °C so many hours after mixing.
    Temperature(f64, f64),
}

impl Seen {
    /// Hours after mixing.
    pub fn hours(self) -> f64 {
        match self {
            Self::Rise(hours, _) | Self::Temperature(hours, _) => hours,
        }
    }

    fn value(self) -> f64 {
        match self {
            Self::Rise(_, value) | Self::Temperature(_, value) => value,
        }
    }
}

/// One dough that the readings may have come from.
#[derive(Debug, Clone)]
struct Dough {
    parameters: Parameters,
    k: f64,
    start_c: f64,
    sigma: f64,
    own: f64,
}

/// A batch under way, as doughs that count alike.
#[derive(Debug, Clone)]
pub struct UnderWay {
    doughs: Vec<Dough>,
    /// How many draws the readings leave: one over the sum of the squared weights.
    pub effective: f64,
}

/// Seed of the chance in resampling.
const SEED: u64 = 0xD0;

impl Forecaster {
    /// What `seen` says of the batch that `plan` has become; without readings, what the fit alone says. Where the fit
    /// was made with these very readings (`fitted`), its draws already carry their weight. `None` when a reading lies
    /// beyond the plan's hours or no draw can have given the readings.
    pub fn under_way(&self, plan: &Prepared, seen: &[Seen], fitted: bool) -> Option<UnderWay> {
        let course = asked(&plan.course, seen)?;
        let learned: Vec<Learned> =
            self.draws.iter().map(|d| Learned::of(d, plan, &course, seen)).collect::<Option<_>>()?;
        let best =
            learned.iter().map(|l| l.ln_weight).filter(|w| w.is_finite()).fold(f64::NEG_INFINITY, f64::max);
        let weight = |l: &Learned| if fitted { 1.0 } else { (l.ln_weight - best).exp() };
        let weights: Vec<f64> = learned.iter().map(weight).collect();
        let sum: f64 = weights.iter().filter(|w| w.is_finite()).sum();
        if !(sum > 0.0 && sum.is_finite()) {
            return None;
        }
        let effective = sum * sum / weights.iter().map(|w| w * w).sum::<f64>();
        let mut rng = ChaCha8Rng::seed_from_u64(SEED);
        let n = self.draws.len();
        let (mut doughs, mut reached, mut which) = (Vec::with_capacity(n), weights[0], 0);
        for i in 0..n {
            let wanted = (i as f64 + 0.5) * sum / n as f64;
            while reached < wanted && which + 1 < n {
                which += 1;
                reached += weights[which];
            }
            doughs.push(learned[which].dough(&self.draws[which], &mut rng));
        }
        Some(UnderWay { doughs, effective })
    }
}

/// The course asked for what was seen, in order.
fn asked(course: &Course, seen: &[Seen]) -> Option<Course> {
    let mut course = course.clone();
    course.outputs.clear();
    let hours: Vec<f64> = seen.iter().map(|s| s.hours()).collect();
    for (s, after) in seen.iter().zip(course.marks(&hours)) {
        let after = after?;
        course.outputs.push(match s {
            Seen::Rise(..) => Output::Rise(after),
            Seen::Temperature(..) => Output::Temperature(after),
        });
    }
    Some(course)
}

/// What the readings say under one draw.
struct Learned {
    ln_weight: f64,
    /// m.
    centre: Vector2<f64>,
    /// A root of the squared scale of (u, v).
    root: Matrix2<f64>,
    degrees: f64,
    k: f64,
    start_c: f64,
}

impl Learned {
    fn of(draw: &Draw, plan: &Prepared, course: &Course, seen: &[Seen]) -> Option<Self> {
        let known = draw.k(plan);
        let start_c = course.start_c(&draw.parameters);
        // A start that was probed is taken as it is: its error has no room to move.
        let start_scale = if course.start == Start::Mixed { draw.sigma_t } else { 1e-6 };
        let scales =
            Vector2::new((draw.omega * draw.omega + known.unseen).max(1e-12), start_scale * start_scale);
        let mut moved = course.clone();
        let mut at = Vector2::<f64>::zeros();
        let mut found = None;
        for _ in 0..2 {
            let (foretold, slopes) = linear(draw, &mut moved, known.k * at.x.exp(), start_c + at.y);
            let mut precision = Matrix2::from_diagonal(&scales.map(|s| 1.0 / s));
            let (mut pull, mut square, mut ln_noise) = (Vector2::<f64>::zeros(), 0.0, 0.0);
            for ((s, f), h) in seen.iter().zip(&foretold).zip(&slopes) {
                let noise = match s {
                    Seen::Rise(..) => draw.sigma * draw.sigma,
                    Seen::Temperature(..) => draw.sigma_t * draw.sigma_t,
                };
                let y = s.value() - f + h.dot(&at);
                precision += h * h.transpose() / noise;
                pull += h * y / noise;
                square += y * y / noise;
                ln_noise += noise.ln();
            }
            let covariance = precision.try_inverse()?;
            let centre = covariance * pull;
            let q = (square - centre.dot(&pull)).max(0.0);
            let n = seen.len() as f64;
            let ln_volume = ln_noise + scales.map(f64::ln).sum() + precision.determinant().ln();
            let ln_weight = ln_norm(n) - 0.5 * ln_volume - 0.5 * (DEGREES + n) * (q / DEGREES).ln_1p();
            let squared = covariance * (DEGREES + q) / (DEGREES + n);
            let root = squared.cholesky()?.l();
            at = centre;
            found = Some(Self { ln_weight, centre, root, degrees: DEGREES + n, k: known.k, start_c });
        }
        found
    }

    /// A dough drawn from what was learned.
    fn dough(&self, draw: &Draw, rng: &mut ChaCha8Rng) -> Dough {
        let mut normal = || StandardNormal.sample(rng);
        let z = Vector2::new(normal(), normal());
        let spread = ChiSquared::new(self.degrees).map_or(1.0, |c| (self.degrees / c.sample(rng)).sqrt());
        let own = self.centre + self.root * z * spread;
        Dough {
            parameters: draw.parameters.clone(),
            k: self.k * own.x.exp(),
            start_c: self.start_c + own.y,
            sigma: draw.sigma,
            own: own.x,
        }
    }
}

/// What a draw foretells of each output with this k and start, and its slopes by ln k and by the start.
fn linear(draw: &Draw, course: &mut Course, k: f64, start_c: f64) -> (Vec<f64>, Vec<Vector2<f64>>) {
    let mut ws = Workspace::<f64>::default();
    course.start = Start::Measured(start_c);
    course.forward(&draw.parameters, k, &mut ws);
    let slopes =
        (0..course.outputs.len()).map(|i| Vector2::new(ws.answers[i].by_ln_k(), ws.by_start(course, i)));
    (ws.answers.iter().map(|a| a.value).collect(), slopes.collect())
}

impl UnderWay {
    /// For each dough the values of all outputs of a course that begins as the batch began, without noise of reading.
    pub fn values(&self, course: &Course) -> Vec<Vec<f64>> {
        let mut ws = Workspace::<f64>::default();
        let mut course = course.clone();
        self.doughs
            .iter()
            .map(|d| {
                course.start = Start::Measured(d.start_c);
                course.forward(&d.parameters, d.k, &mut ws);
                ws.answers.iter().map(|a| a.value).collect()
            })
            .collect()
    }

    /// The forecast, on ln rise, of the course's last output, as it will be read.
    pub fn rise(&self, course: &Course) -> Mixture {
        let values = self.values(course);
        let read = |(v, d): (&Vec<f64>, &Dough)| Component {
            centre: v.last().copied().unwrap_or(f64::NAN),
            scale: d.sigma,
        };
        Mixture(values.iter().zip(&self.doughs).map(read).collect())
    }

    /// The batch's own vigour on ln k, one a dough.
    pub fn vigour(&self) -> Vec<f64> {
        self.doughs.iter().map(|d| d.own).collect()
    }

    /// The noise of ln rise, one a dough.
    pub fn noise(&self) -> Vec<f64> {
        self.doughs.iter().map(|d| d.sigma).collect()
    }

    /// Every n-th dough, so that at most `most` are left.
    pub fn thinned(&self, most: usize) -> Self {
        let step = self.doughs.len().div_ceil(most.max(1)).max(1);
        Self { doughs: self.doughs.iter().step_by(step).cloned().collect(), effective: self.effective }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dough::{Batch, YeastType};
    use crate::inference::fit::Settings;
    use crate::inference::prepare::Records;
    use crate::inference::quick;

    #[test]
    fn the_own_vigour_agrees_with_integration_over_it() {
        let settings = Settings { draws: 100, ..Settings::default() };
        let mut forecaster = quick::fit(&Records::default(), &settings).unwrap().forecaster().unwrap();
        let plan = Batch {
            flour_g: Some(1000.0),
            water_g: Some(640.0),
            yeast_g: Some(2.5),
            yeast_type: Some(YeastType::Instant),
            dough_temp_c: Some(24.0),
            bulk_hours: Some(2.0),
            bulk_temp_c: Some(22.0),
            cold_hours: Some(24.0),
            cold_temp_c: Some(4.0),
            piece_g: Some(250.0),
            ..Batch::default()
        };
        let (prepared, _) = forecaster.ready(&plan);
        for draw in &forecaster.draws {
            let ws_at = |u: f64, course: &Course| {
                let mut ws = Workspace::<f64>::default();
                course.forward(&draw.parameters, draw.k(&prepared).k * u.exp(), &mut ws);
                ws.answers.iter().map(|a| a.value).collect::<Vec<_>>()
            };
            let hours = [2.0, 14.0, 26.0];
            let blank: Vec<Seen> = hours.iter().map(|h| Seen::Rise(*h, 0.0)).collect();
            let course = asked(&prepared.course, &blank).unwrap();
            // A batch that works a sixth faster, each reading a little off.
            let truth = ws_at(0.15, &course);
            let off = [0.4, -0.7, 0.5].map(|z| z * draw.sigma);
            let seen: Vec<Seen> =
                hours.iter().zip(truth.iter().zip(off)).map(|(h, (f, e))| Seen::Rise(*h, f + e)).collect();
            let learned = Learned::of(draw, &prepared, &course, &seen).unwrap();
            // The same by brute force: no slopes, the joint t4 of readings and vigour along u.
            let tau = draw.omega.max(1e-6);
            let (mut sum, mut first, mut second) = (0.0, 0.0, 0.0);
            for i in -4000..=4000 {
                let u = 0.15 + f64::from(i) * 2.5e-4;
                let misses = ws_at(u, &course)
                    .iter()
                    .zip(&seen)
                    .map(|(f, s)| ((s.value() - f) / draw.sigma).powi(2))
                    .sum::<f64>();
                let q = misses + (u / tau).powi(2);
                let density = (1.0 + q / DEGREES).powf(-0.5 * (DEGREES + 4.0));
                (sum, first, second) = (sum + density, first + density * u, second + density * u * u);
            }
            let (mean, sd) = (first / sum, (second / sum - (first / sum).powi(2)).sqrt());
            // Standard deviation of a t of n degrees: its scale times sqrt(n/(n-2)).
            let closed = learned.root[(0, 0)] * (learned.degrees / (learned.degrees - 2.0)).sqrt();
            assert!((learned.centre.x - mean).abs() < 0.15 * sd, "{} {mean} (sd {sd})", learned.centre.x);
            assert!((closed / sd - 1.0).abs() < 0.1, "{closed} {sd}");
        }
    }
}
