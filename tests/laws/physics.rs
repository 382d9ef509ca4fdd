//! What the physics keeps whatever the batch and the kitchen: more of what makes a dough rise never makes it
//! rise less.
//!
//! Batches and kitchens are drawn at random; a kitchen within 2.5 standard deviations of the prior in each
//! parameter.

use doughwright::dough::Batch;
use doughwright::physics::course::{Course, Output, Parameters, Segment, Start, Workspace};
use doughwright::physics::gas::gas;
use doughwright::physics::rise::rise;
use doughwright::physics::thermal_time::{Stage, stretch};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{RngSeed, TestRunner};

use crate::cases::{any_case, made};

/// Rounding of a difference of two logarithms.
const ROUNDING: f64 = 1e-12;

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, rng_seed: RngSeed::Fixed(7), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn rise_never_falls_with_yeast(case in any_case(), more in 1.0..4.0_f64) {
        // At the same course of temperatures: a dough is heavier by its yeast, and follows the room by so
        // much more slowly.
        let (prepared, p) = case.ready();
        let mut course = prepared.course.clone();
        course.fresh_pct *= more;
        if let Some(vessel) = &mut course.preferment {
            vessel.yeast_pct *= more;
        }
        let (less, more) = (made(&prepared.course, &p), made(&course, &p));
        prop_assert!(more.ln_rise >= less.ln_rise - ROUNDING);
        prop_assert!(more.ln_unbounded >= less.ln_unbounded - ROUNDING);
    }

    #[test]
    fn slopes_by_vigour_and_by_start_are_those_of_differences(case in any_case()) {
        let (prepared, p) = case.ready();
        let course = &prepared.course;
        let start_c = course.start_c(&p);
        let at = |k: f64, start_c: f64| {
            let moved = Course { start: Start::Measured(start_c), ..course.clone() };
            let mut ws = Workspace::<f64>::default();
            moved.forward(&p, k, &mut ws);
            ws
        };
        let value = |k: f64, start_c: f64, i: usize| at(k, start_c).answers[i].value;
        let here = at(p.k, start_c);
        const STEP: f64 = 1e-4;
        for i in 0..course.outputs.len() {
            let by_ln_k = (value(p.k * STEP.exp(), start_c, i) - value(p.k * (-STEP).exp(), start_c, i)) / (2.0 * STEP);
            let by_start = (value(p.k, start_c + STEP, i) - value(p.k, start_c - STEP, i)) / (2.0 * STEP);
            prop_assert!((here.answers[i].by_ln_k() - by_ln_k).abs() < 1e-6, "{} {by_ln_k}", here.answers[i].by_ln_k());
            prop_assert!((here.by_start(course, i) - by_start).abs() < 1e-6, "{} {by_start}", here.by_start(course, i));
        }
    }

    #[test]
    fn rise_never_falls_with_the_vigour_of_yeast(case in any_case(), more in 1.0..4.0_f64) {
        let (prepared, p) = case.ready();
        let less = made(&prepared.course, &p);
        let more = made(&prepared.course, &Parameters { k: p.k * more, ..p });
        prop_assert!(more.ln_rise >= less.ln_rise - ROUNDING);
        prop_assert!(more.ln_unbounded >= less.ln_unbounded - ROUNDING);
    }

    #[test]
    fn rise_never_falls_with_hours(case in any_case(), more in 0.0..24.0_f64, in_bulk in any::<bool>()) {
        // Read at one temperature: a dough that stays longer in the cold makes more gas, but holds more of it
        // dissolved.
        let even = |b: &mut Batch| {
            for t in [&mut b.dough_temp_c, &mut b.bulk_temp_c, &mut b.temper_temp_c] {
                *t = Some(22.0);
            }
            (b.cold_hours, b.cold_temp_c) = (None, None);
        };
        let longer = |b: &mut Batch| {
            even(b);
            let hours = if in_bulk { &mut b.bulk_hours } else { &mut b.temper_hours };
            *hours = hours.map(|h| h + more);
        };
        let (short, long) = (case.with(even).made(), case.with(longer).made());
        prop_assert!(long.ln_rise >= short.ln_rise - ROUNDING);
        prop_assert!(long.ln_unbounded >= short.ln_unbounded - ROUNDING);
    }

    #[test]
    fn more_salt_is_never_faster(case in any_case(), more in 1.0..3.0_f64) {
        let salty = case.with(|b| b.salt_g = b.salt_g.map(|g| g * more)).made();
        prop_assert!(salty.ln_rise <= case.made().ln_rise + ROUNDING);
    }

    #[test]
    fn dough_temperature_rises_with_water_and_falls_with_ice(
        case in any_case(), water in 1.0..40.0_f64, warmer in 0.0..20.0_f64, ice in 0.0..0.3_f64, more in 0.0..0.2_f64,
    ) {
        let mixed = |water_c: f64, ice: f64| case.with(|b| {
            b.water_temp_c = Some(water_c);
            b.dough_temp_c = None;
            b.ice_g = b.water_added_g().map(|g| g * ice);
        }).made().mixed_c;
        prop_assert!(mixed(water + warmer, ice) >= mixed(water, ice));
        prop_assert!(mixed(water, ice + more) <= mixed(water, ice));
    }

    #[test]
    fn a_mark_changes_nothing(case in any_case(), share in 0.0..1.0_f64) {
        let (prepared, p) = case.ready();
        let mut cut = prepared.course.clone();
        let at = cut.mark(share * cut.hours()).expect("inside the hours");
        prop_assert!(cut.segments.len() >= prepared.course.segments.len());
        let so_far: f64 = cut.segments[..at].iter().map(|s| s.hours).sum();
        prop_assert!((so_far - share * prepared.course.hours()).abs() < 1e-8);
        let (whole, cut) = (made(&prepared.course, &p), made(&cut, &p));
        prop_assert!((whole.theta - cut.theta).abs() <= 1e-12 * (1.0 + whole.theta), "{} {}", whole.theta, cut.theta);
        prop_assert!((whole.end_c - cut.end_c).abs() <= 1e-12);
        prop_assert!((whole.ln_rise - cut.ln_rise).abs() <= 1e-12);
    }

    #[test]
    fn thermal_time_adds_up(case in any_case(), start in -10.0..60.0_f64, around in -20.0..60.0_f64, tau in 0.2..8.0_f64,
                            first in 0.0..20.0_f64, second in 0.0..20.0_f64) {
        let rate = case.ready().1.rate;
        let stage = |start: f64, hours: f64| stretch(&rate, &Stage { start, around, tau, hours });
        let whole = stage(start, first + second);
        let one = stage(start, first);
        let two = stage(one.end_c, second);
        prop_assert!((whole.theta - one.theta - two.theta).abs() <= 1e-11 * (1.0 + whole.theta));
        prop_assert!((whole.end_c - two.end_c).abs() <= 1e-12 * (1.0 + start.abs() + around.abs()));
        // Between nothing and the fastest that any temperature allows.
        let fastest = (0..700).map(|t| rate.at(f64::from(t) / 10.0 - 20.0)).fold(0.0, f64::max);
        prop_assert!(one.theta >= 0.0 && one.theta <= 1.001 * fastest * first);
    }

    #[test]
    fn gas_stays_under_its_ceiling(rate in 0.01..1000.0_f64, mu in 0.0..1.0_f64, ceiling in 100.0..2500.0_f64, time in 0.0..100.0_f64) {
        let g = gas(rate, mu, ceiling, time);
        prop_assert!(g.ml >= 0.0 && g.ml <= ceiling * (1.0 + 1e-15));
        prop_assert!(g.by_time >= -1e-12 * rate && g.by_rate >= -1e-12 && g.by_ceiling >= -1e-12 && g.by_growth >= -1e-9);
    }

    #[test]
    fn rise_stays_between_nothing_and_what_the_flour_bears(case in any_case(), made in 0.0..3000.0_f64, t in 0.0..40.0_f64) {
        let (prepared, p) = case.ready();
        let r = rise(&prepared.course.matrix, made, t, p.kept, p.max_rise);
        prop_assert!(r.ln_rise >= 0.0 && r.ln_rise <= p.max_rise.ln() + 1e-15);
        prop_assert!(r.ln_rise <= r.ln_unbounded);
    }

    #[test]
    fn a_preferment_of_no_share_is_none(case in any_case()) {
        let (prepared, p) = case.ready();
        let mut none = prepared.course.clone();
        none.preferment = None;
        let mut empty = prepared.course.clone();
        if let Some(vessel) = &mut empty.preferment {
            vessel.share = 0.0;
        }
        prop_assert!((made(&none, &p).ln_rise - made(&empty, &p).ln_rise).abs() <= 1e-15);
    }

    #[test]
    fn a_warmer_start_is_never_slower_below_the_optimum(case in any_case(), warmer in 0.0..3.0_f64) {
        // Neither dough nor surroundings above 30 °C; the least optimum of these kitchens is 31.75 °C.
        let (prepared, p) = case.with(|b| {
            for t in [&mut b.bulk_temp_c, &mut b.temper_temp_c] {
                *t = t.map(|t| t.min(30.0));
            }
        }).ready();
        let mut warm = prepared.course.clone();
        if let Start::Measured(t) = &mut warm.start {
            *t = (*t + warmer).min(30.0);
        }
        prop_assert!(made(&warm, &p).theta >= made(&prepared.course, &p).theta - 1e-12);
    }
}

