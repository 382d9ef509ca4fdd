//! Diagnostics, smoothed weights and leave-one-out accuracy against ArviZ.
//!
//! The draws are invented and seeded, the values are ArviZ 0.23.4's; each has the call that gave it as its name in
//! datasets/arviz/reference.json, written by make_reference.py there. Both follow the same published algorithms, so
//! that they must agree but for rounding: to 1e-12 of the value.

use doughwright::inference::check::power::sensitivity;
use doughwright::inference::diagnostics::{
    ebfmi, ess_bulk, ess_mean, ess_quantile, ess_tail, mcse_mean, mcse_quantile, mcse_sd, rhat,
};
use doughwright::inference::psis::{Drawn, loo, smooth_correlated};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::PathBuf;

const AGREEMENT: f64 = 1e-12;

fn path(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("datasets/arviz").join(name)
}

fn reference() -> Value {
    let text = std::fs::read_to_string(path("reference.json")).expect("the reference is in the repository");
    let value: Value = serde_json::from_str(&text).expect("valid JSON");
    assert_eq!(value["versions"]["arviz"], "0.23.4");
    value
}

/// The columns of a table of numbers, by their heading.
fn columns(name: &str) -> Vec<(String, Vec<f64>)> {
    let mut reader = csv::Reader::from_path(path(name)).expect("the table is in the repository");
    let headings = reader.headers().expect("a header").clone();
    let mut columns: Vec<(String, Vec<f64>)> = headings.iter().map(|h| (h.to_owned(), Vec::new())).collect();
    for record in reader.records() {
        for (column, cell) in columns.iter_mut().zip(&record.expect("a row")) {
            column.1.push(cell.parse().expect("a number"));
        }
    }
    columns
}

/// The chains of each case.
fn chains() -> BTreeMap<String, Vec<Vec<f64>>> {
    let mut reader = csv::Reader::from_path(path("chains.csv")).expect("the table is in the repository");
    let mut cases: BTreeMap<String, Vec<Vec<f64>>> = BTreeMap::new();
    for record in reader.deserialize() {
        let (case, chain, _, value): (String, usize, usize, f64) = record.expect("case, chain, draw, value");
        let chains = cases.entry(case).or_default();
        chains.resize((chain + 1).max(chains.len()), Vec::new());
        chains[chain].push(value);
    }
    cases
}

#[track_caller]
fn agree(found: f64, reference: &Value, what: &str) {
    let wanted = reference.as_f64().unwrap_or_else(|| panic!("{what}: no reference value"));
    assert!((found - wanted).abs() <= AGREEMENT * wanted.abs(), "{what}: {found}, ArviZ {wanted}");
}

#[test]
fn diagnostics_agree_with_arviz() {
    let reference = reference();
    let cases = chains();
    assert_eq!(cases.len(), 9);
    for (case, chains) in &cases {
        let found = [
            ("az.rhat(x, method='rank')", rhat(chains)),
            ("az.ess(x, method='bulk')", ess_bulk(chains)),
            ("az.ess(x, method='tail')", ess_tail(chains)),
            ("az.ess(x, method='mean')", ess_mean(chains)),
            ("az.ess(x, method='quantile', prob=0.1)", ess_quantile(chains, 0.1)),
            ("az.mcse(x, method='mean')", mcse_mean(chains)),
            ("az.mcse(x, method='sd')", mcse_sd(chains)),
            ("az.mcse(x, method='quantile', prob=0.1)", mcse_quantile(chains, 0.1)),
            ("az.mcse(x, method='quantile', prob=0.5)", mcse_quantile(chains, 0.5)),
        ];
        for (call, value) in found {
            let value = value.unwrap_or_else(|| panic!("{case}: {call} has no value"));
            agree(value, &reference["chains"][case][call], &format!("{case}: {call}"));
        }
        for (which, chain) in chains.iter().enumerate() {
            let value = ebfmi(chain).unwrap_or_else(|| panic!("{case}: no E-BFMI of chain {which}"));
            agree(value, &reference["chains"][case]["az.bfmi(x)"][which], &format!("{case}: az.bfmi"));
        }
    }
}

#[test]
fn smoothed_weights_agree_with_arviz() {
    let reference = reference();
    let weights = columns("weights.csv");
    assert_eq!(weights.len(), 3);
    for (name, log_ratios) in &weights {
        for (label, efficiency) in [("1.0", 1.0), ("0.4", 0.4)] {
            let what = format!("{name} reff={label}");
            let wanted = &reference["weights"][&what];
            let smoothed = smooth_correlated(log_ratios, efficiency);
            agree(smoothed.k_hat, &wanted["k"], &format!("{what}: k"));
            for (place, weight) in smoothed.log_weights.iter().enumerate() {
                agree(*weight, &wanted["log_weights"][place], &format!("{what}: log weight {place}"));
            }
        }
    }
}

#[test]
fn leave_one_out_agrees_with_arviz() {
    let wanted = &reference()["loo"];
    let observations = columns("log_likelihood.csv");
    let draws = observations[0].1.len();
    let log_likelihood: Vec<Vec<f64>> =
        (0..draws).map(|draw| observations.iter().map(|(_, column)| column[draw]).collect()).collect();
    let found = loo(&log_likelihood, Drawn::FromPosterior(0.8)).expect("a finite table");
    agree(found.elpd, &wanted["elpd_loo"], "elpd");
    agree(found.standard_error, &wanted["se"], "standard error");
    agree(found.parameters, &wanted["p_loo"], "p_loo");
    agree(found.good_k, &wanted["good_k"], "good_k");
    assert_eq!(found.observations.len(), 12);
    for (place, one) in found.observations.iter().enumerate() {
        agree(one.elpd, &wanted["loo_i"][place], &format!("elpd of observation {place}"));
        agree(one.k_hat, &wanted["pareto_k"][place], &format!("k of observation {place}"));
    }
}

/// ArviZ sums the two directions with their cancelling integrals, so that rounding is larger than elsewhere: 1e-9.
#[test]
fn power_scaling_agrees_with_arviz() {
    let reference = reference();
    let cases = chains();
    for case in ["well_mixed", "one_stretched", "whole_numbers"] {
        let values = cases[case].concat();
        let log_density: Vec<f64> = values.iter().map(|x| -2.0 * (x - 0.7).powi(2)).collect();
        let found = sensitivity(&values, &log_density);
        let wanted = reference["power_scaling"][case].as_f64().expect("a reference value");
        assert!((found / wanted - 1.0).abs() < 1e-9, "{case}: {found}, ArviZ {wanted}");
    }
}
