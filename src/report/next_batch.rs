//! The next batch on the page: what to do, in large letters; then how sure that is, and why.

use jiff::tz::TimeZone;
use jiff::{RoundMode, SignedDuration, Unit, ZonedDateTime, ZonedDateTimeRound};
use maud::{Markup, html};

use super::NextBatch;
use super::pictures::{list, pictures};
use super::say::{chance, hours, mass, rise, temperature, temperature_change, trimmed};
use crate::advice::crust_side::CrustSide;
use crate::advice::recommend::Recommendation;
use crate::dough::Batch;
use crate::dough::units::UnitSystem;

/// Both sections of one batch.
pub fn section(batch: &NextBatch, units: UnitSystem) -> Markup {
    html! { (what_to_do(batch, units)) (how_sure(batch, units)) }
}

fn name(r: &Recommendation) -> String {
    r.batch_id.as_ref().map(|id| format!(": {id}")).unwrap_or_default()
}

/// What to weigh and pour, and what to expect.
pub fn what_to_do(batch: &NextBatch, units: UnitSystem) -> Markup {
    let r = &batch.advice;
    html! {
        section.next {
            h2 { "Next batch" (name(r)) }
            @if let Some(limit) = &r.out_of_reach { p.alert { strong { "Out of reach. " } (limit) } }
            dl {
                dt { "Weigh" }
                dd { strong.big { (mass(r.yeast_g, units)) } " " (yeast(&r.plan)) }
                dt { "Pour" }
                dd { (water(r, units)) }
                dt { "Expect" }
                dd {
                    "dough at " strong { (temperature(r.dough_temp_c.p50, units)) }
                    " (" (temperature(r.dough_temp_c.p05, units)) " to " (temperature(r.dough_temp_c.p95, units)) "), "
                    "then a rise of " strong { (trimmed(r.rise.p50, 2)) " times" }
                }
                dt { "Ready" }
                dd { (ready(r)) }
            }
            (bowl(r, units))
            @if !r.cautions.is_empty() { h3 { "Mind" } (list(&r.cautions)) }
        }
    }
}

/// How sure that is, and why, with the picture of its rise.
pub fn how_sure(batch: &NextBatch, units: UnitSystem) -> Markup {
    let r = &batch.advice;
    html! {
        section {
            h2 { "How sure, and why" (name(r)) }
            p.first {
                "A rise of " (trimmed(r.target_rise, 2)) " is wanted; " (chance(r.chance_in_window)) " to land near it. "
                "Expected: " (rise(&r.rise)) "."
            }
            @if let Some(change) = change(r, units) { p { "Against the last batch: " (change) "." } }
            (list(&r.why.iter().map(|w| w.says(units)).collect::<Vec<_>>()))
            @if let Some(rule) = r.sum_rule_water_c {
                p {
                    "The trade's sum rule would say water at " (temperature(rule, units))
                    ": it weighs all parts alike, while water carries most of a dough's heat."
                }
            }
            (pictures(&batch.chart))
            @if let Some(c) = r.crust.as_ref().filter(|c| c.explained) { (crust(c, r, units)) }
        }
    }
}

/// The crust beside the rise, with less and with more yeast.
fn crust(c: &CrustSide, r: &Recommendation, units: UnitSystem) -> Markup {
    html! {
        h3 { "The crust beside the rise" }
        p {
            "Expect " strong { (format!("{:.1}", c.score.p50)) } " by your scores (" (format!("{:.1} to {:.1}", c.score.p05, c.score.p95))
            "), as far as " (c.batches) " scored batches tell."
            @if !c.beyond.is_empty() { " Beyond all that you scored, so a guess: " (c.beyond.join(", ")) "." }
        }
        table {
            caption { "Less and more yeast" }
            thead {
                tr {
                    th scope="col" { "yeast" } th scope="col" { "rise" } th scope="col" { "lands near " (trimmed(r.target_rise, 2)) }
                    th scope="col" { "crust" } th scope="col" { "9 of 10 between" }
                }
            }
            tbody {
                @for o in &c.trade_off {
                    tr {
                        th scope="row" { (mass(o.yeast_g, units)) } td { (trimmed(o.rise, 2)) } td { (chance(o.chance_in_window)) }
                        td { (format!("{:.1}", o.score.p50)) } td { (format!("{:.1} to {:.1}", o.score.p05, o.score.p95)) }
                    }
                }
            }
        }
    }
}