#[test]
fn what_a_course_does_not_know_is_not_a_number() {
    let case = any_case().new_tree(&mut TestRunner::deterministic()).unwrap().current();
    let (prepared, p) = case.ready();
    let mut course = prepared.course.clone();
    (course.preferment, course.mixing) = (None, None);
    course.outputs =
        vec![Output::PrefermentRise(1.0), Output::MixedTemperature, Output::Temperature(0), Output::Rise(1)];
    let mut ws = Workspace::<f64>::default();
    course.forward(&p, p.k, &mut ws);
    assert!(ws.answers[0].value.is_nan() && ws.answers[1].value.is_nan());
    assert_eq!(
        (ws.answers[2].value, ws.temperature_after(0), ws.theta_after(0)),
        (ws.start_c, ws.start_c, 0.0)
    );
    assert!(ws.answers[3].value.is_finite());
    course.start = Start::Mixed;
    assert!(course.start_c(&p).is_nan());
}

#[test]
fn a_mark_falls_on_an_end_or_makes_one() {
    let stay = |hours| Segment { around_c: 20.0, hours, tau_factor: 1.0, place: None, unmeasured: None };
    let case = any_case().new_tree(&mut TestRunner::deterministic()).unwrap().current();
    let mut course = case.ready().0.course;
    course.segments = vec![stay(2.0), stay(3.0)];
    course.outputs = vec![Output::Rise(1), Output::Temperature(2), Output::Rise(2)];
    let before = course.clone();
    assert_eq!([0.0, 2.0, 2.0 + 1e-12, 5.0, 5.0 - 1e-12].map(|h| course.mark(h)), [0, 1, 1, 2, 2].map(Some));
    assert_eq!(course.mark(5.1), None);
    assert_eq!(course, before);
    assert_eq!(course.mark(2.5), Some(2));
    assert_eq!(course.segments, [stay(2.0), stay(0.5), stay(2.5)]);
    assert_eq!(course.outputs, [Output::Rise(1), Output::Temperature(3), Output::Rise(3)]);
    assert_eq!(course.hours(), 5.0);
}
