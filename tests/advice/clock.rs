//! Clock arithmetic across changes of summer time, midnight and ends of months. The rules of the zones are those of the
//! POSIX strings; elapsed hours are counted by hand in the comments.

use doughwright::advice::clock::away::Away;
use doughwright::advice::clock::free::{Free, ways};
use doughwright::advice::clock::moment;
use doughwright::advice::clock::plan::{Asked, schedule};
use doughwright::advice::clock::steps::{Step, steps};
use doughwright::advice::clock::task::Task;
use doughwright::advice::limits::Limits;
use doughwright::dough::Batch;
use jiff::ZonedDateTime;
use jiff::tz::TimeZone;

use crate::kitchen::{as_plan, fitted, records};

/// Summer time from the last Sunday of March, 01:00 UTC, to the last Sunday of October, 01:00 UTC.
const EAST: &str = "CET-1CEST,M3.5.0,M10.5.0/3";
/// Summer time from the second Sunday of March, 02:00, to the first Sunday of November, 02:00.
const WEST: &str = "EST5EDT,M3.2.0,M11.1.0";

fn at(text: &str, zone: &str) -> ZonedDateTime {
    moment(text.parse().unwrap(), &TimeZone::posix(zone).unwrap()).unwrap().0
}

/// Mixed in 15 min, an hour in bulk, so long in the fridge, two hours in the room.
fn plan(cold_hours: f64) -> Batch {
    Batch {
        bulk_hours: Some(1.0),
        cold_hours: Some(cold_hours),
        temper_hours: Some(2.0),
        mix_minutes: Some(15.0),
        ..Batch::default()
    }
}

fn told(plan: &Batch, bake: &str, zone: &str) -> Vec<(Step, String)> {
    let all = steps(plan, &at(bake, zone), 60.0);
    all.into_iter().map(|(s, t)| (s, t.strftime("%Y-%m-%dT%H:%M%:z").to_string())).collect()
}

#[test]
fn the_dough_feels_the_hours_that_pass() {
    // Clocks back on 25 October 2026 at 03:00: from Saturday 15:45 to Sunday 18:00 are 27 h 15 min.
    let autumn = told(&plan(24.0), "2026-10-25T18:00", EAST);
    assert_eq!(autumn[0], (Step::Mix, "2026-10-24T15:45+02:00".into()));
    assert_eq!(autumn[1], (Step::Divide, "2026-10-24T17:00+02:00".into()));
    assert_eq!(autumn[2], (Step::Out, "2026-10-25T16:00+01:00".into()));
    assert_eq!(autumn[3], (Step::Oven, "2026-10-25T17:00+01:00".into()));
    assert_eq!(autumn[4], (Step::Bake, "2026-10-25T18:00+01:00".into()));
    // Clocks forward on 29 March 2026 at 02:00: from Saturday 13:45 to Sunday 18:00 are 27 h 15 min.
    assert_eq!(told(&plan(24.0), "2026-03-29T18:00", EAST)[0].1, "2026-03-28T13:45+01:00");
    // The same in a zone west of Greenwich: clocks back on 1 November 2026 at 02:00, forward on 8 March 2026 at 02:00.
    assert_eq!(told(&plan(24.0), "2026-11-01T18:00", WEST)[0].1, "2026-10-31T15:45-04:00");
    assert_eq!(told(&plan(24.0), "2026-03-08T18:00", WEST)[0].1, "2026-03-07T13:45-05:00");
}

#[test]
fn midnight_and_ends_of_months_and_years() {
    // 27 h 15 min before.
    let first = |bake: &str| told(&plan(24.0), bake, "UTC0")[0].1.clone();
    assert_eq!(first("2026-12-01T00:30"), "2026-11-29T21:15+00:00");
    assert_eq!(first("2027-01-01T12:00"), "2026-12-31T08:45+00:00");
    assert_eq!(first("2028-03-01T12:00"), "2028-02-29T08:45+00:00");
    assert_eq!(first("2027-03-01T12:00"), "2027-02-28T08:45+00:00");
}

#[test]
fn hours_that_the_clock_skips_or_shows_twice_are_told() {
    let zone = TimeZone::posix(EAST).unwrap();
    let (skipped, note) = moment("2026-03-29T02:30".parse().unwrap(), &zone).unwrap();
    assert_eq!(skipped.strftime("%H:%M%:z").to_string(), "03:30+02:00");
    assert!(note.unwrap().contains("skips"));
    let (twice, note) = moment("2026-10-25T02:30".parse().unwrap(), &zone).unwrap();
    assert_eq!(twice.strftime("%H:%M%:z").to_string(), "02:30+02:00");
    assert!(note.unwrap().contains("twice"));
    assert_eq!(moment("2026-10-26T02:30".parse().unwrap(), &zone).unwrap().1, None);
}

