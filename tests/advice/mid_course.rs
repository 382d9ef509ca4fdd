//! Readings of a batch under way: the conditioned draws against a fit that includes them, and what is refused.

use doughwright::advice::Interval;
use doughwright::advice::adjust::{Taken, adjust};
use doughwright::dough::{Batch, Reading, Vessel};
use doughwright::inference::prepare::Records;
use doughwright::inference::under_way::Seen;

use crate::kitchen::{as_plan, fitted, records};

/// The records but for the last batch, and that batch as a plan under way.
fn under_way(seed: u64) -> (Records, Batch) {
    let mut records = records(seed);
    let last = records.batches.pop().unwrap();
    let plan = Batch { dough_temp_c: last.dough_temp_c, ..as_plan(&last) };
    (records, plan)
}

#[test]
fn conditioning_agrees_with_a_fit_that_includes_the_readings() {
    for seed in [1, 2] {
        let (records, plan) = under_way(seed);
        let mut before = fitted(&records, 4000);
        let (mut prepared, _) = before.ready(&plan);
        let out = plan.bulk_hours.unwrap() + plan.cold_hours.unwrap();
        let hours = [0.5 * out, out, out + 1.0];
        // Readings of a batch that is a tenth livelier than foretold.
        let mut course = prepared.course.clone();
        for h in hours {
            course.mark(h);
        }
        let read = |h: f64| {
            let mut asked = prepared.clone();
            asked.course = course.clone();
            let after = asked.course.mark(h).unwrap();
            asked.course.outputs = vec![doughwright::physics::course::Output::Rise(after)];
            1.1 * before.rise(&asked).quantile(0.5).exp()
        };
        let rises = hours.map(read);
        let seen: Vec<Seen> = hours.iter().zip(rises).map(|(h, r)| Seen::Rise(*h, r.ln())).collect();
        let conditioned =
            Interval::of_log(&before.under_way(&prepared, &seen, false).unwrap().rise(&prepared.course));
        let alone = Interval::of_log(&before.rise(&prepared));

        let id = plan.batch_id.clone().unwrap();
        let reading = |(hours, rise): (&f64, f64)| Reading {
            batch_id: id.clone(),
            hours: *hours,
            rise: Some(rise),
            dough_temp_c: None,
            vessel: Vessel::Dough,
        };
        let readings = hours.iter().zip(rises).map(reading).collect();
        let batches = records.batches.iter().cloned().chain([plan.clone()]).collect();
        let mut after = fitted(&Records { batches, readings, ..records }, 4000);
        (prepared, _) = after.ready(&plan);
        let refitted =
            Interval::of_log(&after.under_way(&prepared, &seen, true).unwrap().rise(&prepared.course));
        println!("alone {alone:?}\nconditioned {conditioned:?}\nrefitted {refitted:?}");
        for (a, b) in [
            (conditioned.p50, refitted.p50),
            (conditioned.p05, refitted.p05),
            (conditioned.p95, refitted.p95),
        ] {
            assert!((a / b).ln().abs() < 0.02, "seed {seed}: {conditioned:?} against {refitted:?}");
        }
        assert!(conditioned.p50 > 1.04 * alone.p50, "a livelier batch rises further");
    }
}

#[test]
fn without_readings_the_batch_is_what_the_forecast_says() {
    let (records, plan) = under_way(3);
    let mut forecaster = fitted(&records, 2000);
    let (prepared, _) = forecaster.ready(&plan);
    let said = Interval::of_log(&forecaster.rise(&prepared));
    let drawn =
        Interval::of_log(&forecaster.under_way(&prepared, &[], false).unwrap().rise(&prepared.course));
    for (a, b) in [(said.p05, drawn.p05), (said.p50, drawn.p50), (said.p95, drawn.p95)] {
        assert!((a / b).ln().abs() < 0.02, "{said:?} {drawn:?}");
    }
}

#[test]
fn what_cannot_be_read_is_refused_in_words() {
    let (records, plan) = under_way(1);
    let mut forecaster = fitted(&records, 300);
    let mut refused = |rises: &[(f64, f64)], now: Option<f64>| {
        let taken = Taken { rises: rises.to_vec(), temperatures: vec![] };
        adjust(&mut forecaster, &plan, &taken, now, 0.1, false).unwrap_err().to_string()
    };
    assert!(refused(&[], None).contains("there is no reading"));
    assert!(refused(&[(3.0, 1.2), (2.0, 1.1)], None).contains("in the order they were taken"));
    assert!(refused(&[(-1.0, 1.2)], None).contains("no time after mixing"));
    assert!(refused(&[(3.0, 20.0)], None).contains("not between"));
    assert!(refused(&[(2.0, 4.0)], None).contains("does not belong to this plan"));
    assert!(refused(&[(3.0, 1.1)], Some(2.0)).contains("one of them is wrong"));
    assert!(refused(&[(300.0, 1.1)], None).contains("more than a day beyond"));
    let out = plan.bulk_hours.unwrap() + plan.cold_hours.unwrap();
    assert!(refused(&[(out, 1.9), (out + 1.0, 1.5)], None).contains("dough does not fall by itself"));
}
