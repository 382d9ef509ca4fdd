//! How long charts run before they signal, by simulation, against published and exact values.

use doughwright::consistency::cusum::{self, cusum};
use doughwright::consistency::ewma::{self, ewma};
use doughwright::consistency::false_alarms::{FalseAlarms, average_run_length};
use doughwright::consistency::rules::Rule;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// 20,000 runs have a standard error of 0.7 %.
const RUNS: usize = 20_000;

fn within_five_percent(ours: f64, theirs: f64) {
    assert!((ours / theirs - 1.0).abs() < 0.05, "{ours:.1} is more than 5 % off {theirs}");
}

fn named(names: &[&str]) -> Vec<Rule> {
    names.iter().map(|n| n.parse().unwrap()).collect()
}

#[test]
fn run_rules_cry_wolf_as_often_as_published() {
    // Champ & Woodall 1987, Technometrics 29:393-399, table 1: 91.75 as quoted in NIST/SEMATECH e-Handbook 6.3.2, the others
    // from memory; 370.40 = 1/(2 (1 - Phi(3))).
    let published: [(&[&str], f64); 5] = [
        (&["nelson-1"], 370.40),
        (&["western-electric-1", "western-electric-2"], 225.44),
        (&["western-electric-1", "western-electric-3"], 166.05),
        (&["western-electric-1", "western-electric-4"], 152.73),
        (&["western-electric-1", "western-electric-2", "western-electric-3", "western-electric-4"], 91.75),
    ];
    for (names, arl) in published {
        within_five_percent(average_run_length(&named(names), 0.0, RUNS, 1), arl);
    }
}

#[test]
fn the_default_rules_cry_wolf_as_often_as_their_chain_says() {
    // The exact value from the Markov chain of Champ & Woodall 1987: state = length of the run on one side. The same chain with
    // eight in a row gives their 152.73.
    within_five_percent(exact(8, 0.0), 152.73);
    assert!((exact(8, 0.0) - 152.73).abs() < 0.005);
    for shift in [0.0, 1.0, 2.0] {
        within_five_percent(average_run_length(&Rule::DEFAULT, shift, RUNS, 2), exact(9, shift));
    }
    let told = FalseAlarms::of(&Rule::DEFAULT, 30);
    within_five_percent(told.once_in, exact(9, 0.0));
    // 200,000 histories of 30 by NumPy 2.4.6: 0.0903 (reference.py); a thousand have a standard error of 0.009.
    assert!((told.chance_here - 0.0903).abs() < 3.0 * 0.009, "{}", told.chance_here);
}

/// Average run length of "beyond three sigma, or `length` in a row on one side", by solving the chain from the longest run down.
fn exact(length: usize, shift: f64) -> f64 {
    let below = |x: f64| 0.5 * statrs::function::erf::erfc(-(x - shift) / std::f64::consts::SQRT_2);
    let (up, down) = (below(3.0) - below(0.0), below(0.0) - below(-3.0));
    // Expected further points after a run of i above: u_i = 1 + up u_(i+1) + down d_1; u_length = 0. So u_1 = a + b d_1.
    let line = |same: f64, other: f64| {
        (1..length).rev().fold((0.0, 0.0), |(a, b), _| (1.0 + same * a, other + same * b))
    };
    let ((a_up, b_up), (a_down, b_down)) = (line(up, down), line(down, up));
    let u1 = (a_up + b_up * a_down) / (1.0 - b_up * b_down);
    1.0 + up * u1 + down * (a_down + b_down * u1)
}

#[test]
fn moving_average_and_cumulative_sums_run_as_long_as_computed_elsewhere() {
    // R package spc 0.6.7 (reference.R): xewma.arl(0.2, 2.86, ., sided = "two", limits = "vacl") 365.86 and 8.795; xcusum.arl(0.5, 5,
    // ., sided = "two") 465.44 and 10.376.
    let until = |shift: f64, chart: fn(&[f64]) -> Option<usize>| {
        let mut rng = ChaCha8Rng::seed_from_u64(3);
        let runs = 4_000;
        let total: usize = (0..runs)
            .map(|_| {
                let mut values: Vec<f64> = Vec::new();
                loop {
                    let more = if values.is_empty() { 500 } else { values.len() };
                    values.extend(
                        (0..more).map(|_| shift + Distribution::<f64>::sample(&StandardNormal, &mut rng)),
                    );
                    if let Some(first) = chart(&values) {
                        break first + 1;
                    }
                }
            })
            .sum();
        total as f64 / f64::from(runs)
    };
    let average = |v: &[f64]| ewma(v, 0.0, 1.0, ewma::WEIGHT, ewma::WIDTH).signals.first().copied();
    let sums = |v: &[f64]| cusum(v, 0.0, cusum::SLACK, cusum::DECISION).signals.first().copied();
    within_five_percent(until(0.0, average), 365.856);
    within_five_percent(until(1.0, average), 8.794_6);
    within_five_percent(until(0.0, sums), 465.44);
    within_five_percent(until(1.0, sums), 10.376);
}
