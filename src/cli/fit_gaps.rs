//! `fit --gaps`: what the records cannot tell yet, and what to measure next, as text.

use std::fmt::Write;

pub use crate::answers::gaps::{Gaps, gaps};
use crate::dough::units::UnitSystem;
use crate::inference::learned::Told;

use super::text::{mass, table, trimmed};

/// As text: what to measure first.
pub fn text(gaps: &Gaps, units: UnitSystem) -> String {
    let mut out = String::from("WHAT THE RECORDS CANNOT TELL YET\n");
    if let Some(best) = gaps.best() {
        let _ = writeln!(out, "{best}");
        let heading = ["measure", "column", "narrows by", "in yeast", "in time"];
        let mut rows = vec![heading.map(String::from).to_vec()];
        rows.extend(gaps.measure.iter().map(|w| {
            vec![
                w.measure.clone(),
                w.column.into(),
                format!("{:.1} %", 100.0 * (w.before - w.after)),
                mass(w.yeast_g, units),
                format!("{} h", trimmed(w.hours, 2)),
            ]
        }));
        out.push_str(&table(&rows));
    }
    for (told, says) in [
        (Told::Records, "Told by your records"),
        (Told::Partly, "Told in part"),
        (Told::Prior, "Still what holds for most kitchens"),
    ] {
        let names: Vec<String> = gaps
            .learned
            .iter()
            .filter(|l| l.told == told)
            .map(|l| format!("{} ({:.0} %)", l.name, 100.0 * l.share))
            .collect();
        if !names.is_empty() {
            let _ = writeln!(out, "{says}: {}.", names.join(", "));
        }
    }
    out
}
