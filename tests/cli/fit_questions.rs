//! What `fit` answers beside the parameters: comparison, criticism, gaps, drift, all kitchens.

use serde_json::Value;

use crate::bench::{Bench, demo_data};

fn finite(value: &Value) -> f64 {
    let x = value.as_f64().unwrap_or_else(|| panic!("{value} is no number"));
    assert!(x.is_finite());
    x
}

fn model<'a>(comparison: &'a Value, name: &str) -> &'a Value {
    let rows = comparison["rows"].as_array().unwrap();
    rows.iter().find(|r| r["model"] == name).unwrap_or_else(|| panic!("no {name} in {comparison}"))
}

#[test]
fn issue_3_a_fit_tells_its_accuracy_on_batches_left_out() {
    let bench = Bench::with_logbook();
    let fit = bench.json(&["fit"]);
    finite(&fit["elpd_loo"]);
    assert!(finite(&fit["elpd_loo_se"]) > 0.0);
    finite(&fit["worst_pareto_k"]);
}

#[test]
fn issue_3_failed_diagnostics_go_with_every_answer() {
    let bench = Bench::with_logbook();
    let said = bench.json(&["fit"])["warnings"].clone();
    assert!(!said.as_array().unwrap().is_empty(), "the demo's quick fit has something to say");
    let plan = demo_data("plan.csv").display().to_string();
    for words in [vec!["recommend", &plan], vec!["predict", &plan, "--yeast-g", "5"], vec!["residuals"]] {
        assert_eq!(bench.json(&words)["warnings"], said, "{words:?}");
    }
}

#[test]
fn issue_3_a_batch_written_down_wrongly_is_named_first() {
    let bench = Bench::with_logbook();
    let listed = bench.json(&["list", "--last", "5"]);
    let batch = listed["batches"][0]["batch_id"].as_str().unwrap().to_string();
    // A tenth of the yeast, as a point in the wrong place makes it.
    let yeast = listed["batches"][0]["yeast_g"].as_f64().unwrap();
    bench.json(&["record", "--batch", &batch, "--set", &format!("yeast_g={}", yeast / 10.0)]);
    let fit = bench.json(&["fit", "--method", "quick"]);
    let first = fit["warnings"][0].as_str().unwrap();
    assert!(first.contains(&format!("batch {batch} rose")) && first.contains("show"), "{first}");
}

#[test]
fn issue_3_models_are_compared() {
    let bench = Bench::with_logbook();
    let answer = bench.json(&["fit", "--compare"]);
    let comparison = &answer["comparison"];
    let rows = comparison["rows"].as_array().unwrap();
    for name in ["usual", "square_root", "arrhenius", "lots_alike", "drift", "regression"] {
        let row = model(comparison, name);
        for key in ["elpd", "elpd_se", "difference", "difference_se", "rms_log"] {
            finite(&row[key]);
        }
        for key in ["last_weeks_rms_log", "last_weeks_elpd", "lots_out_rms_log", "lots_out_elpd"] {
            finite(&row[key]);
        }
    }
    // Best first, and each difference the difference of the sums.
    let best = finite(&rows[0]["elpd"]);
    for row in rows {
        assert!((finite(&row["elpd"]) - best - finite(&row["difference"])).abs() < 1e-9);
        assert!(finite(&row["difference"]) <= 0.0);
    }
    assert!(comparison["verdicts"].as_array().unwrap().len() >= 3);
}

#[test]
fn issue_3_a_fit_is_criticised() {
    let bench = Bench::with_logbook();
    let check = bench.json(&["fit", "--check", "--out", "check"])["check"].clone();
    let pit = &check["loo_pit"];
    let n = pit["readings"].as_u64().unwrap();
    let counted: u64 = pit["bins"].as_array().unwrap().iter().map(|b| b.as_u64().unwrap()).sum();
    assert_eq!(counted, n);
    for figure in ["prior", "posterior"] {
        for f in check["predictive"][figure].as_array().unwrap() {
            assert!((0.0..=1.0).contains(&finite(&f["p"])));
        }
    }
    // What is believed before the records is wider than what is after.
    let width = |which: &str| {
        let mean = &check["predictive"][which][0];
        finite(&mean["p95"]) - finite(&mean["p05"])
    };
    assert!(width("prior") > 3.0 * width("posterior"));
    assert!(check["sensitivity"].as_array().unwrap().len() > 15);
    assert!(bench.read("check/loo-pit.svg").contains("<title"));
}

#[test]
fn issue_3_gaps_rank_what_to_measure() {
    let bench = Bench::with_logbook();
    let gaps = bench.json(&["fit", "--gaps"])["gaps"].clone();
    let measure = gaps["measure"].as_array().unwrap();
    assert!(measure.len() >= 3);
    let after: Vec<f64> = measure.iter().map(|m| finite(&m["after"])).collect();
    assert!(after.windows(2).all(|w| w[0] <= w[1]), "the most telling first: {after:?}");
    for m in measure {
        assert!(finite(&m["before"]) >= finite(&m["after"]));
        assert!(finite(&m["yeast_g"]) >= 0.0 && finite(&m["hours"]) >= 0.0, "{m}");
    }
}

#[test]
fn issue_3_all_kitchens_are_fitted_and_pooled() {
    let bench = Bench::new();
    let batches = std::fs::read_to_string(demo_data("batches.csv")).unwrap();
    let (head, rows) = batches.split_once('\n').unwrap();
    let place = head.split(',').position(|c| c == "kitchen").expect("the demo names its kitchen");
    let mut table = format!("{head}\n");
    for (i, row) in rows.lines().enumerate() {
        let mut cells: Vec<String> = row.split(',').map(str::to_string).collect();
        cells[place] = format!("kitchen{}", i % 6);
        table.push_str(&cells.join(","));
        table.push('\n');
    }
    bench.file("all.csv", table);
    bench.run(&["import", "all.csv"]).done();
    let alone = bench.json(&["fit", "--all-kitchens"]);
    assert_eq!(alone["kitchens"].as_array().unwrap().len(), 6);
    assert!(alone["pooled"].as_object().unwrap().is_empty());
    let pooled = bench.json(&["fit", "--all-kitchens", "--pool"]);
    let moved = pooled["pooled"].as_object().unwrap();
    assert!(!moved.is_empty());
    // The six are one kitchen in truth: warming by its mixer is told by all, and alike.
    assert!(finite(&moved["warming_spiral"]["sd"]) < 0.5, "{moved:?}");
    // The fit kept for a kitchen is under the pooled priors.
    bench.json(&["recommend", "--kitchen", "kitchen3", "--cold-hours", "24"]);
}
