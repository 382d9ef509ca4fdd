//! The bench sheet: one printable page for one batch, as HTML and as plain text of the same lines.
//!
//! What is weighed in the order of use, temperatures, clock times with boxes to tick, what to write down, the code by which
//! the outcome is joined to the plan, and the cautions.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::say::{chance, hours, mass, temperature, trimmed};
use crate::advice::cautions::KITCHEN;
use crate::advice::clock::plan::{Entry, Schedule};
use crate::advice::recommend::Recommendation;
use crate::dough::units::UnitSystem;
use crate::dough::{Batch, StageKind};

/// A sheet of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 210 mm by 297 mm (ISO 216).
    A4,
    /// 8.5 in by 11 in (ANSI A).
    Letter,
}

/// What goes on one sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchSheet<'a> {
    /// The code by which the logbook knows the plan.
    pub code: &'a str,
    /// What to do and to expect.
    pub advice: &'a Recommendation,
    /// The same on the clock, if the hour of the bake is known.
    pub schedule: Option<&'a Schedule>,
    /// Units of what is shown.
    pub units: UnitSystem,
}

/// One line with a box: what, how much or when, and what to know.
type Line = [String; 3];

/// The sheet's parts, the same for both forms.
struct Parts {
    title: String,
    weigh: Vec<Line>,
    temperatures: Vec<Line>,
    clock: Vec<Line>,
    write: Vec<&'static str>,
    mind: Vec<String>,
}

/// The sheets as one HTML document, a page each.
pub fn html(sheets: &[BenchSheet<'_>], paper: Paper) -> String {
    let size = match paper {
        Paper::A4 => "A4",
        Paper::Letter => "letter",
    };
    let style = format!("@page{{size:{size} portrait;margin:12mm}}{STYLE}");
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Bench sheet" }
                style { (PreEscaped(style)) }
            }
            body { @for sheet in sheets { (page(sheet)) } }
        }
    }
    .into_string()
}

const STYLE: &str = "\
body{font:10.5pt/1.25 sans-serif;color:#000;background:#fff;max-width:186mm;margin:0 auto}\
main{break-after:page}main:last-child{break-after:auto}\
h1{font-size:16pt;margin:0 0 1mm}h2{font-size:11.5pt;margin:3mm 0 1mm;border-bottom:1px solid #000}\
p{margin:1mm 0}table{border-collapse:collapse;width:100%}td{padding:.6mm 2mm .6mm 0;vertical-align:top}\
td.how{font-weight:bold;white-space:nowrap}td.box{width:5mm}\
.box span{display:inline-block;width:3.2mm;height:3.2mm;border:1px solid #000}\
.write{columns:2;list-style:none;margin:0;padding:0}.write li{display:flex;gap:2mm;padding:1mm 0;break-inside:avoid}\
.write li::after{content:'';flex:1;border-bottom:1px dotted #000}\
ul.mind{margin:0;padding-left:5mm;font-size:9pt}.code{font-family:monospace;font-size:12pt}";

fn page(sheet: &BenchSheet<'_>) -> Markup {
    let parts = parts(sheet);
    html! {
        main {
            h1 { (parts.title) }
            p { "Code of this batch: " span.code { (sheet.code) } " (give it when you record how it came out)" }
            h2 { "Weigh, in this order" } (lines(&parts.weigh))
            h2 { "Temperatures" } (lines(&parts.temperatures))
            h2 { "The clock" } (lines(&parts.clock))
            h2 { "Write down" }
            ul.write { @for what in &parts.write { li { (what) } } }
            h2 { "Mind" }
            ul.mind { @for line in &parts.mind { li { (line) } } }
        }
    }
}

fn lines(lines: &[Line]) -> Markup {
    html! {
        table {
            @for [what, how, note] in lines {
                tr { td.box { span {} } td { (what) } td.how { (how) } td { (note) } }
            }
        }
    }
}

