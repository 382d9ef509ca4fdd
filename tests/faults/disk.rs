//! File systems of so many kilobytes (tmpfs), full or not to be written.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use crate::bench::{Bench, Told};
use crate::kitchen::{ids, kitchen, record, table};
use crate::system::output;

/// A folder `small` in the bench that is a file system of its own.
fn mount(bench: &Bench, kilobytes: u64) {
    let place = bench.path("small");
    fs::create_dir_all(&place).unwrap();
    let size = format!("size={kilobytes}k");
    let told = output("mount", &["-t", "tmpfs", "-o", &size, "none", place.to_str().unwrap()]).unwrap();
    assert!(told.status.success(), "{told:?}");
}

fn remount(bench: &Bench, how: &str) {
    let place = bench.path("small");
    let told = output("mount", &["-o", &format!("remount,{how}"), place.to_str().unwrap()]).unwrap();
    assert!(told.status.success(), "{told:?}");
}

/// Takes all room but so many kilobytes.
fn leave(bench: &Bench, kilobytes: u64) {
    let filler = bench.path("small/filler");
    // It ends when the disk is full.
    let _ = fs::write(&filler, vec![0; 64 << 20]);
    let file = fs::File::options().write(true).open(&filler).unwrap();
    let length = file.metadata().unwrap().len();
    file.set_len(length.saturating_sub(kilobytes << 10)).unwrap();
}

/// What lies in a folder, by name; what is in folders inside with their names before.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut all = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        match path.is_dir() {
            true => all.extend(files(&path).into_iter().map(|(n, bytes)| (format!("{name}/{n}"), bytes))),
            false => drop(all.insert(name, fs::read(&path).unwrap())),
        }
    }
    all
}

const SMALL: &str = "small/logbook.db";

pub fn records_until_full() {
    let bench = kitchen(12);
    let room = fs::metadata(bench.path("logbook.db")).unwrap().len() / 1024 + 250;
    mount(&bench, room);
    fs::copy(bench.path("logbook.db"), bench.path(SMALL)).unwrap();
    let mut wanted = ids(&bench, SMALL);
    let notes = "invented ".repeat(500);
    let mut acknowledged = 0;
    let write = |json: bool| {
        let mut words = record(&notes).to_vec();
        words.extend(["--logbook".into(), SMALL.into()]);
        words.extend(json.then(|| "--json".to_string()));
        bench.run(&words)
    };
    loop {
        let told = write(true);
        if told.code != 0 {
            told.refused(1, &[SMALL, "nothing was changed", "make room"]);
            break;
        }
        acknowledged += 1;
        assert!(wanted.insert(told.json()["batch_id"].as_str().unwrap().into()), "an id was given twice");
        assert!(acknowledged < 500, "the disk never became full");
    }
    assert!(acknowledged > 3, "only {acknowledged} batches found room");
    // The same again, when it is known to be full, and other ways to write.
    write(false).refused(1, &[SMALL, "make room"]);
    bench.run(&["import", "sheet.csv", "--logbook", SMALL]).done();
    // Either it can be read as it is, or it says that it cannot.
    let told = bench.run(&["list", "--json", "--logbook", SMALL]);
    match told.code {
        0 => assert_eq!(ids(&bench, SMALL), wanted),
        _ => told.refused(1, &[SMALL, "full"]),
    }
    remount(&bench, &format!("size={}k", room + 1000));
    assert_eq!(ids(&bench, SMALL), wanted, "what was acknowledged is there");
    wanted.insert(write(true).done().json()["batch_id"].as_str().unwrap().into());
    assert_eq!(ids(&bench, SMALL), wanted);
    println!("{acknowledged} batches acknowledged before the disk was full, all there");
}

pub fn import_on_a_full_disk() {
    let bench = kitchen(12);
    mount(&bench, 4000);
    bench.file("many.csv", table("extra", 2000));
    fs::copy(bench.path("logbook.db"), bench.path(SMALL)).unwrap();
    let before = ids(&bench, SMALL);
    // With nothing free at all, SQLite cannot even make the files that it keeps beside the logbook.
    for (free, said) in [(100, "disk is full"), (40, "full"), (0, "it may be full")] {
        leave(&bench, free);
        let told = bench.run(&["import", "many.csv", "--logbook", SMALL]);
        told.refused(1, &[SMALL, said, "nothing was changed", "make room"]);
        fs::remove_file(bench.path("small/filler")).unwrap();
        assert_eq!(ids(&bench, SMALL), before, "{free} kB free");
    }
}

