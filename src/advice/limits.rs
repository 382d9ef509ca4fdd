//! What a kitchen can do, and how near is near enough.

use serde::{Deserialize, Serialize};

use super::AdviceError;

/// Limits of a recommendation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Limits {
    /// A rise within this share of the target counts as met.
    pub window: f64,
    /// What the scale resolves for yeast, in g.
    pub scale_g: f64,
    /// Water temperature in °C, coldest and warmest.
    pub water_c: (f64, f64),
    /// Steps of water temperature in °C that a kitchen can tell apart.
    pub water_step_c: f64,
    /// Dough temperature after mixing in °C, lowest and highest.
    pub dough_c: (f64, f64),
    /// The most yeast in % of flour, as instant.
    pub most_yeast_pct: f64,
}

impl Default for Limits {
    /// Ten percent of the target; a scale of 0.1 g; water of 1-45 °C; dough of 18-28 °C and at most 3 % of
    /// yeast (common practice, no source).
    fn default() -> Self {
        Self {
            window: 0.10,
            scale_g: 0.1,
            water_c: (1.0, 45.0),
            water_step_c: 1.0,
            dough_c: (18.0, 28.0),
            most_yeast_pct: 3.0,
        }
    }
}

impl Limits {
    /// Checks that they can be kept at all.
    ///
    /// # Errors
    /// [`AdviceError::Limits`] naming the one that cannot.
    pub fn validate(&self) -> Result<(), AdviceError> {
        let said = |message: String| Err(AdviceError::Limits(message));
        if !(0.005..=0.5).contains(&self.window) {
            return said(format!(
                "a window of {} % is not between 0.5 and 50: 10 means within 10 % of the target",
                100.0 * self.window
            ));
        }
        if !(0.001..=100.0).contains(&self.scale_g) {
            return said(format!("a scale of {} g is not between 0.001 and 100 g", self.scale_g));
        }
        for (name, (low, high)) in [("water", self.water_c), ("dough", self.dough_c)] {
            if !(low.is_finite() && high.is_finite() && low < high) {
                return said(format!(
                    "{name} temperatures from {low} to {high} °C leave nothing to choose from"
                ));
            }
        }
        Ok(())
    }
}
