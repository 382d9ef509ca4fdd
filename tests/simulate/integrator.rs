//! The closed forms of a course against small Runge-Kutta steps, which share with them only the definitions
//! (cardinal model, Henry's law, the dough's volumes); and shells of dough against the exact sphere series.

use doughwright::physics::course::{
    Course, Mixing, Output, Parameters, Preferment, Segment, Start, Workspace,
};
use doughwright::physics::rate::Rate;
use doughwright::physics::rise::Matrix;
use doughwright::physics::sphere::Sphere;
use doughwright::simulate::Truth;
use doughwright::simulate::piece::{biot, diffusivity, radius};
use doughwright::simulate::truth::Cooling;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// An optimum, and parameters about as wide as a kitchen's prior.
fn parameters(rng: &mut ChaCha8Rng) -> (f64, Parameters) {
    let mut between = |a: f64, b: f64| rng.random_range(a..b);
    let t_opt = between(33.0, 38.0);
    let parameters = Parameters {
        k: between(110.0, 320.0),
        mu: between(0.08, 0.45),
        lag: between(0.08, 0.6),
        ceiling: between(600.0, 1900.0),
        salt: between(0.03, 0.17),
        kept: between(0.6, 0.98),
        kept_preferment: between(0.5, 0.95),
        rate: Rate::cardinal(between(-12.0, 1.0), t_opt, between(43.5, 47.5)).unwrap(),
        max_rise: between(2.4, 5.0),
        tau250: between(1.0, 4.0),
        pull: between(0.01, 0.2),
        warming: vec![between(0.0, 6.0)],
        place_tau: vec![between(0.6, 1.6)],
        fridge_offset: vec![0.0],
    };
    (t_opt, parameters)
}

fn course(rng: &mut ChaCha8Rng) -> Course {
    let water_pct = rng.random_range(50.0..85.0);
    let mut between = |a: f64, b: f64| rng.random_range(a..b);
    let (salt_pct, sugar_pct) = (between(0.0, 3.0), between(0.0, 4.0));
    let segment =
        |around_c, hours, tau_factor, place| Segment { around_c, hours, tau_factor, place, unmeasured: None };
    let segments = vec![
        segment(between(12.0, 32.0), between(0.2, 4.0), between(1.0, 4.0), None),
        segment(between(1.0, 9.0), between(6.0, 60.0), between(0.6, 1.4), Some(0)),
        segment(between(12.0, 32.0), between(0.5, 5.0), between(0.6, 1.4), None),
    ];
    let preferment = Preferment {
        share: between(0.1, 0.6),
        yeast_pct: between(0.02, 0.4),
        hours: between(2.0, 18.0),
        temp_c: between(8.0, 30.0),
        matrix: Matrix::new(100.0, 0.0, 0.0, 0.0, 12.0),
    };
    let outputs = vec![
        Output::MixedTemperature,
        Output::PrefermentRise(0.5 * preferment.hours),
        Output::PrefermentRise(preferment.hours),
        Output::Rise(1),
        Output::Rise(2),
        Output::Rise(3),
        Output::Temperature(1),
        Output::Temperature(2),
        Output::Temperature(3),
    ];
    Course {
        preferment: Some(preferment),
        mixing: Some(Mixing { balance_c: between(15.0, 28.0), room_c: between(12.0, 32.0), method: 0 }),
        start: Start::Mixed,
        fresh_pct: between(0.01, 1.5),
        lag_factor: between(1.0, 1.5),
        salt_pct,
        sugar_pct,
        matrix: Matrix::new(water_pct, salt_pct, 0.0, sugar_pct, 12.0),
        segments,
        outputs,
    }
}

#[test]
fn small_steps_reproduce_the_closed_forms() {
    let mut rng = ChaCha8Rng::seed_from_u64(11);
    let mut worst: f64 = 0.0;
    for case in 0..40 {
        let (t_opt, p) = parameters(&mut rng);
        let mut course = course(&mut rng);
        match case % 4 {
            0 => course.preferment = None,
            1 => course.fresh_pct = 0.0,
            _ => {}
        }
        if course.preferment.is_none() {
            course.outputs.retain(|o| !matches!(o, Output::PrefermentRise(_)));
        }
        let effect = rng.random_range(-0.4..0.4);
        let mut ws = Workspace::default();
        course.forward(&p, p.k * f64::exp(effect), &mut ws);
        let stepped = Truth::of_model(p, t_opt).follow(&course, effect, |s, _| s.around_c);
        for ((closed, stepped), output) in ws.answers.iter().zip(&stepped).zip(&course.outputs) {
            let off = (closed.value - stepped.value).abs().max((closed.unbounded - stepped.unbounded).abs());
            assert!(
                off < 1e-6,
                "case {case} {output:?}: {} by formula, {} by steps",
                closed.value,
                stepped.value
            );
            worst = worst.max(off);
        }
    }
    assert!(worst > 0.0, "two computations that never differ are one");
}

#[test]
fn shells_follow_the_sphere_series() {
    let mut rng = ChaCha8Rng::seed_from_u64(12);
    let (t_opt, mut p) = parameters(&mut rng);
    (p.tau250, p.place_tau[0]) = (2.0, 1.0);
    let mut truth = Truth::of_model(p, t_opt);
    for grams in [80.0, 260.0, 900.0] {
        let (from, around) = (25.0, 4.0);
        let exact = Sphere::new(biot(grams, 2.0));
        for hours in [0.5, 1.0, 2.0, 4.0, 8.0] {
            let mut course = course(&mut rng);
            let tau_factor = doughwright::physics::cooling::tau_factor(grams);
            course.segments =
                vec![Segment { around_c: around, hours, tau_factor, place: Some(0), unmeasured: None }];
            course.start = Start::Measured(from);
            course.outputs = vec![Output::Temperature(1)];
            let wanted = around + (from - around) * exact.mean(diffusivity() * hours / radius(grams).powi(2));
            let off = |shells: usize, truth: &mut Truth| {
                truth.cooling = Cooling::Shells(shells);
                (truth.follow(&course, 0.0, |s, _| s.around_c)[0].value - wanted).abs()
            };
            let (coarse, fine) = (off(6, &mut truth), off(24, &mut truth));
            assert!(coarse < 0.1, "{grams} g, {hours} h: six shells are {coarse} °C off");
            // Second order in the thickness: a quarter of it is a sixteenth as far off, or nearly so.
            assert!(fine < 0.1 * coarse + 1e-6, "{grams} g, {hours} h: {fine} °C off after {coarse}");
        }
    }
}
