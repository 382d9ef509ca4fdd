//! The crust beside a recommendation, in words.

use std::fmt::Write;

use crate::advice::crust_side::CrustSide;
use crate::advice::recommend::Recommendation;
use crate::dough::units::UnitSystem;

use super::text::{chance, mass, table};

/// Less likely than this to be better, and another yeast is not worth speaking of.
const CLEARLY: f64 = 0.95;

/// What to expect of the crust, and what more or less yeast would trade for it.
pub fn text(out: &mut String, r: &Recommendation, units: UnitSystem) {
    let Some(c) = &r.crust else { return };
    if !c.explained {
        let _ = writeln!(
            out,
            "crust: your {} scores do not tell yet what goes with a better one (see `crust`), so none is foretold",
            c.batches
        );
        return;
    }
    let s = &c.score;
    let _ = writeln!(
        out,
        "expect a crust of {:.1} by your scores ({:.1} to {:.1}); beside the rise, with less or more yeast:",
        s.p50, s.p05, s.p95
    );
    out.push_str(&trade_off(c, r, units));
    let _ = writeln!(out, "{}", verdict(c, units));
    if !c.beyond.is_empty() {
        let _ = writeln!(out, "beyond all that you scored, so a guess: {}", c.beyond.join(", "));
    }
}

fn trade_off(c: &CrustSide, r: &Recommendation, units: UnitSystem) -> String {
    let near = format!("lands near {:.2}", r.target_rise);
    let mut rows = vec![["  yeast", "rise", &near, "crust", "9 of 10 between"].map(String::from).to_vec()];
    rows.extend(c.trade_off.iter().map(|o| {
        vec![
            format!("  {}", mass(o.yeast_g, units)),
            format!("{:.2}", o.rise),
            chance(o.chance_in_window),
            format!("{:.1}", o.score.p50),
            format!("{:.1} to {:.1}", o.score.p05, o.score.p95),
        ]
    }));
    table(&rows)
}

/// The clearly better yeast with the best score, if there is any.
fn verdict(c: &CrustSide, units: UnitSystem) -> String {
    let better = c.trade_off.iter().filter(|o| o.better >= CLEARLY);
    match better.max_by(|a, b| a.score.p50.total_cmp(&b.score.p50)) {
        Some(o) => format!(
            "the crust would gain {:.1} with {} and a rise of {:.2} ({} that it gains at all): if you want that, give --target-rise {:.1}",
            o.score.p50 - c.score.p50,
            mass(o.yeast_g, units),
            o.rise,
            chance(o.better),
            o.rise
        ),
        None => "no other yeast is clearly better for the crust: keep to the rise".into(),
    }
}
