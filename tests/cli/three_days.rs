//! The whole three days as a baker meets them: the clock, mid-course, the bench sheet, trials and what-ifs.

use crate::bench::{Bench, demo_data};

fn plan() -> String {
    demo_data("plan.csv").display().to_string()
}

const CLOCK: [&str; 4] = ["--bake-at", "2026-12-05T18:30", "--as-of", "2026-12-01T12:00"];

#[test]
fn a_bake_is_put_on_the_clock() {
    let bench = Bench::with_logbook();
    let plan = plan();
    let mut words = vec!["recommend", &plan, "--away", "22:00-06:30", "--free", "cold_hours=18..48"];
    words.extend(["--task", "sauce=1d before bake", "--zone", "UTC0", "--out", "charts"]);
    words.extend(CLOCK);
    let told = bench.json(&words);
    let entries = told["schedules"][0]["entries"].as_array().unwrap();
    let what: Vec<&str> = entries.iter().map(|e| e["what"].as_str().unwrap()).collect();
    assert!(what.contains(&"sauce") && what.contains(&"out of the fridge"), "{what:?}");
    assert_eq!(entries.last().unwrap()["at"], "2026-12-05T18:30+00:00");
    assert!(told["schedules"][0]["ways"].as_array().unwrap().len() > 3);
    assert_eq!(told["charts"].as_array().unwrap().len(), 2);
    for chart in told["charts"].as_array().unwrap() {
        assert!(bench.read(chart.as_str().unwrap()).contains("<svg"));
    }
    bench.refuses(&["recommend", &plan, "--bake-at", "2026-12-05"], 2, &["a date with its hour is wanted"]);
    bench.refuses(
        &["recommend", &plan, "--bake-at", "2026-12-05T18:30", "--zone", "Nowhere"],
        2,
        &["--zone"],
    );
    let mut late = vec!["recommend", plan.as_str(), "--zone", "UTC0"];
    late.extend(["--bake-at", "2026-12-01T20:00", "--as-of", "2026-12-01T12:00"]);
    bench.refuses(&late, 2, &["which is past", "nearest possible"]);
}

#[test]
fn readings_say_when_it_is_ready_and_what_to_do() {
    let bench = Bench::with_logbook();
    let plan = plan();
    bench.json(&["recommend", &plan]);
    let told = bench.json(&[
        "adjust",
        &plan,
        "--reading",
        "12=1.35",
        "--reading",
        "25=1.7",
        "--dough-temp",
        "12=41F",
    ]);
    for key in ["p05", "p50", "p95"] {
        assert!(told["ready_in_hours"][key].is_number(), "{told}");
        assert!(told["options"][0]["rise"][key].is_number());
    }
    let options = told["options"].as_array().unwrap();
    assert!(options.iter().any(|o| o["action"] == "keep to the plan"));
    let chances: Vec<f64> = options.iter().map(|o| o["chance_in_window"].as_f64().unwrap()).collect();
    assert!(chances.windows(2).all(|c| c[0] >= c[1]), "likeliest first: {chances:?}");
    // Without a plan, the latest that was recommended is meant.
    let latest =
        bench.json(&["adjust", "--reading", "12=1.35", "--reading", "25=1.7", "--dough-temp", "12=41F"]);
    assert_eq!(latest["options"], told["options"]);
    bench.refuses(&["adjust", &plan, "--reading", "3"], 2, &["hours, = and the rise are wanted"]);
    bench.refuses(
        &["adjust", &plan, "--reading", "3=1.2", "--reading", "2=1.1"],
        2,
        &["in the order they were taken"],
    );
    bench.refuses(&["adjust", &plan, "--reading", "2=6"], 2, &["does not belong to this plan"]);
}

#[test]
fn a_livelier_dough_is_ready_sooner() {
    let bench = Bench::with_logbook();
    let plan = plan();
    bench.json(&["recommend", &plan]);
    let ready = |rise: &str| {
        let told = bench.json(&["adjust", &plan, "--reading", &format!("25={rise}")]);
        told["ready_in_hours"]["p50"].as_f64().unwrap()
    };
    let (slow, usual, fast) = (ready("1.6"), ready("1.7"), ready("1.8"));
    assert!(fast < usual && usual < slow, "{fast} {usual} {slow}");
}

