//! Derived quantities of a batch: percentages of flour, stages, and what is added at mixing.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::columns::Batch;
use super::words::word_enum;

/// The three stages a dough passes after mixing, in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum StageKind {
    /// The whole dough.
    Bulk,
    /// Pieces in the fridge.
    Cold,
    /// Pieces back in the room.
    Temper,
}

word_enum!(StageKind { Bulk = "bulk", Cold = "cold", Temper = "temper" });

/// One stage as written down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stage {
    /// Which of the three.
    pub kind: StageKind,
    /// Its length in hours, above zero.
    pub hours: f64,
    /// Temperature around the dough in °C, when written down.
    pub surroundings_c: Option<f64>,
}

impl Batch {
    /// The name of a kitchen that was not named.
    pub const DEFAULT_KITCHEN: &'static str = "home";

    /// The kitchen, `home` when absent.
    pub fn kitchen_name(&self) -> &str {
        self.kitchen.as_deref().unwrap_or(Self::DEFAULT_KITCHEN)
    }

    /// An amount in percent of all flour (baker's percentage).
    pub fn percent_of_flour(&self, grams: Option<f64>) -> Option<f64> {
        Some(100.0 * grams? / self.flour_g?)
    }

    /// All water in percent of all flour.
    pub fn hydration_pct(&self) -> Option<f64> {
        self.percent_of_flour(self.water_g)
    }

    /// The final dough's yeast, as weighed, in percent of all flour.
    pub fn yeast_pct(&self) -> Option<f64> {
        self.percent_of_flour(self.yeast_g)
    }

    /// The share of all flour that went through the preferment, 0 to 1.
    pub fn preferment_share(&self) -> f64 {
        match (self.preferment_flour_g, self.flour_g) {
            (Some(p), Some(all)) if all > 0.0 => p / all,
            _ => 0.0,
        }
    }

    /// Flour added at mixing in grams: all flour less the preferment's.
    pub fn flour_added_g(&self) -> Option<f64> {
        Some(self.flour_g? - self.preferment_flour_g.unwrap_or(0.0))
    }

    /// Water added at mixing in grams, ice included: all water less the preferment's.
    pub fn water_added_g(&self) -> Option<f64> {
        Some(self.water_g? - self.preferment_water_g.unwrap_or(0.0))
    }

    /// Mass of the whole dough in grams.
    pub fn dough_g(&self) -> Option<f64> {
        let others =
            [self.salt_g, self.yeast_g, self.oil_g, self.sugar_g, self.malt_g, self.preferment_yeast_g];
        Some(self.flour_g? + self.water_g? + others.iter().flatten().sum::<f64>())
    }

    /// The stages after mixing, in order, those of no length left out.
    pub fn stages(&self) -> impl Iterator<Item = Stage> {
        [
            (StageKind::Bulk, self.bulk_hours, self.bulk_temp_c),
            (StageKind::Cold, self.cold_hours, self.cold_temp_c),
            (StageKind::Temper, self.temper_hours, self.temper_temp_c),
        ]
        .into_iter()
        .filter_map(|(kind, hours, surroundings_c)| {
            hours.filter(|h| *h > 0.0).map(|hours| Stage { kind, hours, surroundings_c })
        })
    }

    /// Hours from the end of mixing to the end of the last stage.
    pub fn total_hours(&self) -> f64 {
        self.stages().map(|s| s.hours).sum()
    }
}
