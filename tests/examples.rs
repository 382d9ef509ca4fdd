//! Every example in the README and in the help is run, in a folder with a logbook of the invented records; what the README
//! shows as printed is compared line by line.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use tempfile::TempDir;

const PROGRAM: &str = env!("CARGO_BIN_EXE_doughwright");

/// A folder as a baker's: the demo's logbook, some tables to import, a plan under way.
struct Kitchen {
    folder: TempDir,
    batch: String,
    plan: String,
}

impl Kitchen {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        for (from, to) in
            [("plan.csv", "plan.csv"), ("readings.csv", "readings.csv"), ("batches.csv", "batches.csv")]
        {
            fs::copy(root.join("demo-data").join(from), folder.path().join(to)).unwrap();
        }
        let warm = fs::read_to_string(root.join("demo-data/batches.csv")).unwrap().replacen(
            "bulk_temp_c",
            "Warm spot",
            1,
        );
        fs::write(folder.path().join("mine.csv"), &warm).unwrap();
        fs::write(folder.path().join("your-batches.csv"), warm.replacen("Warm spot", "bulk_temp_c", 1))
            .unwrap();
        let mut kitchen = Self { folder, batch: String::new(), plan: String::new() };
        kitchen.done("doughwright import batches.csv readings.csv");
        let json = |text: String| -> serde_json::Value { serde_json::from_str(&text).unwrap() };
        let listed = json(kitchen.done("doughwright list --last 1 --json").out);
        kitchen.batch = listed["batches"][0]["batch_id"].as_str().unwrap().to_string();
        let planned = json(kitchen.done("doughwright recommend plan.csv --json").out);
        kitchen.plan = planned["plan_ids"][0].as_str().unwrap().to_string();
        kitchen
    }

    /// Writes down a batch of a plan, with what was measured of it.
    fn bake_by_a_plan(&self) {
        let planned = self.done("doughwright recommend --cold-hours 22 --json").out;
        let planned: serde_json::Value = serde_json::from_str(&planned).unwrap();
        let plan = planned["plan_ids"][0].as_str().unwrap();
        let measured = "date=2026-09-04 room_temp_c=22 dough_temp_c=23.5 rise=2.1";
        self.done(&format!("doughwright record --plan {plan} --set {measured}"));
    }

    /// Runs a line as a shell would, in the days before a bake that it names and with short chains; `BATCH` and `ID` stand
    /// for one that is there, and Enter answers all questions.
    fn run(&self, line: &str) -> Told {
        let line = line.replace("BATCH", &self.batch).replace(" ID", &format!(" {}", self.plan));
        let line =
            line.replace("--bake-at 2026-12-05T18:30", "--bake-at 2026-12-05T18:30 --as-of 2026-12-01T08:00");
        let line = line.replace("doughwright fit", "doughwright fit --draws 100 --warmup 200");
        let line = if line.starts_with("doughwright serve") { until_open(&line) } else { line };
        let path = format!(
            "{}:{}",
            Path::new(PROGRAM).parent().unwrap().display(),
            std::env::var("PATH").unwrap_or_default()
        );
        fs::write(self.folder.path().join("answers"), "\n".repeat(100)).unwrap();
        let mut shell = Command::new("sh");
        shell.args(["-c", &line]).current_dir(self.folder.path()).env("PATH", path).env("TZ", "UTC0");
        shell
            .env_remove("DOUGHWRIGHT_LOGBOOK")
            .stdin(fs::File::open(self.folder.path().join("answers")).unwrap());
        let output = shell.output().unwrap();
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        Told { code: output.status.code(), out: text(output.stdout), err: text(output.stderr) }
    }

    fn done(&self, line: &str) -> Told {
        let told = self.run(line);
        assert!(told.code == Some(0), "{line}\n{}{}", told.out, told.err);
        told
    }
}

/// The page is served until its address is told; then Ctrl-C ends it. What an earlier one told is taken away first: found in
/// its place, it would send Ctrl-C to a page that does not listen yet.
fn until_open(line: &str) -> String {
    let line = line.split(" #").next().unwrap();
    format!(
        "rm -f served; {line} > served & id=$!
        while kill -0 $id && ! grep -qs '^open ' served; do sleep 0.1; done
        kill -INT $id && wait $id && cat served"
    )
}

struct Told {
    code: Option<i32>,
    out: String,
    err: String,
}

