//! A schedule: yeast, water and hours for a bake at a given hour, with every step at its time of day.
//!
//! Of the hours that may move, those ways are kept that put no step into a time away and none into the past. Some of
//! them, spread from the plan's own hours to the farthest, are filled by [`recommend`] on a few draws; the likeliest to
//! land is taken, among equals the one nearest to the plan's own hours, and worked out on all draws.

use jiff::ZonedDateTime;
use schemars::JsonSchema;
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::away::Away;
use super::free::{Free, distance, says, ways};
use super::slack::slack;
use super::steps::{Step, steps};
use super::task::Task;
use super::{later, refuse, shown};
use crate::advice::AdviceError;
use crate::advice::limits::Limits;
use crate::advice::plan_name;
use crate::advice::recommend::{Recommendation, recommend};
use crate::dough::{Batch, Column, When};
use crate::inference::forecast::Forecaster;

/// Ways that are filled at most, and the draws they are filled on.
const FILLED: usize = 12;
const DRAWS: usize = 100;
/// Chances nearer than this count as equal.
const EQUAL: f64 = 0.01;
/// Draws that slack is worked out on.
const SLACK_DRAWS: usize = 120;
/// Another hour of baking is looked for so far from the one wanted, in steps of a quarter of an hour.
const NEAREST_H: f64 = 24.0;
const NEAREST_STEP_H: f64 = 0.25;
/// Where the wanted chance cannot be had, slack is told for this part of the chance there is.
const NEARLY: f64 = 0.9;

/// What is asked of the clock.
#[derive(Debug, Clone)]
pub struct Asked {
    /// When the first piece goes in.
    pub bake: ZonedDateTime,
    /// The moment of asking.
    pub now: ZonedDateTime,
    /// How long the oven is lit before, in min.
    pub preheat_min: f64,
    /// When nobody is there.
    pub away: Vec<Away>,
    /// Hours that may move.
    pub free: Vec<Free>,
    /// What else is to be done.
    pub tasks: Vec<Task>,
    /// The chance that slack is told for, 0 to 1.
    pub sure: f64,
}

/// Something to do at its time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Entry {
    /// When.
    #[serde(serialize_with = "iso", deserialize_with = "of_iso")]
    #[schemars(with = "String")]
    pub at: ZonedDateTime,
    /// What.
    pub what: String,
    /// Which step; `None` for a side task.
    pub step: Option<Step>,
    /// From when it may be done, all else as planned.
    #[serde(serialize_with = "iso_if", deserialize_with = "of_iso_if")]
    #[schemars(with = "Option<String>")]
    pub from: Option<ZonedDateTime>,
    /// Until when.
    #[serde(serialize_with = "iso_if", deserialize_with = "of_iso_if")]
    #[schemars(with = "Option<String>")]
    pub to: Option<ZonedDateTime>,
}

/// Another way to set the free hours.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Way {
    /// The free hours.
    pub hours: String,
    /// When mixing begins.
    #[serde(serialize_with = "iso", deserialize_with = "of_iso")]
    #[schemars(with = "String")]
    pub mix: ZonedDateTime,
    /// Its yeast, in g.
    pub yeast_g: f64,
    /// Its chance to land.
    pub chance_in_window: f64,
}

/// A bake on the clock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Schedule {
    /// What to do, in order of time.
    pub entries: Vec<Entry>,
    /// The chance that the times from and to are told for.
    pub at_chance: f64,
    /// What other hours would cost; empty when none are free.
    pub ways: Vec<Way>,
    /// What to know of the clock.
    pub notes: Vec<String>,
}

/// To the minute, with the distance from universal time; the name of the zone is not kept.
const ISO: &str = "%Y-%m-%dT%H:%M%:z";

fn iso<S: Serializer>(at: &ZonedDateTime, s: S) -> Result<S::Ok, S::Error> {
    s.collect_str(&at.strftime(ISO))
}

fn iso_if<S: Serializer>(at: &Option<ZonedDateTime>, s: S) -> Result<S::Ok, S::Error> {
    match at {
        Some(at) => iso(at, s),
        None => s.serialize_none(),
    }
}

fn of_iso<'de, D: Deserializer<'de>>(d: D) -> Result<ZonedDateTime, D::Error> {
    ZonedDateTime::strptime(ISO, String::deserialize(d)?).map_err(D::Error::custom)
}

fn of_iso_if<'de, D: Deserializer<'de>>(d: D) -> Result<Option<ZonedDateTime>, D::Error> {
    let text = Option::<String>::deserialize(d)?;
    text.map(|t| ZonedDateTime::strptime(ISO, t).map_err(D::Error::custom)).transpose()
}

