//! Calibration, not validation: what the priors foretell of three habits of the trade.
//!
//! The priors were tuned to these habits (common practice, no source): a poolish near triples in 12 h at 22
//! °C, a cold-proofed ball doubles in a day, a 1 % dough doubles in 1-1.5 h at 27 °C. That the priors meet
//! them says that the tuning still holds, and nothing about bread.

use doughwright::inference::priors::{Core, core};
use doughwright::physics::course::{Course, Output, Parameters, Preferment, Segment, Start, Workspace};
use doughwright::physics::rate::Rate;
use doughwright::physics::rise::Matrix;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use crate::close;

/// The kitchen at standard numbers x; `None` outside the support.
fn parameters(x: impl Fn(Core) -> f64) -> Option<Parameters> {
    let priors = core();
    let of = |which: Core| priors[which as usize].form.value(x(which)).0;
    let (kept, kept_preferment) = (1.0 - of(Core::Loss), 1.0 - of(Core::PrefermentLoss));
    (kept > 0.0 && kept_preferment > 0.0).then_some(())?;
    Some(Parameters {
        k: of(Core::Vigour),
        mu: of(Core::Growth),
        lag: of(Core::Lag),
        ceiling: of(Core::Ceiling),
        salt: of(Core::Salt),
        kept,
        kept_preferment,
        rate: Rate::from_rho4(of(Core::ColdRate), of(Core::Optimum), of(Core::Maximum))?,
        max_rise: of(Core::MaxRise),
        tau250: of(Core::Cooling),
        pull: of(Core::Pull),
        warming: vec![],
        place_tau: vec![],
        fridge_offset: vec![],
    })
}

fn medians() -> Parameters {
    parameters(|_| 0.0).unwrap()
}

/// Kitchens drawn from the priors.
fn drawn(count: usize) -> Vec<Parameters> {
    let mut random = ChaCha8Rng::seed_from_u64(6);
    let kitchen = || {
        let x: Vec<f64> = core().iter().map(|_| StandardNormal.sample(&mut random)).collect();
        parameters(|which| x[which as usize])
    };
    std::iter::repeat_with(kitchen).flatten().take(count).collect()
}

fn stay(around_c: f64, hours: f64) -> Segment {
    Segment { around_c, hours, tau_factor: 1.0, place: None, unmeasured: None }
}

/// 62 % hydration and instant yeast, mixed to `start_c`.
fn dough(yeast_pct: f64, salt_pct: f64, start_c: f64, segments: Vec<Segment>) -> Course {
    Course {
        preferment: None,
        mixing: None,
        start: Start::Measured(start_c),
        fresh_pct: yeast_pct,
        lag_factor: 1.0,
        salt_pct,
        sugar_pct: 0.0,
        matrix: Matrix::new(62.0, salt_pct, 0.0, 0.0, 12.0),
        outputs: vec![Output::Rise(segments.len())],
        segments,
    }
}

/// A 100 % poolish with 0.1 % instant yeast after 12 h at 22 °C.
fn poolish() -> Course {
    let matrix = Matrix::new(100.0, 0.0, 0.0, 0.0, 12.0);
    let vessel = Preferment { share: 0.3, yeast_pct: 0.1, hours: 12.0, temp_c: 22.0, matrix };
    Course {
        preferment: Some(vessel),
        outputs: vec![Output::PrefermentRise(12.0)],
        ..dough(0.1, 0.0, 22.0, vec![])
    }
}

/// A 250 g ball with 0.3 % instant yeast and 2 % salt: half an hour at 23 °C, a day at 4 °C, read cold.
fn cold_ball() -> Course {
    dough(0.3, 2.0, 23.0, vec![stay(23.0, 0.5), stay(4.0, 24.0)])
}

fn rise(course: &Course, p: &Parameters) -> f64 {
    let mut ws = Workspace::<f64>::default();
    course.forward(p, p.k, &mut ws);
    ws.answers[0].value.exp()
}

/// Hours in which a dough with 1 % instant yeast and `salt_pct` doubles at 27 °C; infinite where it does not
/// in two days.
fn doubling(salt_pct: f64, p: &Parameters) -> f64 {
    let after = |hours| rise(&dough(1.0, salt_pct, 27.0, vec![stay(27.0, hours)]), p);
    let (mut low, mut high) = (0.0, 48.0);
    if after(high) < 2.0 {
        return f64::INFINITY;
    }
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if after(middle) < 2.0 { low = middle } else { high = middle }
    }
    low
}

/// Quantiles at 5, 50 and 95 % over kitchens drawn from the priors.
fn quantiles(of: impl Fn(&Parameters) -> f64) -> [f64; 3] {
    let mut all: Vec<f64> = drawn(20_000).iter().map(of).collect();
    all.sort_by(f64::total_cmp);
    [0.05, 0.5, 0.95].map(|p| all[(p * all.len() as f64) as usize])
}

/// Worked out once by another simulation of the same priors (no source outside): the sampled quantiles lie
/// within 5 % of it.
fn near(found: [f64; 3], stated: [f64; 3]) {
    for (ours, theirs) in found.iter().zip(stated) {
        assert!((ours / theirs - 1.0).abs() < 0.05, "{found:?}, stated {stated:?}");
    }
}

#[test]
fn priors_foretell_what_they_were_tuned_to() {
    near(quantiles(|p| rise(&cold_ball(), p)), [1.15, 1.77, 3.01]);
    near(quantiles(|p| doubling(2.0, p)), [1.01, 1.46, 2.11]);
    // The stated quantiles of a poolish are those of a flour without limit; its limit takes the highest down
    // to 3.4.
    let unlimited = |p: &Parameters| rise(&poolish(), &Parameters { max_rise: 1e6, ..p.clone() });
    near(quantiles(unlimited), [1.67, 2.45, 4.07]);
    close(quantiles(|p| rise(&poolish(), p))[2], 3.4, 0.1);
}

#[test]
fn medians_keep_the_habits_of_the_trade() {
    // Common practice, no source: "near triple", "doubles", "1 to 1.5 hours" are words, and these are their
    // widths.
    let p = medians();
    let foretold = [rise(&poolish(), &p), rise(&cold_ball(), &p), doubling(2.0, &p)];
    let [near_triple, doubled, hours] = foretold;
    assert!((2.4..3.2).contains(&near_triple), "{foretold:?}");
    assert!((1.7..2.3).contains(&doubled), "{foretold:?}");
    assert!((1.0..1.5).contains(&hours), "{foretold:?}");
}

#[test]
fn a_degree_in_the_fridge_is_worth_an_eighth_of_the_rise() {
    // Worked out with the model at its medians: about 13 % of the rise for each degree.
    let at = |t| rise(&dough(0.3, 2.0, 23.0, vec![stay(23.0, 0.5), stay(t, 24.0)]), &medians());
    close(at(4.5) / at(3.5), 1.13, 0.02);
}
