//! Every page of the logbook changed or cut off, and every way to ask for what is in it.

use std::fs;

use crate::bench::{Bench, Told};
use crate::kitchen::{ids, kitchen, record};

/// SQLite's usual page, and what the logbook's own are.
const PAGE: usize = 4096;

/// What a command is asked, and what it says of a sound logbook.
struct Asked {
    words: Vec<String>,
    sound: Told,
}

/// A kitchen with a backup, and what each command that only looks says of it.
fn asked() -> (Bench, Vec<Asked>) {
    let bench = kitchen(30);
    bench.run(&["backup", "copy.db"]).done();
    let calls: [&[&str]; 5] = [
        &["list", "--json"],
        &["show", "b-1", "--history"],
        &["export", "-"],
        &["residuals", "--json"],
        &["predict", "plan.csv", "--yeast-g", "4", "--json"],
    ];
    let ask = |words: &&[&str]| Asked {
        words: words.iter().map(|w| w.to_string()).collect(),
        sound: bench.run(words).done(),
    };
    let all = calls.iter().map(ask).collect();
    (bench, all)
}

/// What came of the commands.
#[derive(Default, Debug)]
struct Counts {
    same: usize,
    told: usize,
    in_part: usize,
}

impl Counts {
    /// The same answer, or a word about the damage with a way back; never another answer.
    fn judge(&mut self, asked: &Asked, told: &Told, fault: &str) {
        let place = format!("{fault}, {:?}: {told:?}", asked.words);
        match told.code {
            0 => {
                assert_eq!(told.out, asked.sound.out, "{place}");
                self.same += 1;
            }
            // `export` gives what can still be read, and says how much that is.
            3 => {
                assert_eq!(asked.words[0], "export", "{place}");
                let lines = |text: &str| text.lines().map(str::to_string).collect::<Vec<_>>();
                let (saved, sound) = (lines(&told.out), lines(&asked.sound.out));
                let batches = saved.len() - 1;
                assert!(told.err.contains("damaged"), "{place}");
                assert!(told.err.contains(&format!("{batches} of its batches could be read")), "{place}");
                assert!(saved.iter().all(|line| sound.contains(line)), "{place}");
                self.in_part += 1;
            }
            1 => {
                assert_eq!(told.out, "", "{place}");
                is_told(told, &place);
                self.told += 1;
            }
            _ => panic!("{place}"),
        }
    }
}

/// Damage is named with the way back, or it is said that the file is no logbook that this program knows.
fn is_told(told: &Told, place: &str) {
    let damaged = told.err.contains("damaged");
    let way = ["way back", "bring back a copy"].iter().any(|w| told.err.contains(w));
    let foreign = ["not a doughwright logbook", "a newer doughwright"].iter().any(|w| told.err.contains(w));
    assert!(damaged && way || foreign, "{place}");
}

/// In each page the first byte and the middle one; of the first page every byte of the file's header.
pub fn a_changed_bit() {
    let (bench, all) = asked();
    let sound = bench.logbook();
    let wanted = ids(&bench, "logbook.db");
    let mut places: Vec<usize> = (0..sound.len()).step_by(PAGE / 2).collect();
    places.extend(1..100);
    let mut counts = Counts::default();
    for (number, at) in places.iter().enumerate() {
        let mut bytes = sound.clone();
        bytes[*at] ^= 1 << (number % 8);
        let fault = format!("byte {at}, bit {}", number % 8);
        let in_header = *at > 0 && *at < 100;
        for asked in all.iter().take(if in_header { 1 } else { all.len() }) {
            bench.file("logbook.db", &bytes);
            remove_beside(&bench);
            counts.judge(asked, &bench.run(&asked.words), &fault);
        }
        // Who writes adds to all that was there, or is told.
        bench.file("logbook.db", &bytes);
        remove_beside(&bench);
        let told = bench.run(&record("after"));
        match told.code {
            0 => match bench.run(&["list", "--json"]) {
                listed if listed.code == 0 => {
                    let now = ids(&bench, "logbook.db");
                    assert!(now.is_superset(&wanted) && now.len() == wanted.len() + 1, "{fault}");
                }
                listed => is_told(&listed, &fault),
            },
            _ => is_told(&told, &format!("{fault}, record: {told:?}")),
        }
    }
    println!("{} places in {} pages: {counts:?}", places.len(), sound.len() / PAGE);
    assert!(counts.same > 10 && counts.told > 10 && counts.in_part > 0, "{counts:?}");
}

/// Cut at the end of each page and in the middle of it.
pub fn cut_short() {
    let (bench, all) = asked();
    let sound = bench.logbook();
    let mut counts = Counts::default();
    for keep in (PAGE / 2..sound.len()).step_by(PAGE / 2) {
        for asked in &all {
            bench.file("logbook.db", &sound[..keep]);
            remove_beside(&bench);
            counts.judge(asked, &bench.run(&asked.words), &format!("{keep} bytes of {}", sound.len()));
        }
    }
    println!("{} pages: {counts:?}", sound.len() / PAGE);
    assert_eq!(counts.same, 0, "a file cut short never looks whole");
}

/// What the message says, done: the backup put back holds everything acknowledged before it.
pub fn the_way_back() {
    let bench = kitchen(12);
    let wanted = ids(&bench, "logbook.db");
    bench.run(&["backup", "copy.db"]).done();
    let mut bytes = bench.logbook();
    let batch = bytes.windows(4).rposition(|w| w == b"b-11").unwrap() / PAGE * PAGE;
    bytes[batch..batch + PAGE].fill(0x55);
    bench.file("logbook.db", bytes);
    let told = bench.run(&["list"]);
    let copy = bench.path("copy.db").canonicalize().unwrap();
    let words = ["damaged", "the last backup", copy.to_str().unwrap()];
    told.refused(1, &words);
    fs::rename(bench.path("logbook.db"), bench.path("damaged.db")).unwrap();
    fs::copy(&copy, bench.path("logbook.db")).unwrap();
    assert_eq!(ids(&bench, "logbook.db"), wanted);
    bench.run(&record("after")).done();
}

/// A log of writes that waited belongs to the file before.
fn remove_beside(bench: &Bench) {
    for ending in ["-wal", "-shm"] {
        // Usually there is none.
        let _ = fs::remove_file(bench.path(&format!("logbook.db{ending}")));
    }
}
