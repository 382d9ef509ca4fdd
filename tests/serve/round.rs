//! A whole round at the page: a sheet in, a plan asked for and kept, its batch written down, readings, what came of it.

use crate::client::{Bench, demo_data};

/// The text between two marks.
fn between<'a>(text: &'a str, from: &str, to: &str) -> &'a str {
    text.split(from).nth(1).unwrap_or_else(|| panic!("no {from} in {text}")).split(to).next().unwrap()
}

#[test]
fn a_whole_round() {
    let bench = Bench::empty();
    let page = bench.serve(&["--write"]);
    // A sheet is looked at, and the logbook has nothing of it.
    let csv = std::fs::read(demo_data("batches.csv")).unwrap();
    let handed = page.upload("batches.csv", &csv);
    page.follow(&handed).says(200, &["Nothing is kept yet", "120 new"]);
    assert_eq!(bench.everything(), Vec::<String>::new());
    // It is kept, once, however often the button is pressed.
    let word = handed.header("location").rsplit('/').next().unwrap().to_string();
    for _ in 0..2 {
        page.follow(&page.post(&format!("sheet/{word}/keep"), &[])).says(200, &["Kept.", "120 new"]);
    }
    assert_eq!(bench.everything().len(), 120);
    // The overview is of the new records at once.
    page.get("").says(200, &["120 batches", "Next batch", "How steady"]);
    // The advice is that of the command.
    let asked = page.get("next?cold_hours=30&room_temp_c=23&target_rise=2.3");
    asked.says(200, &["Weigh", "Pour", "Raw flour", "Keep this plan"]);
    let told: serde_json::Value = serde_json::from_str(&bench.run(&[
        "recommend",
        "--json",
        "--cold-hours",
        "30",
        "--room-temp-c",
        "23",
        "--target-rise",
        "2.3",
    ]))
    .unwrap();
    let yeast_g = told["plans"][0]["yeast_g"].as_f64().unwrap();
    assert_eq!(between(&asked.body, "<strong class=\"big\">", " g</strong>"), yeast_g.to_string());
    // Kept as a plan, under the id that the command gave to the same.
    let fields = [("cold_hours", "30"), ("room_temp_c", "23"), ("target_rise", "2.3")];
    let kept = page.follow(&page.post("next", &fields));
    let id = between(&kept.body, "Plan ", " is kept").to_string();
    assert_eq!(told["plan_ids"][0], id.as_str());
    kept.says(200, &[&format!("Mixed by plan {id}")]);
    // Its batch is written down: weights and hours offered, nothing measured.
    let form = page.get(&format!("record/new?plan={id}"));
    let value = |name: &str| {
        between(between(&form.body, &format!("id=\"{name}\""), ">"), "value=\"", "\"").to_string()
    };
    assert_eq!(value("yeast_g"), yeast_g.to_string());
    assert_eq!((value("cold_hours"), value("dough_temp_c")), ("30".into(), String::new()));
    let flour = value("flour_g");
    let written = page.post(
        "record/new",
        &[
            ("plan", &id),
            ("date", "2026-11-20T08:30"),
            ("flour_g", &flour),
            ("water_g", &value("water_g")),
            ("yeast_g", &value("yeast_g")),
            ("yeast_type", "instant"),
            ("dough_temp_c", "75 °F"),
        ],
    );
    let batch = between(written.header("location"), "id=", "&").to_string();
    page.follow(&written).says(200, &["is in the logbook", "Beside its plan", &id]);
    // It is that batch from now on, and no second.
    let again = page.get(&format!("record/new?plan={id}"));
    again.says(422, &[&format!("plan {id} is batch {batch} already")]);
    // A reading from the bench, then what came of it.
    let reading = page.post("reading", &[("id", &batch), ("hours", "1h30"), ("risen", "1,4")]);
    page.follow(&reading).says(200, &["The reading is in the logbook", "1 h 30 min", "1.4"]);
    let outcome = [
        ("id", batch.as_str()),
        ("rise", "2.25"),
        ("was-rise", ""),
        ("ripeness", "ready"),
        ("was-ripeness", ""),
    ];
    page.follow(&page.post("batch", &outcome)).says(200, &["What you wrote is in the logbook", "2.25"]);
    // As the other commands tell it.
    let shown: serde_json::Value = serde_json::from_str(&bench.run(&["show", &batch, "--json"])).unwrap();
    let column = |name: &str| shown["batch"][name].clone();
    assert_eq!((column("rise"), column("ripeness")), (2.25.into(), "ready".into()));
    assert!((column("dough_temp_c").as_f64().unwrap() - (75.0 - 32.0) / 1.8).abs() < 1e-9);
    assert_eq!((column("plan_id"), column("cold_hours")), (id.into(), 30.0.into()));
    assert_eq!(shown["readings"][0]["rise"], 1.4);
}

