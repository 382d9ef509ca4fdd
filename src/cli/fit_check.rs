//! `fit --check`: criticism of the fit.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use schemars::JsonSchema;
use serde::Serialize;

use crate::charts::loo_pit;
use crate::inference::check::conflict::{Conflict, conflicts};
use crate::inference::check::pit::{Pit, pit};
use crate::inference::check::power::{HangsOn, Sensitivity, sensitivities};
use crate::inference::check::predictive::{Figure, Predictive, predictive};
use crate::inference::fit::Fit;
use crate::inference::foretold::foretold;
use crate::inference::prepare::Records;

use super::failure::Failure;
use super::residuals::{CHART_PX, write_figures};
use super::text::{bullets, table};

/// What the criticism found.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Checked {
    /// Would the model make such rises; `None` without a rise.
    pub predictive: Option<Predictive>,
    /// Do intervals hold for batches that took no part; `None` without a rise.
    pub loo_pit: Option<Pit>,
    /// What each parameter hangs on.
    pub sensitivity: Vec<Sensitivity>,
    /// Where records and priors disagree.
    pub conflicts: Vec<Conflict>,
    /// The charts' files.
    pub charts: Vec<PathBuf>,
}

/// Criticises a fit; the chart goes into a folder.
pub fn check(fit: &Fit, records: &Records, seed: u64, out: &Path) -> Result<Checked, Failure> {
    let loo_pit_found = pit(&foretold(fit, records));
    let charts = match &loo_pit_found {
        Some(p) => write_figures(&[loo_pit(&p.bins, CHART_PX)?], out)?,
        None => Vec::new(),
    };
    Ok(Checked {
        predictive: predictive(fit, records, seed),
        loo_pit: loo_pit_found,
        sensitivity: sensitivities(fit, records),
        conflicts: conflicts(fit),
        charts,
    })
}

/// The criticism as text: what to do first.
pub fn text(checked: &Checked) -> String {
    let mut out = String::from("DOES THE MODEL FIT THIS KITCHEN\n");
    let conflicts: Vec<String> = checked.conflicts.iter().map(|c| c.says.clone()).collect();
    bullets(&mut out, "Unlike most kitchens:", &conflicts);
    if conflicts.is_empty() {
        let _ = writeln!(out, "Nothing in the records is far from what is usual.");
    }
    if let Some(p) = &checked.loo_pit {
        let _ = writeln!(out, "Intervals: {}.", p.says);
        let mut rows = vec![["interval", "inside", "of"].map(String::from).to_vec()];
        rows.extend(p.coverage.iter().map(|c| {
            let level = format!("{:.0} %", 100.0 * c.level);
            vec![level, format!("{:.0} %", 100.0 * c.share), p.readings.to_string()]
        }));
        out.push_str(&table(&rows));
    }
    if let Some(p) = &checked.predictive {
        let _ = writeln!(
            out,
            "Before any record the model expected {:.0} % of your rises inside its 90 % intervals.",
            100.0 * p.prior_inside_90
        );
        let heading = ["rises the model makes", "yours", "5 %", "50 %", "95 %", "as large or larger", ""];
        let mut rows = vec![heading.map(String::from).to_vec()];
        rows.extend(p.prior.iter().map(|f| figure("before records", f)));
        rows.extend(p.posterior.iter().map(|f| figure("after", f)));
        out.push_str(&table(&rows));
    }
    hanging(&mut out, &checked.sensitivity);
    for chart in &checked.charts {
        let _ = writeln!(out, "chart: {}", chart.display());
    }
    out
}

fn figure(when: &str, f: &Figure) -> Vec<String> {
    let number = |x: f64| format!("{x:.2}");
    let note = if f.strange() { "unlike yours" } else { "" };
    vec![
        format!("{} ({when})", f.figure),
        number(f.observed),
        number(f.p05),
        number(f.p50),
        number(f.p95),
        format!("{:.0} %", 100.0 * f.p),
        note.into(),
    ]
}

fn hanging(out: &mut String, found: &[Sensitivity]) {
    let names = |which: HangsOn| {
        let of: Vec<&str> = found.iter().filter(|s| s.hangs_on == which).map(|s| s.name.as_str()).collect();
        (!of.is_empty()).then(|| of.join(", "))
    };
    if let Some(both) = names(HangsOn::Both) {
        let _ = writeln!(out, "Prior and records both pull at: {both}.");
    }
    if let Some(prior) = names(HangsOn::Prior) {
        let _ = writeln!(out, "Hang on the prior, the records say little: {prior}.");
    }
    if let Some(records) = names(HangsOn::Records) {
        let _ = writeln!(out, "Hang on the records: {records}.");
    }
}