fn yeast(plan: &Batch) -> String {
    let kind = plan.yeast_type.map(|t| format!("{} ", t.to_string().replace('_', " "))).unwrap_or_default();
    let share = plan.yeast_pct().map(|p| format!(" ({} % of the flour)", trimmed(p, 3))).unwrap_or_default();
    format!("of {kind}yeast{share}")
}

fn water(r: &Recommendation, units: UnitSystem) -> Markup {
    let liquid = mass(r.pour.liquid_g, units);
    let (whole_c, tap_c) = (temperature(r.water_temp_c, units), temperature(r.pour.tap_c, units));
    html! {
        @if r.ice_g <= 0.0 {
            strong.big { (liquid) } " of water at " strong.big { (whole_c) }
        } @else {
            strong.big { (liquid) } " of tap water at " (tap_c)
            @if !r.pour.tap_known { ", if your tap gives that," }
            " with " strong.big { (mass(r.ice_g, units)) } " of ice (together like water at " (whole_c) ")"
        }
    }
}

fn ready(r: &Recommendation) -> String {
    let Some(w) = &r.window else {
        return "not within a day of the plan's end, as far as can be told".into();
    };
    let later = if w.open { " or later" } else { "" };
    let after = format!("{} to {}{later} after mixing", hours(w.from_hours), hours(w.to_hours));
    match mixed_at(&r.plan, &TimeZone::system()) {
        Some(at) => format!("{} to {}{later} ({after})", clock(&at, w.from_hours), clock(&at, w.to_hours)),
        None => after,
    }
}

/// When mixing ends on the clocks of a zone, if the plan's hour is known.
pub fn mixed_at(plan: &Batch, zone: &TimeZone) -> Option<ZonedDateTime> {
    let minutes = plan.mix_minutes.unwrap_or(0.0).round() as i64;
    let begun = zone.to_ambiguous_zoned_datetime(plan.date?.clock()?).compatible().ok()?;
    begun.checked_add(SignedDuration::from_mins(minutes)).ok()
}

/// "Sat 5 Sep 14:15", to five minutes.
fn clock(start: &ZonedDateTime, after_hours: f64) -> String {
    let to_five = ZonedDateTimeRound::new().smallest(Unit::Minute).increment(5).mode(RoundMode::HalfExpand);
    let minutes = SignedDuration::from_mins((60.0 * after_hours).round() as i64);
    let at = start.checked_add(minutes).and_then(|t| t.round(to_five)).unwrap_or(start.clone());
    at.strftime("%a %-d %b %H:%M").to_string()
}

/// What else goes into the bowl.
fn bowl(r: &Recommendation, units: UnitSystem) -> Markup {
    let p = &r.plan;
    let preferment = p.preferment_flour_g.map(|f| f + p.preferment_water_g.unwrap_or(0.0));
    let rows = [
        ("flour", p.flour_added_g()),
        ("preferment", preferment.map(|g| g + p.preferment_yeast_g.unwrap_or(0.0))),
        ("salt", p.salt_g),
        ("oil", p.oil_g),
        ("sugar", p.sugar_g),
        ("malt", p.malt_g),
    ];
    let rows: Vec<_> = rows.into_iter().filter_map(|(n, g)| Some((n, g.filter(|g| *g > 0.0)?))).collect();
    html! {
        table.bowl {
            caption { "The rest of the bowl" }
            thead { tr { th scope="col" { "what" } th scope="col" { "how much" } } }
            tbody {
                @for (name, grams) in rows { tr { th scope="row" { (name) } td { (mass(grams, units)) } } }
            }
        }
    }
}

fn change(r: &Recommendation, units: UnitSystem) -> Option<String> {
    let yeast = r.change.yeast_pct.map(|y| format!("yeast {y:+.3} points of percent"));
    let water = r.change.water_temp_c.map(|w| format!("water {}", temperature_change(w, units)));
    let told: Vec<String> = yeast.into_iter().chain(water).collect();
    (!told.is_empty()).then(|| told.join(", "))
}