/// One sheet as plain text.
pub fn text(sheet: &BenchSheet<'_>) -> String {
    let parts = parts(sheet);
    let mut out = format!(
        "{}\nCode of this batch: {} (give it when you record how it came out)\n",
        parts.title, sheet.code
    );
    for (title, lines) in [
        ("Weigh, in this order", &parts.weigh),
        ("Temperatures", &parts.temperatures),
        ("The clock", &parts.clock),
    ] {
        out += &format!("\n{title}\n");
        let width = |c: usize| lines.iter().map(|l| l[c].chars().count()).max().unwrap_or(0);
        let (what, how) = (width(0), width(1));
        for line in lines {
            let text = format!("[ ] {:what$}  {:how$}  {}", line[0], line[1], line[2]);
            out += &format!("{}\n", text.trim_end());
        }
    }
    out += "\nWrite down\n";
    for what in &parts.write {
        out += &format!("{what:44} ______________\n");
    }
    out += "\nMind\n";
    for line in &parts.mind {
        out += &format!("- {line}\n");
    }
    out
}

fn parts(sheet: &BenchSheet<'_>) -> Parts {
    let r = sheet.advice;
    let plan = &r.plan;
    let named = r.batch_id.as_deref().or(plan.recipe.as_deref()).unwrap_or("the next batch");
    let mut mind: Vec<String> = r.out_of_reach.iter().cloned().collect();
    mind.extend(r.cautions.iter().cloned());
    mind.extend(sheet.schedule.iter().flat_map(|s| s.notes.iter().cloned()));
    mind.extend(KITCHEN.map(String::from));
    Parts {
        title: format!("Bench sheet: {named}"),
        weigh: weigh(r, sheet.units),
        temperatures: temperatures(r, sheet.units),
        clock: match sheet.schedule {
            Some(schedule) => schedule.entries.iter().map(|e| on_the_clock(e, schedule)).collect(),
            None => after_mixing(plan),
        },
        write: write(plan),
        mind,
    }
}

fn line(what: impl Into<String>, how: String, note: impl Into<String>) -> Line {
    [what.into(), how, note.into()]
}

fn weigh(r: &Recommendation, units: UnitSystem) -> Vec<Line> {
    let plan = &r.plan;
    let m = |g: f64| mass(g, units);
    let mut lines = Vec::new();
    let kind = plan.yeast_type.map(|t| t.to_string().replace('_', " ")).unwrap_or_default();
    if let Some(flour) = plan.preferment_flour_g.filter(|g| *g > 0.0) {
        lines.push(line("preferment: flour", m(flour), ""));
        lines.push(line("preferment: water", m(plan.preferment_water_g.unwrap_or(0.0)), ""));
        lines.push(line(format!("preferment: {kind} yeast"), m(plan.preferment_yeast_g.unwrap_or(0.0)), ""));
    }
    let dilution = r.weighing.and_then(|w| w.dilution);
    let less = dilution.map_or(0.0, |d| d.pour_less_g);
    let at = format!("at {}", temperature(if r.ice_g > 0.0 { r.pour.tap_c } else { r.water_temp_c }, units));
    lines.push(line("water", m(r.pour.liquid_g - less), at));
    if r.ice_g > 0.0 {
        let together = format!("together like water at {}", temperature(r.water_temp_c, units));
        lines.push(line("ice", m(r.ice_g), together));
    }
    match dilution {
        None => lines.push(line(
            format!("{kind} yeast"),
            m(r.yeast_g),
            format!("{} % of the flour", trimmed(r.yeast_pct, 3)),
        )),
        Some(d) => lines.push(line(
            format!("{kind} yeast in water"),
            m(d.take_g),
            format!("of {} yeast stirred into {} water", m(d.yeast_g), m(d.water_g)),
        )),
    }
    let rest = [
        ("flour", plan.flour_added_g()),
        ("malt", plan.malt_g),
        ("sugar", plan.sugar_g),
        ("salt", plan.salt_g),
        ("oil", plan.oil_g),
    ];
    lines.extend(rest.into_iter().filter_map(|(what, g)| Some(line(what, m(g.filter(|g| *g > 0.0)?), ""))));
    if let (Some(dough), Some(piece)) = (plan.dough_g(), plan.piece_g) {
        let count = (dough / piece).floor();
        lines.push(line("then pieces of", m(piece), format!("{count:.0} from {} of dough", m(dough))));
    }
    lines
}