#[test]
fn the_bench_sheet_is_one_page_of_what_was_recommended() {
    let bench = Bench::with_logbook();
    let plan = plan();
    let mut words = vec!["bench-sheet", plan.as_str(), "--to", "sheet.html"];
    words.extend(CLOCK);
    let told = bench.json(&words);
    assert_eq!(told["sheet"], "sheet.html");
    assert_eq!(told["codes"][0], "next-pizza");
    let page = bench.read("sheet.html");
    for there in ["size:A4", "next-pizza", "<h1>", "out of the fridge", "Sat 5 Dec 18:30", "Raw flour"] {
        assert!(page.contains(there), "{there}");
    }
    assert!(!page.contains("<script") && !page.contains("http"), "needs neither network nor script");
    bench.json(&["bench-sheet", &plan, "--units", "us", "--to", "us.html"]);
    let us = bench.read("us.html");
    assert!(us.contains("size:letter") && us.contains(" oz") && !us.contains("°C</td>"));
    let text = bench.run(&["bench-sheet", &plan, "--to", "-"]).done().out;
    assert!(text.lines().count() <= 60, "one page of 60 lines: {}", text.lines().count());
    let weighed = bench.json(&["recommend", &plan])["plans"][0]["yeast_g"].as_f64().unwrap();
    assert!(text.contains(&format!("{weighed} g")), "{text}");
    bench.refuses(&["bench-sheet", &plan, "--to", "sheet.pdf"], 2, &[".html or .txt"]);
}

#[test]
fn pieces_trays_and_small_weights() {
    let bench = Bench::with_logbook();
    let told = bench.json(&["recommend", "--pieces", "20", "--piece-g", "250", "--loss", "2"]);
    let plan = &told["plans"][0]["plan"];
    let sum = |keys: &[&str]| keys.iter().filter_map(|k| plan[k].as_f64()).sum::<f64>();
    let dough = sum(&["flour_g", "water_g", "salt_g", "yeast_g", "oil_g", "sugar_g", "malt_g"]);
    // 20 pieces of 250 g and 2 % lost.
    assert!((dough - 5000.0 / 0.98).abs() < 0.01 * dough, "{dough}");
    let tray = bench.json(&["recommend", "--tray", "30x40", "--per-cm2", "0.7"]);
    assert_eq!(tray["plans"][0]["plan"]["piece_g"], 840.0);
    let coarse = bench.json(&["recommend", "--pieces", "2", "--piece-g", "250", "--scale-resolution", "0.2"]);
    let weighing = &coarse["plans"][0]["weighing"];
    assert!(weighing["moves_rise"].as_f64().unwrap() > 0.02, "{weighing}");
    assert!(weighing["dilution"]["take_g"].is_number(), "{weighing}");
    bench.refuses(&["recommend", "--tray", "wide"], 2, &["two lengths in cm"]);
    bench.refuses(&["recommend", "--pieces", "0"], 2, &["a number of pieces is wanted"]);
}

#[test]
fn trials_and_comparisons() {
    let bench = Bench::with_logbook();
    let told = bench.json(&["trial"]);
    assert!(told["plan"]["flour_g"].is_number() && told["expected_gain"].as_f64().unwrap() > 0.0);
    assert!(told["expected_gain"].as_f64() >= told["repeat"]["expected_gain"].as_f64());
    assert!(told["chance_in_window"].as_f64().unwrap() >= 0.68, "{}", told["chance_in_window"]);
    let two = bench.json(&["trial", "--compare", "flour_lot", "A101", "C305"]);
    assert_eq!(two["batches"].as_u64().unwrap(), 2 * two["order"].as_array().unwrap().len() as u64);
    assert!(two["power"].as_f64().unwrap() >= 0.8);
    let finer = bench.json(&["trial", "--compare", "flour_lot", "A101", "C305", "--difference", "5"]);
    assert!(finer["pairs"].as_u64() > two["pairs"].as_u64());
    assert_eq!(two["never_baked"].as_array().unwrap().len(), 0);
    let new = bench.json(&["trial", "--compare", "flour_lot", "A101", "never had"]);
    assert_eq!(new["never_baked"][0], "never had");
    bench.refuses(&["trial", "--compare", "flower", "a", "b"], 2, &["no such column"]);
    bench.refuses(&["trial", "--compare", "flour_lot", "a", "a"], 2, &["on both sides"]);
}

#[test]
fn what_if_marks_where_no_record_lies() {
    let bench = Bench::with_logbook();
    let plan = plan();
    let words = [
        "predict",
        &plan,
        "--yeast-g",
        "9",
        "--vary",
        "cold_hours=12..96/8",
        "--vary",
        "room_temp_c=18..24/3",
        "--out",
        "charts",
    ];
    let told = bench.json(&words);
    let points = told["points"].as_array().unwrap();
    assert_eq!((points.len(), told["charts"].as_array().unwrap().len()), (24, 3));
    assert_eq!(points[1]["values"][0], 24.0);
    let beyond = |hours: f64| {
        points.iter().find(|p| p["values"][0] == hours).unwrap()["extrapolated"].as_bool().unwrap()
    };
    assert!(beyond(96.0) && !beyond(24.0));
    let rises: Vec<f64> = points[..8].iter().map(|p| p["rise"]["p50"].as_f64().unwrap()).collect();
    assert!(rises.windows(2).all(|r| r[1] > r[0]), "more hours, more rise: {rises:?}");
    bench.refuses(&["predict", &plan, "--vary", "cold_hours=48..12"], 2, &["the range must rise"]);
    bench.refuses(&["predict", &plan, "--vary", "recipe=1..2"], 2, &["holds no number"]);
}
