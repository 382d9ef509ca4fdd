//! Speeds of the numerical core: `cargo bench`. Each is printed as time a call; divide by the batches named.

use divan::Bencher;
use divan::counter::ItemsCount;
use doughwright::advice::limits::Limits;
use doughwright::advice::plan::complete;
use doughwright::advice::recommend::recommend;
use doughwright::inference::fit::Settings;
use doughwright::inference::lots::Centring;
use doughwright::inference::posterior::Posterior;
use doughwright::inference::prepare::{Records, prepare};
use doughwright::inference::quick;
use doughwright::simulate::demo;

fn main() {
    divan::main();
}

/// So many batches of the invented hall, its year repeated as often as it takes.
fn records(batches: usize) -> Records {
    let year = demo::year(1);
    let repeated = year.batches.iter().cycle().take(batches).cloned().enumerate().map(|(i, mut b)| {
        b.batch_id = Some(format!("b{i}"));
        // One rise a batch, as most bakers write down.
        b.preferment_rise = None;
        b
    });
    Records { batches: repeated.collect(), ..Records::default() }
}

/// Log posterior with gradient; items are batches.
#[divan::bench(args = [100, 1_000, 10_000])]
fn log_posterior_with_gradient(bencher: Bencher, batches: usize) {
    let posterior = Posterior::new(prepare(&records(batches)), Centring::None);
    let x = posterior.layout.prior_median();
    let mut gradient = vec![0.0; x.len()];
    bencher
        .counter(ItemsCount::new(batches))
        .bench_local(|| posterior.log_density_gradient(divan::black_box(&x), &mut gradient));
}

/// Log posterior alone; items are batches.
#[divan::bench(args = [100, 1_000])]
fn log_posterior(bencher: Bencher, batches: usize) {
    let posterior = Posterior::new(prepare(&records(batches)), Centring::None);
    let x = posterior.layout.prior_median();
    bencher.counter(ItemsCount::new(batches)).bench_local(|| posterior.log_density(divan::black_box(&x)));
}

/// The quick fit, from records to draws.
#[divan::bench(args = [50, 100], sample_count = 10)]
fn quick_fit(bencher: Bencher, batches: usize) {
    let records = records(batches);
    bencher.bench_local(|| quick::fit(divan::black_box(&records), &Settings::default()));
}

/// Yeast and water for one plan, from a fit at hand.
#[divan::bench(sample_count = 20)]
fn recommend_from_a_fit(bencher: Bencher) {
    let records = records(100);
    // The year is long enough for a fit, whose forecaster then exists.
    let mut forecaster =
        quick::fit(&records, &Settings::default()).ok().and_then(|f| f.forecaster()).unwrap();
    let last = records.batches.last().cloned();
    let plan = complete(&demo::plan(), last.as_ref());
    bencher.bench_local(|| {
        recommend(&mut forecaster, divan::black_box(&plan), last.as_ref(), &Limits::default())
    });
}
