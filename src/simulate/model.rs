//! Outcomes of the model itself: its closed forms with its own noise, for simulate-and-recover and for
//! simulation-based calibration, where truth and model must be one.

use rand::Rng;

use crate::physics::course::{Course, Output, Parameters, Workspace};

use super::chance::{normal, student_t4};

/// Spreads of the model's noise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModelNoise {
    /// Scale of Student's t4 on ln rise.
    pub rise: f64,
    /// Scale of Student's t4 on temperatures, °C.
    pub temperature_c: f64,
    /// Standard deviation of a batch's own vigour on ln k.
    pub vigour: f64,
}

/// What would be observed of each output of `course`, in their order: ln rise or °C, with noise. `ln_effect` is
/// what lots add to ln k; the batch's own vigour is drawn. A start temperature is taken as the course has it.
pub fn bake_model(
    course: &Course,
    parameters: &Parameters,
    ln_effect: f64,
    noise: &ModelNoise,
    rng: &mut impl Rng,
) -> Vec<f64> {
    let k = parameters.k * (ln_effect + noise.vigour * normal(rng)).exp();
    let mut ws = Workspace::default();
    course.forward(parameters, k, &mut ws);
    let noisy = |(output, value): (&Output, f64)| {
        let scale = match output {
            Output::Rise(_) | Output::PrefermentRise(_) => noise.rise,
            Output::MixedTemperature | Output::Temperature(_) => noise.temperature_c,
        };
        value + scale * student_t4(rng)
    };
    course.outputs.iter().zip(ws.answers.iter().map(|a| a.value)).map(noisy).collect()
}