/// Fills a completed plan for a bake at an hour, and puts it on the clock.
///
/// # Errors
/// When the bake lies in the past or sooner than the dough allows, no way keeps out of the times away (each with the
/// nearest possible), or the plan cannot be recommended for.
pub fn schedule(
    forecaster: &mut Forecaster,
    plan: &Batch,
    last: Option<&Batch>,
    limits: &Limits,
    asked: &Asked,
) -> Result<(Recommendation, Schedule), AdviceError> {
    let name = plan_name(plan);
    if asked.bake <= asked.now {
        return refuse(format!(
            "the bake of the plan{name} at {} lies in the past (it is {})",
            shown(&asked.bake),
            shown(&asked.now)
        ));
    }
    let possible: Vec<Batch> =
        ways(plan, &asked.free).into_iter().filter(|w| hindrance(w, &asked.bake, asked).is_none()).collect();
    if possible.is_empty() {
        return Err(no_way(plan, asked));
    }
    let (chosen, told) = choose(forecaster, plan, &possible, last, limits, asked)?;
    let start = steps(&chosen, &asked.bake, asked.preheat_min);
    let mix = start.iter().find(|(s, _)| *s == Step::Mix).map(|(_, at)| at.datetime());
    let dated = Batch { date: mix.map(When::at).or(chosen.date), ..chosen };
    let answer = recommend(forecaster, &dated, last, limits)?;
    let schedule = on_the_clock(forecaster, &answer, asked, told);
    Ok((answer, schedule))
}

/// What stands against a way at a bake: the step and when it would be.
fn hindrance(
    way: &Batch,
    bake: &ZonedDateTime,
    asked: &Asked,
) -> Option<(Step, ZonedDateTime, Option<Away>)> {
    for (step, at) in steps(way, bake, asked.preheat_min) {
        if at < asked.now {
            return Some((step, at, None));
        }
        // Mixing takes time: its end must not be away either.
        let ends = match step {
            Step::Mix => Some(later(bake, -way.total_hours())),
            _ => None,
        };
        let hit = |a: &&Away| a.holds(&at) || ends.as_ref().is_some_and(|e| a.holds(e));
        if let Some(away) = asked.away.iter().find(hit) {
            return Some((step, at, Some(*away)));
        }
    }
    None
}

/// Why there is no way, and the nearest that there is.
fn no_way(plan: &Batch, asked: &Asked) -> AdviceError {
    let why = match hindrance(plan, &asked.bake, asked) {
        Some((step, at, None)) => {
            format!("to {} would have been at {}, which is past", step.says(plan), shown(&at))
        }
        Some((step, at, Some(away))) => {
            format!("to {} falls on {}, within the time away {away}", step.says(plan), shown(&at))
        }
        None => "the hours allowed leave no way".into(),
    };
    let all = ways(plan, &asked.free);
    let works = |by: f64| {
        let bake = later(&asked.bake, by);
        (bake > asked.now && all.iter().any(|w| hindrance(w, &bake, asked).is_none())).then_some(bake)
    };
    let steps = (NEAREST_H / NEAREST_STEP_H) as i32;
    let nearest = |sign: f64| (1..=steps).find_map(|i| works(sign * f64::from(i) * NEAREST_STEP_H));
    let soonest = || (1..=7 * steps).find_map(|i| works(f64::from(i) * NEAREST_STEP_H));
    let bakes: Vec<String> = match (nearest(-1.0), nearest(1.0)) {
        (None, None) => soonest().iter().map(shown).collect(),
        (a, b) => a.iter().chain(&b).map(shown).collect(),
    };
    let mut ways_out = Vec::new();
    if !bakes.is_empty() {
        ways_out.push(format!("bake at {}", bakes.join(" or ")));
    }
    if let Some((column, hours)) = other_hours(plan, asked) {
        ways_out.push(format!(
            "keep the hour with {} of {hours} h (--free {}={hours}..{hours})",
            column.name().replace('_', " "),
            column.name()
        ));
    }
    let nearest = match ways_out.is_empty() {
        true => "no hour within a week works: shorten the times away".into(),
        false => format!("nearest possible: {}", ways_out.join("; or ")),
    };
    AdviceError::Clock(format!("this bake cannot be kept: {why}; {nearest}"))
}