#[test]
fn away_is_by_the_clock_on_the_wall() {
    let night = Away::parse("22:00-06:30").unwrap();
    for (time, away) in
        [("21:59", false), ("22:00", true), ("00:00", true), ("06:29", true), ("06:30", false)]
    {
        assert_eq!(night.holds(&at(&format!("2026-12-04T{time}"), EAST)), away, "{time}");
    }
    let day = Away::parse("09:00-17:00").unwrap();
    assert!(day.holds(&at("2026-12-04T09:00", EAST)) && !day.holds(&at("2026-12-04T17:00", EAST)));
    let once = Away::parse("2026-12-04T09:00..2026-12-04T17:00").unwrap();
    assert!(once.holds(&at("2026-12-04T10:00", EAST)) && !once.holds(&at("2026-12-05T10:00", EAST)));
    for wrong in ["22:00", "25:00-06:00", "22:00-22:00", "2026-12-04T17:00..2026-12-04T09:00", "night"] {
        assert!(Away::parse(wrong).is_err(), "{wrong}");
    }
}

#[test]
fn tasks_ride_on_their_steps() {
    let all = steps(&plan(24.0), &at("2026-10-25T18:00", EAST), 60.0);
    let when =
        |text: &str| Task::parse(text).unwrap().at(&all).map(|t| t.strftime("%Y-%m-%dT%H:%M").to_string());
    // A day ahead is the same hour of the day before, clocks back or not; 24 hours are hours that pass.
    assert_eq!(when("sauce=1d before bake").unwrap(), "2026-10-24T18:00");
    assert_eq!(when("sauce=24h before bake").unwrap(), "2026-10-24T19:00");
    assert_eq!(when("oil trays=15min before divide").unwrap(), "2026-10-24T16:45");
    assert_eq!(when("turn=1h30m after out").unwrap(), "2026-10-25T17:30");
    assert_eq!(when("feed=1h before preferment"), None, "there is no preferment");
    for wrong in ["sauce", "sauce=1d", "sauce=1d before noon", "=1d before bake", "sauce=soon before bake"] {
        assert!(Task::parse(wrong).is_err(), "{wrong}");
    }
}

#[test]
fn free_hours_are_tried_from_the_plans_own() {
    let free = [Free::parse("cold_hours=18..48").unwrap()];
    let all = ways(&plan(24.0), &free);
    assert_eq!(all[0].cold_hours, Some(24.0));
    assert!(all.iter().any(|w| w.cold_hours == Some(18.0)) && all.iter().any(|w| w.cold_hours == Some(48.0)));
    assert!(Free::parse("room_temp_c=18..48").is_err() && Free::parse("cold_hours=48..18").is_err());
}

fn asked(bake: &str, now: &str, away: &[&str], free: &[&str]) -> Asked {
    Asked {
        bake: at(bake, EAST),
        now: at(now, EAST),
        preheat_min: 60.0,
        away: away.iter().map(|a| Away::parse(a).unwrap()).collect(),
        free: free.iter().map(|f| Free::parse(f).unwrap()).collect(),
        tasks: vec![],
        sure: 0.8,
    }
}

#[test]
fn a_schedule_keeps_out_of_the_night_and_says_what_is_impossible() {
    let records = records(1);
    let mut forecaster = fitted(&records, 200);
    let direct = records.batches.iter().rev().find(|b| b.recipe.as_deref() == Some("pizza")).unwrap();
    let plan = Batch { yeast_g: None, water_temp_c: None, cold_hours: Some(24.0), ..as_plan(direct) };
    let limits = Limits::default();
    let mut on = |asked: &Asked| schedule(&mut forecaster, &plan, records.batches.last(), &limits, asked);

    // 24 h cold would have it mixed at 06:15: within the night, so that other hours are chosen.
    let (answer, told) =
        on(&asked("2026-12-05T09:30", "2026-12-01T12:00", &["22:00-06:30"], &["cold_hours=8..48"])).unwrap();
    let night = Away::parse("22:00-06:30").unwrap();
    assert!(told.entries.iter().all(|e| !night.holds(&e.at)), "{told:?}");
    assert!(told.ways.len() > 1 && told.ways.iter().all(|w| w.chance_in_window > 0.0));
    assert_eq!(answer.plan.date.unwrap().clock(), Some(told.entries[0].at.datetime()));
    let bake = told.entries.last().unwrap();
    assert_eq!(bake.what, "bake");
    assert!(*bake.from.as_ref().unwrap() <= bake.at && *bake.to.as_ref().unwrap() >= bake.at);

    let refused =
        |e: Result<_, doughwright::advice::AdviceError>| e.map(|_: (_, _)| ()).unwrap_err().to_string();
    let past = refused(on(&asked("2026-12-01T11:00", "2026-12-01T12:00", &[], &[])));
    assert!(past.contains("lies in the past"), "{past}");
    // 27 h 15 min from 12:00 on the first: 15:15 on the second is the soonest.
    let soon = refused(on(&asked("2026-12-02T09:00", "2026-12-01T12:00", &[], &[])));
    assert!(
        soon.contains("which is past") && soon.contains("nearest possible: bake at Wed 2 Dec 15:15"),
        "{soon}"
    );
    let away = refused(on(&asked("2026-12-05T09:30", "2026-12-01T12:00", &["22:00-06:30"], &[])));
    assert!(away.contains("within the time away 22:00-06:30") && away.contains("nearest possible"), "{away}");
    let never = refused(on(&asked("2026-12-05T09:30", "2026-12-01T12:00", &["06:00-05:59"], &[])));
    assert!(never.contains("no hour within a week works"), "{never}");
}