fn temperatures(r: &Recommendation, units: UnitSystem) -> Vec<Line> {
    let plan = &r.plan;
    let t = |c: f64| temperature(c, units);
    let d = &r.dough_temp_c;
    let mut lines = vec![line(
        "dough after mixing",
        t(d.p50),
        format!("9 of 10 times between {} and {}", t(d.p05), t(d.p95)),
    )];
    let planned = [
        ("preferment stands at", plan.preferment_temp_c.filter(|_| plan.preferment_share() > 0.0)),
        ("flour", plan.flour_temp_c),
        ("room", plan.room_temp_c),
        ("fridge", plan.cold_temp_c.filter(|_| plan.cold_hours.unwrap_or(0.0) > 0.0)),
    ];
    lines.extend(
        planned.into_iter().filter_map(|(what, c)| Some(line(what, t(c?), "as planned; tick when it is so"))),
    );
    lines
}

fn on_the_clock(e: &Entry, schedule: &Schedule) -> Line {
    let end = |at: &Option<jiff::ZonedDateTime>| {
        at.as_ref()
            .map(|t| t.strftime(if t.date() == e.at.date() { "%H:%M" } else { "%a %H:%M" }).to_string())
    };
    let slack = match (end(&e.from), end(&e.to)) {
        (Some(from), Some(to)) if from != to => {
            format!("good from {from} to {to} ({})", chance(schedule.at_chance))
        }
        _ => String::new(),
    };
    line(e.what.clone(), e.at.strftime("%a %-d %b %H:%M").to_string(), slack)
}

/// The stages, in hours after mixing, where the hour of the bake is not known.
fn after_mixing(plan: &Batch) -> Vec<Line> {
    let mut lines = Vec::new();
    if let Some(h) = plan.preferment_hours.filter(|_| plan.preferment_share() > 0.0) {
        lines.push(line("mix the preferment", format!("{} before mixing", hours(h)), "____:____"));
    }
    lines.push(line("mixed", "start of the clock".into(), "____:____"));
    let mut at = 0.0;
    for stage in plan.stages() {
        let what = match stage.kind {
            StageKind::Bulk => None,
            StageKind::Cold => Some("divide, into the fridge"),
            StageKind::Temper if plan.cold_hours.unwrap_or(0.0) > 0.0 => Some("out of the fridge"),
            StageKind::Temper => Some("divide"),
        };
        lines.extend(what.map(|w| line(w, format!("{} after mixing", hours(at)), "____:____")));
        at += stage.hours;
    }
    lines.push(line("bake", format!("{} after mixing", hours(at)), "____:____"));
    lines
}

fn write(plan: &Batch) -> Vec<&'static str> {
    let mut all = vec!["room temperature at mixing", "flour temperature", "dough temperature after mixing"];
    if plan.preferment_share() > 0.0 {
        all.push("rise of the preferment at its use");
    }
    if plan.cold_hours.unwrap_or(0.0) > 0.0 {
        all.push("fridge temperature, in a glass of water");
    }
    all.extend([
        "first reading: hours after mixing, rise",
        "second reading: hours after mixing, rise",
        "third reading: hours after mixing, rise",
        "rise at the oven (height now / at the mark)",
        "under, ready, over or collapsed",
        "crust, 1 to 10",
        "what was done otherwise than planned",
    ]);
    all
}
