//! A newcomer's sheet and a newcomer's calls: kitchens, units, decimal marks, dates, suggestions, the file of columns to
//! be said, and rows set aside.

use super::bench::{Bench, HEADINGS};

/// An invented sheet with headings that nobody knows, dates among them.
const OWN: &str = "Baked on;Flour;Water;Yeast (dry);On the bench;How much it grew;Crust (1-10);Weather\n\
                   13/09/2026;1000;620;2,5 g;1h30;2,1;7;rain\n\
                   2026-09-16;1000;620;2,4 g;90 min;2,2;8;sun\n";

#[test]
fn issue_4_the_kitchen_of_the_call_is_that_of_rows_that_name_none() {
    let bench = Bench::new();
    bench.file(
        "plain.csv",
        format!("{HEADINGS}\n2026-01-02,1000,650,2,instant\n2026-01-03,1000,650,2,instant\n"),
    );
    let told = bench.run(&["import", "plain.csv", "--kitchen", "mill"]).done();
    assert!(told.out.contains("2 batches into kitchen 'mill'\n"), "{told:?}");
    assert!(bench.run(&["list"]).done().out.contains("2 batches of kitchen 'mill'"));
    let part =
        format!("{HEADINGS},kitchen\n2026-01-04,1000,650,2,instant,\n2026-01-05,1000,650,2,instant,cafe\n");
    bench.file("part.csv", part);
    let told = bench.run(&["import", "part.csv", "--kitchen", "mill"]).done();
    assert!(told.out.contains("1 batch into kitchen 'cafe', 1 batch into kitchen 'mill'"), "{told:?}");
    assert!(told.out.contains("a row that names its kitchen keeps it"), "{told:?}");
    let again = bench.json(&["import", "part.csv", "--kitchen", "mill"]);
    assert_eq!((&again["unchanged"], &again["files"][0]["kitchens"]["mill"]), (&2.into(), &1.into()));
    // The kitchen of one call is not remembered for the next.
    bench.file("home.csv", format!("{HEADINGS}\n2026-01-06,1000,650,2,instant\n"));
    assert!(bench.run(&["import", "home.csv"]).done().out.contains("1 batch into kitchen 'home'"));
}

#[test]
fn issue_2_columns_of_a_plan_are_typed_with_their_units() {
    let bench = Bench::with_logbook();
    let plan = |extra: &[&str]| {
        let mut words = vec!["predict", "--yeast-g", "2", "--target-rise", "2"];
        words.extend(extra);
        bench.json(&words)["batches"].clone()
    };
    let metric =
        ["--room-temp-c", "22.2222222222", "--cold-hours", "24", "--flour-g", "2000", "--water-g", "1300"];
    let metric = plan(&[&metric[..], &["--temper-hours", "0.5"]].concat());
    for room in ["72F", "72 °F", "72°F"] {
        let typed = ["--room-temp-c", room, "--cold-hours", "24h", "--flour-g", "2kg", "--water-g", "65 %"];
        assert_eq!(plan(&[&typed[..], &["--temper-hours", "30min"]].concat()), metric, "{room}");
    }
    bench.run(&["recommend", "--cold-hours", "24", "--dough-between", "68F..79F"]).done();
    bench.run(&["predict", "--yeast-g", "2", "--vary", "room_temp_c=65F..80F/3"]).done();
}

#[test]
fn issue_2_a_temperature_in_the_other_scale_is_told_with_the_way_to_write_it() {
    let bench = Bench::with_logbook();
    let way = ["must lie between -10 and 50 °C", "72 °F is 22.2 °C: write 72F"];
    bench.refuses(&["recommend", "--room-temp-c", "72"], 2, &way);
    bench.refuses(&["recommend", "--units", "us", "--room-temp-c", "72"], 2, &way);
    bench.refuses(&["record", "--set", "dough_temp_c=75"], 2, &["75 °F is 23.9 °C: write 75F"]);
    bench.refuses(&["adjust", "--dough-temp", "3=72"], 2, &["write 72F"]);
    bench.file("warm.csv", format!("{HEADINGS},dough_temp_c\n2026-01-02,1000,650,2,instant,75\n"));
    let told = bench.run(&["import", "warm.csv"]);
    assert!(told.code == 3 && told.out.contains("75 °F is 23.9 °C: write 75F"), "{told:?}");
}

