//! The residual panel: how far the model's predictions were from what was measured, and whether anything explains it.
//!
//! A residual is ln(observed rise / predicted rise); it is drawn as a change in percent, so that "+10" says that the
//! dough rose to 1.1 times what was predicted.

use super::calibration::calibration;
use super::error::ChartError;
use super::figure::Figure;
use super::predicted::observed_against_predicted;
use super::quantiles::normal_quantiles;
use super::residuals_by_lot::residuals_by_lot;
use super::residuals_over::{Over, residuals_over};
use crate::dough::units::UnitSystem;

/// What was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ObservationKind {
    /// The rise at the end of a stage.
    End,
    /// The rise of the preferment at its use.
    Preferment,
    /// A reading on the way.
    Reading,
}

impl ObservationKind {
    /// The kind in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::End => "rise at the end",
            Self::Preferment => "rise of the preferment",
            Self::Reading => "reading on the way",
        }
    }
}

/// One measured rise with what the model had said of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// The batch it belongs to.
    pub batch_id: String,
    /// When mixing began: days since 1970-01-01, local.
    pub when_days: f64,
    /// What was measured.
    pub kind: ObservationKind,
    /// Volume over the volume after mixing, as measured.
    pub observed_rise: f64,
    /// The same as predicted: 1 in 20 is expected below.
    pub predicted_rise_p05: f64,
    /// The same as predicted, middle value.
    pub predicted_rise_p50: f64,
    /// The same as predicted: 1 in 20 is expected above.
    pub predicted_rise_p95: f64,
    /// ln(observed / predicted).
    pub residual_log: f64,
    /// The residual in standard deviations: standard normal if the model is right.
    pub residual_standardised: f64,
    /// Temperature of the room at mixing, °C.
    pub room_temp_c: Option<f64>,
    /// Yeast, % of the flour, as instant dry yeast.
    pub yeast_pct: f64,
    /// From mixing to the measurement, h.
    pub total_hours: f64,
    /// The lot of flour.
    pub flour_lot: Option<String>,
}

impl Observation {
    /// Whether the observation lies inside its 90 % interval.
    pub fn inside_90(&self) -> bool {
        (self.predicted_rise_p05..=self.predicted_rise_p95).contains(&self.observed_rise)
    }
}

/// How many observations fell inside the intervals of one nominal level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coverage {
    /// The share that should lie inside, 0 to 1.
    pub nominal: f64,
    /// How many did.
    pub inside: u64,
    /// Of how many.
    pub of: u64,
}

/// All charts of the residual panel for which there are data, in the order in which they are best read.
pub fn residual_panel(
    observations: &[Observation],
    coverage: &[Coverage],
    units: UnitSystem,
    width_px: u32,
) -> Result<Vec<Figure>, ChartError> {
    let charts = [
        observed_against_predicted(observations, width_px),
        calibration(coverage, width_px),
        residuals_over(observations, Over::Date, width_px),
        residuals_over(observations, Over::RoomTemp(units), width_px),
        residuals_over(observations, Over::Yeast, width_px),
        residuals_over(observations, Over::Hours, width_px),
        residuals_by_lot(observations, width_px),
        normal_quantiles(observations, width_px),
    ];
    charts.into_iter().filter(|chart| !matches!(chart, Err(ChartError::NothingToDraw { .. }))).collect()
}
