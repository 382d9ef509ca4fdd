//! Readings taken while the dough rises, and temperature logs of what is around it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::words::word_enum;

/// Where a reading was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Vessel {
    /// The dough, or its sample jar; hours count from the end of mixing the dough.
    #[default]
    Dough,
    /// The preferment; hours count from its own mixing.
    Preferment,
}

word_enum!(Vessel { Dough = "dough", Preferment = "preferment" });

/// One reading of a batch: a rise, a temperature, or both.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Reading {
    /// The batch it belongs to.
    pub batch_id: String,
    /// Hours since the end of mixing (of the preferment, for its vessel).
    pub hours: f64,
    /// Volume over the volume just after mixing.
    pub rise: Option<f64>,
    /// Temperature of the dough in °C.
    pub dough_temp_c: Option<f64>,
    /// Where it was taken.
    #[serde(default)]
    pub vessel: Vessel,
}

/// One line of a temperature log: from this hour until the next line, the surroundings had this temperature.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SurroundingsPoint {
    /// The batch it belongs to.
    pub batch_id: String,
    /// Hours since the end of mixing.
    pub hours: f64,
    /// Temperature around the dough in °C.
    pub surroundings_temp_c: f64,
}
