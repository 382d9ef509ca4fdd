//! Calls that ask for what cannot be: each is refused in one message that names the place and the way out.

use crate::bench::{Bench, HEADINGS, demo_data};

fn plan() -> String {
    demo_data("plan.csv").display().to_string()
}

#[test]
fn issue_2_an_unknown_command_or_flag_is_a_wrong_call() {
    let bench = Bench::new();
    bench.refuses(&["knead"], 2, &["knead", "--help"]);
    bench.refuses(&["list", "--colour", "red"], 2, &["--colour", "--help"]);
    bench.refuses(&["show"], 2, &["<BATCH>", "--help"]);
    let nothing: [&str; 0] = [];
    let told = bench.run(&nothing);
    assert_eq!((told.code, told.out.as_str()), (2, ""));
    assert!(told.err.contains("doughwright demo"), "a newcomer is told where to begin: {told:?}");
}

#[test]
fn issue_2_absurd_values_of_a_plan_are_refused() {
    let bench = Bench::with_logbook();
    let plan = plan();
    for (flag, value, said) in [
        ("--cold-hours", "lots", "a number is wanted, in h"),
        ("--cold-hours", "-4", "between 0 and 240 h"),
        ("--cold-hours", "1e9", "between 0 and 240 h"),
        ("--cold-hours", "NaN", "cold_hours"),
        ("--water-g", "1e9", "between 1 and 1000000 g"),
        ("--target-rise", "50", "between 1.05 and 8"),
        ("--yeast-type", "mushroom", "instant"),
        ("--room-temp-c", "inf", "room_temp_c"),
    ] {
        bench.refuses(&["recommend", &plan, flag, value], 2, &[&flag[2..].replace('-', "_"), said]);
    }
    for (flag, value, said) in [
        ("--window", "0", "window"),
        ("--window", "NaN", "window"),
        ("--scale", "0", "scale"),
        ("--scale=-1", "", "scale"),
        ("--dough-between", "28..18", "28"),
        ("--dough-between", "warm", "20..26"),
    ] {
        let words: Vec<&str> =
            ["recommend", &plan, flag, value].into_iter().filter(|w| !w.is_empty()).collect();
        bench.refuses(&words, 2, &[said]);
    }
    bench.refuses(&["fit", "--draws", "0"], 2, &["--draws 0", "between"]);
    bench.refuses(&["fit", "--draws", "99999999999"], 2, &["--draws", "between"]);
}

#[test]
fn issue_2_a_kitchen_without_batches_is_named_beside_those_there_are() {
    let bench = Bench::with_logbook();
    for command in ["list", "fit", "residuals", "recommend"] {
        bench.refuses(&[command, "--kitchen", "nowhere"], 1, &["nowhere", "logbook.db", "hall"]);
    }
    bench.refuses(&["export", "-", "--kitchen", "nowhere"], 1, &["nowhere", "hall"]);
    bench.refuses(&["show", "hall-999"], 1, &["hall-999", "`list` shows them all"]);
}

#[test]
fn issue_2_several_kitchens_and_none_named_asks_which() {
    let bench = Bench::with_logbook();
    bench.file("cafe.csv", format!("{HEADINGS},kitchen\n2026-01-02,1000,650,2,instant,cafe\n"));
    bench.run(&["import", "cafe.csv"]).done();
    bench.refuses(&["list"], 2, &["several kitchens", "--kitchen", "cafe", "hall"]);
    assert!(bench.run(&["list", "--kitchen", "cafe"]).done().out.contains("1 batch of kitchen 'cafe'"));
}

#[test]
fn issue_2_a_plan_with_nothing_blank_has_nothing_to_recommend() {
    let bench = Bench::with_logbook();
    let words = ["recommend", &plan(), "--yeast-g", "6", "--water-temp-c", "15"];
    bench.refuses(&words, 2, &["next-pizza", "nothing to recommend", "blank", "predict"]);
}

#[test]
fn issue_2_a_plan_without_a_target_asks_for_one() {
    let bench = Bench::new();
    bench.file(
        "few.csv",
        format!("{HEADINGS},room_temp_c,cold_hours,cold_temp_c\n2026-01-02,1000,650,2,instant,22,24,4\n"),
    );
    bench.run(&["import", "few.csv"]).done();
    bench.run(&["fit"]).done();
    bench.refuses(&["recommend", "--cold-hours", "24"], 2, &["no target_rise", "--target-rise 2.2"]);
}

#[test]
fn issue_2_a_prediction_needs_yeast() {
    let bench = Bench::with_logbook();
    bench.refuses(&["predict", &plan()], 2, &["next-pizza", "no yeast_g", "recommend"]);
}

#[test]
fn issue_2_a_file_of_plans_without_a_plan_is_refused() {
    let bench = Bench::with_logbook();
    bench.file("none.csv", format!("{HEADINGS}\n"));
    bench.refuses(&["recommend", "none.csv"], 2, &["no plan in it"]);
    bench.file("bad.csv", format!("{HEADINGS},target_rise\n2026-01-02,flour,650,,instant,2\n"));
    bench.refuses(&["recommend", "bad.csv"], 2, &["bad.csv row 2", "flour_g"]);
}

#[test]
fn issue_2_a_demo_never_writes_among_other_files() {
    let bench = Bench::new();
    bench.file("mine.txt", "mine");
    bench.refuses(&["demo", "--out", "."], 2, &["not empty", "--out"]);
    assert_eq!(std::fs::read_dir(bench.folder()).unwrap().count(), 1);
}

#[test]
fn issue_2_an_export_names_its_form() {
    let bench = Bench::with_logbook();
    bench.refuses(&["export", "all.docx"], 2, &["all.docx", ".csv"]);
    bench.refuses(&["export", "logbook.db"], 2, &["logbook.db", ".csv"]);
    bench.refuses(&["export", "nofolder/all.csv"], 1, &["nofolder/all.csv", "cannot be written"]);
    bench.refuses(&["residuals", "--out", "logbook.db"], 1, &["logbook.db", "cannot be written"]);
}
