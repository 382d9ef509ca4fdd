//! Ordered regression of the crust against statsmodels 0.15.0, `OrderedModel` with flat priors (`datasets/ordered`).

use std::path::PathBuf;

use doughwright::crust::ordered::Ordered;
use doughwright::inference::minimise::{Settings, minimise};

use crate::close;

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("datasets/ordered")
}

fn numbers(of: &serde_json::Value) -> Vec<f64> {
    of.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

#[test]
fn ordered_regression_agrees_with_statsmodels() {
    let mut reader = csv::Reader::from_path(folder().join("batches.csv")).unwrap();
    let rows: Vec<(f64, f64, f64, usize)> = reader.deserialize().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 240);
    let model = Ordered {
        x: rows.iter().map(|r| vec![r.0, r.0 * r.0, r.1, r.2]).collect(),
        y: rows.iter().map(|r| r.3).collect(),
        classes: 6,
        flat: true,
    };
    let text = std::fs::read_to_string(folder().join("reference.json")).unwrap();
    let theirs: serde_json::Value = serde_json::from_str(&text).unwrap();
    let mode = minimise(&model, &model.start(), &Settings::default()).unwrap();
    let ours = model.read(&mode.x);
    for (b, theirs) in ours.slopes.iter().zip(numbers(&theirs["OrderedModel.params.slopes"])) {
        close(*b, theirs, 1e-5);
    }
    let thresholds = numbers(&theirs["OrderedModel.transform_threshold_params"]);
    assert_eq!(thresholds.len(), 5);
    for (c, theirs) in ours.thresholds.iter().zip(thresholds) {
        close(*c, theirs, 1e-5);
    }
    close(-mode.value, theirs["OrderedModel.llf"].as_f64().unwrap(), 1e-8);
    close(model.pointwise(&mode.x).iter().sum(), -mode.value, 1e-9);
    // Standard errors from the inverse curvature.
    let variances = mode.curvature.factor().unwrap().variances();
    for (v, theirs) in variances.iter().zip(numbers(&theirs["OrderedModel.bse.slopes"])) {
        close(v.sqrt(), theirs, 1e-4);
    }
}
