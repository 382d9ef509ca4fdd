//! What is answered: JSON with the documented keys and nothing else, text in the units asked for, and advice
//! that follows the law of yeast.

use serde_json::Value;

use crate::bench::{Bench, demo_data};

fn plan() -> String {
    demo_data("plan.csv").display().to_string()
}

/// Checks that keys are there; `a.b` is the key b in a, and `a[].b` that of each entry of the list a, which is not empty.
fn has(answer: &Value, keys: &[&str]) {
    assert!(answer["schema_version"].is_u64(), "schema_version");
    for key in keys {
        let mut here = vec![answer];
        for part in key.split('.') {
            let (name, list) = part.strip_suffix("[]").map_or((part, false), |name| (name, true));
            here = here
                .into_iter()
                .map(|v| v.get(name).unwrap_or_else(|| panic!("no {key} in {v}")))
                .flat_map(|v| if list { v.as_array().unwrap().iter().collect() } else { vec![v] })
                .collect();
            assert!(!here.is_empty(), "nothing in {key}");
        }
    }
}

#[test]
fn issue_2_json_of_every_command_has_its_keys() {
    let bench = Bench::with_logbook();
    let plan = plan();
    has(
        &bench.json(&["fit"]),
        &[
            "batches",
            "method",
            "seconds",
            "gradient_evaluations",
            "divergences",
            "min_ess_bulk",
            "elpd_loo",
            "warnings",
            "parameters[].name",
            "parameters[].unit",
            "parameters[].mean",
            "parameters[].sd",
            "parameters[].q05",
            "parameters[].q50",
            "parameters[].q95",
            "parameters[].rhat",
            "parameters[].ess_bulk",
            "parameters[].ess_tail",
        ],
    );
    has(
        &bench.json(&["recommend", &plan]),
        &[
            "plans[].batch_id",
            "plans[].yeast_g",
            "plans[].yeast_pct",
            "plans[].water_temp_c",
            "plans[].ice_g",
            "plans[].dough_temp_c.p05",
            "plans[].dough_temp_c.p50",
            "plans[].dough_temp_c.p95",
            "plans[].rise.p05",
            "plans[].rise.p50",
            "plans[].rise.p95",
            "plans[].chance_in_window",
            "plans[].window.from_hours",
            "plans[].window.to_hours",
            "plans[].change.yeast_pct",
            "plans[].change.water_temp_c",
            "plans[].why",
            "plans[].cautions",
        ],
    );
    has(
        &bench.json(&["predict", &plan, "--yeast-g", "5"]),
        &[
            "plans[].batch_id",
            "plans[].hours[]",
            "plans[].rise_p05[]",
            "plans[].rise_p50[]",
            "plans[].rise_p95[]",
            "plans[].dough_temp_c[]",
        ],
    );
    has(&bench.json(&["residuals"]), &["rms_log", "coverage_90", "charts[]"]);
    has(
        &bench.json(&["consistency"]),
        &[
            "center",
            "sigma",
            "limits.lower",
            "limits.upper",
            "signals",
            "capability.cp",
            "capability.cpk",
            "spread_ratio",
            "chart",
        ],
    );
    has(&bench.json(&["report", "--out", "page.html"]), &["report"]);
    has(&bench.json(&["list"]), &["batches[].batch_id"]);
    has(&bench.json(&["show", "hall-008"]), &["batch.batch_id", "readings[].hours"]);
    has(&bench.json(&["export", "all.csv"]), &["file", "batches"]);
    bench.file(
        "sheet.csv",
        "date,flour_g,water_g,yeast_g,yeast_type,kitchen\n2026-01-02,1000,650,lots,instant,hall\n",
    );
    let told = bench.run(&["import", "sheet.csv", "--json"]);
    has(
        &told.json(),
        &[
            "added",
            "changed",
            "unchanged",
            "set_aside",
            "set_aside_file",
            "problems[].file",
            "problems[].row",
            "problems[].column",
            "problems[].value",
            "problems[].message",
        ],
    );
}

