//! No network: a namespace in which there is no way out, and at first not even the machine's own address.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Command, Stdio};

use crate::bench::{PROGRAM, Told};
use crate::kitchen::{kitchen, record};
use crate::system::output;

/// A call of every command but `serve`.
const CALLS: &[&[&str]] = &[
    &["import", "sheet.csv", "readings.csv"],
    &["fit", "--method", "quick", "--draws", "200"],
    &["recommend", "plan.csv"],
    &["adjust", "plan.csv", "--yeast-g", "4", "--reading", "12=1.3"],
    &["bench-sheet", "plan.csv", "--to", "sheet.html"],
    &["trial"],
    &["predict", "plan.csv", "--yeast-g", "4"],
    &["residuals"],
    &["consistency"],
    &["crust"],
    &["charts", "--png", "--out", "wall"],
    &["report"],
    &["list"],
    &["show", "b-1"],
    &["template", "empty.xlsx"],
    &["export", "all.xlsx"],
    &["backup", "copy.db"],
    &["undo"],
    &["completions", "bash"],
    &["man", "--out", "pages"],
    &["demo", "--out", "demo"],
];

fn alone() {
    // Told by the system itself: no device but one that is down, and no way anywhere.
    let routes = String::from_utf8(output("ip", &["route", "show", "table", "all"]).unwrap().stdout).unwrap();
    assert!(!routes.contains("default"), "{routes}");
    assert!(
        TcpStream::connect("192.0.2.1:80").is_err(),
        "an address for documentation (RFC 5737) was reached"
    );
}

pub fn every_command() {
    alone();
    let bench = kitchen(12);
    let help = bench.run(&["--help"]).done().out;
    let listed = help.split("Commands:").nth(1).unwrap().split("Options:").next().unwrap();
    let commands = listed.lines().filter(|l| l.starts_with("  ") && !l.starts_with("   "));
    let commands: Vec<&str> = commands.filter_map(|l| l.split_whitespace().next()).collect();
    assert!(commands.len() > 20, "{commands:?}");
    for command in commands.iter().filter(|c| !["record", "serve"].contains(c)) {
        assert!(CALLS.iter().any(|words| words[0] == *command), "no call of {command}");
    }
    // Some have too little to go by in a small kitchen, and say so; what they say has to be the same with a network, which
    // `tests/cli` holds them to.
    for words in CALLS {
        let told = bench.run(words);
        let little = ["crust", "trial", "consistency"].contains(&words[0]) && told.code == 1;
        assert!(told.code == 0 || little, "{words:?}: {told:?}");
        assert!(!told.err.contains("network") && !told.err.contains("resolve"), "{words:?}: {told:?}");
    }
    bench.run(&record("by hand")).done();
}

/// The page on the machine's own address, which is all that it listens on.
pub fn served() {
    alone();
    let up = output("ip", &["link", "set", "lo", "up"]).unwrap();
    assert!(up.status.success(), "{up:?}");
    let bench = kitchen(12);
    let mut serving = Command::new(PROGRAM)
        .args(["serve"])
        .current_dir(bench.folder())
        .env_remove("DOUGHWRIGHT_LOGBOOK")
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut line = String::new();
    BufReader::new(serving.stdout.take().unwrap()).read_line(&mut line).unwrap();
    let address = line.trim().strip_prefix("open http://").unwrap_or_else(|| panic!("{line}"));
    let (host, key) = address.split_once('/').unwrap();
    let mut stream = TcpStream::connect(host).unwrap();
    write!(stream, "GET /{key} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n").unwrap();
    let mut page = String::new();
    stream.read_to_string(&mut page).unwrap();
    serving.kill().unwrap();
    serving.wait().unwrap();
    assert!(page.starts_with("HTTP/1.1 200"), "{page}");
    assert!(page.contains("</html>"), "{page}");
    assert!(host.starts_with("127.0.0.1:"), "{host}");
    let _: Told = bench.run(&["list"]).done();
}