/// The nearest hours of one stage that would do, though they were not said to be free.
fn other_hours(plan: &Batch, asked: &Asked) -> Option<(Column, f64)> {
    let column = [(Column::cold_hours, plan.cold_hours), (Column::bulk_hours, plan.bulk_hours)]
        .into_iter()
        .find_map(|(c, h)| h.filter(|h| *h > 0.0).map(|_| c))?;
    if asked.free.iter().any(|f| f.column == column) {
        return None;
    }
    let free = [Free { column, least: 1.0, most: 72.0 }];
    let way = ways(plan, &free).into_iter().find(|w| hindrance(w, &asked.bake, asked).is_none())?;
    let hours = if column == Column::cold_hours { way.cold_hours } else { way.bulk_hours };
    hours.map(|h| (column, h))
}

/// The way to take, and what each of those looked at would give.
fn choose(
    forecaster: &Forecaster,
    plan: &Batch,
    possible: &[Batch],
    last: Option<&Batch>,
    limits: &Limits,
    asked: &Asked,
) -> Result<(Batch, Vec<Way>), AdviceError> {
    let [first, ..] = possible else { return Err(AdviceError::NoForecast) };
    if possible.len() == 1 {
        return Ok((first.clone(), vec![]));
    }
    let mut few = forecaster.thinned(DRAWS);
    let count = possible.len().min(FILLED);
    let mut looked = Vec::new();
    for i in 0..count {
        let way = &possible[i * (possible.len() - 1) / (count - 1).max(1)];
        let answer = recommend(&mut few, way, last, limits)?;
        looked.push((way, answer));
    }
    let best = looked.iter().map(|(_, a)| a.chance_in_window).fold(0.0, f64::max);
    let near = looked.iter().filter(|(_, a)| a.chance_in_window >= best - EQUAL);
    let taken = near
        .min_by(|a, b| distance(plan, a.0, &asked.free).total_cmp(&distance(plan, b.0, &asked.free)))
        .map_or(first, |(way, _)| *way);
    let told = looked.iter().map(|(way, answer)| Way {
        hours: says(way, &asked.free),
        mix: mix_of(way, asked),
        yeast_g: answer.yeast_g,
        chance_in_window: answer.chance_in_window,
    });
    Ok((taken.clone(), told.collect()))
}

fn mix_of(way: &Batch, asked: &Asked) -> ZonedDateTime {
    let all = steps(way, &asked.bake, asked.preheat_min);
    all.into_iter().find(|(s, _)| *s == Step::Mix).map_or_else(|| asked.bake.clone(), |(_, at)| at)
}

fn on_the_clock(forecaster: &Forecaster, answer: &Recommendation, asked: &Asked, ways: Vec<Way>) -> Schedule {
    let plan = &answer.plan;
    let steps = steps(plan, &asked.bake, asked.preheat_min);
    let mut few = forecaster.thinned(SLACK_DRAWS);
    let near = answer.near();
    let (prepared, _) = few.ready(plan);
    let there_is = few.rise(&prepared).between(near.0, near.1);
    let at_chance = if there_is >= asked.sure { asked.sure } else { NEARLY * there_is };
    let mut entries: Vec<Entry> = steps
        .iter()
        .map(|(step, at)| {
            let room = slack(&mut few, plan, *step, near, at_chance).map(|s| s.around(at));
            let (from, to) = room.map_or((None, None), |(a, b)| (Some(a), Some(b)));
            Entry { at: at.clone(), what: step.says(plan).into(), step: Some(*step), from, to }
        })
        .collect();
    let mut notes = Vec::new();
    for task in &asked.tasks {
        let Some(at) = task.at(&steps) else {
            notes.push(format!("'{}' hangs on '{}', which this plan does not have", task.name, task.step()));
            continue;
        };
        if at < asked.now {
            notes.push(format!("'{}' would have been at {}: do it now", task.name, shown(&at)));
        } else if let Some(away) = asked.away.iter().find(|a| a.holds(&at)) {
            notes.push(format!(
                "'{}' falls on {}, within the time away {away}: do it before",
                task.name,
                shown(&at)
            ));
        }
        entries.push(Entry { at, what: task.name.clone(), step: None, from: None, to: None });
    }
    entries.sort_by(|a, b| a.at.cmp(&b.at));
    if there_is < asked.sure {
        notes.push(format!(
            "{:.0} % is not to be had with this plan; the times from and to hold for {:.0} %",
            100.0 * asked.sure,
            100.0 * at_chance
        ));
    }
    if let (Some(first), Some(end)) = (entries.first(), entries.last())
        && first.at.offset() != end.at.offset()
    {
        notes.push("the clocks change on the way: the dough's hours are counted as they pass".into());
    }
    Schedule { entries, at_chance, ways, notes }
}
