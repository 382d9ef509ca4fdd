//! What the readings say and what to do, as text: on the clock where the hour of mixing is known, else in hours from now.

use std::fmt::Write;

use jiff::tz::TimeZone;
use jiff::{RoundMode, Unit, ZonedDateTime, ZonedDateTimeRound};

use crate::advice::clock::later;
use crate::answers::plans::briefly;
use crate::answers::under_way::About;
use crate::cli::clock::day_and_time;
use crate::cli::text::{bullets, chance, hours, table, trimmed};
use crate::dough::units::UnitSystem;

use super::Answer;

/// A batch that works by less than this share otherwise than usual works as usual.
const AS_USUAL: f64 = 0.015;
/// Readiness is told to a quarter of an hour: nobody knows it better.
const QUARTERS: f64 = 4.0;

/// The answer as text.
pub fn of(answer: &Answer, units: UnitSystem) -> String {
    let a = &answer.adjustment;
    let clock = Clock { now: answer.about.mixed_at.as_ref().map(|at| later(at, a.now_hours)) };
    let mut out = about(&answer.about, units);
    if let Some(best) = a.options.first() {
        let _ = writeln!(
            out,
            "{}: {} to land near {}",
            best.action,
            chance(best.chance_in_window),
            trimmed(a.target_rise, 2)
        );
    }
    let _ = writeln!(
        out,
        "ready {}; 8 of 10 times {} (without the readings {})",
        clock.about(a.ready_in_hours.p50),
        clock.span(a.ready_in_hours_80),
        clock.span(a.ready_without_readings_80)
    );
    let v = &a.vigour;
    let percent = |x: f64| format!("{:+.0} %", 100.0 * x);
    let works = match v.p50.abs() < AS_USUAL {
        true => "about as your usual".to_string(),
        false => format!("{} against your usual", percent(v.p50)),
    };
    let (low, high) = (percent(v.p05), percent(v.p95));
    let _ = writeln!(out, "this batch works {works} ({low} to {high} in 9 of 10 cases)");
    let mut rows =
        vec![["what to do", "oven", "rise", "9 of 10 between", "and", "lands"].map(String::from).to_vec()];
    for o in &a.options {
        rows.push(vec![
            o.action.clone(),
            clock.at(o.bake_in_hours),
            format!("{:.2}", o.rise.p50),
            format!("{:.2}", o.rise.p05),
            format!("{:.2}", o.rise.p95),
            chance(o.chance_in_window),
        ]);
    }
    out.push_str(&table(&rows));
    bullets(&mut out, "Mind:", &a.cautions);
    bullets(&mut out, "About the fit:", &answer.warnings);
    out
}

/// "about plan-2026-11-27-1: 24 h cold, 2 g yeast; mixing ends Fri 27 Nov 14:30; kept Thu 26 Nov 18:44", and the others.
fn about(about: &About, units: UnitSystem) -> String {
    let name = about.plan_id.as_deref().unwrap_or("the plan given");
    let mut out = format!("about {name}: {}", briefly(about.cold_hours, about.hours, about.yeast_g, units));
    let mixed = about.mixed_at.as_ref().map(|at| format!(" {}", day_and_time(at))).unwrap_or_default();
    let _ = match &about.batch_id {
        Some(batch) => write!(out, "; mixed{mixed} as batch {batch}"),
        None if mixed.is_empty() => Ok(()),
        None => write!(out, "; mixing ends{mixed} by the plan"),
    };
    if let Some(kept) = about.kept_at {
        let _ = write!(out, "; kept {}", day_and_time(&kept.to_zoned_datetime(TimeZone::system())));
    }
    out.push('\n');
    about.notes.iter().for_each(|note| {
        let _ = writeln!(out, "{note}");
    });
    out
}

/// The clock as seen from the moment of deciding; `None` where the hour of mixing is not known.
struct Clock {
    now: Option<ZonedDateTime>,
}

impl Clock {
    /// A moment so many hours from now: "Sat 18:30, in 26 h 30 min".
    fn at(&self, h: f64) -> String {
        match &self.now {
            Some(now) if is_to_come(h) => format!("{}, {}", shown(&later(now, h)), from_now(h)),
            _ => from_now(h),
        }
    }

    /// The same to a quarter of an hour.
    fn about(&self, h: f64) -> String {
        match self.quarter(h) {
            Some(at) => format!("{at}, {}", from_now(rounded(h))),
            None => from_now(rounded(h)),
        }
    }

    /// From one to another: "Sat 16:15 to Sat 20:00", or "in 22 h to 26 h".
    fn span(&self, (from, to): (f64, f64)) -> String {
        if let (Some(a), Some(b)) = (self.quarter(from), self.quarter(to)) {
            return if a == b { a } else { format!("{a} to {b}") };
        }
        let (a, b) = (rounded(from), rounded(to));
        match is_to_come(a) && is_to_come(b) {
            _ if a == b => from_now(a),
            true => format!("in {} to {}", hours(a), hours(b)),
            false => format!("{} to {}", from_now(a), from_now(b)),
        }
    }

    fn quarter(&self, h: f64) -> Option<String> {
        let at = later(self.now.as_ref().filter(|_| is_to_come(h))?, h);
        let quarter =
            ZonedDateTimeRound::new().smallest(Unit::Minute).increment(15).mode(RoundMode::HalfExpand);
        Some(shown(&at.round(quarter).unwrap_or(at)))
    }
}

fn is_to_come(h: f64) -> bool {
    h.is_finite() && h >= 0.01
}

fn rounded(h: f64) -> f64 {
    if h.is_finite() { (h * QUARTERS).round() / QUARTERS } else { h }
}

/// "Sat 18:30": a dough under way is ready within days.
fn shown(at: &ZonedDateTime) -> String {
    at.strftime("%a %H:%M").to_string()
}

/// A time as seen from now.
fn from_now(h: f64) -> String {
    match h {
        h if h.is_infinite() => "not within a day of the plan's end".into(),
        h if h < -0.01 => format!("{} ago", hours(-h)),
        h if h < 0.01 => "now".into(),
        h => format!("in {}", hours(h)),
    }
}
