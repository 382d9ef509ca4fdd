//! The log posterior under other beliefs than the usual ones: its gradient is that of its value.
//!
//! Against central differences, whose own error is some 1e-7 of the largest derivative here.

use doughwright::inference::beliefs::{Beliefs, Moved};
use doughwright::inference::drift::Periods;
use doughwright::inference::lots::Centring;
use doughwright::inference::posterior::Posterior;
use doughwright::inference::prepare::{Records, prepare};
use doughwright::physics::other_rate::OtherRate;
use doughwright::physics::rate_form::RateForm;
use doughwright::simulate::truth::Warmth;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use crate::kitchen;

const STEP: f64 = 1e-5;
const AGREEMENT: f64 = 1e-6;

/// The invented kitchen with dates a week apart.
fn dated() -> Records {
    let mut records = kitchen::records();
    for (i, batch) in records.batches.iter_mut().enumerate() {
        let day = jiff::civil::date(2026, 1, 5).checked_add(jiff::Span::new().days(7 * i as i64)).unwrap();
        batch.date = Some(doughwright::dough::When::on(day));
    }
    records
}

#[track_caller]
fn gradient_agrees(beliefs: Beliefs) {
    let records = dated();
    let posterior = Posterior::new(prepare(&records).believing(beliefs.clone()), Centring::Full);
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    let mut tried = 0;
    while tried < 8 {
        let x: Vec<f64> = posterior
            .layout
            .draw_prior(|| 0.7 * <StandardNormal as Distribution<f64>>::sample(&StandardNormal, &mut rng));
        let mut gradient = vec![0.0; x.len()];
        let value = posterior.log_density_gradient(&x, &mut gradient);
        if !value.is_finite() {
            continue;
        }
        tried += 1;
        assert!((value - posterior.log_density(&x)).abs() < 1e-9 * value.abs().max(1.0));
        let largest = gradient.iter().fold(1.0_f64, |m, g| m.max(g.abs()));
        for i in 0..x.len() {
            let at = |by: f64| {
                let mut moved = x.clone();
                moved[i] += by;
                posterior.log_density(&moved)
            };
            let difference = (at(STEP) - at(-STEP)) / (2.0 * STEP);
            let name = &posterior.layout.shared[i].name;
            assert!(
                (gradient[i] - difference).abs() < AGREEMENT * largest,
                "{:?} {name}: {} by hand, {difference} by differences, largest {largest}",
                beliefs.warmth,
                gradient[i]
            );
        }
    }
}

#[test]
fn issue_3_gradient_of_the_square_root_form() {
    gradient_agrees(Beliefs { warmth: RateForm::SquareRoot, ..Beliefs::default() });
}

#[test]
fn issue_3_gradient_of_the_arrhenius_form() {
    gradient_agrees(Beliefs { warmth: RateForm::Arrhenius, ..Beliefs::default() });
}

#[test]
fn issue_3_gradient_with_lots_alike_and_moved_priors() {
    let moved = Moved { mean: 0.8, sd: 0.4 };
    let pooled = [("vigour".to_string(), moved), ("cold_rate".to_string(), moved)].into();
    gradient_agrees(Beliefs { lots_alike: true, pooled, ..Beliefs::default() });
}

#[test]
fn issue_3_gradient_with_drift() {
    let periods = Periods::over(&dated().batches).expect("the batches span half a year");
    assert!(periods.count > 5);
    gradient_agrees(Beliefs { drift: Some(periods), ..Beliefs::default() });
}

/// The invented kitchens write the same two forms out by themselves, from their own coefficients.
#[test]
fn issue_3_other_rates_agree_with_those_of_invented_kitchens() {
    let root = OtherRate::square_root(0.107, 35.5, 45.5).unwrap();
    let arrhenius = OtherRate::arrhenius(0.107, 38.3, 250.0).unwrap();
    let [t_min, t_max, c] = root.coefficients();
    let [energy, switch_energy, switch_c] = arrhenius.coefficients();
    let pairs = [
        (root, Warmth::SquareRoot { t_min, t_max, c }),
        (arrhenius, Warmth::Arrhenius { energy, switch_energy, switch_c }),
    ];
    for (rate, other) in pairs {
        for t in [-2.0, 4.0, 12.0, 25.0, 31.0, 40.0, 46.0] {
            assert!((rate.at(t) - other.at(t)).abs() < 1e-12, "{t}: {} {}", rate.at(t), other.at(t));
        }
    }
}
