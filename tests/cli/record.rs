//! One batch written down by hand: without questions, asked through a pipe, by a plan, and finished later.

use crate::bench::{Bench, Told};

const SET: [&str; 7] = [
    "record",
    "--set",
    "date=2026-10-01T08:30",
    "flour_g=1 kg",
    "water_g=620",
    "yeast_g=2,5 g",
    "yeast_type=instant",
];

fn with<'a>(words: &[&'a str], more: &[&'a str]) -> Vec<&'a str> {
    [words, more].concat()
}

/// `record`, answered line by line.
fn asked(bench: &Bench, words: &[&str], answers: &str) -> Told {
    bench.command(&with(&["record"], words)).write_stdin(answers.to_string()).output().unwrap().into()
}

#[test]
fn a_batch_is_set_without_questions_and_its_units_are_read() {
    let bench = Bench::new();
    let told =
        bench.json(&with(&SET, &["bulk_hours=1h30", "room_temp_c=77 °F", "--reading", "1=1.2", "1h30=1.5"]));
    assert_eq!(
        (&told["batch_id"], &told["added"], &told["readings"]),
        (&"2026-10-01-1".into(), &true.into(), &2.into())
    );
    let shown = bench.json(&["show", "2026-10-01-1"]);
    let of = |name: &str| shown["batch"][name].as_f64();
    assert_eq!(
        [of("flour_g"), of("yeast_g"), of("bulk_hours"), of("room_temp_c")],
        [Some(1000.0), Some(2.5), Some(1.5), Some(25.0)]
    );
    assert_eq!(shown["readings"].as_array().unwrap().len(), 2);
    // Typed once more it is another batch; readings by themselves belong to the latest.
    bench.run(&SET).done();
    let told = bench.json(&["record", "--reading", "2=1.7"]);
    assert_eq!(told["batch_id"], "2026-10-01-2");
    // One step: the reading is taken back, the batch stays.
    bench.run(&["undo"]).done();
    assert_eq!(bench.json(&["show", "2026-10-01-2"])["readings"].as_array().unwrap().len(), 0);
}

#[test]
fn a_batch_is_finished_later_and_its_former_values_stay() {
    let bench = Bench::new();
    let told = bench.run(&with(&SET, &["bulk_hours=2", "batch_id=mine"])).done();
    assert!(told.out.contains("once it is baked: doughwright record --batch mine"), "{told:?}");
    let told = bench.json(&["record", "--batch", "mine", "--set", "rise=2.1", "yeast_g=2.4"]);
    assert_eq!(told["changed"], serde_json::json!(["yeast_g", "rise"]));
    let history = bench.run(&["show", "mine", "--history"]).done().out;
    assert!(history.contains("yeast_g: 2.5 -> 2.4") && history.contains("from record"), "{history}");
    let again = bench.run(&["record", "--batch", "mine", "--set", "rise=2.1"]).done();
    assert!(again.out.contains("as before"), "{again:?}");
    bench.run(&["record", "--batch", "mine", "--set", "rise="]).done();
    assert!(bench.json(&["show", "mine"])["batch"]["rise"].is_null());
}

#[test]
fn what_cannot_be_is_refused_and_nothing_is_written() {
    let bench = Bench::with_logbook();
    let refused: [(&[&str], &[&str]); 9] = [
        (&["record", "--set", "yeast=2"], &["no column 'yeast'", "nearest is yeast_g"]),
        (&["record", "--set", "yeast_g"], &["yeast_g=2.5"]),
        (&["record", "--set", "flour_g=1,250"], &["1250 or 1.250"]),
        (&["record", "--set", "cold_temp_c=40"], &["must lie between -5 and 20"]),
        (&["record", "--set", "flour_g=1000", "flour_g=900"], &["said twice"]),
        (
            &["record", "--set", "flour_g=1000"],
            &["nothing was written", "date is needed", "yeast_type is needed"],
        ),
        (&["record", "--reading", "3"], &["--reading '3'", "3.5=1.4"]),
        (&["record", "--reading", "3=99"], &["rise", "must lie between"]),
        (&["record", "--set", "kitchen=x"], &["--kitchen"]),
    ];
    for (words, said) in refused {
        bench.refuses(words, 2, said);
    }
    bench.refuses(
        &with(&SET, &["batch_id=hall-001"]),
        2,
        &["hall-001", "already", "record --batch hall-001"],
    );
    bench.refuses(&["record", "--batch", "nobody", "--set", "rise=2"], 1, &["no batch 'nobody'", "list"]);
    bench.refuses(&["record", "--plan", "nobody", "--set", "rise=2"], 1, &["no plan 'nobody'"]);
    let twice = ["record", "--batch", "hall-120", "--reading", "1=1.2", "1=1.3"];
    bench.refuses(&twice, 2, &["hour 1 is said twice"]);
    let none = Bench::new();
    assert_eq!(none.run(&["record", "--reading", "1=1.2"]).code, 1);
    assert_eq!(none.run(&["record", "--set", "flour_g=lots"]).code, 2);
}

#[test]
fn questions_are_answered_through_a_pipe_and_asked_again_when_wrong() {
    let bench = Bench::new();
    let answers = "2026-10-01\npizza\nlots\n1000\n62\n620\n?\n20\n2\ninstant\n\n22,5\n18\n23\n2\n\n\n\n\n\n\n\n2\n\n\n\n\n";
    let told = asked(&bench, &[], answers);
    assert_eq!(told.code, 0, "{told:?}");
    for said in ["'lots': a number is wanted, in g", "30 to 150 % is usual", "Salt, 0 to 100000 g"] {
        assert!(told.err.contains(said), "{said}: {told:?}");
    }
    let batch = bench.json(&["show", "2026-10-01-1"])["batch"].clone();
    assert_eq!((&batch["recipe"], &batch["water_g"]), (&"pizza".into(), &620.0.into()));
    assert_eq!((&batch["room_temp_c"], &batch["rise"]), (&22.5.into(), &2.0.into()));
    // The next of this recipe is offered its weights, and never its measured temperatures.
    let told = asked(&bench, &[], "2026-10-02\n\n\n\n\n2\n\nlater\n");
    assert_eq!(told.code, 0, "{told:?}");
    assert!(told.err.contains("flour_g, g [1000]") && !told.err.contains("room_temp_c, °C ["), "{told:?}");
    let batch = bench.json(&["show", "2026-10-02-1"])["batch"].clone();
    assert_eq!((&batch["flour_g"], &batch["room_temp_c"]), (&1000.0.into(), &serde_json::Value::Null));
    // Only what it leaves blank is asked of a batch that is there.
    let told = asked(&bench, &["--batch", "2026-10-02-1"], "21\n22\nlater\n");
    assert_eq!(told.code, 0, "{told:?}");
    assert!(!told.err.contains("flour_g, g"), "{told:?}");
    assert_eq!(bench.json(&["show", "2026-10-02-1"])["batch"]["flour_temp_c"], 21.0);
}

#[test]
fn a_batch_begun_waits_to_be_gone_on_with() {
    let bench = Bench::new();
    let told = asked(&bench, &[], "2026-10-01\n\n1000\nlater\n");
    assert_eq!(told.code, 0, "{told:?}");
    assert!(told.err.contains("what was said is kept"), "{told:?}");
    assert_eq!(told.out, "");
    let told = asked(&bench, &[], "\n\n620\n20\n2\ninstant\nlater\n");
    assert_eq!(told.code, 0, "{told:?}");
    assert!(told.err.contains("A batch of 2026-10-01 was begun"), "{told:?}");
    assert_eq!(bench.json(&["show", "2026-10-01-1"])["batch"]["flour_g"], 1000.0);
    let told = asked(&bench, &[], "");
    assert_eq!(told.code, 2, "{told:?}");
    assert!(!told.err.contains("was begun") && told.err.contains("--set COLUMN=VALUE"), "{told:?}");
}

#[test]
fn a_plan_stands_beside_what_came_of_it() {
    let bench = Bench::with_logbook();
    let plan = demo_plan();
    let answer = bench.json(&["recommend", &plan]);
    let id = answer["plan_ids"][0].as_str().unwrap();
    let yeast = answer["plans"][0]["yeast_g"].as_f64().unwrap();
    let text = bench.run(&["recommend", &plan]).done().out;
    assert!(text.contains(&format!("record --plan {id}")), "{text}");

    let told = bench.run(&["record", "--plan", id, "--set", "rise=2.2", "dough_temp_c=22"]).done();
    assert!(
        told.out.contains(&format!("Plan {id}, followed")) && told.out.contains("as foretold"),
        "{told:?}"
    );
    let shown = bench.json(&["show", told.out.split(' ').nth(1).unwrap()]);
    assert_eq!(shown["batch"]["plan_id"].as_str(), Some(id));
    assert_eq!(shown["batch"]["yeast_g"].as_f64(), Some(yeast));
    // What is measured on the day is never taken from the plan.
    assert!(shown["batch"]["room_temp_c"].is_null());
    assert_eq!(shown["plan"]["followed"], true);
    assert!(bench.run(&["consistency", "--out", "c"]).done().out.contains("plans followed"));

    let answer = bench.json(&["recommend", "--cold-hours", "30", "--room-temp-c", "22"]);
    let (id, yeast) =
        (answer["plan_ids"][0].as_str().unwrap(), answer["plans"][0]["yeast_g"].as_f64().unwrap());
    let other = format!("yeast_g={}", yeast * 1.5);
    let told = bench.run(&["record", "--plan", id, "--set", &other, "rise=2.9", "date=2026-09-06"]).done();
    assert!(told.out.contains("not followed in yeast or water"), "{told:?}");
}

fn demo_plan() -> String {
    crate::bench::demo_data("plan.csv").display().to_string()
}
