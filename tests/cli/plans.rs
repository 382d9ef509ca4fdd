//! Plans kept by the dozen: each is named, asked for again it is the same, and nothing goes to the wrong batch.

use jiff::{ToSpan, ZonedDateTime};

use crate::bench::Bench;

/// A day so many days from today.
fn day(from_today: i64) -> String {
    (ZonedDateTime::now().date() + from_today.days()).to_string()
}

/// `recommend` with what is asked; the id of its plan.
fn kept(bench: &Bench, asked: &[&str]) -> String {
    let told = bench.json(&[&["recommend"], asked].concat());
    told["plan_ids"][0].as_str().unwrap().to_string()
}

#[test]
fn an_adjustment_says_which_plan_it_is_about_and_takes_the_one_named() {
    let bench = Bench::with_logbook();
    let first = kept(&bench, &["--cold-hours", "24"]);
    let what_if = kept(&bench, &["--cold-hours", "60"]);
    assert_ne!(first, what_if);
    let told = bench.run(&["adjust", "--plan", &first, "--reading", "3=1.2"]).done().out;
    assert!(
        told.starts_with(&format!("about {first}: 24 h cold, ")) && told.contains(" g yeast; kept "),
        "{told}"
    );
    let named = |id: &str| bench.json(&["adjust", "--plan", id, "--reading", "3=1.2"]);
    let (a, b) = (named(&first), named(&what_if));
    assert_eq!((&a["about"]["plan_id"], &a["about"]["cold_hours"]), (&first.as_str().into(), &24.0.into()));
    assert!(a["about"]["kept_at"].is_string() && a["about"]["yeast_g"].is_number(), "{a}");
    assert_eq!(b["about"]["cold_hours"], 60.0);
    // What came otherwise than planned is said beside it.
    let warmer = bench.json(&["adjust", "--plan", &first, "--cold-hours", "20", "--reading", "3=1.2"]);
    assert_eq!(warmer["about"]["cold_hours"], 20.0);
    // None is named: the one kept last, and a word about the other.
    let told = bench.json(&["adjust", "--reading", "3=1.2"]);
    assert_eq!(told["about"]["plan_id"].as_str(), Some(what_if.as_str()));
    assert_eq!(told["ready_in_hours"], b["ready_in_hours"]);
    let note = told["about"]["notes"][0].as_str().unwrap();
    assert!(
        note.contains("2 plans are open") && note.contains(&format!("--plan {first} (24 h cold")),
        "{note}"
    );
    let text = bench.run(&["adjust", "--reading", "3=1.2"]).done().out;
    assert!(text.lines().nth(1).unwrap().contains(&format!("--plan {first}")), "{text}");

    bench.refuses(
        &["adjust", "--plan", "nobody", "--reading", "3=1.2"],
        1,
        &["no plan 'nobody'", &first, &what_if],
    );
    let said = format!("adjust --plan {first}");
    bench.refuses(&["adjust", &first, "--reading", "3=1.2"], 2, &["no file", &said]);
    bench.refuses(&["bench-sheet", &first], 2, &["no file", &format!("bench-sheet --plan {first}")]);
}

#[test]
fn a_dough_that_is_mixed_goes_before_plans_that_were_only_thought_of() {
    let bench = Bench::with_logbook();
    let mixed = kept(&bench, &["--cold-hours", "24"]);
    let set = format!("date={}T08:00", day(0));
    let told = bench.json(&["record", "--plan", &mixed, "--set", &set, "dough_temp_c=23", "room_temp_c=22"]);
    kept(&bench, &["--cold-hours", "60"]);
    let told_now = bench.json(&["adjust", "--reading", "3=1.2"]);
    assert_eq!(told_now["about"]["plan_id"].as_str(), Some(mixed.as_str()));
    assert_eq!(told_now["about"]["batch_id"], told["batch_id"]);
    assert!(
        told_now["about"]["mixed_at"].as_str().unwrap().starts_with(&format!("{}T08:", day(0))),
        "{told_now}"
    );
    let text = bench.run(&["adjust", "--reading", "3=1.2"]).done().out;
    assert!(text.contains("it is mixed already") && text.contains(" as batch "), "{text}");
}

#[test]
fn the_same_plan_asked_for_again_keeps_its_code() {
    let bench = Bench::with_logbook();
    let asked = ["--cold-hours", "24"];
    let id = kept(&bench, &asked);
    for more in [&["--to", "sheet.html"][..], &["--to", "us.html", "--units", "us"], &["--to", "sheet.txt"]] {
        let told = bench.json(&[&["bench-sheet"], &asked[..], more].concat());
        assert_eq!(told["codes"][0].as_str(), Some(id.as_str()));
    }
    let other = kept(&bench, &["--cold-hours", "30"]);
    assert_eq!((kept(&bench, &asked), kept(&bench, &["--cold-hours", "30"])), (id.clone(), other.clone()));
    let listed = bench.json(&["list", "--plans"]);
    let ids: Vec<&str> =
        listed["plans"].as_array().unwrap().iter().map(|p| p["plan_id"].as_str().unwrap()).collect();
    assert_eq!(ids, [id.as_str(), other.as_str()]);
    // Two rows that are alike are two batches; and a plan that was baked is over.
    let two = "date,target_rise,cold_hours\n2026-12-05,2.2,24\n2026-12-05,2.2,24\n";
    let told = bench.json(&["recommend", bench.file("two.csv", two)]);
    assert_ne!(told["plan_ids"][0], told["plan_ids"][1]);
    assert_eq!(bench.json(&["recommend", "two.csv"])["plan_ids"], told["plan_ids"]);
    let baked = told["plan_ids"][0].as_str().unwrap();
    bench.run(&["record", "--plan", baked, "--set", &format!("date={}", day(-1)), "room_temp_c=22"]).done();
    assert!(!bench.json(&["recommend", "two.csv"])["plan_ids"].as_array().unwrap().contains(&baked.into()));
}

