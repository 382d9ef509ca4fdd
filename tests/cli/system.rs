//! What the operating system may do to a run: no right to write, no room, a reader who goes away. (File systems that are
//! full or may not be written: `tests/faults`.)
//!
//! A superuser may write anywhere, so where these tests run as one, the program is run as nobody. What a
//! system does not allow to be set up is passed over, and said.

use std::fs::{self, File, Permissions};
use std::io::Read;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Command, Stdio};

use crate::bench::{Bench, PROGRAM, Told, demo_data, passed_over};

/// The user "nobody" by custom of Unix systems.
const NOBODY: u32 = 65534;

fn mode(path: &Path, mode: u32) {
    fs::set_permissions(path, Permissions::from_mode(mode)).unwrap();
}

/// Runs the program as one who may not write where others do not let them; `None` where that cannot be had.
fn run_without_rights(bench: &Bench, words: &[&str]) -> Option<Told> {
    let superuser = fs::metadata(bench.folder()).unwrap().uid() == 0;
    let mut command = Command::new(PROGRAM);
    if superuser {
        let program = bench.path("program");
        if !program.exists() {
            fs::copy(PROGRAM, &program).unwrap();
        }
        mode(&program, 0o755);
        command = Command::new(program);
        command.uid(NOBODY).gid(NOBODY);
    }
    match command.current_dir(bench.path("closed")).env_remove("DOUGHWRIGHT_LOGBOOK").args(words).output() {
        Ok(output) => Some(output.into()),
        Err(e) => {
            passed_over(&format!("the program cannot be run as nobody here: {e}"));
            None
        }
    }
}

/// A folder with a logbook and a table that may be read, but not written.
fn closed() -> Bench {
    let bench = Bench::with_logbook();
    let closed = bench.path("closed");
    fs::create_dir(&closed).unwrap();
    fs::rename(bench.path("logbook.db"), closed.join("logbook.db")).unwrap();
    fs::copy(demo_data("batches.csv"), closed.join("batches.csv")).unwrap();
    fs::write(
        closed.join("bad.csv"),
        "date,flour_g,water_g,yeast_g,yeast_type\n2026-01-02,1000,650,lots,instant\n",
    )
    .unwrap();
    for file in ["logbook.db", "batches.csv", "bad.csv"] {
        mode(&closed.join(file), 0o444);
    }
    mode(&closed, 0o555);
    mode(bench.folder(), 0o755);
    bench
}

#[test]
fn issue_2_a_folder_that_may_not_be_written_is_named() {
    let bench = closed();
    let before = fs::read(bench.path("closed/logbook.db")).unwrap();
    let calls: [&[&str]; 3] = [&["import", "batches.csv"], &["fit"], &["recommend", "--cold-hours", "24"]];
    for words in calls {
        let Some(told) = run_without_rights(&bench, words) else { return };
        told.refused(1, &["logbook.db", "may not be written", "--logbook"]);
    }
    if let Some(told) = run_without_rights(&bench, &["import", "batches.csv", "--logbook", "new.db"]) {
        told.refused(1, &["new.db"]);
    }
    assert_eq!(fs::read(bench.path("closed/logbook.db")).unwrap(), before);
    mode(&bench.path("closed"), 0o755);
}

#[test]
fn issue_2_a_file_that_may_not_be_opened_is_named() {
    let bench = closed();
    mode(&bench.path("closed/batches.csv"), 0o000);
    if let Some(told) = run_without_rights(&bench, &["import", "batches.csv"]) {
        told.refused(1, &["batches.csv", "cannot be read", "may open it"]);
    }
    mode(&bench.path("closed"), 0o755);
}

#[test]
fn issue_2_bad_rows_that_cannot_be_set_aside_keep_the_good_ones_out() {
    let bench = closed();
    let open = bench.path("open");
    fs::create_dir(&open).unwrap();
    mode(&open, 0o777);
    let logbook = open.join("new.db").display().to_string();
    let Some(told) = run_without_rights(&bench, &["import", "bad.csv", "--logbook", &logbook]) else {
        return;
    };
    told.refused(1, &["bad.set-aside.csv", "cannot be written"]);
    mode(&bench.path("closed"), 0o755);
}

/// A device that is always full (Linux, full(4)).
fn full_device() -> Option<File> {
    let device = File::options().write(true).open("/dev/full").ok();
    if device.is_none() {
        passed_over("there is no /dev/full here");
    }
    device
}

#[test]
fn issue_2_a_full_disk_under_standard_output_is_told() {
    let bench = Bench::with_logbook();
    let calls: [&[&str]; 3] = [&["export", "-"], &["list"], &["list", "--json"]];
    for words in calls {
        let Some(device) = full_device() else { return };
        let mut command = Command::new(PROGRAM);
        command.current_dir(bench.folder()).args(words).stdout(device);
        Told::from(command.output().unwrap()).refused(1, &["standard output cannot be written", "space"]);
    }
}

#[test]
fn issue_2_a_full_disk_under_an_export_is_told() {
    let bench = Bench::with_logbook();
    if full_device().is_none() {
        return;
    }
    std::os::unix::fs::symlink("/dev/full", bench.path("all.csv")).unwrap();
    bench.refuses(&["export", "all.csv"], 1, &["all.csv cannot be written", "space", "make room"]);
}

#[test]
fn issue_2_a_reader_who_goes_away_is_not_an_error() {
    let bench = Bench::with_logbook();
    let calls: [&[&str]; 4] = [&["list"], &["list", "--json"], &["export", "-"], &["recommend", "--help"]];
    for words in calls {
        let mut command = Command::new(PROGRAM);
        command.current_dir(bench.folder()).args(words).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        drop(child.stdout.take());
        let mut said = String::new();
        child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
        assert_eq!((child.wait().unwrap().code(), said.as_str()), (Some(0), ""), "{words:?}");
    }
}