#[test]
fn issue_2_readings_on_the_way_are_typed_as_in_record() {
    let bench = Bench::with_logbook();
    bench.run(&["recommend", "--cold-hours", "24", "--target-rise", "2"]).done();
    let point = bench.json(&["adjust", "--reading", "20.5=1.3", "--dough-temp", "3=22.5"]);
    assert_eq!(bench.json(&["adjust", "--reading", "20,5=1,3", "--dough-temp", "3h=22,5 °C"]), point);
}

#[test]
fn issue_4_marks_with_one_reading_are_taken_beside_others() {
    let bench = Bench::new();
    let sheet = |yeasts: [&str; 3]| {
        let day = |(i, y): (usize, &&str)| format!("2026-01-0{};1000;650;{y};instant\n", i + 1);
        HEADINGS.replace(',', ";") + "\n" + &yeasts.iter().enumerate().map(day).collect::<String>()
    };
    bench.file("both.csv", sheet(["2,5 g", "2.2", "0.1 oz"]));
    let told = bench.run(&["import", "both.csv", "--logbook", "a.db"]).done();
    assert!(told.out.contains("'2.2' in row 3 has a decimal point beside '2,5 g' in row 2"), "{told:?}");
    let export = |book: &str| bench.run(&["export", "-", "--logbook", book]).done().out;
    for yeast in [",2.5,", ",2.2,", ",2.834"] {
        assert!(export("a.db").contains(yeast), "{}", export("a.db"));
    }
    bench.run(&["import", "both.csv", "--decimal", "comma", "--logbook", "b.db"]).done();
    assert_eq!(export("b.db"), export("a.db"));
    // Thousands or not is true doubt.
    bench.file("doubt.csv", sheet(["2,5", "2.2", "1.125"]));
    bench.refuses(
        &["import", "doubt.csv"],
        2,
        &["'1.125'", "thousands or not", "row 3, '2.2'", "--decimal point"],
    );
}

#[test]
fn issue_4_cells_that_are_dates_are_never_numbers() {
    let bench = Bench::new();
    let rows = "1000;650;2,5;instant;3.9.2026\n1000;650;2,4;instant;16.9.2026\n";
    bench.file("mixed.csv", format!("Flour;Water;Yeast;Kind of yeast;Day mixed\n{rows}"));
    let told = bench.run(&["import", "mixed.csv"]).done();
    assert!(told.out.contains("'Day mixed' is taken for date"), "{told:?}");
    // "Mix time" is minutes by its words; cells that are dates cannot be.
    bench.file("minutes.csv", format!("Flour;Water;Yeast;Kind of yeast;Mix time (min)\n{rows}"));
    bench.refuses(
        &["import", "minutes.csv", "--logbook", "new.db"],
        2,
        &[
            "column Mix time (min), '3.9.2026': this heading is not known, and its cells are dates; it may be date",
            "column date: every row needs it, and no heading names it; 'Mix time (min)' holds dates",
            "understood of minutes.csv: 'Flour' is flour_g in g, 'Water' is water_g in g, 'Yeast' is yeast_g in g",
        ],
    );
}