#[test]
fn issue_2_the_demo_does_the_whole_job_and_says_where_to_look() {
    let bench = Bench::new();
    let told = bench.run(&["demo", "--out", "demo", "--json"]).done();
    let answer = told.json();
    has(&answer, &["logbook", "report", "charts[]"]);
    let files = answer["charts"].as_array().unwrap().iter().chain([&answer["logbook"], &answer["report"]]);
    for file in files {
        assert!(bench.path(file.as_str().unwrap()).exists(), "{file}");
    }
    assert!(!told.err.is_empty(), "progress is shown on standard error");
}

#[test]
fn issue_2_what_is_asked_for_is_written_where_it_was_asked_for() {
    let bench = Bench::with_logbook();
    let answer = bench.json(&["predict", &plan(), "--yeast-g", "5", "--out", "curves"]);
    let chart = answer["charts"][0].as_str().unwrap();
    assert!(chart.starts_with("curves") && bench.read(chart).contains("<svg"), "{answer}");
    let answer = bench.json(&["residuals", "--out", "misses"]);
    for chart in answer["charts"].as_array().unwrap() {
        assert!(bench.read(chart.as_str().unwrap()).contains("<svg"), "{chart}");
    }
}

#[test]
fn issue_2_recommend_fills_yeast_and_water_from_the_latest_batch() {
    let bench = Bench::with_logbook();
    let answer =
        bench.json(&["recommend", "--recipe", "hearth pizza", "--cold-hours", "24", "--room-temp-c", "23"]);
    let plan = &answer["plans"][0];
    let (yeast, water) = (plan["yeast_g"].as_f64().unwrap(), plan["water_temp_c"].as_f64().unwrap());
    assert!(yeast > 0.0, "{yeast}");
    assert!((1.0..=45.0).contains(&water), "{water}");
    let chance = plan["chance_in_window"].as_f64().unwrap();
    assert!((0.0..=1.0).contains(&chance) && chance > 0.5, "{chance}");
}

#[test]
fn issue_2_what_is_given_is_kept_and_only_the_blank_is_filled() {
    let bench = Bench::with_logbook();
    let yeast = bench.json(&["recommend", &plan(), "--yeast-g", "8"]);
    assert_eq!(yeast["plans"][0]["yeast_g"], 8.0);
    let water = bench.json(&["recommend", &plan(), "--water-temp-c", "16"]);
    assert_eq!(water["plans"][0]["water_temp_c"], 16.0);
}

/// The yeast recommended with one thing of the plan changed, the water's temperature held.
fn yeast(bench: &Bench, flag: &str, value: &str) -> f64 {
    let answer = bench.json(&["recommend", &plan(), "--water-temp-c", "16", "--scale", "0.01", flag, value]);
    answer["plans"][0]["yeast_g"].as_f64().unwrap()
}

#[test]
fn issue_2_more_hours_or_a_warmer_place_want_less_yeast() {
    let bench = Bench::with_logbook();
    for (flag, values) in [
        ("--cold-hours", ["18", "24", "36", "48"]),
        ("--cold-temp-c", ["3", "4", "6", "8"]),
        ("--temper-temp-c", ["18", "21", "24", "27"]),
    ] {
        let yeasts = values.map(|v| yeast(&bench, flag, v));
        assert!(yeasts.is_sorted_by(|a, b| a > b), "{flag} {values:?}: {yeasts:?}");
    }
}

#[test]
fn issue_2_us_units_are_shown_when_asked_for() {
    let bench = Bench::with_logbook();
    let metric = bench.run(&["recommend", &plan()]).done().out;
    let us = bench.run(&["recommend", &plan(), "--units", "us"]).done().out;
    let first = |text: &str| text.lines().take(3).collect::<Vec<_>>().join("\n");
    assert!(first(&metric).contains("°C") && first(&metric).contains(" g "), "{metric}");
    assert!(first(&us).contains("°F") && first(&us).contains(" oz "), "{us}");
    let figures = |text: &str| text.lines().take_while(|l| *l != "Why:").collect::<String>();
    assert!(!figures(&us).contains("°C") && !figures(&metric).contains("°F"), "{us}");
    // 1 oz = 28.349523125 g: NIST Handbook 44 (2024), appendix C.
    let grams = bench.json(&["recommend", &plan()])["plans"][0]["yeast_g"].as_f64().unwrap();
    let ounces = format!("{:.3}", grams / 28.349_523_125);
    assert!(us.contains(&format!("{} oz", ounces.trim_end_matches('0'))), "{us}");
}

