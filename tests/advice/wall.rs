//! The table to pin on the wall says the same as the forecast, and bends the way dough does.

use doughwright::advice::limits::Limits;
use doughwright::advice::yeast_for::{YeastFor, yeast_for};
use doughwright::dough::Batch;

use crate::kitchen::{as_plan, fitted, records};

const HOURS: [f64; 4] = [18.0, 24.0, 36.0, 48.0];

fn plan(records: &[Batch]) -> Batch {
    let latest = records.iter().rfind(|b| b.cold_hours.is_some()).unwrap();
    Batch { target_rise: Some(2.2), dough_temp_c: Some(24.0), ..as_plan(latest) }
}

/// Baked with the middle amount, half of the doughs reach the target; with the ends, one in twenty and nineteen.
#[test]
fn issue_7_the_wall_says_what_the_forecast_says() {
    let records = records(7);
    let mut forecaster = fitted(&records, 200);
    let plan = plan(&records.batches);
    let found = yeast_for(&mut forecaster, &records, &plan, 4.0, &HOURS, &Limits::default());
    assert_eq!(found.len(), HOURS.len());
    let other_hours = plan.total_hours() - plan.cold_hours.unwrap_or(0.0);
    for YeastFor { hours, yeast_pct, .. } in found {
        for (pct, reached) in [(yeast_pct.p05, 0.05), (yeast_pct.p50, 0.50), (yeast_pct.p95, 0.95)] {
            let baked = Batch {
                yeast_g: Some(pct / 100.0 * plan.flour_g.unwrap()),
                cold_hours: Some(hours - other_hours),
                cold_temp_c: Some(4.0),
                ..plan.clone()
            };
            let (prepared, _) = forecaster.ready(&baked);
            let chance = 1.0 - forecaster.rise(&prepared).below(2.2_f64.ln());
            // The yeast is found to a third of a percent.
            assert!((chance - reached).abs() < 0.01, "{hours} h, {pct} %: {chance} for {reached}");
        }
    }
}

/// Longer or warmer takes less yeast.
#[test]
fn issue_7_longer_or_warmer_takes_less() {
    let (records, limits) = (records(7), Limits::default());
    let mut forecaster = fitted(&records, 100);
    let plan = plan(&records.batches);
    let mut at = |fridge_c| yeast_for(&mut forecaster, &records, &plan, fridge_c, &HOURS, &limits);
    let by_fridge: Vec<Vec<YeastFor>> = [2.0, 4.0, 6.0, 8.0].map(&mut at).into();
    for one in &by_fridge {
        assert!(one.windows(2).all(|w| w[1].yeast_pct.p50 < w[0].yeast_pct.p50), "{one:?}");
    }
    for pair in by_fridge.windows(2) {
        for (colder, warmer) in pair[0].iter().zip(&pair[1]) {
            assert!(warmer.yeast_pct.p50 < colder.yeast_pct.p50, "{colder:?} {warmer:?}");
        }
    }
    // Where no record has been, it says so.
    assert!(by_fridge[1].iter().any(|p| !p.extrapolated));
    let far = yeast_for(&mut forecaster, &records, &plan, 4.0, &[96.0], &limits);
    assert!(far.iter().all(|p| p.extrapolated) && !far.is_empty());
}
