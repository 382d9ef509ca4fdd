//! A plan in two lines: what goes into the bowl beside yeast and water, and what the dough passes through.

use std::fmt::Write;

use crate::dough::units::UnitSystem;
use crate::dough::{Batch, StageKind};

use super::text::{hours, mass, temperature};

/// The lines: "into 1000 g of flour with 25 g of salt" and "then 2 h in bulk at 22 °C, 24 h cold at 4 °C".
pub fn lines(plan: &Batch, units: UnitSystem) -> String {
    let mut out = String::new();
    let with: Vec<String> = [
        (plan.salt_g, "salt"),
        (plan.oil_g, "oil"),
        (plan.sugar_g, "sugar"),
        (plan.malt_g, "malt"),
        (plan.preferment_flour_g.zip(plan.preferment_water_g).map(|(f, w)| f + w), "preferment"),
    ]
    .into_iter()
    .filter_map(|(grams, what)| Some(format!("{} of {what}", mass(grams.filter(|g| *g > 0.0)?, units))))
    .collect();
    if let Some(flour) = plan.flour_g {
        // A preferment brings its own part of the flour.
        let fresh = flour - plan.preferment_flour_g.unwrap_or(0.0);
        let with = if with.is_empty() { String::new() } else { format!(" with {}", with.join(", ")) };
        let _ = writeln!(out, "into {} of flour{with}", mass(fresh, units));
    }
    let stages: Vec<String> = plan
        .stages()
        .map(|s| {
            let how = match s.kind {
                StageKind::Bulk => "in bulk",
                StageKind::Cold => "cold",
                StageKind::Temper => "out of the cold",
            };
            let at = s.surroundings_c.map(|t| format!(" at {}", temperature(t, units))).unwrap_or_default();
            format!("{} {how}{at}", hours(s.hours))
        })
        .collect();
    if !stages.is_empty() {
        let _ = writeln!(out, "then {}", stages.join(", "));
    }
    out
}