/// Calls that write files, into the folder `small`.
const WRITE_FILES: &[&[&str]] = &[
    &["report", "--out", "small/report.html"],
    &["charts", "--png", "--out", "small/wall"],
    &["residuals", "--out", "small/misses"],
    &["export", "small/all.csv"],
    &["export", "small/all.xlsx"],
    &["export", "small/all.jsonl"],
    &["bench-sheet", "plan.csv", "--to", "small/sheet.html"],
    &["man", "--out", "small/pages"],
    &["backup", "small/copy.db"],
];

pub fn files_on_a_full_disk() {
    let bench = kitchen(30);
    mount(&bench, 16_000);
    for words in WRITE_FILES {
        bench.run(words).done();
    }
    let first = files(&bench.path("small"));
    let batches = ids(&bench, "logbook.db");
    // Those before are told from the new ones by a byte behind their end.
    let marked = |name: &str, bytes: &[u8]| {
        if name.ends_with(".db") { bytes.to_vec() } else { [bytes, b" "].concat() }
    };
    let (mut refused, mut written) = (0, 0);
    for free in [0, 20, 200, 2000] {
        for words in WRITE_FILES {
            for (name, bytes) in &first {
                fs::write(bench.path("small").join(name), marked(name, bytes)).unwrap();
            }
            leave(&bench, free);
            let told = bench.run(words);
            fs::remove_file(bench.path("small/filler")).unwrap();
            match told.code {
                0 => written += 1,
                _ => {
                    told.refused(1, &["small/", "make room"]);
                    refused += 1;
                }
            }
            let after = files(&bench.path("small"));
            let names = |files: &BTreeMap<String, Vec<u8>>| files.keys().cloned().collect::<Vec<_>>();
            assert_eq!(names(&after), names(&first), "{words:?} with {free} kB free");
            assert_eq!(ids(&bench, "small/copy.db"), batches, "{words:?} with {free} kB free");
            for (name, bytes) in after.iter().filter(|(name, _)| !name.ends_with(".db")) {
                // Whole: as before, or without the mark.
                let whole = *bytes == marked(name, &first[name])
                    || !bytes.ends_with(b" ") && full(bytes, &first[name]);
                assert!(
                    whole,
                    "{words:?} with {free} kB free: {name} has {} bytes of {}",
                    bytes.len(),
                    first[name].len()
                );
            }
        }
    }
    assert!(refused > 9 && written > 9, "{refused} refused, {written} written");
    println!("{refused} files refused, {written} written, every one whole");
}

/// As long as the one before but for times and codes in it, and with the same end.
fn full(bytes: &[u8], first: &[u8]) -> bool {
    let end = |b: &[u8]| b[b.len().saturating_sub(4)..].to_vec();
    bytes.len().abs_diff(first.len()) < 200 + first.len() / 50 && end(bytes) == end(first)
}

pub fn read_only() {
    let bench = kitchen(12);
    mount(&bench, 4000);
    fs::copy(bench.path("logbook.db"), bench.path(SMALL)).unwrap();
    bench.file("small/report.html", "a report from before");
    remount(&bench, "ro");
    let before = files(&bench.path("small"));
    let reads: [&[&str]; 4] =
        [&["list"], &["list", "--json"], &["show", "b-1", "--history"], &["export", "-"]];
    let on =
        |words: &[&str], logbook: &str| -> Told { bench.run(&[words, &["--logbook", logbook]].concat()) };
    for words in reads {
        assert_eq!(on(words, SMALL).done().out, on(words, "logbook.db").done().out, "{words:?}");
    }
    bench.file("more.csv", table("more", 3));
    let by_hand = record("by hand");
    let by_hand: Vec<&str> = by_hand.iter().map(String::as_str).collect();
    // Those that answer from a fit keep it, and do not begin where they cannot.
    let writes: [&[&str]; 6] = [
        &["import", "more.csv"],
        &["fit", "--method", "quick"],
        &["undo"],
        &["recommend", "plan.csv"],
        &["residuals"],
        &by_hand,
    ];
    for words in writes {
        on(words, SMALL).refused(1, &[SMALL, "may not be written", "--logbook"]);
    }
    for words in WRITE_FILES.iter().filter(|w| w[0] != "backup") {
        let told = bench.run(words);
        assert_eq!(told.code, 1, "{words:?}: {told:?}");
        assert!(told.err.contains("small/") && told.err.contains("cannot be"), "{words:?}: {told:?}");
    }
    assert_eq!(files(&bench.path("small")), before);
}
