//! The baker's verdict at the oven, under, ready or over, as evidence: a kitchen that never measures rise learns from it.
//!
//! A dough is called under below `from`, over above `to`, both on ln rise, by an eye with an error: with c what is known of
//! ln rise at the oven and v the squared scale of a t4 about it, P(under) = T((from - c)/√v), P(over) = T((c - to)/√v), and
//! ready is what is left; T the distribution function of t4 ([`super::student`]).
//!
//! - rise not measured: c = f, the foretold ln rise, v = eye² + omega² D² + (S sigma_T)², symbols as in
//!   [`super::posterior`]
//! - rise measured at the oven: c is the reading, v = eye² + sigma²: the verdict tells of the thresholds alone
//!
//! Source: a choice of this project, in the manner of an ordered regression with a latent value.
//! Limits: the thresholds are those of one kitchen, whatever the recipe; a collapsed dough is told by the posterior itself.

use crate::dough::Ripeness;
use crate::physics::course::{Answer, Seed};
use crate::physics::scalar::Scalar;

use super::priors::{Form, Prior};
use super::student;

/// How many parameters the verdicts bring: where ready begins, how wide it is, the eye's error.
pub const PARAMETERS: usize = 3;

/// A verdict beside what is known of the rise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judged {
    /// Under, ready or over.
    pub verdict: Ripeness,
    /// ln rise as measured at the oven; `None` when it is foretold, by the output after all that was observed.
    pub measured: Option<f64>,
}

/// The thresholds of a kitchen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thresholds {
    /// ln rise from which a dough is ready.
    pub from: f64,
    /// ln rise from which it is over.
    pub to: f64,
    /// The eye's error, on ln rise.
    pub eye: f64,
}

/// The priors: ready from about 1.9 to 2.7 times (common practice, no source).
pub fn priors() -> Vec<Prior> {
    vec![
        Prior::new(
            "ready_from",
            "times",
            Form::LogNormal { median: 1.9, sd: 0.20 },
            "the rise from which this kitchen calls a dough ready",
        ),
        Prior::new(
            "ready_width",
            "of ln rise",
            Form::LogNormal { median: 0.35, sd: 0.40 },
            "from just ready to over",
        ),
        Prior::new(
            "eye",
            "of ln rise",
            Form::LogNormal { median: 0.10, sd: 0.40 },
            "error of the eye for ripeness",
        ),
    ]
}

impl Thresholds {
    /// From the values of the three parameters: the rise from which a dough is ready, and on ln rise the width of ready and
    /// the eye's error.
    pub fn new([from, width, eye]: [f64; PARAMETERS]) -> Self {
        Self { from: from.ln(), to: from.ln() + width, eye }
    }
}

/// ln of the chance of a verdict with its derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Told {
    /// ln chance.
    pub log: f64,
    /// By c.
    pub by_centre: f64,
    /// By v.
    pub by_v: f64,
    /// By the values of the three parameters, the eye's through v included.
    pub by_parameters: [f64; PARAMETERS],
}

/// The chance of `verdict` about `centre` at squared scale `v`, which contains eye²; both on ln rise.
pub fn told(verdict: Ripeness, centre: f64, v: f64, t: &Thresholds) -> Told {
    let s = v.sqrt();
    let (low, high) = ((t.from - centre) / s, (t.to - centre) / s);
    let (at_low, at_high) = (student::density(low), student::density(high));
    // The chance, and its derivatives by both thresholds in units of s.
    let (chance, by_low, by_high) = match verdict {
        Ripeness::Under => (student::below(low), at_low, 0.0),
        Ripeness::Over | Ripeness::Collapsed => (student::below(-high), 0.0, -at_high),
        // From the tail in which both are small, so that no digit is lost.
        Ripeness::Ready if low > 0.0 => (student::below(-low) - student::below(-high), -at_low, at_high),
        Ripeness::Ready => (student::below(high) - student::below(low), -at_low, at_high),
    };
    let (by_from, by_to) = (by_low / (chance * s), by_high / (chance * s));
    let by_v = -(by_low * low + by_high * high) / (2.0 * v * chance);
    Told {
        log: chance.ln(),
        by_centre: -(by_from + by_to),
        by_v,
        by_parameters: [(by_from + by_to) / t.from.exp(), by_to, 2.0 * t.eye * by_v],
    }
}

