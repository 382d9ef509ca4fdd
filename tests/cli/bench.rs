//! A bench to work at: a folder of its own, the program, and a logbook of the invented records made once.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Output;
use std::sync::OnceLock;

use assert_cmd::Command;
use serde_json::Value;
use tempfile::TempDir;

/// The program under test.
pub const PROGRAM: &str = env!("CARGO_BIN_EXE_doughwright");

/// One batch of the needed columns, and no more.
pub const HEADINGS: &str = "date,flour_g,water_g,yeast_g,yeast_type";

/// Says that a test could not be set up here; on standard error itself, since the harness holds back what `eprintln!` says.
pub fn passed_over(why: &str) {
    let _ = writeln!(std::io::stderr(), "PASSED OVER, NOT TESTED: {why}");
}

/// A file of the invented records.
pub fn demo_data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data").join(name)
}

/// A folder of its own that goes when the test ends.
pub struct Bench(TempDir);

/// What a command did.
#[derive(Debug)]
pub struct Told {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Bench {
    /// An empty folder.
    pub fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    /// A folder with a logbook of the invented records and their fit.
    pub fn with_logbook() -> Self {
        static READY: OnceLock<Vec<u8>> = OnceLock::new();
        let ready = READY.get_or_init(|| {
            let bench = Self::new();
            let tables = ["batches.csv", "readings.csv", "surroundings.csv"].map(demo_data);
            let mut words = vec!["import".into()];
            words.extend(tables.iter().map(|t| t.display().to_string()));
            bench.run(&words).done();
            bench.run(&["fit"]).done();
            assert!(!bench.path("logbook.db-wal").exists(), "a closed logbook is one file");
            fs::read(bench.path("logbook.db")).unwrap()
        });
        let bench = Self::new();
        fs::write(bench.path("logbook.db"), ready).unwrap();
        bench
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    pub fn folder(&self) -> &Path {
        self.0.path()
    }

    /// Writes a file and gives back its name.
    pub fn file<'a>(&self, name: &'a str, bytes: impl AsRef<[u8]>) -> &'a str {
        fs::write(self.path(name), bytes).unwrap();
        name
    }

    pub fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap()
    }

    /// The logbook, byte for byte.
    pub fn logbook(&self) -> Vec<u8> {
        fs::read(self.path("logbook.db")).unwrap()
    }

    /// The program, ready to run here.
    pub fn command(&self, words: &[impl AsRef<str>]) -> Command {
        let mut command = Command::new(PROGRAM);
        command.current_dir(self.folder()).env_remove("DOUGHWRIGHT_LOGBOOK");
        command.args(words.iter().map(AsRef::as_ref));
        command
    }

    /// Runs the program.
    pub fn run(&self, words: &[impl AsRef<str>]) -> Told {
        self.command(words).output().unwrap().into()
    }

    /// Runs it with `--json`; the document on standard output, which holds nothing else.
    pub fn json(&self, words: &[impl AsRef<str>]) -> Value {
        let mut all: Vec<&str> = words.iter().map(AsRef::as_ref).collect();
        all.push("--json");
        self.run(&all).done().json()
    }

    /// Checks that a call is refused, with the words in its message, and leaves the logbook as it was.
    pub fn refuses(&self, words: &[impl AsRef<str>], code: i32, said: &[&str]) {
        let before = fs::read(self.path("logbook.db")).ok();
        self.run(words).refused(code, said);
        assert_eq!(fs::read(self.path("logbook.db")).ok(), before, "the logbook was touched");
    }
}

impl From<Output> for Told {
    fn from(output: Output) -> Self {
        let text = |bytes| String::from_utf8(bytes).unwrap();
        let told = Self {
            code: output.status.code().expect("the program ended by itself"),
            out: text(output.stdout),
            err: text(output.stderr),
        };
        for shown in [&told.out, &told.err] {
            assert!(!shown.contains("panicked") && !shown.contains("RUST_BACKTRACE"), "a panic: {told:?}");
        }
        told
    }
}

impl Told {
    /// It worked, wholly.
    pub fn done(self) -> Self {
        assert_eq!(self.code, 0, "{self:?}");
        self
    }

    /// It did not work, and one message says why; standard output is clean.
    pub fn refused(self, code: i32, said: &[&str]) {
        assert_eq!(self.code, code, "{self:?}");
        assert_eq!(self.out, "", "standard output is for answers: {self:?}");
        let messages =
            self.err.lines().filter(|l| l.starts_with("doughwright: ") || l.starts_with("error: ")).count();
        assert_eq!(messages, 1, "one message: {self:?}");
        for words in said {
            assert!(self.err.contains(words), "'{words}' is not said in {self:?}");
        }
    }

    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("{e} in {self:?}"))
    }
}
