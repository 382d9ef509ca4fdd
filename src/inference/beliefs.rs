//! What is believed of a kitchen beside its names: which form the rate takes, whether lots differ, whether vigour
//! drifts, and what its sister kitchens taught. The default is the usual model.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::physics::rate_form::RateForm;

use super::drift::Periods;
use super::priors::{Core, Form, Prior};

/// What is believed of a kitchen beside its names.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Beliefs {
    /// The form of r(T).
    pub warmth: RateForm,
    /// All lots are taken to be alike.
    pub lots_alike: bool,
    /// Vigour drifts over these periods.
    pub drift: Option<Periods>,
    /// Priors moved by what other kitchens' records say, by the parameter's name.
    pub pooled: BTreeMap<String, Moved>,
}

/// A prior moved: mean and standard deviation on the scale of standard numbers, 0 and 1 when it was not.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Moved {
    /// New mean.
    pub mean: f64,
    /// New standard deviation.
    pub sd: f64,
}

/// Where half of the Arrhenius form is switched off, °C: so that it is fastest at some 35.5 °C, as the usual form is.
const SWITCH_TEMP: Form = Form::Normal { mean: 38.3, sd: 2.0 };
/// Energy of the Arrhenius form's switch in kJ/mol: enzymes that heat unfolds lie at 150 to 400 (from memory).
const SWITCH_ENERGY: Form = Form::LogNormal { median: 250.0, sd: 0.3 };

impl Beliefs {
    /// Changes the priors of the core to those of these beliefs.
    pub fn adjust(&self, shared: &mut [Prior]) {
        if self.warmth == RateForm::Arrhenius {
            shared[Core::Optimum as usize] =
                Prior::new("switch_temp", "°C", SWITCH_TEMP, "where heat stops half of the yeast's work");
            shared[Core::Maximum as usize] =
                Prior::new("switch_energy", "kJ/mol", SWITCH_ENERGY, "how sharply heat stops the yeast");
        }
        for prior in shared {
            if let Some(moved) = self.pooled.get(&prior.name) {
                prior.form = prior.form.moved(*moved);
            }
        }
    }
}

impl Form {
    /// The prior moved on its own scale; a half-normal stays, since its zero is what it is about.
    fn moved(self, to: Moved) -> Self {
        match self {
            Self::Normal { mean, sd } => Self::Normal { mean: mean + sd * to.mean, sd: sd * to.sd },
            Self::LogNormal { median, sd } => {
                Self::LogNormal { median: median * (sd * to.mean).exp(), sd: sd * to.sd }
            }
            Self::Logit { upper, mean, sd } => {
                Self::Logit { upper, mean: mean + sd * to.mean, sd: sd * to.sd }
            }
            Self::HalfNormal { .. } => self,
        }
    }
}
