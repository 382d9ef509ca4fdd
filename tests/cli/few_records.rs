//! Records too few, too alike, or at odds with one another: an answer as wide as it must be, with a word of why.

use serde_json::Value;

use crate::bench::Bench;

const HEAD: &str = "batch_id,date,flour_g,water_g,salt_g,yeast_g,yeast_type,dough_temp_c,room_temp_c,bulk_hours,bulk_temp_c,cold_hours,cold_temp_c,piece_g,flour_lot,rise";

/// A row of the table; varied ones differ in yeast and hours.
fn row(i: usize, varied: bool, lot: &str, rise: &str) -> String {
    let by = if varied { i as f64 } else { 0.0 };
    let (yeast, cold) = (2.0 + 0.2 * (by % 5.0), 20.0 + 2.0 * (by % 4.0));
    let day = 1 + i % 28;
    format!(
        "b{i},2026-{:02}-{day:02},1000,620,20,{yeast},instant,23,21,1,22,{cold},4.5,250,{lot},{rise}",
        1 + i / 28
    )
}

fn rise(i: usize) -> String {
    format!("{:.2}", 1.8 + 0.1 * ((i * 7) as f64).sin())
}

/// Every number of an answer is one: JSON has no NaN, and shows null in its place where a key is not optional.
fn sound(answer: &Value) {
    for p in answer["parameters"].as_array().unwrap() {
        for key in ["mean", "sd", "q05", "q50", "q95"] {
            assert!(p[key].as_f64().is_some_and(f64::is_finite), "{p}");
        }
    }
}

/// Imports rows and fits; the fit, and the 5 % and 95 % points of the rise of a plan, as ln(p95/p05).
fn fitted(rows: &[String]) -> (Value, f64) {
    let bench = Bench::new();
    bench.file("batches.csv", format!("{HEAD}\n{}\n", rows.join("\n")));
    bench.run(&["import", "batches.csv"]).done();
    let fit = bench.json(&["fit", "--check", "--gaps", "--out", "check"]);
    sound(&fit);
    let plan = bench.json(&["predict", "--yeast-g", "2.4", "--cold-hours", "40"]);
    let last = |key: &str| plan["plans"][0][key].as_array().unwrap().last().unwrap().as_f64().unwrap();
    let width = (last("rise_p95") / last("rise_p05")).ln();
    assert!(width.is_finite() && width > 0.0);
    (fit, width)
}

#[track_caller]
fn says(fit: &Value, words: &str) {
    let said = fit["warnings"].to_string();
    assert!(said.contains(words), "'{words}' is not said in {said}");
}

fn rows(n: usize, varied: bool) -> Vec<String> {
    (0..n).map(|i| row(i, varied, "a", &rise(i))).collect()
}

#[test]
fn issue_3_too_few_batches_are_said_and_answered_widely() {
    let (one, wide) = fitted(&rows(1, true));
    says(&one, "only 1 measured rise");
    let (_, narrow) = fitted(&rows(40, true));
    assert!(wide > 1.5 * narrow, "{wide} with one batch, {narrow} with forty");
}

#[test]
fn issue_3_one_schedule_is_said() {
    let (fit, one) = fitted(&rows(24, false));
    says(&fit, "same hours and temperatures");
    let (_, several) = fitted(&rows(24, true));
    assert!(one > several, "{one} from one schedule, {several} from several");
}

#[test]
fn issue_3_without_any_rise_the_answer_is_the_prior() {
    let rows: Vec<String> = (0..12).map(|i| row(i, true, "a", "")).collect();
    let (fit, width) = fitted(&rows);
    says(&fit, "no batch with a measured rise");
    let (_, known) = fitted(&self::rows(12, true));
    assert!(width > known);
}

#[test]
fn issue_3_a_lot_used_once_is_said() {
    let mut rows = rows(20, true);
    rows[19] = row(19, true, "b", &rise(19));
    let (fit, _) = fitted(&rows);
    says(&fit, "flour lot b");
    let parameters = fit["parameters"].as_array().unwrap();
    let sd = |name: &str| parameters.iter().find(|p| p["name"] == name).unwrap()["sd"].as_f64().unwrap();
    assert!(sd("flour_lot_b") > 0.02, "one batch does not settle its lot: {}", sd("flour_lot_b"));
}

#[test]
fn issue_3_rows_that_contradict_each_other_are_named() {
    let mut rows = rows(20, false);
    rows[7] = row(7, false, "a", "3.1");
    rows[8] = row(8, false, "a", "1.2");
    let (fit, width) = fitted(&rows);
    says(&fit, "batches b8 and b7 were made alike, yet rose 1.20 and 3.10 times");
    let (_, agreed) = fitted(&self::rows(20, false));
    assert!(width > agreed, "{width} with contradictions, {agreed} without");
}

#[test]
fn issue_3_every_row_twice_tells_nothing_new() {
    let once = rows(20, true);
    let again = once.iter().map(|r| format!("copy-{r}"));
    let twice: Vec<String> = once.iter().cloned().chain(again).collect();
    let (fit, width) = fitted(&twice);
    says(&fit, "20 batches have every number of another batch");
    assert_eq!(fit["rises"], 20);
    let (_, alone) = fitted(&once);
    // Draws about the same mode, by the same seed.
    assert!((width / alone - 1.0).abs() < 0.1, "{width} twice, {alone} once");
}
