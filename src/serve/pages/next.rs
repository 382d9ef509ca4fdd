//! The next batch, asked for by form. Asking changes nothing, so the form's columns stand in the address; keeping the plan
//! is another form.

use maud::{Markup, html};

use crate::advice::cautions::KITCHEN;
use crate::answers::plans::keep_plans;
use crate::dough::{Batch, Column};
use crate::report::{next_batch, pictures};
use crate::serve::desk::{Desk, Reply};
use crate::serve::form::{Form, fields_as_typed};
use crate::serve::frame::Tab;
use crate::serve::known::{Advice, Given, Known};
use crate::serve::refused::Refused;

/// What most plans differ in.
const FIRST: &[Column] = &[
    Column::target_rise,
    Column::flour_g,
    Column::cold_hours,
    Column::cold_temp_c,
    Column::room_temp_c,
    Column::flour_temp_c,
    Column::date,
    Column::recipe,
];

/// What a plan may say beside that.
const MORE: &[Column] = &[
    Column::bulk_hours,
    Column::bulk_temp_c,
    Column::temper_hours,
    Column::temper_temp_c,
    Column::piece_g,
    Column::water_g,
    Column::salt_g,
    Column::yeast_type,
    Column::yeast_g,
    Column::water_temp_c,
    Column::tap_temp_c,
    Column::mix_method,
    Column::mix_minutes,
];

/// The form, and the answer to it once it says something.
pub fn show(desk: &Desk, form: &Form) -> Result<Reply, Refused> {
    let known = desk.known()?;
    let (given, wrong) = match given(desk, form) {
        Ok(given) => (given, None),
        Err(Refused::Form(why)) => {
            (Given::new(), Some(html! { p.alert { "Change what is marked below: " (why) } }))
        }
        Err(why) => (Given::new(), Some(html! { p.alert { (why) } })),
    };
    let answer = match (wrong, form.0.is_empty()) {
        (Some(wrong), _) => wrong,
        (None, true) => html! {},
        (None, false) => match known.advice(&given).get() {
            Some(Ok(advice)) => answer(desk, form, advice),
            Some(Err(why)) => html! { p.alert { (why) } },
            // It was worked out just before.
            None => return Err(Refused::Unforeseen),
        },
    };
    let contents = html! {
        h1 { "The next batch of kitchen " (known.name) }
        (answer)
        section { h2 { "Ask" } (ask(desk, form, &known, &given)) }
    };
    Ok(Reply::Page(Tab::Next, "The next batch".into(), contents))
}

/// Keeps the plan that was asked about.
pub fn keep(desk: &Desk, form: &Form) -> Result<Reply, Refused> {
    desk.is_own(form)?;
    let mut logbook = desk.logbook_to_write()?;
    let known = desk.known()?;
    let answer = known.advice(&given(desk, form)?);
    match answer.get() {
        Some(Ok(advice)) => {
            let plans = std::slice::from_ref(&advice.next.advice);
            let id = keep_plans(&mut logbook, &known.name, plans, &[])?.pop().unwrap_or_default();
            Ok(Reply::GoTo(format!("record?kept={}", super::record::escaped(&id))))
        }
        Some(Err(why)) => Err(Refused::Form(why.to_string())),
        None => Err(Refused::Unforeseen),
    }
}

/// The columns that a form gives; what it leaves blank comes from the latest batch.
fn given(desk: &Desk, form: &Form) -> Result<Given, Refused> {
    let said = form.said(desk.settings.units)?;
    let known = |c: &Column| FIRST.contains(c) || MORE.contains(c);
    Ok(said.into_iter().filter(|(c, _)| known(c)).filter_map(|(c, v)| Some((c, v?))).collect())
}

fn ask(desk: &Desk, form: &Form, known: &Known, given: &Given) -> Markup {
    let mut plan = Batch::default();
    for (column, value) in given {
        // What cannot be set was refused when the form was read.
        let _ = plan.set(*column, value);
    }
    let last = known.latest(plan.recipe.as_deref()).or(known.latest(None));
    let units = desk.settings.units;
    let says_more = MORE.iter().any(|c| !form.get(c.name()).is_empty());
    html! {
        p { "What you leave blank is as last time. Give a unit where yours is another: 72 °F, 1 kg, 1h30." }
        form method="get" action=(desk.frame().to("next")) {
            (fields_as_typed(FIRST, form, last, units))
            details open[says_more] {
                summary { "More of the plan" }
                (fields_as_typed(MORE, form, last, units))
            }
            p { button type="submit" { "Work it out" } }
        }
    }
}

fn answer(desk: &Desk, form: &Form, advice: &Advice) -> Markup {
    let keep = html! {
        @for (name, value) in &form.0 { input type="hidden" name=(name) value=(value); }
    };
    html! {
        (next_batch::what_to_do(&advice.next, desk.settings.units))
        @if desk.settings.writes { (desk.frame().post("next", keep, "Keep this plan")) }
        (next_batch::how_sure(&advice.next, desk.settings.units))
        @if !advice.warnings.is_empty() { h3 { "About the fit" } (pictures::list(&advice.warnings)) }
        p { (KITCHEN[0]) }
    }
}
