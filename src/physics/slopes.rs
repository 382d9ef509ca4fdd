//! How one output of a course moves with the yeast's vigour and with the temperature the dough starts from.
//!
//! Computes d f/d ln k and d f/d T0 of an output f (ln rise, or a temperature in °C) from what [`Course::forward`] left:
//! T0 the temperature just after mixing in °C, k the rate of [`super::course`]. Along the stages d T_i/d T0 is the product
//! of their d T1/d T0, and d theta/d T0 the sum of each stage's d theta/d T0 times that product before it
//! ([`super::thermal_time`]).
//!
//! Source: chain rule. Limits: the tangent at the start as it is; a preferment is its own vessel and does not follow T0.

use super::course::{Course, Output, Workspace};

impl Workspace<f64> {
    /// d f/d T0 of the output `i` of `course`, per °C.
    pub fn by_start(&self, course: &Course, i: usize) -> f64 {
        let after = match course.outputs[i] {
            Output::Rise(n) | Output::Temperature(n) => n,
            Output::PrefermentRise(_) | Output::MixedTemperature => return 0.0,
        };
        let (mut theta, mut temperature) = (0.0, 1.0);
        for stage in &self.stretches[..after] {
            theta += temperature * stage.theta_by_start;
            temperature *= stage.end_by_start;
        }
        match course.outputs[i] {
            Output::Rise(_) => {
                let slopes = &self.answers[i].slopes;
                slopes.theta * theta + slopes.end_c * temperature
            }
            _ => temperature,
        }
    }
}
