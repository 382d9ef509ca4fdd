//! A plan beside the batch that came of it, as text.

use std::fmt::Write as _;

use crate::answers::planned::Planned;
use crate::dough::units::UnitSystem;

use super::text::{in_units, table, trimmed};

/// As a table.
pub fn text(planned: &Planned, units: UnitSystem) -> String {
    let mut rows = vec![["", "planned", "came", "", ""].map(String::from).to_vec()];
    for c in &planned.columns {
        let shown = |x: f64| trimmed(in_units(x, c.column.unit(), units).0, 2);
        let number = |x: Option<f64>| x.map(shown).unwrap_or_default();
        let unit = in_units(0.0, c.column.unit(), units).1;
        let verdict = match (c.foretold, c.came) {
            (Some((low, high)), Some(came)) => {
                let inside = if (low..=high).contains(&came) { "as foretold" } else { "not as foretold" };
                format!("{inside}: {} to {}", shown(low), shown(high))
            }
            (Some((low, high)), None) => format!("foretold: {} to {}", shown(low), shown(high)),
            _ => String::new(),
        };
        rows.push(vec![c.column.name().into(), number(c.planned), number(c.came), unit.into(), verdict]);
    }
    let mut out = String::new();
    let followed = if planned.followed { "followed" } else { "not followed in yeast or water" };
    let _ = write!(out, "\nPlan {}, {followed}\n{}", planned.plan_id, table(&rows));
    out
}
