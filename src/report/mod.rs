//! The report: one page, whole in one file, that needs no network and no script. It opens with what to weigh and
//! pour for the next batch; then how sure that is and why, how steady the kitchen is, what changed, what to measure next,
//! pictures for the wall, how well the model fits, what to mind, and at last the parameters.
//!
//! [`Report`] is what goes on it, [`page`] writes it. [`say`] is how numbers read; `next_batch`, `measure`, `pictures` and
//! `numbers` are its parts.

pub mod bench_sheet;
mod measure;
pub mod next_batch;
mod numbers;
pub mod pictures;
pub mod say;

pub use next_batch::mixed_at;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::advice::cautions::KITCHEN;
use crate::advice::recommend::Recommendation;
use crate::charts::Figure;
use crate::dough::units::UnitSystem;
use crate::inference::fit::Summary;
use crate::inference::worth::Worth;

/// Width at which charts for this page are best drawn, in px: a phone shows them one to one, a desk magnifies them.
pub const CHART_PX: u32 = 360;

/// The page's style sheet.
pub const STYLE: &str = include_str!("style.css");

/// What goes on the page.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// The kitchen's name.
    pub kitchen: String,
    /// The day it was made.
    pub made_on: String,
    /// Said beneath the title, such as that the records are invented.
    pub note: Option<String>,
    /// Units of what is shown.
    pub units: UnitSystem,
    /// Batches behind it.
    pub batches: usize,
    /// Measured rises among them.
    pub rises: usize,
    /// The batches to come, or why there is none to tell.
    pub next: Result<Vec<NextBatch>, String>,
    /// How steady the kitchen is, or why that cannot be told.
    pub steady: Result<Steady, String>,
    /// What changed: a sentence each, and pictures.
    pub changed: (Vec<String>, Vec<Figure>),
    /// What to measure next: the answer, then what each measurement is worth.
    pub measure: (Option<String>, Vec<Worth>),
    /// Pictures to pin on the wall.
    pub wall: Vec<Figure>,
    /// How well the model fits, a sentence each.
    pub fit: Vec<String>,
    /// Its charts.
    pub charts: Vec<Figure>,
    /// What to know of the fit.
    pub warnings: Vec<String>,
    /// The fitted parameters.
    pub parameters: Vec<Summary>,
}

/// A batch to come.
#[derive(Debug, Clone, PartialEq)]
pub struct NextBatch {
    /// What to do and to expect.
    pub advice: Recommendation,
    /// How it will rise.
    pub chart: Option<Figure>,
}

/// How steady the kitchen is.
#[derive(Debug, Clone, PartialEq)]
pub struct Steady {
    /// The answer first, then what stands behind it.
    pub sentences: Vec<String>,
    /// What to beware of.
    pub cautions: Vec<String>,
    /// The consistency chart, and where the spread comes from, when that can be told.
    pub charts: Vec<Figure>,
}

/// The page as HTML.
pub fn page(report: &Report) -> String {
    let title = title(report);
    whole(&title, STYLE, head(report), sections(report)).into_string()
}

/// The page's title.
pub fn title(report: &Report) -> String {
    format!("The next batch of kitchen {}", report.kitchen)
}

/// The top of the page: its title, and what is behind it.
pub fn head(report: &Report) -> Markup {
    html! {
        h1 { (title(report)) }
        p { (behind(report)) }
        @if let Some(note) = &report.note { p.note { (note) } }
    }
}

/// A whole page of this style: its title, style sheet, top and contents.
pub fn whole(title: &str, style: &str, top: Markup, contents: Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) }
                style { (PreEscaped(style)) }
            }
            body {
                header { (top) }
                main { (contents) }
                footer { p { (KITCHEN[4]) } }
            }
        }
    }
}

fn behind(report: &Report) -> String {
    format!(
        "Made on {} from {} with {}.",
        report.made_on,
        say::counted(report.batches, "batch", "batches"),
        say::counted(report.rises, "measured rise", "measured rises")
    )
}

/// The contents of the page.
pub fn sections(report: &Report) -> Markup {
    html! {
        @match &report.next {
            Ok(batches) => @for batch in batches { (next_batch::section(batch, report.units)) },
            Err(why) => section { h2 { "Next batch" } p { (why) } },
        }
        section {
            h2 { "How steady" }
            @match &report.steady {
                Ok(steady) => {
                    (sentences(&steady.sentences))
                    (pictures::list(&steady.cautions))
                    (pictures::pictures(&steady.charts))
                }
                Err(why) => p { (why) },
            }
        }
        @let (said, charts) = &report.changed;
        @if !said.is_empty() || !charts.is_empty() {
            section { h2 { "What changed" } (sentences(said)) (pictures::pictures(charts)) }
        }
        (measure::section(report.measure.0.as_deref(), &report.measure.1, report.units))
        @if !report.wall.is_empty() {
            section {
                h2 { "To pin on the wall" }
                p.first { "What this kitchen does, whatever you bake next." }
                (pictures::pictures(&report.wall))
            }
        }
        section {
            h2 { "How well the model fits" }
            (sentences(&report.fit))
            (pictures::pictures(&report.charts))
        }
        section {
            h2 { "What to mind" }
            @if !report.warnings.is_empty() {
                h3 { "About the fit" }
                (pictures::list(&report.warnings))
            }
            h3 { "In the kitchen" }
            (pictures::list(&KITCHEN.map(String::from)))
        }
        (numbers::section(&report.parameters))
    }
}

fn sentences(said: &[String]) -> Markup {
    html! {
        @for (i, sentence) in said.iter().enumerate() {
            p.first[i == 0] { (sentence) }
        }
    }
}
