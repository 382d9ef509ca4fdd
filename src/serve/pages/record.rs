//! Writing down: which batches and plans there are, and a new batch, by a plan or by itself.

use maud::{Markup, html};

use crate::answers::defaults::{Defaults, baked_by};
use crate::answers::plans::in_short;
use crate::answers::questions::{USUAL, order};
use crate::answers::record::{Entry, not_baked_yet, plan_named, put, write};
use crate::dough::units::UnitSystem;
use crate::dough::{Batch, Column};
use crate::serve::desk::{Desk, Reply};
use crate::serve::form::{Form, fields, told};
use crate::serve::frame::{Frame, Tab};
use crate::serve::known::Known;
use crate::serve::refused::Refused;

/// Batches and plans listed.
const LISTED: usize = 12;

/// What there is to write down about.
pub fn show(desk: &Desk, form: &Form) -> Result<Reply, Refused> {
    let known = desk.known()?;
    let frame = desk.frame();
    let kept = form.get("kept");
    let contents = html! {
        h1 { "Write down" }
        @if !kept.is_empty() { p.done { "Plan " (kept) " is kept. Write its batch down when you mix it." } }
        (waiting(&frame, &known, desk.settings.units))
        section {
            h2 { "A batch by itself" }
            p { a.button href=(frame.to("record/new")) { "Write a new batch down" } }
        }
        (batches(&frame, &known, desk))
    };
    Ok(Reply::Page(Tab::Record, "Write down".into(), contents))
}

/// Plans that no batch has come of yet, the latest first.
fn waiting(frame: &Frame<'_>, known: &Known, units: UnitSystem) -> Markup {
    let waiting: Vec<_> = known.plans.iter().rev().filter(|p| p.became.is_none()).take(LISTED).collect();
    html! {
        @if !waiting.is_empty() {
            section {
                h2 { "Plans not baked yet" }
                ul {
                    @for plan in waiting {
                        li {
                            a href=(frame.to(&format!("record/new?plan={}", escaped(&plan.plan_id)))) {
                                "Mixed by plan " (plan.plan_id)
                            }
                            " (" (in_short(&plan.plan, units)) ")"
                        }
                    }
                }
            }
        }
    }
}

fn batches(frame: &Frame<'_>, known: &Known, desk: &Desk) -> Markup {
    let units = desk.settings.units;
    let cell = |batch: &Batch, column: Column| {
        batch.get(column).map(|v| told(column, &v, units)).unwrap_or_default()
    };
    html! {
        section {
            h2 { "Batches" }
            @if known.records.batches.is_empty() { p { "There is none yet." } } @else {
                p { "Choose one to write down a reading, or what came of it." }
                div.wide role="region" tabindex="0" aria-label="The latest batches" {
                    table {
                        caption { "The latest batches" }
                        thead { tr { @for h in ["batch", "mixed", "rise", "verdict"] { th scope="col" { (h) } } } }
                        tbody {
                            @for batch in known.records.batches.iter().rev().take(LISTED) {
                                @let id = batch.batch_id.as_deref().unwrap_or_default();
                                tr {
                                    th scope="row" { a href=(frame.to(&format!("batch?id={}", escaped(id)))) { (id) } }
                                    @for c in [Column::date, Column::rise, Column::ripeness] { td { (cell(batch, c)) } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The form of a new batch.
pub fn new_batch(desk: &Desk, form: &Form) -> Result<Reply, Refused> {
    let known = desk.known()?;
    let logbook = desk.logbook()?;
    let plan = match form.get("plan") {
        "" => None,
        id => Some(not_baked_yet(plan_named(&logbook, &known.name, id)?)?),
    };
    let title = match &plan {
        Some(plan) => format!("A batch by plan {}", plan.plan_id),
        None => "A new batch".to_string(),
    };
    let by_plan = plan.as_ref().map(|p| p.plan_id.clone());
    let defaults = Defaults::of(&logbook, &known.name, plan)?;
    let mut likely =
        Batch { batch_id: defaults.batch_id().filter(|_| by_plan.is_some()), ..Batch::default() };
    let recipe = defaults.of_day(Column::recipe);
    let for_recipe = defaults.for_recipe(recipe.as_ref().map(ToString::to_string).as_deref());
    for column in order(|c| USUAL.contains(&c)) {
        let known = match column {
            Column::date | Column::recipe => defaults.of_day(column),
            _ => for_recipe.likely(column),
        };
        if let Some(value) = known {
            // What a batch or plan holds, another can.
            let _ = likely.set(column, &value);
        }
    }
    let last = known.latest(likely.recipe.as_deref()).or(known.latest(None));
    let shown = html! {
        @if let Some(id) = &by_plan { input type="hidden" name="plan" value=(id); }
        @if let Some(id) = &likely.batch_id { input type="hidden" name="batch_id" value=(id); }
        (fields(&order(|c| USUAL.contains(&c)), &likely, last, desk.settings.units))
    };
    let contents = html! {
        h1 { (title) }
        p { "Change what was otherwise. What is not known yet may stay blank: it can be written down later." }
        @if desk.settings.writes { (desk.frame().post("record/new", shown, "Write it down")) }
        @else { p.alert { (Refused::ReadOnly) } }
    };
    Ok(Reply::Page(Tab::Record, "A new batch".into(), contents))
}

/// Writes a new batch down.
pub fn write_new(desk: &Desk, form: &Form) -> Result<Reply, Refused> {
    desk.is_own(form)?;
    let mut logbook = desk.logbook_to_write()?;
    let known = desk.known()?;
    let batch = match form.get("plan") {
        "" => Batch::default(),
        id => baked_by(&not_baked_yet(plan_named(&logbook, &known.name, id)?)?),
    };
    let mut entry = Entry { batch, said: None, readings: Vec::new() };
    put(&mut entry, form.said(desk.settings.units)?)?;
    let written = write(&mut logbook, &known.name, entry)?;
    Ok(Reply::GoTo(format!("batch?id={}&done=written", escaped(&written.batch_id))))
}

/// A word for an address: what has a meaning there is written as its code.
pub fn escaped(text: &str) -> String {
    let plain = |b: &u8| b.is_ascii_alphanumeric() || b"-._~".contains(b);
    text.bytes().map(|b| if plain(&b) { char::from(b).to_string() } else { format!("%{b:02X}") }).collect()
}
