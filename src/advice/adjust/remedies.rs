//! What can still be done with a dough under way, ranked by the chance that its rise lands in the window.
//!
//! Each kind of remedy has one dial (when to bake, when the pieces change place, a warmer or cooler spot), which is
//! turned in steps a kitchen can keep; the best of each kind is told.

use crate::dough::StageKind;
use crate::dough::hours::span;
use crate::inference::under_way::UnderWay;

use super::rest::{Rest, Stay};
use super::{Remedy, SEARCHED};
use crate::advice::Interval;

/// Times are told in quarters of an hour.
const STEP_H: f64 = 0.25;
/// The oven is moved by at most so many hours, earlier or later.
const MOST_EARLIER_H: f64 = 6.0;
const MOST_LATER_H: f64 = 6.0;
/// Spots of a room that are warmer or cooler than planned, in °C (a choice of this project).
const SPOTS_C: [f64; 6] = [-5.0, -3.0, -2.0, 2.0, 3.0, 5.0];
/// Places looked at along a dial at most.
const PLACES: usize = 25;

/// One thing to do: how it is told and the rest it makes.
struct Choice {
    action: String,
    stays: Vec<Stay>,
}

/// What can be done, likeliest to land first; the plan itself is among them. `near` is the window on ln rise, from and to.
pub fn remedies(doughs: &UnderWay, rest: &Rest, near: (f64, f64)) -> Vec<Remedy> {
    let few = doughs.thinned(SEARCHED / 2);
    let chance = |o: &Choice| few.rise(&rest.then(&o.stays)).between(near.0, near.1);
    let mut best: Vec<Choice> = vec![as_planned(rest)];
    for kind in [bake_at_another_time(rest), move_the_fridge(rest), fridge_again(rest), another_spot(rest)] {
        let scored = kind.into_iter().map(|o| (chance(&o), o));
        best.extend(scored.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, o)| o));
    }
    if rest.here() != Some(StageKind::Cold) {
        best.extend(into_the_fridge_now(rest));
    }
    let mut told: Vec<Remedy> = best.into_iter().map(|o| remedy(doughs, rest, near, o)).collect();
    told.sort_by(|a, b| b.chance_in_window.total_cmp(&a.chance_in_window));
    told.dedup_by(|a, b| a.action == b.action);
    told
}

fn remedy(doughs: &UnderWay, rest: &Rest, near: (f64, f64), option: Choice) -> Remedy {
    let rise = doughs.rise(&rest.then(&option.stays));
    Remedy {
        action: option.action,
        bake_in_hours: option.stays.iter().map(|s| s.hours).sum(),
        rise: Interval::of_log(&rise),
        chance_in_window: rise.between(near.0, near.1),
    }
}

fn as_planned(rest: &Rest) -> Choice {
    let action = if rest.left() > 0.0 { "keep to the plan" } else { "bake now" };
    Choice { action: action.into(), stays: rest.to_come.clone() }
}

/// Values from `from` to `to` in whole steps, thinned to a few; both ends may be among them.
fn dial(from: f64, to: f64) -> Vec<f64> {
    let (first, last) = ((from / STEP_H).ceil() as i64, (to / STEP_H).floor() as i64);
    let step = (last - first).max(0) / PLACES as i64 + 1;
    (first..=last).step_by(step as usize).map(|i| i as f64 * STEP_H).collect()
}

/// The last stage shorter or longer.
fn bake_at_another_time(rest: &Rest) -> Vec<Choice> {
    let last = match (rest.to_come.last(), rest.here()) {
        (Some(stay), _) => *stay,
        (None, Some(kind)) => Stay { kind, hours: 0.0, warmer_c: 0.0 },
        (None, None) => return vec![],
    };
    let dial = dial(-last.hours.min(MOST_EARLIER_H), MOST_LATER_H).into_iter().filter(|by| *by != 0.0);
    dial.map(|by| {
        let mut stays = rest.to_come.clone();
        stays.pop();
        stays.push(Stay { hours: last.hours + by, ..last });
        let action = match by {
            _ if rest.left() + by < 0.01 => "bake now".to_string(),
            by if by < 0.0 => format!("bake {} earlier", span(-by)),
            by => format!("bake {} later", span(by)),
        };
        Choice { action, stays }
    })
    .collect()
}

/// The change of place that comes next, earlier or later; the oven as planned.
fn move_the_fridge(rest: &Rest) -> Vec<Choice> {
    let [first, second, ..] = rest.to_come[..] else { return vec![] };
    let dial = dial(0.0, first.hours + second.hours);
    let moved = dial.into_iter().filter(|h| (h - first.hours).abs() > 0.1);
    moved
        .map(|hours| {
            let mut stays = rest.to_come.clone();
            stays[0].hours = hours;
            stays[1].hours = first.hours + second.hours - hours;
            let (what, by) = match second.kind {
                StageKind::Cold => ("into the fridge", hours - first.hours),
                _ if first.kind == StageKind::Cold => ("out of the fridge", hours - first.hours),
                _ => ("divide", hours - first.hours),
            };
            let action = match by {
                _ if hours < 0.01 => format!("{what} now, oven as planned"),
                by if by < 0.0 => format!("{what} {} earlier than planned, oven as planned", span(-by)),
                by => format!("{what} {} later than planned, oven as planned", span(by)),
            };
            Choice { action, stays }
        })
        .collect()
}

/// Into the fridge at once, for as long as the plan still has.
fn into_the_fridge_now(rest: &Rest) -> Option<Choice> {
    let hours = rest.left();
    let stays = vec![Stay { kind: StageKind::Cold, hours, warmer_c: 0.0 }];
    let action = "into the fridge now, from there to the oven as planned".into();
    (hours > 0.0 && rest.to_come.len() == 1).then_some(Choice { action, stays })
}

/// Into the fridge for a while, then out again: for a dough that runs ahead in its last stage.
fn fridge_again(rest: &Rest) -> Vec<Choice> {
    let [only] = rest.to_come[..] else { return vec![] };
    if only.kind == StageKind::Cold {
        return vec![];
    }
    let dial = dial(STEP_H, only.hours - STEP_H);
    dial.into_iter()
        .map(|hours| Choice {
            action: format!("into the fridge now for {}, then out again, oven as planned", span(hours)),
            stays: vec![
                Stay { kind: StageKind::Cold, hours, warmer_c: 0.0 },
                Stay { hours: only.hours - hours, ..only },
            ],
        })
        .collect()
}

/// A warmer or cooler spot for the next stay in the room.
fn another_spot(rest: &Rest) -> Vec<Choice> {
    let Some(at) = rest.to_come.iter().position(|s| s.kind != StageKind::Cold) else { return vec![] };
    let when = if at == 0 { "from now on" } else { "when they are out of the fridge" };
    SPOTS_C
        .into_iter()
        .map(|warmer_c| {
            let mut stays = rest.to_come.clone();
            stays[at].warmer_c = warmer_c;
            let spot = if warmer_c > 0.0 { "warmer" } else { "cooler" };
            Choice {
                action: format!(
                    "a spot {} °C ({:.0} °F) {spot} {when}",
                    warmer_c.abs(),
                    1.8 * warmer_c.abs()
                ),
                stays,
            }
        })
        .collect()
}
