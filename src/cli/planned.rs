//! A plan beside the batch that came of it, as text.

use std::fmt::Write as _;

use crate::answers::planned::Planned;

use super::text::{table, trimmed};

/// As a table.
pub fn text(planned: &Planned) -> String {
    let mut rows = vec![["", "planned", "came", ""].map(String::from).to_vec()];
    for c in &planned.columns {
        let number = |x: Option<f64>| x.map(|x| trimmed(x, 2)).unwrap_or_default();
        let verdict = match (c.foretold, c.came) {
            (Some((low, high)), Some(came)) => {
                let inside = if (low..=high).contains(&came) { "as foretold" } else { "not as foretold" };
                format!("{inside}: {} to {}", trimmed(low, 2), trimmed(high, 2))
            }
            (Some((low, high)), None) => format!("foretold: {} to {}", trimmed(low, 2), trimmed(high, 2)),
            _ => String::new(),
        };
        rows.push(vec![c.column.name().into(), number(c.planned), number(c.came), verdict]);
    }
    let mut out = String::new();
    let followed = if planned.followed { "followed" } else { "not followed in yeast or water" };
    let _ = write!(out, "\nPlan {}, {followed}\n{}", planned.plan_id, table(&rows));
    out
}
