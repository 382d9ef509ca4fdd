//! The fitted parameters, folded.

use maud::{Markup, html};

use super::say::trimmed;
use crate::inference::fit::Summary;

/// The section at the page's end.
pub fn section(parameters: &[Summary]) -> Markup {
    html! {
        section {
            h2 { "Parameters" }
            details {
                summary { "What the records say about each (" (parameters.len()) ")" }
                div.wide role="region" tabindex="0" aria-label="Parameters" {
                    table {
                        caption { "Fitted parameters: the middle, and where 9 of 10 lie" }
                        thead {
                            tr {
                                @for heading in ["parameter", "middle", "from", "to", "unit", "meaning"] {
                                    th scope="col" { (heading) }
                                }
                            }
                        }
                        tbody { @for p in parameters { (row(p)) } }
                    }
                }
            }
        }
    }
}

fn row(p: &Summary) -> Markup {
    html! {
        tr {
            th scope="row" { (p.name) }
            @for x in [p.q50, p.q05, p.q95] { td { (number(x)) } }
            td.words { (p.unit) }
            td.words { (p.meaning) }
        }
    }
}

/// Three digits or so.
fn number(x: f64) -> String {
    let digits = match x.abs() {
        100.0.. => 0,
        10.0.. => 1,
        _ => 3,
    };
    trimmed(x, digits)
}