#[test]
fn kept_plans_are_listed_and_their_sheets_printed() {
    let bench = Bench::with_logbook();
    let clock = ["--bake-at", "2026-12-05T18:30", "--as-of", "2026-12-01T12:00", "--zone", "UTC0"];
    let id = kept(&bench, &[&["--cold-hours", "24"], &clock[..]].concat());
    let of_recommend =
        bench.run(&[&["bench-sheet", "--to", "-", "--cold-hours", "24"], &clock[..]].concat()).done().out;
    let of_kept = bench.run(&["bench-sheet", "--plan", &id, "--to", "-"]).done().out;
    assert_eq!(of_kept, of_recommend, "the clock too");
    assert_eq!(bench.json(&["bench-sheet", "--plan", &id])["codes"][0].as_str(), Some(id.as_str()));
    bench.refuses(&["bench-sheet", "--plan", &id, "--cold-hours", "3"], 2, &["leave the plan's columns out"]);
    bench.refuses(&["bench-sheet", "--plan", &id, "--pieces", "3"], 2, &["cannot be used with"]);
    bench.refuses(&["bench-sheet", "--plan", "nobody"], 1, &["no plan 'nobody'", &id]);

    let plan = bench.json(&["list", "--plans"])["plans"][0].clone();
    assert_eq!((&plan["plan_id"], &plan["cold_hours"]), (&id.as_str().into(), &24.0.into()));
    assert!(
        plan["yeast_g"].is_number() && plan["water_g"].is_number() && plan["batch_id"].is_null(),
        "{plan}"
    );
    assert!(plan["date"].as_str().unwrap().starts_with("2026-12-04T"), "{plan}");
    let text = bench.run(&["list", "--plans"]).done().out;
    assert!(text.contains("not yet") && text.ends_with("1 plan of kitchen 'hall'\n"), "{text}");
    let batch = bench.json(&["record", "--plan", &id, "--set", "dough_temp_c=23"])["batch_id"].clone();
    assert_eq!(bench.json(&["list", "--plans"])["plans"][0]["batch_id"], batch);
}

#[test]
fn a_plan_becomes_one_batch_and_no_more() {
    let bench = Bench::with_logbook();
    let plan = kept(&bench, &["--cold-hours", "24"]);
    let set = format!("date={}", day(-1));
    // A reading begins the batch, the next one and the outcome go to it.
    let batch =
        bench.json(&["record", "--plan", &plan, "--set", &set, "--reading", "1=1.1"])["batch_id"].clone();
    let batch = batch.as_str().unwrap();
    for words in [["--reading", "3=1.3"], ["--set", "ripeness=ready"], ["--set", "rise=2.1"]] {
        let told = bench.json(&[&["record", "--plan", &plan][..], &words].concat());
        assert_eq!((&told["batch_id"], &told["added"]), (&batch.into(), &false.into()), "{words:?}");
    }
    let remedy = format!("plan {plan} is batch {batch} already: finish it with `record --batch {batch}`");
    for words in [&["--set", "rise=2.1"][..], &["--set", "yeast_g=9"], &["--reading", "4=1.4"], &[]] {
        bench.refuses(&[&["record", "--plan", &plan][..], words].concat(), 2, &[&remedy]);
    }
    let listed = bench.json(&["list", "--last", "2"]);
    assert_eq!(listed["batches"][1]["batch_id"].as_str(), Some(batch));
    assert_ne!(listed["batches"][0]["plan_id"].as_str(), Some(plan.as_str()));
}

#[test]
fn a_rise_before_its_day_is_told() {
    let bench = Bench::with_logbook();
    let plan = kept(&bench, &["--cold-hours", "24"]);
    let set = format!("date={}", day(1));
    let told = bench.run(&["record", "--plan", &plan, "--set", &set]).done().out;
    assert!(!told.contains("check the date"), "it is only planned: {told}");
    let told = bench.json(&["record", "--plan", &plan, "--set", "rise=2.1"]);
    assert_eq!(told["warnings"][0], "dated tomorrow, yet its rise is written down: check the date");
    let table = format!("batch_id,{},bulk_hours,rise\n", crate::bench::HEADINGS);
    let rows = format!("late,{},1000,650,2,instant,3,2\nfine,{},1000,650,2,instant,3,2\n", day(40), day(-40));
    let words = ["import", bench.file("log.csv", table + &rows)];
    let told = bench.run(&[&words[..], &["--check"]].concat()).done().out;
    assert!(told.contains("log.csv row 2: dated 40 days from now") && !told.contains("row 3"), "{told}");
    assert_eq!(bench.json(&words)["notes"].as_array().unwrap().len(), 1);
}

