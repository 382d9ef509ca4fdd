//! One batch: its readings, what came of it beside its plan, and the forms to write these down at the bench.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use maud::{Markup, html};

use crate::answers::planned::Planned;
use crate::answers::record::{Entry, batch_named, put, write};
use crate::dough::{Batch, Column, Reading, Value};
use crate::intake::typed_reading;
use crate::report::mixed_at;
use crate::report::say::{hours, trimmed};
use crate::serve::desk::{Desk, Reply};
use crate::serve::form::{Form, as_they_are, fields, meaning, told};
use crate::serve::frame::Tab;
use crate::serve::refused::Refused;

use super::record::escaped;

/// What is written down at the oven.
const OUTCOME: &[Column] = &[
    Column::rise,
    Column::rise_at,
    Column::rise_sample_g,
    Column::ripeness,
    Column::bake_temp_c,
    Column::bake_minutes,
    Column::crust_score,
    Column::notes,
];

/// What is measured on the day.
const OF_THE_DAY: &[Column] = &[
    Column::dough_temp_c,
    Column::room_temp_c,
    Column::flour_temp_c,
    Column::water_temp_c,
    Column::yeast_g,
    Column::bulk_hours,
    Column::bulk_temp_c,
    Column::cold_hours,
    Column::cold_temp_c,
    Column::temper_hours,
    Column::temper_temp_c,
];

/// Readings are offered the hour of now up to so many hours after mixing.
const MOST_HOURS: f64 = 120.0;

/// The batch.
pub fn show(desk: &Desk, form: &Form) -> Result<Reply, Refused> {
    let (known, logbook) = (desk.known()?, desk.logbook()?);
    let id = form.get("id");
    let batch = batch_named(&logbook, &known.name, id)?;
    let planned = Planned::of(&logbook, &batch)?;
    let readings: Vec<Reading> =
        logbook.readings(&known.name)?.into_iter().filter(|r| r.batch_id == id).collect();
    let said = match form.get("done") {
        "written" => Some("The batch is in the logbook."),
        "reading" => Some("The reading is in the logbook."),
        "changed" => Some("What you wrote is in the logbook; former values are kept in its history."),
        "same" => Some("It was in the logbook just so; nothing is changed."),
        _ => None,
    };
    let contents = html! {
        h1 { "Batch " (id) }
        @if let Some(said) = said { p.done { (said) } }
        @if desk.settings.writes {
            (reading_form(desk, id, &batch))
            (outcome_form(desk, id, &batch))
        }
        @if let Some(planned) = &planned { (beside_plan(desk, planned)) }
        @if !readings.is_empty() { (readings_table(desk, &readings)) }
        (facts(desk, &batch))
    };
    Ok(Reply::Page(Tab::Record, format!("Batch {id}"), contents))
}

fn reading_form(desk: &Desk, id: &str, batch: &Batch) -> Markup {
    let since = hours_since_mixing(batch).map(|h| trimmed(h, 1)).unwrap_or_default();
    let fields = html! {
        input type="hidden" name="id" value=(id);
        div.fields {
            div.field {
                label for="hours" { "Hours since the end of mixing" }
                input type="text" inputmode="decimal" autocomplete="off" id="hours" name="hours" value=(since) required;
            }
            div.field {
                label for="reading-rise" { "Volume now over volume just after mixing" }
                input type="text" inputmode="decimal" autocomplete="off" id="reading-rise" name="risen" required;
            }
        }
    };
    html! { section { h2 { "A reading while it rises" } (desk.frame().post("reading", fields, "Write the reading down")) } }
}

/// Hours since the end of mixing, when the batch is under way.
fn hours_since_mixing(batch: &Batch) -> Option<f64> {
    let mixed = mixed_at(batch, &TimeZone::system())?;
    let hours = Timestamp::now().duration_since(mixed.timestamp()).as_secs_f64() / 3600.0;
    (0.0..=MOST_HOURS).contains(&hours).then_some(hours)
}

fn outcome_form(desk: &Desk, id: &str, batch: &Batch) -> Markup {
    let units = desk.settings.units;
    let all = html! {
        input type="hidden" name="id" value=(id);
        (as_they_are(&[OUTCOME, OF_THE_DAY].concat(), batch, units))
        (fields(OUTCOME, batch, None, units))
        details {
            summary { "Temperatures, weights and hours of the day" }
            (fields(OF_THE_DAY, batch, None, units))
        }
    };
    html! { section { h2 { "What came of it" } (desk.frame().post("batch", all, "Write it down")) } }
}

