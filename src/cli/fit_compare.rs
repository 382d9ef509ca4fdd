//! `fit --compare`: rival models side by side.

use std::fmt::Write;

use crate::inference::compare::{Comparison, Row};

use super::text::{bullets, table};
use crate::answers::words;

/// The comparison as text: what it means first, then the table.
pub fn text(comparison: &Comparison) -> String {
    let mut out = String::new();
    let _ = writeln!(
        out,
        "WHICH MODEL FORETELLS BEST ({} rises, each foretold without its batch)",
        comparison.rises
    );
    bullets(&mut out, "What it means:", &comparison.verdicts);
    let heading = ["model", "elpd", "against the best", "±", "miss", "last weeks", "new flour lot"];
    let mut rows = vec![heading.map(String::from).to_vec()];
    rows.extend(comparison.rows.iter().map(row));
    out.push_str(&table(&rows));
    let _ = writeln!(
        out,
        "{}. miss: {}. last weeks: the last {} rises \
         foretold from those before. new flour lot: {} lots, each foretold from the others.",
        words::ELPD,
        words::RMS,
        comparison.last_weeks,
        comparison.lots_out
    );
    out
}

fn row(r: &Row) -> Vec<String> {
    let percent = |rms: Option<f64>| rms.map_or("-".into(), |rms| format!("{:.1} %", 100.0 * rms.exp_m1()));
    vec![
        r.model.says().into(),
        format!("{:.1}", r.elpd),
        format!("{:.1}", r.difference),
        format!("{:.1}", r.difference_se),
        percent(Some(r.rms_log)),
        percent(r.last_weeks_rms_log),
        percent(r.lots_out_rms_log),
    ]
}