/// A fenced block of a document: its language and its text.
fn blocks(document: &str) -> Vec<(String, String)> {
    let mut found: Vec<(String, String)> = Vec::new();
    let mut inside = false;
    for line in document.lines() {
        match line.strip_prefix("```") {
            Some(language) if !inside => {
                inside = true;
                found.push((language.to_string(), String::new()));
            }
            Some(_) => inside = false,
            None if inside => {
                let (_, text) = found.last_mut().unwrap();
                text.push_str(line);
                text.push('\n');
            }
            None => {}
        }
    }
    found
}

fn readme() -> String {
    fs::read_to_string(PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap()
}

/// The commands of a block, with lines that end in a backslash joined.
fn lines(block: &str) -> Vec<String> {
    let joined = block.replace("\\\n", " ");
    joined.lines().map(|l| l.trim().to_string()).filter(|l| !l.is_empty()).collect()
}

#[test]
fn issue_7_every_command_in_the_readme_works() {
    let mut run = 0;
    for (language, block) in blocks(&readme()) {
        if language != "sh" {
            assert_eq!(language, "text", "a block of the README that no test knows");
            continue;
        }
        // Each block begins as a kitchen stands before it.
        let kitchen = Kitchen::new();
        // What builds and tests this program is run by `.ci/run`.
        for line in lines(&block).iter().filter(|l| !l.starts_with("cargo ")) {
            assert!(line.starts_with("doughwright "), "{line}");
            kitchen.done(line);
            run += 1;
        }
    }
    assert!(run > 25, "the README has fewer examples than it had: {run}");
}

/// `$` begins a command, `...` stands for any lines.
#[test]
fn issue_7_what_the_readme_shows_is_what_is_printed() {
    let kitchen = Kitchen::new();
    let mut compared = 0;
    for (_, block) in blocks(&readme()).into_iter().filter(|(language, _)| language == "text") {
        for part in block.split("$ ").filter(|p| !p.trim().is_empty()) {
            let (command, shown) = part.split_once('\n').unwrap();
            assert_printed(command, shown, &kitchen.done(command).out);
            compared += 1;
        }
    }
    assert!(compared > 0);
}

fn assert_printed(command: &str, shown: &str, printed: &str) {
    let (shown, printed): (Vec<&str>, Vec<&str>) =
        (shown.trim().lines().collect(), printed.trim().lines().collect());
    let mut at = 0;
    let mut any = false;
    for line in shown {
        if line == "..." {
            any = true;
            continue;
        }
        let here = if any { printed[at..].iter().position(|l| *l == line).map(|i| at + i) } else { Some(at) };
        let found = here.filter(|i| printed.get(*i) == Some(&line));
        let Some(found) = found else {
            panic!("{command}: '{line}' is shown, '{:?}' is printed", printed.get(at))
        };
        (at, any) = (found + 1, false);
    }
    assert!(any || at == printed.len(), "{command}: more is printed than shown: {:?}", &printed[at..]);
}

/// The examples of a command's help, which begins with them.
fn examples(words: &[&str]) -> Vec<String> {
    let output = Command::new(PROGRAM).args(words).arg("--help").output().unwrap();
    let help = String::from_utf8(output.stdout).unwrap();
    let (_, rest) =
        help.split_once("\nExamples:\n").unwrap_or_else(|| panic!("{words:?}: no examples:\n{help}"));
    let (first, _) =
        rest.split_once("\nUsage:").unwrap_or_else(|| panic!("{words:?}: examples go first:\n{help}"));
    first.lines().filter(|l| l.starts_with("  ")).map(|l| l.trim().to_string()).collect()
}

#[test]
fn issue_7_every_example_in_the_help_works() {
    let kitchen = Kitchen::new();
    kitchen.bake_by_a_plan();
    let commands = doughwright::cli::command();
    let names: Vec<&str> = commands.get_subcommands().map(clap::Command::get_name).collect();
    assert!(names.len() > 15, "{names:?}");
    for line in examples(&[]) {
        kitchen.done(&line);
    }
    for name in names {
        let examples = examples(&[name]);
        assert!(!examples.is_empty(), "{name}");
        for line in examples {
            assert!(line.starts_with(&format!("doughwright {name}")), "{line}");
            kitchen.done(&line);
        }
    }
}

/// `-h` and `--help` both begin with them, and no line is too long for a usual terminal.
#[test]
fn issue_7_short_help_has_the_examples_too() {
    let output = Command::new(PROGRAM).args(["recommend", "-h"]).output().unwrap();
    assert!(String::from_utf8(output.stdout).unwrap().contains("Examples:\n  doughwright recommend"));
}