fn facts(desk: &Desk, batch: &Batch) -> Markup {
    let units = desk.settings.units;
    let hidden = |c: &Column| [Column::batch_id, Column::kitchen].contains(c);
    let told = Column::ALL.iter().filter(|c| !hidden(c)).filter_map(|c| {
        let value = batch.get(*c)?;
        Some((meaning(*c), told(*c, &value, units)))
    });
    html! {
        section {
            h2 { "What is written of it" }
            details {
                summary { "All of it" }
                div.wide role="region" tabindex="0" aria-label="What is written of it" { table {
                    caption { "Everything that the logbook has of this batch" }
                    thead { tr { th scope="col" { "what" } th scope="col" { "value" } } }
                    tbody { @for (what, value) in told { tr { th scope="row" { (what) } td { (value) } } } }
                } }
            }
        }
    }
}

fn beside_plan(desk: &Desk, planned: &Planned) -> Markup {
    let number = |c: Column, x: Option<f64>| {
        // To what a baker can measure: a forecast has more digits than a probe.
        let value = x.map(|x| Value::Number((100.0 * x).round() / 100.0));
        value.map(|v| told(c, &v, desk.settings.units)).unwrap_or_default()
    };
    html! {
        section {
            h2 { "Beside its plan" }
            p { "Plan " (planned.plan_id) ", " (if planned.followed { "followed" } else { "not followed in yeast or water" }) "." }
            div.wide role="region" tabindex="0" aria-label="Planned, foretold and come" {
                table {
                    caption { "Planned or foretold, with where 9 of 10 were to lie, and what came" }
                    thead { tr { @for h in ["what", "planned", "from", "to", "came"] { th scope="col" { (h) } } } }
                    tbody {
                        @for c in &planned.columns {
                            tr {
                                th scope="row" { (meaning(c.column)) }
                                td { (number(c.column, c.planned)) }
                                td { (number(c.column, c.foretold.map(|f| f.0))) }
                                td { (number(c.column, c.foretold.map(|f| f.1))) }
                                td { (number(c.column, c.came)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn readings_table(desk: &Desk, readings: &[Reading]) -> Markup {
    let number = |x: Option<f64>| x.map(|x| trimmed(x, 2)).unwrap_or_default();
    let temperature = |x: Option<f64>| {
        x.map(|x| crate::report::say::temperature(x, desk.settings.units)).unwrap_or_default()
    };
    html! {
        section {
            h2 { "Readings" }
            div.wide role="region" tabindex="0" aria-label="Readings" {
                table {
                    caption { "Readings while it rose" }
                    thead { tr { @for h in ["after", "rise", "dough"] { th scope="col" { (h) } } } }
                    tbody {
                        @for r in readings {
                            tr { th scope="row" { (hours(r.hours)) } td { (number(r.rise)) } td { (temperature(r.dough_temp_c)) } }
                        }
                    }
                }
            }
        }
    }
}

/// Writes a reading down.
pub fn write_reading(desk: &Desk, form: &Form) -> Result<Reply, Refused> {
    desk.is_own(form)?;
    let mut logbook = desk.logbook_to_write()?;
    let known = desk.known()?;
    let batch = batch_named(&logbook, &known.name, form.get("id"))?;
    let reading = typed_reading(&format!("{}={}", form.get("hours"), form.get("risen")))
        .map_err(|why| Refused::Form(format!("{why}.")))?;
    let entry = Entry { batch, said: Some(Vec::new()), readings: vec![reading] };
    let written = write(&mut logbook, &known.name, entry)?;
    Ok(Reply::GoTo(format!("batch?id={}&done=reading", escaped(&written.batch_id))))
}

/// Writes down what came of a batch: what the form says otherwise than the logbook.
pub fn write_outcome(desk: &Desk, form: &Form) -> Result<Reply, Refused> {
    desk.is_own(form)?;
    let mut logbook = desk.logbook_to_write()?;
    let known = desk.known()?;
    let batch = batch_named(&logbook, &known.name, form.get("id"))?;
    let mut said = form.changed(desk.settings.units)?;
    said.retain(|c, _| OUTCOME.contains(c) || OF_THE_DAY.contains(c));
    let done = if said.is_empty() { "same" } else { "changed" };
    let mut entry = Entry { batch, said: Some(Vec::new()), readings: Vec::new() };
    put(&mut entry, said)?;
    let written = write(&mut logbook, &known.name, entry)?;
    Ok(Reply::GoTo(format!("batch?id={}&done={done}", escaped(&written.batch_id))))
}
