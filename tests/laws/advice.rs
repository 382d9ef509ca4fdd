//! Laws of the advice, before any record is seen: more time or more warmth never asks for more yeast.

use doughwright::advice::limits::Limits;
use doughwright::advice::recommend::recommend;
use doughwright::dough::{Batch, YeastType};
use doughwright::inference::fit::Settings;
use doughwright::inference::forecast::Forecaster;
use doughwright::inference::prepare::Records;
use doughwright::inference::quick;
use proptest::prelude::*;

/// A scale fine enough that rounding does not hide the law.
const LIMITS: Limits = Limits {
    window: 0.10,
    scale_g: 0.01,
    water_c: (1.0, 45.0),
    water_step_c: 1.0,
    dough_c: (18.0, 28.0),
    most_yeast_pct: 3.0,
};

/// The search for yeast ends within a hundredth of its logarithm on each side.
const SEARCH: f64 = 1.025;

/// The forecaster of a kitchen without records.
fn prior() -> Forecaster {
    let settings = Settings { draws: 200, ..Settings::default() };
    quick::fit(&Records::default(), &settings).unwrap().forecaster().unwrap()
}

fn plan(cold_hours: f64, cold_temp_c: f64, room_temp_c: f64) -> Batch {
    Batch {
        flour_g: Some(1000.0),
        water_g: Some(640.0),
        salt_g: Some(22.0),
        yeast_type: Some(YeastType::Instant),
        water_temp_c: Some(18.0),
        flour_temp_c: Some(21.0),
        room_temp_c: Some(room_temp_c),
        bulk_hours: Some(1.5),
        cold_hours: Some(cold_hours),
        cold_temp_c: Some(cold_temp_c),
        temper_hours: Some(2.0),
        piece_g: Some(250.0),
        target_rise: Some(2.1),
        ..Batch::default()
    }
}

fn yeast(forecaster: &mut Forecaster, plan: &Batch) -> f64 {
    recommend(forecaster, plan, None, &LIMITS).unwrap().yeast_g
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn recommended_yeast_falls_with_hours_and_temperatures(
        hours in 12.0..48.0_f64,
        more_hours in 1.0..24.0_f64,
        fridge in 2.0..7.0_f64,
        warmer_fridge in 0.2..3.0_f64,
        room in 16.0..26.0_f64,
        warmer_room in 0.5..5.0_f64,
    ) {
        let mut forecaster = prior();
        let here = yeast(&mut forecaster, &plan(hours, fridge, room));
        let longer = yeast(&mut forecaster, &plan(hours + more_hours, fridge, room));
        let less_cold = yeast(&mut forecaster, &plan(hours, fridge + warmer_fridge, room));
        let warmer = yeast(&mut forecaster, &plan(hours, fridge, room + warmer_room));
        for other in [longer, less_cold, warmer] {
            prop_assert!(other <= here * SEARCH + LIMITS.scale_g, "{other} g against {here} g");
        }
    }
}