#[test]
fn issue_2_units_change_what_is_shown_and_not_the_json() {
    let bench = Bench::with_logbook();
    assert_eq!(bench.json(&["recommend", &plan()]), bench.json(&["recommend", &plan(), "--units", "us"]));
}

#[test]
fn issue_2_help_of_every_command_works() {
    let bench = Bench::new();
    let top = bench.run(&["--help"]).done();
    let commands: Vec<&str> = top
        .out
        .lines()
        .skip_while(|l| *l != "Commands:")
        .skip(1)
        .take_while(|l| l.starts_with("  "))
        .filter_map(|l| l.split_whitespace().next())
        .collect();
    for needed in ["demo", "import", "fit", "recommend", "predict", "residuals", "list", "show", "export"] {
        assert!(commands.contains(&needed), "{needed} in {commands:?}");
    }
    for command in commands {
        for flag in ["--help", "-h"] {
            let told = bench.run(&[command, flag]).done();
            assert!(told.out.contains(&format!("Usage: doughwright {command}")), "{told:?}");
            assert_eq!(told.err, "");
        }
    }
    assert!(bench.run(&["--version"]).done().out.starts_with("doughwright "));
}

#[test]
fn issue_2_without_a_single_measured_rise_the_answer_is_of_the_prior_and_says_so() {
    let bench = Bench::new();
    bench.file("few.csv", "date,flour_g,water_g,salt_g,yeast_g,yeast_type,room_temp_c,cold_hours,cold_temp_c\n2026-01-02,1000,650,20,2,instant,22,24,4\n");
    bench.run(&["import", "few.csv"]).done();
    let answer = bench.json(&["recommend", "--target-rise", "2.2"]);
    assert!(answer["plans"][0]["yeast_g"].as_f64() > Some(0.0));
    assert!(!answer["warnings"].as_array().unwrap().is_empty(), "{answer}");
}

#[test]
fn issue_2_without_any_record_the_answer_comes_from_the_prior_and_says_so() {
    let bench = Bench::new();
    let told = bench.run(&[
        "recommend",
        "--flour-g",
        "1000",
        "--water-g",
        "620",
        "--salt-g",
        "22",
        "--yeast-type",
        "instant",
        "--room-temp-c",
        "21",
        "--bulk-hours",
        "1",
        "--cold-hours",
        "24",
        "--cold-temp-c",
        "4",
        "--piece-g",
        "250",
        "--target-rise",
        "2",
    ]);
    assert_eq!(told.code, 0, "{told:?}");
    assert!(told.out.contains("no batch with a measured rise yet"), "{}", told.out);
    assert!(told.out.contains("weigh "), "{}", told.out);
}

/// The pictures for the wall are drawn of the kitchen's own fit, in the units asked for, as SVG and PNG.
#[test]
fn issue_7_pictures_for_the_wall() {
    let bench = Bench::with_logbook();
    let told = bench.json(&["charts", "--png", "--units", "us"]);
    let files: Vec<&str> = told["charts"].as_array().unwrap().iter().map(|f| f.as_str().unwrap()).collect();
    for name in ["yeast-against-hours", "temperature-response", "cooling", "flour-lots"] {
        let of_name = |ending: &str| {
            let mut found = files.iter().filter(|f| f.contains(name) && f.ends_with(ending));
            found.next().unwrap_or_else(|| panic!("no {name}{ending} in {files:?}"))
        };
        let svg = bench.read(of_name(".svg"));
        assert!(!svg.contains("°C"), "{name} in °C");
        assert!(name == "flour-lots" || svg.contains("°F"), "{name} without °F");
        let png = std::fs::read(bench.path(of_name(".png"))).unwrap();
        // The signature of PNG (ISO/IEC 15948, 5.2).
        assert!(png.starts_with(b"\x89PNG\r\n\x1a\n"), "{name}");
    }
    let metric = bench.json(&["charts", "--out", "metric"]);
    assert!(bench.read(metric["charts"][0].as_str().unwrap()).contains("°C"));
}
