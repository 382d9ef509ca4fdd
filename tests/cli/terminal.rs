//! At a terminal: small charts where there is room for them, and nothing of the kind where standard output is piped; Ctrl-C
//! leaves everything whole. The terminal is one of `script` (util-linux), which gives a program a terminal of its own.

use std::io::Read;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use crate::bench::{Bench, PROGRAM, Told, demo_data};

/// What a terminal of so many columns shows; `None` where there is no `script`.
fn at_terminal(bench: &Bench, columns: usize, words: &str) -> Option<String> {
    let line = format!("stty cols {columns} rows 40; '{PROGRAM}' {words}");
    let mut script = Command::new("script");
    script.args(["-qec", &line, "/dev/null"]).current_dir(bench.folder());
    script.env_remove("DOUGHWRIGHT_LOGBOOK").env("TERM", "xterm").stdin(Stdio::null());
    match script.output() {
        Ok(output) => {
            assert!(output.status.success(), "{words}: {output:?}");
            Some(String::from_utf8(output.stdout).unwrap())
        }
        Err(e) => {
            eprintln!("passed over: there is no terminal to be had here: {e}");
            None
        }
    }
}

/// Signs of braille charts.
fn drawn(text: &str) -> usize {
    text.chars().filter(|c| ('\u{2801}'..='\u{28ff}').contains(c)).count()
}

const CALLS: [&str; 4] = ["predict plan.csv --yeast-g 5", "recommend plan.csv", "consistency", "residuals"];

fn bench() -> Bench {
    let bench = Bench::with_logbook();
    bench.file("plan.csv", std::fs::read(demo_data("plan.csv")).unwrap());
    bench
}

#[test]
fn issue_7_a_wide_terminal_gets_small_charts_and_no_line_is_wider_for_them() {
    let bench = bench();
    for words in CALLS {
        for columns in [60, 80, 200] {
            let Some(text) = at_terminal(&bench, columns, words) else { return };
            assert!(drawn(&text) > 60, "{words} at {columns} columns: {text}");
            let widest = text.lines().filter(|l| drawn(l) > 0).map(|l| l.trim_end().chars().count()).max();
            assert!(widest <= Some(columns), "{words} at {columns} columns: {widest:?}");
        }
        let Some(text) = at_terminal(&bench, 59, words) else { return };
        assert_eq!(drawn(&text), 0, "{words}: {text}");
    }
}

#[test]
fn issue_7_piped_answers_hold_no_charts_no_colour_and_no_progress() {
    let bench = bench();
    for words in CALLS.iter().chain(&["crust", "trial", "fit --method full --draws 100"]) {
        let words: Vec<&str> = words.split(' ').collect();
        let told = bench.run(&words).done();
        assert_eq!(drawn(&told.out), 0, "{told:?}");
        for text in [&told.out, &told.err] {
            assert!(!text.contains('\u{1b}') && !text.contains('\r'), "{words:?}: {told:?}");
        }
    }
}

/// Charts are drawn without colour; what else may be coloured (help, wrong calls) heeds the wish.
#[test]
fn issue_7_no_colour_is_shown_where_none_is_wanted() {
    let bench = bench();
    for words in ["predict plan.csv --yeast-g 5", "recommend --help", "residuals"] {
        let Some(text) = at_terminal(&bench, 100, &format!("{words} | cat; NO_COLOR=1 '{PROGRAM}' {words}"))
        else {
            return;
        };
        assert!(!text.contains("\u{1b}[3") && !text.contains("\u{1b}[1m"), "{words}: {text:?}");
    }
}

/// A fit that would go on for minutes.
const LONG_FIT: [&str; 7] = ["fit", "--method", "full", "--draws", "100000", "--chains", "2"];

#[test]
fn issue_7_ctrl_c_ends_a_long_fit_at_once_and_leaves_the_logbook_as_it_was() {
    let bench = bench();
    let before = bench.run(&["list"]).done().out;
    let logbook = bench.logbook();
    let mut command = Command::new(PROGRAM);
    command.current_dir(bench.folder()).env_remove("DOUGHWRIGHT_LOGBOOK").args(LONG_FIT);
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    std::thread::sleep(Duration::from_secs(3));
    assert!(child.try_wait().unwrap().is_none(), "the fit is long enough to be interrupted");
    let sent = Command::new("kill").args(["-INT", &child.id().to_string()]).status();
    if !sent.is_ok_and(|s| s.success()) {
        child.kill().unwrap();
        return eprintln!("passed over: there is no `kill` here");
    }
    let begun = Instant::now();
    let status = child.wait().unwrap();
    assert!(begun.elapsed() < Duration::from_secs(20), "{:?}", begun.elapsed());
    let read = |from: Option<&mut dyn Read>| {
        let mut text = String::new();
        from.unwrap().read_to_string(&mut text).unwrap();
        text
    };
    let out = read(child.stdout.as_mut().map(|o| o as &mut dyn Read));
    let err = read(child.stderr.as_mut().map(|o| o as &mut dyn Read));
    Told { code: status.code().expect("it ended by itself"), out, err }
        .refused(1, &["stopped: the logbook is as it was"]);
    assert!(bench.logbook() == logbook, "the logbook was touched");
    assert_eq!(bench.run(&["list"]).done().out, before);
}
