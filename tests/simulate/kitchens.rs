//! Kitchens whose physics differs from the model, and what can be chosen in them.

use doughwright::dough::{Batch, When};
use doughwright::simulate::invented::{self, Difference};
use doughwright::simulate::model::{ModelNoise, bake_model};
use doughwright::simulate::policy::{Habits, Oracle};
use doughwright::simulate::season::Day;
use doughwright::simulate::truth::{Slowing, Warmth};
use doughwright::simulate::year::{Calendar, Year};
use doughwright::simulate::{Kitchen, Watch};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use statrs::distribution::{ContinuousCDF, StudentsT};

/// A direct dough, 24 hours cold, with the yeast that suits a usual kitchen.
fn plan() -> Batch {
    Batch {
        date: "2025-04-15T10:00".parse::<When>().ok(),
        batch_id: Some("b".to_string()),
        yeast_g: Some(3.0),
        water_temp_c: Some(24.0),
        cold_hours: Some(24.0),
        cold_place: Some("fridge".to_string()),
        mix_method: Some("spiral".to_string()),
        ..invented::recipes().swap_remove(0).per_kilo
    }
}

/// The same weather for every kitchen of a seed.
fn day(kitchen: &Kitchen) -> Day {
    kitchen.day(&plan(), &mut ChaCha8Rng::seed_from_u64(5))
}

#[test]
fn each_difference_changes_the_rise_and_nothing_else() {
    let rise = |difference, seed| {
        let kitchen = invented::kitchen(difference, seed);
        kitchen.true_ln_rise(&plan(), &day(&kitchen))
    };
    for seed in [1, 2] {
        let own = rise(Difference::Nothing, seed);
        for other in Difference::ALL.into_iter().skip(1) {
            let off = (rise(other, seed) - own).abs();
            assert!((0.003..0.5).contains(&off), "seed {seed}, {other:?}: {off} of ln rise");
            let (a, b) = (invented::kitchen(Difference::Nothing, seed), invented::kitchen(other, seed));
            assert_eq!((&a.lots, &a.packets, a.season), (&b.lots, &b.packets, b.season));
        }
    }
}

#[test]
fn other_kinetics_keep_their_definitions() {
    let forms = [
        Warmth::Cardinal { t_min: -6.0, t_opt: 35.0, t_max: 45.5 },
        Warmth::SquareRoot { t_min: -6.0, t_max: 45.5, c: 0.2 },
        Warmth::Arrhenius { energy: 68_000.0, switch_energy: 250_000.0, switch_c: 40.0 },
    ];
    for form in forms {
        assert_eq!(form.at(25.0), 1.0);
        for t in 0..30 {
            assert!(form.at(f64::from(t) + 1.0) > form.at(f64::from(t)), "{form:?} falls at {t} °C");
        }
        assert!(form.at(44.0) < form.at(36.0), "{form:?} does not fall when it is hot");
    }
    // Ratkowsky et al. 1983: far below Tmax the square root of the rate is a straight line in T.
    let root = |t: f64| Warmth::SquareRoot { t_min: -6.0, t_max: 45.5, c: 0.9 }.at(t).sqrt();
    assert!((root(20.0) / root(7.0) - 26.0 / 13.0).abs() < 1e-9);
    // Schoolfield et al. 1981: half is switched off at Th.
    let (energy, switch_energy, switch_c) = (68_000.0, 250_000.0, 40.0);
    let switched = Warmth::Arrhenius { energy, switch_energy, switch_c };
    let unswitched = Warmth::Arrhenius { energy, switch_energy, switch_c: 300.0 };
    let at_25 = 1.0 + (switch_energy / 8.314_462_618 * (1.0 / 313.15 - 1.0 / 298.15)).exp();
    assert!((switched.at(40.0) / unswitched.at(40.0) - 0.5 * at_25).abs() < 1e-9);
    for slowing in [Slowing::Linear, Slowing::Logarithmic(0.3)] {
        assert!((slowing.at(0.0) - 1.0).abs() < 1e-12 && slowing.at(1.0).abs() < 1e-12);
    }
}

#[test]
fn a_fridge_swings_about_what_its_thermometer_shows() {
    let kitchen = invented::kitchen(Difference::Fridge, 3);
    let drawn = day(&kitchen);
    let fridge = &drawn.fridges[0];
    let air: Vec<f64> = (0..48_000).map(|i| fridge.at(f64::from(i) / 1000.0)).collect();
    let mean = air.iter().sum::<f64>() / air.len() as f64;
    let (low, high) = air.iter().fold((f64::MAX, f64::MIN), |(l, h), t| (l.min(*t), h.max(*t)));
    // Openings warm it, by at most 0.4 an hour of 2 °C that last 0.4 h.
    assert!((0.0..0.45).contains(&(mean - fridge.mean_c)), "{} °C over what is shown", mean - fridge.mean_c);
    assert!(high - low > 1.0, "from {low} to {high} °C");
    let steady = invented::kitchen(Difference::Nothing, 3);
    assert_eq!(day(&steady).fridges[0].at(3.0), day(&steady).fridges[0].at(17.0));
}