#[test]
fn a_change_made_outside_is_seen() {
    let bench = Bench::new();
    let page = bench.serve(&[]);
    page.get("").says(200, &["from 120 batches"]);
    let before = page.get("next?cold_hours=24").body.clone();
    bench.run(&[
        "record",
        "--set",
        "date=2026-11-01",
        "flour_g=1000",
        "water_g=620",
        "yeast_g=4",
        "yeast_type=instant",
        "bulk_hours=2",
        "room_temp_c=24",
        "rise=1.9",
        "batch_id=outside",
        "target_rise=1.7",
    ]);
    page.get("").says(200, &["from 121 batches"]);
    page.get("batch?id=outside").says(200, &["Batch outside"]);
    let after = page.get("next?cold_hours=24").body;
    let yeast = |body: &str| between(body, "<strong class=\"big\">", "</strong>").to_string();
    assert_ne!(yeast(&before), yeast(&after));
    // Another file in its place is seen as well.
    let other = Bench::empty();
    other.run(&[
        "record",
        "--set",
        "date=2026-01-01",
        "flour_g=500",
        "water_g=300",
        "yeast_g=1",
        "yeast_type=instant",
    ]);
    other.run(&["backup", "one.db"]);
    std::fs::rename(other.path("one.db"), bench.path("one.db")).unwrap();
    for ending in ["-wal", "-shm"] {
        // They need not be there.
        let _ = std::fs::remove_file(bench.path(&format!("logbook.db{ending}")));
    }
    std::fs::rename(bench.path("one.db"), bench.path("logbook.db")).unwrap();
    page.get("").says(200, &["from 1 batch with"]);
}

#[test]
fn what_another_wrote_meanwhile_stays() {
    let bench = Bench::new();
    let page = bench.serve(&["--write"]);
    bench.run(&["record", "--batch", "hall-001", "--set", "crust_score=7"]);
    // This form was made before: its crust score is as it was then.
    let stale = [
        ("id", "hall-001"),
        ("crust_score", "3"),
        ("was-crust_score", "3"),
        ("notes", "seen"),
        ("was-notes", ""),
    ];
    page.post("batch", &stale).says(303, &[]);
    let shown: serde_json::Value = serde_json::from_str(&bench.run(&["show", "hall-001", "--json"])).unwrap();
    assert_eq!((&shown["batch"]["crust_score"], &shown["batch"]["notes"]), (&7.0.into(), &"seen".into()));
}

#[test]
fn ounces_and_fahrenheit_are_shown_and_typed() {
    let bench = Bench::new();
    let page = bench.serve(&["--write", "--units", "us"]);
    page.get("").says(200, &[" oz", " °F"]);
    let batch = page.get("batch?id=hall-001");
    batch.says(200, &["°F"]);
    let told =
        |page: &str| between(&page.replace("&amp;", "&"), "<strong class=\"big\">", "</strong>").to_string();
    let us = told(&page.get("next?cold_hours=24&flour_g=35.274&room_temp_c=73.4&target_rise=2.2").body);
    let metric = bench.serve(&[]);
    let g = told(&metric.get("next?cold_hours=24&flour_g=1000&room_temp_c=23&target_rise=2.2").body);
    let number = |text: &str| text.split(' ').next().unwrap().parse::<f64>().unwrap();
    assert!(us.ends_with(" oz") && g.ends_with(" g"), "{us} {g}");
    // An ounce is 28.349523125 g (international yard and pound agreement, 1959); the scale shows tenths of a gram.
    assert!((number(&us) * 28.349_523_125 - number(&g)).abs() < 0.11, "{us} {g}");
}
