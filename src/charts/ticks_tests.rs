//! Ticks are round, inside, in order, and few enough.

use jiff::civil::{DateTime, date};
use jiff::tz::TimeZone;
use proptest::prelude::*;

use super::*;

fn labels(axis: &Axis, most: usize) -> Vec<String> {
    axis.ticks(|ticks| ticks.len() <= most).into_iter().map(|t| t.label).collect()
}

#[test]
fn evenly_placed_values_get_round_steps() {
    assert_eq!(labels(&Axis::between("", Scale::Linear, 0.0, 10.0), 6), ["0", "2", "4", "6", "8", "10"]);
    assert_eq!(labels(&Axis::between("", Scale::Linear, -0.12, 0.07), 5), ["−0.10", "−0.05", "0.00", "0.05"]);
}

#[test]
fn ratios_get_round_mantissas() {
    assert_eq!(labels(&Axis::between("", Scale::Log, 0.04, 1.2), 5), ["0.05", "0.1", "0.2", "0.5", "1"]);
    assert_eq!(labels(&Axis::between("", Scale::Log, 1e-4, 1e4), 5), ["0.0001", "0.01", "1", "100", "10000"]);
}

#[test]
fn changes_are_written_in_percent() {
    let axis = Axis::between("", Scale::Change, -0.4, 0.25);
    assert_eq!(labels(&axis, 6), ["−30", "−20", "−10", "0", "+10", "+20"]);
    let at_ten = axis.ticks(|ticks| ticks.len() <= 6)[4].at;
    assert!((at_ten - 1.1f64.ln()).abs() < 1e-12);
}

#[test]
fn clock_ticks_fall_on_full_hours_and_name_the_day_at_midnight() {
    let axis = on_the_clock(date(2026, 7, 3).at(17, 40, 0, 0), "UTC0", 14.0);
    let ticks = axis.ticks(|ticks| ticks.len() <= 5);
    assert_eq!(
        ticks.iter().map(|t| t.label.as_str()).collect::<Vec<_>>(),
        ["18:00", "21:00", "Sat", "3:00", "6:00"]
    );
    assert!((ticks[0].at - 1.0 / 3.0).abs() < 1e-9);
}

/// By the rule of the Posix zone, clocks go from 2:00 to 3:00 on the last Sunday of March and from 3:00 back to 2:00
/// on the last of October (common in Europe; written out, so that the test needs no table of zones).
const SUMMER_TIME: &str = "CET-1CEST,M3.5.0,M10.5.0/3";

fn on_the_clock(start: DateTime, zone: &str, hours: f64) -> Axis {
    let start = TimeZone::posix(zone).unwrap().to_zoned_datetime(start).unwrap();
    Axis::between("", Scale::Clock(Box::new(start)), 0.0, hours)
}

#[test]
fn clock_ticks_stay_on_the_wall_where_the_clock_is_changed() {
    let told = |axis: Axis| -> Vec<(String, f64)> {
        axis.ticks(|ticks| ticks.len() <= 7).into_iter().map(|t| (t.label, t.at)).collect()
    };
    let expected = |ticks: &[(&str, f64)]| -> Vec<(String, f64)> {
        ticks.iter().map(|(label, at)| ((*label).to_string(), *at)).collect()
    };
    // 28 to 29 March 2026: 1:59 is followed by 3:00, so 6:00 comes 11 hours after 18:00.
    let spring = on_the_clock(date(2026, 3, 28).at(18, 0, 0, 0), SUMMER_TIME, 12.0);
    assert_eq!(
        told(spring),
        expected(&[
            ("18:00", 0.0),
            ("20:00", 2.0),
            ("22:00", 4.0),
            ("Sun", 6.0),
            ("4:00", 9.0),
            ("6:00", 11.0)
        ])
    );
    // 24 to 25 October 2026: 2:00 to 3:00 passes twice, so 6:00 comes 13 hours after 18:00.
    let autumn = on_the_clock(date(2026, 10, 24).at(18, 0, 0, 0), SUMMER_TIME, 13.0);
    assert_eq!(
        told(autumn),
        expected(&[
            ("18:00", 0.0),
            ("20:00", 2.0),
            ("22:00", 4.0),
            ("Sun", 6.0),
            ("2:00", 8.0),
            ("4:00", 11.0),
            ("6:00", 13.0)
        ])
    );
}

#[test]
fn dates_are_months_with_the_year_where_it_changes() {
    let days = |d: Date| days_of_date(d);
    let axis = Axis::between("", Scale::Dates, days(date(2026, 9, 20)), days(date(2027, 4, 2)));
    assert_eq!(labels(&axis, 7), ["Oct 2026", "Nov", "Dec", "Jan 2027", "Feb", "Mar", "Apr"]);
    let short = Axis::between("", Scale::Dates, days(date(2026, 9, 28)), days(date(2026, 10, 3)));
    assert_eq!(labels(&short, 6), ["28 Sep", "29 Sep", "30 Sep", "1 Oct", "2 Oct", "3 Oct"]);
}

proptest! {
    #[test]
    fn any_range_gets_between_two_and_eight_ticks_in_order_and_inside(
        low in -50.0..50.0f64,
        span in 0.001..1e4f64,
        kind in 0..4usize,
    ) {
        let (scale, low, high) = match kind {
            0 => (Scale::Linear, low, low + span),
            // From a millionth up: smaller amounts of yeast are written by no scale.
            1 => (Scale::Log, (low * 0.4).exp2(), (low * 0.4).exp2() * (1.0 + span)),
            2 => (Scale::Change, low / 50.0, low / 50.0 + 0.02 + span.min(6.0)),
            _ => (Scale::Dates, 20_000.0 + low, 20_000.0 + low + 2.0 + span),
        };
        let axis = Axis::between("", scale, low, high);
        let ticks = axis.ticks(|ticks| ticks.len() <= 8);
        prop_assert!((2..=8).contains(&ticks.len()), "{axis:?} {ticks:?}");
        prop_assert!(ticks.windows(2).all(|t| t[0].at < t[1].at && t[0].label != t[1].label), "{ticks:?}");
        let slack = 1e-9 * (high - low);
        prop_assert!(ticks.iter().all(|t| t.at >= low - slack && t.at <= high + slack), "{axis:?} {ticks:?}");
    }
}
