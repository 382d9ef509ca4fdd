//! Readings of a batch under way, and what is wrong with them.

use crate::inference::forecast::{Forecaster, Mixture};
use crate::inference::prepare::Prepared;
use crate::inference::under_way::Seen;
use crate::physics::course::{Course, Output};

use super::super::AdviceError;

/// A temperature read so soon after mixing is the dough's temperature after mixing, in h.
const AT_MIXING_H: f64 = 0.05;
/// A reading is impossible for a plan when fewer batches than this lie beyond it.
const IMPOSSIBLE: f64 = 0.001;
/// A rise this much lower than an earlier one, beyond what cooling does, has fallen (on ln rise; a choice of this project).
const FALLEN: f64 = 0.12;

/// What was read, as given.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Taken {
    /// Hours after mixing, and the rise.
    pub rises: Vec<(f64, f64)>,
    /// Hours after mixing, and the dough's temperature in °C.
    pub temperatures: Vec<(f64, f64)>,
}

fn refuse<T>(why: String) -> Result<T, AdviceError> {
    Err(AdviceError::Readings(why))
}

impl Taken {
    /// Checks each reading by itself, and that they are given in the order they were taken.
    pub(super) fn in_order(&self) -> Result<(), AdviceError> {
        if self.rises.is_empty() && self.temperatures.is_empty() {
            return refuse(
                "there is no reading: give what the jar shows, for example --reading 3=1.25".into(),
            );
        }
        for (what, all, (least, most)) in
            [("rise", &self.rises, (0.8, 12.0)), ("dough temperature", &self.temperatures, (0.0, 45.0))]
        {
            for &(hours, value) in all {
                if !(0.0..=400.0).contains(&hours) {
                    return refuse(format!(
                        "{hours} h is no time after mixing: hours count from the end of mixing"
                    ));
                }
                if !(least..=most).contains(&value) {
                    return refuse(format!(
                        "a {what} of {value} after {hours} h is not between {least} and {most}"
                    ));
                }
            }
            for pair in all.windows(2) {
                let ((before, _), (after, _)) = (pair[0], pair[1]);
                if after <= before {
                    return refuse(format!(
                        "the reading at {after} h comes after the one at {before} h: give them in the order they were taken, \
                         hours counted from the end of mixing"
                    ));
                }
            }
        }
        Ok(())
    }

    /// The moment to decide at: the one given, else that of the last reading.
    pub(super) fn now(&self, given: Option<f64>) -> Result<f64, AdviceError> {
        let last = self.rises.iter().chain(&self.temperatures).map(|r| r.0).fold(0.0, f64::max);
        match given {
            Some(now) if now < last => refuse(format!(
                "it is {now} h after mixing, yet a reading is from {last} h: one of them is wrong"
            )),
            now => Ok(now.unwrap_or(last)),
        }
    }

    /// The dough's temperature just after mixing, if it was probed.
    pub(super) fn at_mixing(&self) -> Option<f64> {
        self.temperatures.first().filter(|(h, _)| *h <= AT_MIXING_H).map(|(_, t)| *t)
    }

    /// As the fit reads them.
    pub(super) fn seen(&self) -> Vec<Seen> {
        let later = self.temperatures.iter().filter(|(h, _)| *h > AT_MIXING_H);
        let rises = self.rises.iter().map(|&(h, rise)| Seen::Rise(h, rise.ln()));
        rises.chain(later.map(|&(h, t)| Seen::Temperature(h, t))).collect()
    }

    /// Checks the rises against what the plan can give.
    pub(super) fn possible(&self, forecaster: &Forecaster, plan: &Prepared) -> Result<(), AdviceError> {
        let mut asked = plan.clone();
        let hours: Vec<f64> = self.rises.iter().map(|r| r.0).collect();
        asked.course = at(&plan.course, &hours);
        let by_draw = forecaster.rises(&asked);
        for (i, pair) in self.rises.windows(2).enumerate() {
            let ((from, before), (to, after)) = (pair[0], pair[1]);
            // Cold dough holds more gas and stands lower: so much may it sink.
            let sinks = by_draw.iter().map(|d| d[i + 1].centre - d[i].centre).fold(0.0, f64::min);
            if (after / before).ln() < sinks - FALLEN {
                return refuse(format!(
                    "the dough stood at {before} after {from} h and at {after} after {to} h: dough does not fall by itself; \
                     read the jar again, and if it has sunk in the middle it is past its best: bake it now"
                ));
            }
        }
        for (i, &(hours, rise)) in self.rises.iter().enumerate() {
            let foretold = Mixture(by_draw.iter().map(|d| d[i]).collect());
            let below = foretold.below(rise.ln());
            if !(IMPOSSIBLE..=1.0 - IMPOSSIBLE).contains(&below) {
                return refuse(format!(
                    "a rise of {rise} after {hours} h does not belong to this plan, which gives {:.2} to {:.2} then (99 of 100 batches): \
                     check the mark on the jar, the hours, and what was weighed",
                    foretold.quantile(0.005).exp(),
                    foretold.quantile(0.995).exp()
                ));
            }
        }
        Ok(())
    }
}

/// A course asked for its rise at some hours.
fn at(course: &Course, hours: &[f64]) -> Course {
    let mut course = course.clone();
    course.outputs.clear();
    for h in hours {
        course.mark(*h);
    }
    course.outputs = hours.iter().filter_map(|h| course.clone().mark(*h)).map(Output::Rise).collect();
    course
}