#[test]
fn the_oracle_hits_the_target_and_habit_does_not() {
    let rms = |year: &Year| {
        let miss = year.true_ln_rise.iter().map(|r| (r - 2.2_f64.ln()).powi(2));
        (miss.sum::<f64>() / year.true_ln_rise.len() as f64).sqrt()
    };
    for seed in [1, 2] {
        let kitchen = invented::kitchen(Difference::Everything, seed);
        let calendar = Calendar::plain(invented::recipes(), 36, 10, seed);
        let mut habits = Habits(calendar.recipes.iter().map(|r| r.habit).collect());
        let (habit, oracle) = (kitchen.year(&calendar, &mut habits), kitchen.year(&calendar, &mut Oracle));
        let (habit_rms, oracle_rms) = (rms(&habit), rms(&oracle));
        assert!(oracle_rms < 0.08, "seed {seed}: {oracle_rms}");
        assert!(
            habit_rms > 1.25 * oracle_rms,
            "seed {seed}: {habit_rms} by habit, {oracle_rms} by the oracle"
        );
        // Two policies meet the same days.
        let rooms =
            |y: &Year| y.batches.iter().map(|b| (b.date, b.recipe.clone(), b.cold_hours)).collect::<Vec<_>>();
        assert_eq!(rooms(&habit), rooms(&oracle));
    }
}

#[test]
fn looking_does_not_change_the_dough() {
    let kitchen = invented::kitchen(Difference::Everything, 4);
    let bake =
        |watch: &Watch| kitchen.bake_on(&plan(), &day(&kitchen), watch, &mut ChaCha8Rng::seed_from_u64(9));
    let watched =
        Watch { dough_hours: vec![1.0, 5.5, 25.0, 400.0], preferment_hours: vec![3.0], log_every_h: None };
    let (alone, seen) = (bake(&Watch::default()), bake(&watched));
    assert!((alone.true_ln_rise - seen.true_ln_rise).abs() < 1e-8);
    let hours: Vec<f64> = seen.readings.iter().map(|r| r.hours).collect();
    assert_eq!(hours, [1.0, 5.5, 25.0], "what lies beyond the batch's hours is left out");
    let rises: Vec<f64> = seen.readings.iter().filter_map(|r| r.rise).collect();
    assert!(rises[0] < rises[2] && seen.batch.rise.unwrap() > rises[1]);
}

#[test]
fn the_model_itself_bakes_with_the_noise_asked_for() {
    use doughwright::physics::course::{Course, Output, Segment, Start, Workspace};
    use doughwright::physics::rise::Matrix;
    let p = invented::kitchen(Difference::Nothing, 1).truth.parameters;
    let course = Course {
        preferment: None,
        mixing: None,
        start: Start::Measured(25.0),
        fresh_pct: 0.3,
        lag_factor: 1.0,
        salt_pct: 2.0,
        sugar_pct: 0.0,
        matrix: Matrix::new(62.0, 2.0, 0.0, 0.0, 12.0),
        segments: vec![Segment {
            around_c: 25.0,
            hours: 4.0,
            tau_factor: 1.0,
            place: None,
            unmeasured: None,
        }],
        outputs: vec![Output::Rise(1), Output::Temperature(1)],
    };
    let mut ws = Workspace::default();
    course.forward(&p, p.k, &mut ws);
    let mut rng = ChaCha8Rng::seed_from_u64(2);
    let quiet = ModelNoise { rise: 0.0, temperature_c: 0.0, vigour: 0.0 };
    assert_eq!(bake_model(&course, &p, 0.0, &quiet, &mut rng), [ws.answers[0].value, ws.answers[1].value]);
    let quartile = StudentsT::new(0.0, 1.0, 4.0).unwrap().inverse_cdf(0.75);
    assert!((quartile - 0.741).abs() < 5e-4, "tables of Student's t give 0.741 (from memory)");
    let noise = ModelNoise { rise: 0.05, temperature_c: 0.6, vigour: 0.0 };
    let (mut within, n) = ([0, 0], 20_000);
    for _ in 0..n {
        let seen = bake_model(&course, &p, 0.0, &noise, &mut rng);
        for ((count, seen), (answer, scale)) in
            within.iter_mut().zip(seen).zip(ws.answers.iter().zip([noise.rise, noise.temperature_c]))
        {
            *count += usize::from((seen - answer.value).abs() < quartile * scale);
        }
    }
    for count in within {
        // Half of them, within four standard errors.
        assert!(
            (count as f64 / f64::from(n) - 0.5).abs() < 4.0 * 0.5 / f64::from(n).sqrt(),
            "{count} of {n}"
        );
    }
}