#[test]
fn issue_4_suggestions_come_from_cells_and_words_or_not_at_all() {
    let bench = Bench::new();
    bench.file("own.csv", OWN);
    let told = bench.run(&["import", "own.csv", "--check"]);
    assert_eq!(told.code, 2);
    let of = |heading: &str| {
        told.err.lines().find(|l| l.contains(&format!("column {heading}, "))).unwrap_or_default().to_string()
    };
    assert!(of("Baked on").contains("its cells are dates; it may be date ("), "{told:?}");
    assert!(of("Yeast (dry)").contains("it may be yeast_g ("), "{told:?}");
    assert!(of("On the bench").contains("it may be bulk_hours or temper_hours ("), "{told:?}");
    assert!(of("How much it grew").contains("it may be rise ("), "{told:?}");
    assert!(of("Crust (1-10)").contains("it may be crust_score ("), "{told:?}");
    assert!(!of("Weather").contains("may be"), "{told:?}");
    let call = told.err.lines().last().unwrap().trim();
    assert_eq!(
        call,
        "doughwright import own.csv --check --column 'Baked on=date' --column 'Yeast (dry)=yeast_g' \
         --column 'On the bench=?' --column 'How much it grew=rise' --column 'Crust (1-10)=crust_score' \
         --column 'Weather=?' --fill 'yeast_type=?'"
    );
    bench.refuses(&["import", "own.csv", "--column", "Weather=?"], 2, &["Weather=?", "in place of the ?"]);
    bench.refuses(&["record", "--set", "crust=8"], 2, &["nearest is crust_score"]);
    bench.refuses(&["record", "--set", "weather=8"], 2, &["no column 'weather'", "import --help"]);
}

#[test]
fn issue_4_open_headings_stand_in_the_file_of_columns() {
    let bench = Bench::new();
    bench.file("own.csv", OWN);
    assert_eq!(bench.run(&["import", "own.csv", "--save-columns", "map.toml"]).code, 2);
    let map = bench.read("map.toml");
    assert!(
        map.contains("heading = \"On the bench\"\ncolumn = \"?\"  # bulk_hours, temper_hours, ignore"),
        "{map}"
    );
    bench.refuses(
        &["import", "own.csv", "--columns", "map.toml"],
        2,
        &["map.toml", "'On the bench'", "'Weather'", "in place of the ?"],
    );
    let said = |column: &str, heading: &str, map: &str| {
        let open = format!("heading = \"{heading}\"\ncolumn = \"?\"");
        assert!(map.contains(&open), "{map}");
        map.replace(&open, &format!("heading = \"{heading}\"\ncolumn = \"{column}\""))
    };
    let mut map = said("date", "Baked on", &map);
    for (heading, column) in [
        ("Yeast (dry)", "yeast_g"),
        ("On the bench", "bulk_hours"),
        ("How much it grew", "rise"),
        ("Crust (1-10)", "crust_score"),
        ("Weather", "notes"),
    ] {
        map = said(column, heading, &map);
    }
    bench.file("map.toml", map.replace("# fill.yeast_type", "fill.yeast_type"));
    let told = bench.run(&["import", "own.csv", "--columns", "map.toml"]).done();
    assert!(told.out.contains("own.csv: 2 new"), "{told:?}");
}

#[test]
fn issue_4_rows_set_aside_keep_the_form_of_their_sheet() {
    let bench = Bench::new();
    let rows = "2026-01-02;1000;650;2,5;instant\n2026-01-03;1000;650;a pinch;instant\n2026-01-04;1000;650;?;instant\n";
    bench.file("book.csv", format!("{}\n{rows}", HEADINGS.replace(',', ";")));
    let told = bench.run(&["import", "book.csv", "--kitchen", "mill"]);
    assert_eq!(told.code, 3, "{told:?}");
    assert!(
        told.out.contains("'a pinch': a number is wanted, in g: give your best guess, or leave the row out"),
        "{told:?}"
    );
    assert!(told.out.contains("import that file with --kitchen mill"), "{told:?}");
    let aside = bench.read("book.set-aside.csv");
    assert!(aside.starts_with("date;flour_g;water_g;yeast_g;yeast_type;problem\n"), "{aside}");
    bench.file("book.set-aside.csv", aside.replace("a pinch", "2,2"));
    let told = bench.run(&["import", "book.set-aside.csv", "--kitchen", "mill"]);
    assert!(told.code == 3 && told.out.contains("set aside in book.set-aside-2.csv"), "{told:?}");
    assert!(bench.run(&["export", "-"]).done().out.contains(",2.2,"));
    bench.file("book.set-aside-2.csv", bench.read("book.set-aside-2.csv").replace(";?;", ";2,1;"));
    bench.run(&["import", "book.set-aside-2.csv", "--kitchen", "mill"]).done();
    assert!(bench.run(&["list"]).done().out.contains("3 batches of kitchen 'mill'"));
}
