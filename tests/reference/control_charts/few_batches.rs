//! One batch, two, all the same, long gaps: an answer or a clear word, and never a NaN.

use doughwright::consistency::{Base, ConsistencyError, Measure, Options, Phase, Point, Series, study};
use doughwright::dough::When;

use super::{FLOW, points, series};

/// Every number in the JSON of a study; serde_json writes a NaN or an infinity as null, so those show as missing numbers.
fn words(values: &[f64], options: &Options) -> (serde_json::Value, String) {
    let summary = study(series(values), options).unwrap().summary();
    let cautions = summary.cautions.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
    assert!(summary.center.is_finite());
    if let Some(l) = summary.limits {
        assert!(l.lower.is_finite() && l.upper.is_finite() && l.lower < l.upper);
    }
    (serde_json::to_value(&summary).unwrap(), cautions)
}

#[test]
fn one_batch_has_a_center_and_a_word() {
    let (json, cautions) = words(&[0.1], &Options::default());
    assert_eq!(json["center"], 0.1);
    assert!(json["limits"].is_null() && json["sigma"].is_null());
    assert!(cautions.contains("a single batch has no spread"), "{cautions}");
    assert!(json["improvement"].as_str().unwrap().starts_with("Too early to say"));
}

#[test]
fn two_batches_have_provisional_limits() {
    let (json, cautions) = words(&[0.1, 0.2], &Options::default());
    // Mean moving range 0.1 over d2 = 1.1284, by arithmetic.
    assert!((json["sigma"].as_f64().unwrap() - 0.088_623).abs() < 1e-6);
    assert_eq!(json["provisional"], true);
    assert!(cautions.contains("limits from 2 batches are provisional"), "{cautions}");
}

#[test]
fn all_the_same_has_no_limits() {
    for n in [2, 7, 30] {
        let (json, cautions) = words(&vec![0.1 + 0.2; n], &Options::default());
        assert!(json["limits"].is_null() && json["usual"].is_null() && json["change"].is_null());
        assert!(cautions.contains(&format!("all {n} batches have the same value")), "{cautions}");
        assert_eq!(json["signals"].as_array().unwrap().len(), 0);
    }
}

#[test]
fn a_phase_of_one_batch_and_a_phase_to_come() {
    let phases =
        ["new fridge=2026-01-10", "new oven=2027-01-01"].map(|p| p.parse::<Phase>().unwrap()).to_vec();
    let (json, cautions) = words(&FLOW, &Options { phases, ..Options::default() });
    assert!(json["spread_ratio"].is_null() && json["limits"].is_null());
    assert!(json["improvement"].as_str().unwrap().contains("'new fridge'"));
    assert!(cautions.contains("no batch lies in the phase 'new oven'"), "{cautions}");
    assert!("fridge".parse::<Phase>().is_err() && "fridge=soon".parse::<Phase>().is_err());
}

#[test]
fn a_base_period_needs_batches() {
    let day = |s: &str| s.parse::<When>().unwrap();
    let base =
        |from, to| Options { base: Base::Period { from: day(from), to: day(to) }, ..Options::default() };
    let whole = study(series(&FLOW), &base("2026-01-01", "2026-01-05")).unwrap();
    let limits = whole.stretches[0].limits.as_ref().unwrap();
    assert_eq!((limits.base_batches, limits.z.len()), (5, 10));
    // Mean of the first five values, by arithmetic.
    assert!((limits.center - 49.24).abs() < 1e-9);
    let error = study(series(&FLOW), &base("2025-01-01", "2025-12-31")).unwrap_err();
    assert!(error.to_string().contains("2026-01-01 to 2026-01-10"), "{error}");
}

#[test]
fn gaps_are_named() {
    let mut late = points(&FLOW);
    for p in &mut late[5..] {
        p.when = format!("2026-07-{:02}", 1 + p.when.date().day()).parse().unwrap();
    }
    late.reverse();
    let study = study(Series::new(Measure::Miss, late).unwrap(), &Options::default()).unwrap();
    assert_eq!(study.series.points()[0].batch_id, "b0");
    let cautions = study.cautions.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
    assert!(cautions.contains("between 2026-01-05 and 2026-07-07"), "{cautions}");
}

#[test]
fn nothing_and_not_a_number_are_refused() {
    let none = Series::new(Measure::CrustScore, Vec::new()).unwrap_err();
    assert_eq!(none.to_string(), "no batch has the crust score: write down crust_score");
    let bad = Point { value: f64::NAN, ..points(&[1.0])[0].clone() };
    assert!(matches!(Series::new(Measure::Miss, vec![bad]), Err(ConsistencyError::NotANumber { .. })));
}