/// Squared scales that a verdict rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scales {
    /// sigma².
    pub rise: f64,
    /// omega².
    pub vigour: f64,
    /// (S sigma_T)².
    pub start: f64,
}

/// What a verdict adds to the log likelihood of its batch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Added {
    /// To its value.
    pub log: f64,
    /// The seed of the foretold rise, when that was asked for.
    pub seed: Option<Seed>,
    /// To the derivatives by ln sigma, ln sigma_T and ln omega.
    pub by_noise: [f64; 3],
    /// To the derivatives by the values of the three parameters.
    pub by_parameters: [f64; PARAMETERS],
}

/// The log likelihood of a verdict; `foretold` is the answer after all that was observed.
pub fn added<N: Scalar>(
    judged: &Judged,
    t: &Thresholds,
    scales: &Scales,
    foretold: Option<&Answer<N>>,
) -> Added {
    let eye = t.eye * t.eye;
    match (judged.measured, foretold) {
        (None, Some(answer)) => {
            let (centre, d) = (answer.value.value(), answer.by_ln_k());
            let told = told(judged.verdict, centre, eye + scales.vigour * d * d + scales.start, t);
            let seed =
                Seed { value: told.by_centre, slope: 2.0 * scales.vigour * d * told.by_v, ..Seed::default() };
            Added {
                log: told.log,
                seed: Some(seed),
                by_noise: [0.0, 2.0 * scales.start * told.by_v, 2.0 * scales.vigour * d * d * told.by_v],
                by_parameters: told.by_parameters,
            }
        }
        (measured, _) => {
            let told = told(judged.verdict, measured.unwrap_or(f64::NAN), eye + scales.rise, t);
            Added {
                log: told.log,
                seed: None,
                by_noise: [2.0 * scales.rise * told.by_v, 0.0, 0.0],
                by_parameters: told.by_parameters,
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const T: Thresholds = Thresholds { from: 0.6, to: 1.0, eye: 0.1 };

    #[test]
    fn the_three_chances_add_up_to_one() {
        for centre in [-3.0, 0.6, 0.8, 1.1, 6.0] {
            let sum: f64 = [Ripeness::Under, Ripeness::Ready, Ripeness::Over]
                .map(|verdict| told(verdict, centre, 0.02, &T).log.exp())
                .iter()
                .sum();
            assert!((sum - 1.0).abs() < 1e-14, "{centre}: {sum}");
        }
    }

    #[test]
    fn derivatives_are_those_of_the_value() {
        for verdict in [Ripeness::Under, Ripeness::Ready, Ripeness::Over] {
            for centre in [0.2, 0.7, 1.2] {
                let at = |centre: f64, p: [f64; 3], more: f64| {
                    let t = Thresholds::new(p);
                    told(verdict, centre, t.eye * t.eye + 0.01 + more, &t).log
                };
                let p = [1.9, 0.35, 0.1];
                let ours = told(verdict, centre, 0.02, &Thresholds::new(p));
                let h = 1e-6;
                let slope = |f: &dyn Fn(f64) -> f64| (f(h) - f(-h)) / (2.0 * h);
                let moved = |i: usize, by: f64| {
                    let mut q = p;
                    q[i] += by;
                    q
                };
                let pairs = [
                    (ours.by_centre, slope(&|by| at(centre + by, p, 0.0))),
                    (ours.by_v, slope(&|by| at(centre, p, by))),
                    (ours.by_parameters[0], slope(&|by| at(centre, moved(0, by), 0.0))),
                    (ours.by_parameters[1], slope(&|by| at(centre, moved(1, by), 0.0))),
                    (ours.by_parameters[2], slope(&|by| at(centre, moved(2, by), 0.0))),
                ];
                for (ours, difference) in pairs {
                    assert!(
                        (ours - difference).abs() < 1e-6 * (1.0 + difference.abs()),
                        "{ours} {difference}"
                    );
                }
            }
        }
    }
}
