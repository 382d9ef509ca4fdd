//! Outside checks: every number here comes from somewhere else, and says where.

use std::path::PathBuf;

use serde::de::DeserializeOwned;

mod arviz;
mod composition;
mod control_charts;
mod cooling;
mod gas;
mod habits;
mod heat;
mod nist_strd;
mod ordered;
mod rate;
mod rise;
mod student;

/// Where the values made by `datasets/scipy/make_reference.py` stand.
fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("datasets/scipy")
}

/// The rows of one of its files.
fn read<T: DeserializeOwned>(file: &str) -> Vec<T> {
    let mut reader = csv::Reader::from_path(folder().join(file)).unwrap();
    reader.deserialize().map(Result::unwrap).collect()
}

#[track_caller]
fn close(ours: f64, theirs: f64, tolerance: f64) {
    assert!((ours - theirs).abs() <= tolerance, "{ours} differs from {theirs} by more than {tolerance}");
}
