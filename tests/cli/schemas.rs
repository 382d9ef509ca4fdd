//! Every command's real answers are as its committed schema says (checked with the jsonschema crate).

use std::collections::BTreeMap;
use std::path::PathBuf;

use serde_json::Value;

use crate::bench::{Bench, demo_data};

/// Calls of each command that show what its answer may hold; `plan.csv` and `log.csv` lie beside the logbook, and
/// `BATCH` and `PLAN` stand for one that is there.
const CALLS: &[(&str, &[&str])] = &[
    ("import", &["log.csv", "--check"]),
    ("import", &["log.csv"]),
    ("undo", &[]),
    ("fit", &["--method", "quick", "--check", "--gaps", "--drift", "on"]),
    ("fit", &["--method", "full", "--draws", "100", "--warmup", "200", "--chains", "2", "--drift", "off"]),
    ("fit", &["--method", "quick", "--draws", "200", "--compare"]),
    ("fit", &["--all-kitchens", "--pool"]),
    ("recommend", &["plan.csv"]),
    ("recommend", &["--cold-hours", "24"]),
    ("recommend", &["--target-rise", "8", "--cold-hours", "4"]),
    (
        "recommend",
        &[
            "--bake-at",
            "2027-12-05T18:30",
            "--as-of",
            "2027-12-01T08:00",
            "--zone",
            "UTC0",
            "--free",
            "cold_hours=18..30",
            "--task",
            "sauce=1d before bake",
            "--pieces",
            "24",
            "--piece-g",
            "250",
            "--scale",
            "1",
            "--out",
            "charts",
        ],
    ),
    ("predict", &["plan.csv", "--yeast-g", "5", "--out", "charts"]),
    (
        "predict",
        &["plan.csv", "--yeast-g", "5", "--vary", "cold_hours=18..48/3", "--vary", "room_temp_c=18..26/3"],
    ),
    (
        "adjust",
        &["plan.csv", "--yeast-g", "5", "--reading", "12=1.3", "--reading", "20=1.5", "--dough-temp", "20=5"],
    ),
    ("adjust", &["plan.csv", "--yeast-g", "5", "--reading", "12=1.1", "--reading", "26=1.5"]),
    ("adjust", &["--plan", "PLAN", "--reading", "3=1.2"]),
    ("adjust", &["--reading", "3=1.2"]),
    ("trial", &[]),
    ("trial", &["--compare", "flour_name", "strong", "very strong"]),
    ("residuals", &[]),
    ("consistency", &[]),
    (
        "consistency",
        &["--of", "crust_score", "--content", "6..", "--rules", "nelson", "--phase", "oven=2026-03-01"],
    ),
    ("consistency", &["--of", "hours_late"]),
    ("crust", &[]),
    ("crust", &["--of", "ripeness"]),
    ("charts", &["--png"]),
    ("report", &[]),
    ("bench-sheet", &["plan.csv"]),
    ("bench-sheet", &["--plan", "PLAN"]),
    ("list", &["--last", "5"]),
    ("list", &["--plans"]),
    ("show", &["BATCH", "--history"]),
    (
        "record",
        &["--set", "date=2026-11-30", "flour_g=1000", "water_g=650", "yeast_g=2", "yeast_type=instant"],
    ),
    ("record", &["--plan", "PLAN", "--set", "date=2026-11-29", "rise=2.1"]),
    ("record", &["--reading", "3=1.4"]),
    ("template", &["empty.xlsx"]),
    ("export", &["all.csv"]),
    ("export", &["all.xlsx"]),
    ("backup", &["copy.db"]),
    ("completions", &["bash"]),
    ("man", &["recommend"]),
    ("man", &["--out", "pages"]),
    ("demo", &["--out", "demo"]),
];

/// The committed schemas, by command.
fn schemas() -> BTreeMap<String, jsonschema::Validator> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("schemas");
    let schema = |entry: std::io::Result<std::fs::DirEntry>| {
        let path = entry.unwrap().path();
        let schema: Value = serde_json::from_slice(&std::fs::read(&path).unwrap()).unwrap();
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        (name, jsonschema::validator_for(&schema).unwrap())
    };
    std::fs::read_dir(folder).unwrap().map(schema).collect()
}

#[test]
fn issue_7_answers_are_as_their_schemas_say() {
    let bench = Bench::with_logbook();
    bench.file("plan.csv", std::fs::read(demo_data("plan.csv")).unwrap());
    bench.file(
        "log.csv",
        "batch_id,date,flour_g,water_g,yeast_g,yeast_type\nb1,2026-11-28,1000,650,2,instant\nb2,2026-11-29,1000,650,lots,instant\n",
    );
    let batch = bench.json(&["list", "--last", "1"])["batches"][0]["batch_id"].as_str().unwrap().to_string();
    let plan = bench.json(&["recommend", "--cold-hours", "20"])["plan_ids"][0].as_str().unwrap().to_string();
    let schemas = schemas();
    for (command, words) in CALLS {
        let named = |word: &&str| match *word {
            "BATCH" => batch.clone(),
            "PLAN" => plan.clone(),
            word => word.to_string(),
        };
        let mut all = vec![command.to_string()];
        all.extend(words.iter().map(named));
        all.push("--json".into());
        let told = bench.run(&all);
        assert!([0, 3].contains(&told.code), "{all:?}: {told:?}");
        let answer = told.json();
        let wrong: Vec<String> =
            schemas[*command].iter_errors(&answer).map(|e| format!("{}: {e}", e.instance_path())).collect();
        assert!(wrong.is_empty(), "{all:?}: {wrong:#?}");
        assert_eq!(answer["schema_version"], 1, "{all:?}");
    }
    let served = answer_of_serve(&bench);
    let wrong: Vec<String> = schemas["serve"].iter_errors(&served).map(|e| e.to_string()).collect();
    assert!(wrong.is_empty(), "{served}: {wrong:#?}");
    for command in schemas.keys().filter(|c| *c != "serve") {
        assert!(CALLS.iter().any(|(called, _)| called == command), "no call of {command}");
    }
}

/// `serve` answers first and then stays; it is ended here.
fn answer_of_serve(bench: &Bench) -> Value {
    let mut serving = std::process::Command::new(env!("CARGO_BIN_EXE_doughwright"))
        .args(["serve", "--json"])
        .current_dir(bench.folder())
        .stdout(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    let out = serving.stdout.take().unwrap();
    let answer = serde_json::Deserializer::from_reader(out).into_iter().next();
    serving.kill().unwrap();
    serving.wait().unwrap();
    answer.unwrap().unwrap()
}

/// A schema that allows everything would make the test above say nothing.
#[test]
fn issue_7_a_schema_refuses_what_is_not_an_answer() {
    let bench = Bench::with_logbook();
    let schemas = schemas();
    let sound = bench.json(&["recommend", "--cold-hours", "24"]);
    let spoilt: [(&str, Value); 3] =
        [("/plans/0/yeast_g", "much".into()), ("/schema_version", 2.into()), ("/warnings", Value::Null)];
    for (place, value) in spoilt {
        let mut answer = sound.clone();
        *answer.pointer_mut(place).unwrap() = value;
        assert!(!schemas["recommend"].is_valid(&answer), "{place}");
    }
    for (command, schema) in &schemas {
        assert!(!schema.is_valid(&serde_json::json!({ "schema_version": 1 })), "{command}");
    }
}
