//! Where the time of the log posterior goes: `cargo bench --bench posterior`. Invented batches; times are a
//! call, items are batches.
//!
//! By kind of batch first, then the parts that one batch is made of.

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use doughwright::dough::{Batch, YeastType};
use doughwright::inference::lots::Centring;
use doughwright::inference::posterior::Posterior;
use doughwright::inference::prepare::{Records, prepare};
use doughwright::physics::course::{Parameters, Workspace};
use doughwright::physics::courses::{self, Case};
use doughwright::physics::gas::gas;
use doughwright::physics::lag::awake;
use doughwright::physics::rate::{Rate, RateSlopes};
use doughwright::physics::rise::{Matrix, rise};
use doughwright::physics::scalar::Jet;
use doughwright::physics::thermal_time::{Stage, stretch};

fn main() {
    divan::main();
}

/// What was written down of each batch.
#[derive(Debug, Clone, Copy)]
enum Kind {
    /// Half an hour in the room, a night in the fridge, one rise.
    OneRise,
    /// The same with a poolish whose rise was read too.
    WithPoolish,
}

fn batch(number: usize, kind: Kind) -> Batch {
    // Turns of the year that do not repeat.
    let turn = |period: f64| (number as f64 * std::f64::consts::TAU / period).sin();
    let plain = Batch {
        batch_id: Some(format!("b{number}")),
        flour_g: Some(1000.0),
        water_g: Some(620.0),
        salt_g: Some(20.0),
        yeast_g: Some(3.0 + turn(11.0)),
        yeast_type: Some(YeastType::Instant),
        flour_lot: Some(format!("lot {}", number % 5)),
        room_temp_c: Some(21.0 + 3.0 * turn(100.0)),
        water_temp_c: Some(15.0),
        mix_method: Some("spiral".into()),
        dough_temp_c: Some(23.5 + turn(7.0)),
        bulk_hours: Some(0.5),
        cold_hours: Some(24.0 + 4.0 * turn(5.0)),
        cold_temp_c: Some(4.0 + turn(13.0)),
        piece_g: Some(260.0),
        rise: Some(1.9 + 0.2 * turn(17.0)),
        ..Batch::default()
    };
    match kind {
        Kind::OneRise => plain,
        Kind::WithPoolish => Batch {
            preferment_flour_g: Some(300.0),
            preferment_water_g: Some(300.0),
            preferment_yeast_g: Some(0.4),
            preferment_hours: Some(12.0),
            preferment_temp_c: Some(20.0 + turn(9.0)),
            preferment_rise: Some(2.4 + 0.3 * turn(23.0)),
            ..plain
        },
    }
}

fn posterior(batches: usize, kind: Kind) -> Posterior {
    let batches = (0..batches).map(|i| batch(i, kind)).collect();
    Posterior::new(prepare(&Records { batches, ..Records::default() }), Centring::Full)
}

const SIZES: [usize; 5] = [100, 1_000, 10_000, 100_000, 1_000_000];

fn with_gradient(bencher: Bencher, batches: usize, kind: Kind) {
    let posterior = posterior(batches, kind);
    let x = posterior.layout.prior_median();
    let mut gradient = vec![0.0; x.len()];
    bencher
        .counter(ItemsCount::new(batches))
        .bench_local(|| posterior.log_density_gradient(black_box(&x), &mut gradient));
}

#[divan::bench(args = SIZES)]
fn gradient_one_rise(bencher: Bencher, batches: usize) {
    with_gradient(bencher, batches, Kind::OneRise);
}

#[divan::bench(args = SIZES)]
fn gradient_with_poolish(bencher: Bencher, batches: usize) {
    with_gradient(bencher, batches, Kind::WithPoolish);
}

#[divan::bench(args = SIZES)]
fn value_one_rise(bencher: Bencher, batches: usize) {
    let posterior = posterior(batches, Kind::OneRise);
    let x = posterior.layout.prior_median();
    bencher.counter(ItemsCount::new(batches)).bench_local(|| posterior.log_density(black_box(&x)));
}

/// Courses for [`courses_one_by_one`] and [`courses_together`]: the ratio of the two is what vectors bring.
const COURSES: usize = 96;

fn prepared(kind: Kind) -> (Posterior, Parameters) {
    let posterior = posterior(COURSES, kind);
    let layout = &posterior.layout;
    let parameters = layout.parameters(&layout.prior_median()).expect("medians of the priors are a kitchen");
    (posterior, parameters)
}

#[divan::bench(args = [Kind::OneRise, Kind::WithPoolish])]
fn courses_one_by_one(bencher: Bencher, kind: Kind) {
    let (posterior, p) = prepared(kind);
    let mut ws = Workspace::default();
    bencher.counter(ItemsCount::new(COURSES)).bench_local(|| {
        for b in &posterior.batches {
            b.prepared.course.forward(black_box(&p), Jet::new(p.k, p.k), &mut ws);
            black_box(&ws.answers);
        }
    });
}

#[divan::bench(args = [Kind::OneRise, Kind::WithPoolish])]
fn courses_together(bencher: Bencher, kind: Kind) {
    let (posterior, p) = prepared(kind);
    let cases: Vec<Case> = posterior
        .batches
        .iter()
        .map(|b| Case { course: &b.prepared.course, parameters: &p, k: p.k })
        .collect();
    let mut ws = vec![Workspace::default(); COURSES];
    bencher.counter(ItemsCount::new(COURSES)).bench_local(|| {
        courses::forward_with_slopes(black_box(&cases), &mut ws);
    });
}

fn rate() -> Rate {
    // Any kitchen near the prior's medians will do.
    Rate::from_rho4(0.107, 35.5, 45.5).expect("usual cardinal temperatures are in order")
}

#[divan::bench]
fn part_thermal_time(bencher: Bencher) {
    let rate = rate();
    let stage = Stage { start: 23.0, around: 4.0, tau: 2.0, hours: 24.0 };
    bencher.bench_local(|| stretch(black_box(&rate), black_box(&stage)));
}

#[divan::bench]
fn part_waking() -> f64 {
    awake(black_box(3.0), black_box(0.2)).hours
}

#[divan::bench]
fn part_gas_with_slopes() -> Jet {
    gas(
        black_box(Jet::new(50.0, 50.0)),
        Jet::new(0.2, 0.0),
        Jet::new(1100.0, 0.0),
        black_box(Jet::new(3.0, 0.1)),
    )
    .ml
}

#[divan::bench]
fn part_rise_with_slopes(bencher: Bencher) {
    let matrix = Matrix::new(62.0, 2.0, 0.0, 0.0, 12.0);
    bencher.bench_local(|| {
        rise(&matrix, black_box(Jet::new(240.0, 200.0)), black_box(4.0), 0.92, black_box(3.5))
    });
}

#[divan::bench]
fn part_rate_once_an_evaluation(bencher: Bencher) {
    bencher.bench_local(|| {
        let rate = rate();
        RateSlopes::new(&rate, black_box(0.107), 35.5, 45.5)
    });
}
