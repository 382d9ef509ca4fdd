//! What to measure next on the page: the one measurement that narrows the forecast most, then the others.

use maud::{Markup, html};

use super::say::{mass, trimmed};
use crate::dough::units::UnitSystem;
use crate::inference::worth::Worth;

/// Measurements shown.
const SHOWN: usize = 5;

/// The section, or nothing without measurements.
pub fn section(best: Option<&str>, measure: &[Worth], units: UnitSystem) -> Markup {
    html! {
        @if let Some(best) = best {
            section {
                h2 { "What to measure next" }
                p.first { (best) }
                div.wide role="region" tabindex="0" aria-label="What each measurement is worth" {
                    table {
                        caption { "What each measurement is worth" }
                        thead {
                            tr {
                                @for heading in ["measure", "narrows the rise by", "in yeast", "in time"] {
                                    th scope="col" { (heading) }
                                }
                            }
                        }
                        tbody {
                            @for worth in &measure[..measure.len().min(SHOWN)] {
                                tr {
                                    th scope="row" { (worth.measure) }
                                    td { (trimmed(100.0 * (worth.before - worth.after), 1)) " %" }
                                    td { (mass(worth.yeast_g, units)) }
                                    td { (trimmed(worth.hours, 2)) " h" }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