#[test]
fn a_reading_does_not_go_to_a_batch_baked_long_ago() {
    let bench = Bench::new();
    let said = |id: &str, date: &str, rise: &'static str| {
        let mut words: Vec<String> =
            ["record", "--set", "flour_g=1000", "water_g=650", "yeast_g=2"].map(String::from).to_vec();
        words.extend(["yeast_type=instant".into(), "bulk_hours=3".into(), rise.into()]);
        words.extend([format!("batch_id={id}"), format!("date={date}")]);
        bench.run(&words).done();
    };
    said("old", &day(-21), "rise=2");
    let plan = kept(&bench, &["--cold-hours", "24", "--room-temp-c", "22", "--target-rise", "2.2"]);
    bench.refuses(
        &["record", "--reading", "3=1.2"],
        2,
        &["old, was mixed 21 days ago", "--batch old", &format!("adjust --plan {plan} --reading")],
    );
    assert_eq!(bench.json(&["record", "--batch", "old", "--reading", "3=1.2"])["readings"], 1);
    // Without its rise it may still be under way, and one of yesterday may be looked at once more.
    said("waiting", &day(-20), "notes=none");
    assert_eq!(bench.json(&["record", "--reading", "3=1.2"])["batch_id"], "waiting");
    said("new", &day(-1), "rise=2");
    assert_eq!(bench.json(&["record", "--reading", "2=1.2"])["batch_id"], "new");
}

#[test]
fn an_adjustment_is_told_on_the_clock() {
    let bench = Bench::with_logbook();
    let clock = ["--bake-at", "2026-12-05T18:30", "--as-of", "2026-12-01T12:00", "--zone", "UTC0"];
    kept(&bench, &[&["--cold-hours", "24"], &clock[..]].concat());
    let text = bench.run(&["adjust", "--reading", "3=1.2"]).done().out;
    let lines: Vec<&str> = text.lines().collect();
    assert!(lines[0].contains("mixing ends Fri 4 Dec 14:30 by the plan"), "{text}");
    let ready = lines.iter().find(|l| l.starts_with("ready ")).unwrap();
    assert!(
        ready.starts_with("ready Sat ")
            && ready.contains("; 8 of 10 times Sat ")
            && ready.contains(" to Sat "),
        "{ready}"
    );
    // Nobody knows readiness better than to a quarter of an hour.
    let minutes = ready.split(':').skip(1).map(|after| &after[..2]);
    assert!(
        minutes.clone().count() == 5 && minutes.into_iter().all(|m| ["00", "15", "30", "45"].contains(&m)),
        "{ready}"
    );
    let kept_to = lines.iter().find(|l| l.starts_with("keep to the plan  ")).unwrap();
    assert!(kept_to.contains("Sat 18:30, in 25 h"), "{kept_to}");
    assert!(!text.contains("-0 %") && text.contains("this batch works "), "{text}");

    // Without an hour, hours from now; an interval is one.
    kept(&bench, &["--cold-hours", "24"]);
    let text = bench.run(&["adjust", "--reading", "3=1.2"]).done().out;
    let ready = text.lines().find(|l| l.starts_with("ready ")).unwrap();
    assert!(ready.starts_with("ready in ") && ready.contains("; 8 of 10 times in "), "{ready}");
    assert!(!ready.contains("to in "), "{ready}");
}

#[test]
fn what_is_taken_back_is_named_and_counted() {
    let bench = Bench::new();
    let table = format!("batch_id,{}\na,2026-03-01,1000,650,2,instant\n", crate::bench::HEADINGS);
    bench.run(&["import", bench.file("one.csv", &table)]).done();
    bench.run(&["record", "--batch", "a", "--set", "yeast_g=2.2"]).done();
    bench.run(&["record", "--batch", "a", "--reading", "1=1.2", "2=1.4"]).done();
    let undone = |said: &str| assert_eq!(bench.run(&["undo"]).done().out, format!("{said}\n"));
    undone("what was recorded of batch a is taken back: 2 rows out");
    undone("what was recorded of batch a is taken back: 1 value is as it was before");
    assert_eq!(bench.run(&["export", "all.csv"]).done().out, "1 batch in all.csv\n");
    undone("the import of one.csv of batch a is taken back: 1 row out");
    let many: String = (1..=7).map(|i| format!("b{i},2026-03-0{i},1000,650,2,instant\n")).collect();
    bench
        .run(&["import", bench.file("many.csv", format!("batch_id,{}\n{many}", crate::bench::HEADINGS))])
        .done();
    undone("the import of many.csv of batches b1, b2, b3, b4, b5 and 2 more is taken back: 7 rows out");
}
