//! Import, fit and recommend over and over in one process, and what that holds: memory and open files must stay flat.
//!
//!     cargo run --release --example soak -- [ROUNDS] > /dev/null
//!
//! Each round is three commands on a logbook of its own with twelve invented batches, as the command line runs them; every
//! tenth of the rounds the resident memory and the number of open files (/proc/self, Linux) are told on standard error.
//! Exits with 1 when the last tenth holds more than the first by over 5 MB or by any file.

use std::ffi::OsString;
use std::fmt::Write;
use std::fs;
use std::path::Path;
use std::process::ExitCode;
use std::time::Instant;

const USUAL_ROUNDS: usize = 10_000;
const MOST_GROWTH_MB: f64 = 5.0;

/// Resident memory in MB and open files of this process.
fn held() -> (f64, usize) {
    let status = fs::read_to_string("/proc/self/status").expect("Linux tells of processes");
    let line = status.lines().find_map(|l| l.strip_prefix("VmRSS:")).expect("memory is told");
    let kb: f64 = line.trim().trim_end_matches(" kB").parse().expect("a number of kB");
    (kb / 1000.0, fs::read_dir("/proc/self/fd").expect("Linux tells of files").count())
}

/// Twelve batches that differ from round to round.
fn table(round: usize) -> String {
    let mut text = String::from(
        "batch_id,date,flour_g,water_g,salt_g,yeast_g,yeast_type,room_temp_c,water_temp_c,dough_temp_c,bulk_hours,\
         cold_hours,cold_temp_c,temper_hours,piece_g,target_rise,rise\n",
    );
    for i in 0..12 {
        let turn = ((round * 12 + i) as f64 * 0.7).sin();
        let _ = writeln!(
            text,
            "b{i},2026-03-{:02},1000,650,20,{:.1},instant,{:.1},15,24,1,{},4.5,2,250,2.2,{:.2}",
            i + 1,
            4.0 + turn,
            22.0 + 2.0 * turn,
            20 + i,
            2.2 + 0.3 * turn
        );
    }
    text
}

fn run(logbook: &Path, words: &[&str]) -> bool {
    let named = ["doughwright".into(), "--logbook".into(), logbook.as_os_str().to_owned(), "--json".into()];
    let words = named.into_iter().chain(words.iter().map(OsString::from));
    // An exit code tells no number, but whether it is success shows.
    format!("{:?}", doughwright::cli::run(words)) == format!("{:?}", ExitCode::SUCCESS)
}

fn main() -> ExitCode {
    let rounds = std::env::args().nth(1).map_or(USUAL_ROUNDS, |n| n.parse().expect("a number of rounds"));
    let (begun, mut first) = (Instant::now(), None);
    for round in 1..=rounds {
        let folder = tempfile::tempdir().expect("a folder for the round");
        let (logbook, batches) = (folder.path().join("logbook.db"), folder.path().join("batches.csv"));
        fs::write(&batches, table(round)).expect("a table for the round");
        let table = batches.to_str().expect("a temporary folder has a plain name");
        for words in
            [&["import", table][..], &["fit", "--method", "quick"], &["recommend", "--cold-hours", "24"]]
        {
            if !run(&logbook, words) {
                eprintln!("round {round}: {words:?} failed");
                return ExitCode::FAILURE;
            }
        }
        drop(folder);
        if round % rounds.div_ceil(10) == 0 || round == rounds {
            let (mb, files) = held();
            eprintln!(
                "round {round}: {mb:.1} MB, {files} open files, {:.0} s",
                begun.elapsed().as_secs_f64()
            );
            let (mb_before, files_before) = *first.get_or_insert((mb, files));
            if mb > mb_before + MOST_GROWTH_MB || files > files_before {
                eprintln!("more is held than after the first tenth");
                return ExitCode::FAILURE;
            }
        }
    }
    ExitCode::SUCCESS
}
