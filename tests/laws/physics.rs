//! What the physics keeps whatever the batch and the kitchen: more of what makes a dough rise never makes it rise less.
//!
//! Batches and kitchens are drawn at random; a kitchen within 2.5 standard deviations of the prior in each parameter.

use doughwright::dough::{Batch, YeastType};
use doughwright::inference::lots::Centring;
use doughwright::inference::posterior::Posterior;
use doughwright::inference::prepare::{Prepared, Records, prepare};
use doughwright::physics::course::{Course, Output, Parameters, Start, Workspace};
use doughwright::physics::gas::gas;
use doughwright::physics::rise::rise;
use doughwright::physics::thermal_time::stretch;
use proptest::collection::vec;
use proptest::prelude::*;

use crate::kitchen::plain;

/// Rounding of a difference of two logarithms.
const ROUNDING: f64 = 1e-12;

/// A batch and the kitchen that makes it.
#[derive(Debug, Clone)]
struct Case {
    batch: Batch,
    x: Vec<f64>,
}

impl Case {
    fn with(&self, change: impl FnOnce(&mut Batch)) -> Self {
        let mut changed = self.clone();
        change(&mut changed.batch);
        changed
    }

    fn ready(&self) -> (Prepared, Parameters) {
        let records = Records { batches: vec![self.batch.clone()], ..Records::default() };
        let posterior = Posterior::new(prepare(&records), Centring::None);
        let p = posterior.layout.parameters(&self.x[..posterior.dim()]).expect("kept inside the support");
        (posterior.batches[0].prepared.clone(), p)
    }

    fn made(&self) -> Made {
        let (prepared, p) = self.ready();
        made(&prepared.course, &p)
    }
}

/// What came of a course.
struct Made {
    ln_rise: f64,
    ln_unbounded: f64,
    theta: f64,
    mixed_c: f64,
    end_c: f64,
}

fn made(course: &Course, p: &Parameters) -> Made {
    let n = course.segments.len();
    let mut ws = Workspace::<f64>::default();
    course.forward(p, p.k, &mut ws);
    let last = ws.answers[course.outputs.iter().rposition(|o| *o == Output::Rise(n)).unwrap()];
    Made {
        ln_rise: last.value,
        ln_unbounded: last.unbounded,
        theta: ws.theta_after(n),
        mixed_c: course.mixing.map_or(f64::NAN, |m| m.dough_c(p)),
        end_c: ws.temperature_after(n),
    }
}

prop_compose! {
    /// Half of the doughs have a preferment.
    fn batches()(
        flour in 500.0..2000.0_f64,
        water in 0.5..0.9_f64,
        salt in 0.0..0.03_f64,
        yeast in -8.0..-3.5_f64,
        kind in prop_oneof![Just(YeastType::Instant), Just(YeastType::ActiveDry), Just(YeastType::Fresh)],
        start in 15.0..30.0_f64,
        bulk in (0.05..6.0_f64, 15.0..38.0_f64),
        cold in (0.5..72.0_f64, -1.0..12.0_f64),
        temper in (0.1..4.0_f64, 15.0..32.0_f64),
        preferment in prop::option::of((0.1..0.5_f64, -8.0..-4.5_f64, 2.0..16.0_f64, 12.0..28.0_f64)),
    ) -> Batch {
        let mut b = Batch {
            flour_g: Some(flour),
            water_g: Some(flour * water),
            salt_g: Some(flour * salt),
            yeast_g: Some(flour * yeast.exp()),
            yeast_type: Some(kind),
            dough_temp_c: Some(start),
            bulk_hours: Some(bulk.0),
            bulk_temp_c: Some(bulk.1),
            cold_hours: Some(cold.0),
            cold_temp_c: Some(cold.1),
            temper_hours: Some(temper.0),
            temper_temp_c: Some(temper.1),
            ..plain("any")
        };
        if let Some((share, yeast, hours, celsius)) = preferment {
            b.preferment_flour_g = Some(flour * share);
            b.preferment_water_g = Some(flour * share * water);
            b.preferment_yeast_g = Some(flour * share * yeast.exp());
            b.preferment_hours = Some(hours);
            b.preferment_temp_c = Some(celsius);
        }
        b
    }
}

prop_compose! {
    fn cases()(batch in batches(), x in vec(-2.5..2.5_f64, 24)) -> Case {
        Case { batch, x }
    }
}

/// Cases inside the support.
fn any_case() -> impl Strategy<Value = Case> {
    cases().prop_filter("inside the support", |c| {
        let records = Records { batches: vec![c.batch.clone()], ..Records::default() };
        let posterior = Posterior::new(prepare(&records), Centring::None);
        posterior.layout.parameters(&c.x[..posterior.dim()]).is_some()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 20000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    #[ignore = "open: to be looked into near the limit of the flour"]
    fn rise_never_falls_with_yeast(case in any_case(), more in 1.0..4.0_f64) {
        let (less, more) = (case.made(), case.with(|b| {
            b.yeast_g = b.yeast_g.map(|g| g * more);
            b.preferment_yeast_g = b.preferment_yeast_g.map(|g| g * more);
        }).made());
        prop_assert!(more.ln_rise >= less.ln_rise - ROUNDING);
        prop_assert!(more.ln_unbounded >= less.ln_unbounded - ROUNDING);
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
        // Read at one temperature: a dough that stays longer in the cold makes more gas, but holds more of it dissolved.
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
    #[ignore = "open: differs by 3e-12 relative in an extreme case"]
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
        let whole = stretch(&rate, start, around, tau, first + second);
        let one = stretch(&rate, start, around, tau, first);
        let two = stretch(&rate, one.end_c, around, tau, second);
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
