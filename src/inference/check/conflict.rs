//! Where records and priors disagree, in plain words with what to check.
//!
//! A prior is standard normal in its number x, so that the mean of x over the draws says how many prior standard
//! deviations the records have pulled it. From two on the kitchen is unlike most, or something is written down wrongly.
//!
//! Source: the reading is that of Evans & Moshonov 2006, *Bayesian Analysis* 1:893-914, in its simplest form; two standard
//! deviations are common practice, no source. Limits: a pull that several parameters share stays below two in each.

use schemars::JsonSchema;
use serde::Serialize;

use crate::dough::units::both_differences;
use crate::inference::fit::{Fit, Summary};
use crate::inference::priors::Core;

/// Prior standard deviations from which on it is told.
const FAR: f64 = 2.0;

/// One disagreement.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Conflict {
    /// The parameter.
    pub name: String,
    /// What the records say of it: median, in its unit.
    pub found: f64,
    /// What was expected: median of the prior.
    pub expected: f64,
    /// How many prior standard deviations apart.
    pub away: f64,
    /// What to check, and why.
    pub says: String,
}

/// The disagreements of a fit, the largest first.
pub fn conflicts(fit: &Fit) -> Vec<Conflict> {
    let layout = fit.layout();
    let width = layout.dim();
    let summaries = fit.parameters();
    let n = (fit.draws.len() / width) as f64;
    let median = layout.prior_median();
    let mut found = Vec::new();
    for (i, summary) in summaries.iter().enumerate().filter(|(i, _)| layout.is_own(*i)) {
        let away = fit.draws.chunks_exact(width).map(|x| x[i]).sum::<f64>() / n;
        if away.abs() < FAR || n == 0.0 {
            continue;
        }
        let expected = layout.value(&median, i);
        let says = says(i, summary, expected);
        found.push(Conflict { name: summary.name.clone(), found: summary.q50, expected, away, says });
    }
    found.sort_by(|a, b| b.away.abs().total_cmp(&a.away.abs()));
    found
}

fn says(which: usize, s: &Summary, expected: f64) -> String {
    let is = |core: Core| which == core as usize;
    let (found, ratio) = (s.q50, s.q50 / expected);
    let more = found > expected;
    if is(Core::Cooling) {
        return format!(
            "pieces cool {} than expected: check the fridge's fan, its load, and the lids",
            times(ratio, "more slowly", "faster")
        );
    }
    if let Some(place) = s.name.strip_prefix("cooling_at_") {
        return format!(
            "pieces in '{place}' cool {} than expected: check the fan or the load",
            times(ratio, "more slowly", "faster")
        );
    }
    if let Some(place) = s.name.strip_prefix("fridge_offset_") {
        return format!(
            "'{place}' seems {} {} than a fridge usually is: put a thermometer in a glass of water there and write cold_temp_c down",
            both_differences((found - expected).abs()),
            if more { "warmer" } else { "colder" }
        );
    }
    if let Some(method) = s.name.strip_prefix("warming_") {
        return format!(
            "mixing by {} warms the dough by {} where {} was expected: check the probe and the water's temperature",
            method.replace('_', " "),
            both_differences(found),
            both_differences(expected)
        );
    }
    if s.name == "eye" {
        let how = if more { "less steady" } else { "steadier" };
        return format!("your verdicts of ripeness are {how} than most: {:.0} % of rise", 100.0 * found);
    }
    if is(Core::Vigour) {
        return format!(
            "the yeast makes gas {} than usual: check its age and kind, and the scale it is weighed on",
            times(ratio, "faster", "more slowly")
        );
    }
    if is(Core::ColdRate) {
        return format!(
            "in the cold the yeast works {} than usual: check the fridge's temperature with a thermometer in a glass of water",
            times(ratio, "faster", "more slowly")
        );
    }
    if is(Core::Loss) || is(Core::PrefermentLoss) {
        let whose = if is(Core::Loss) { "dough" } else { "preferment" };
        return format!(
            "the {whose} loses {:.0} % of its gas where {:.0} % was expected: check how rise is read (straight-sided jar, level mark, lid)",
            100.0 * found,
            100.0 * expected
        );
    }
    if is(Core::RiseNoise) {
        return format!(
            "rises scatter by {:.0} % where {:.0} % was expected: {}",
            100.0 * found,
            100.0 * expected,
            if more {
                "read them in a straight-sided jar at a noted time"
            } else {
                "your readings are very even"
            }
        );
    }
    if is(Core::TemperatureNoise) {
        return format!(
            "dough temperature misses the heat balance by {} where {} was expected: {}",
            both_differences(found),
            both_differences(expected),
            if more {
                "check the probe, and write down the temperatures of flour and water"
            } else {
                "your temperatures are very even"
            }
        );
    }
    format!(
        "{} ({}): {} {} where {} was expected; look whether hours, temperatures and amounts are written down as they were",
        s.meaning,
        s.name,
        number(found),
        s.unit,
        number(expected)
    )
}

/// "twice as slowly", or "by 30 % more slowly", for a ratio above one; the other way round below.
fn times(ratio: f64, above: &str, below: &str) -> String {
    let (size, how) = if ratio >= 1.0 { (ratio, above) } else { (1.0 / ratio, below) };
    if size >= 1.75 {
        format!("{size:.1} times {how}")
    } else {
        format!("{:.0} % {how}", 100.0 * (size - 1.0))
    }
}

fn number(x: f64) -> String {
    let digits = if x.abs() >= 100.0 {
        0
    } else if x.abs() >= 10.0 {
        1
    } else {
        2
    };
    format!("{x:.digits$}")
}
