//! Yeast types and their equivalence by weight.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::words::word_enum;

/// How the yeast was bought.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum YeastType {
    /// Instant dry yeast.
    Instant,
    /// Active dry yeast.
    ActiveDry,
    /// Fresh (compressed) yeast.
    Fresh,
}

word_enum!(YeastType { Instant = "instant", ActiveDry = "active_dry", Fresh = "fresh" });

impl YeastType {
    /// Grams of instant dry yeast that work like one gram of this.
    ///
    /// Common practice, no source: fresh 1 = active dry 0.40-0.50 = instant 0.33-0.40; trade tables
    /// differ among themselves by 10-20 %. A kitchen that always uses one type is not touched by the
    /// choice: its fitted vigour takes the difference up.
    pub const fn instant_equivalent(self) -> f64 {
        match self {
            Self::Instant => 1.0,
            Self::ActiveDry => 0.80,
            Self::Fresh => 0.36,
        }
    }

    /// How many times the lag of instant yeast this type takes to wake (common practice, no source).
    pub const fn lag_factor(self) -> f64 {
        match self {
            Self::Instant => 1.0,
            Self::ActiveDry | Self::Fresh => 1.5,
        }
    }
}
