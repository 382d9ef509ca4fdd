//! Many rounds: what is held in memory and on the disk stays as it was.

use std::fs;

use crate::kitchen::{ids, kitchen};
use crate::system::{example, output};

/// More than the fits that are kept.
const ROUNDS: usize = 110;
/// Bytes of a page of the logbook.
const PAGE: u64 = 4096;

/// The example in few rounds; it ends with 1 when more memory or open files are held than after its first tenth.
pub fn soak() {
    let told = output(example("soak").to_str().unwrap(), &["40"]).unwrap();
    assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
}

/// Whole runs on one logbook: the same table again, and a fit. Fits are kept up to a number (`FITS_KEPT`), so that the file
/// stops growing.
pub fn one_logbook() {
    let bench = kitchen(12);
    let rounds = |n: usize| {
        for _ in 0..n {
            bench.run(&["import", "sheet.csv"]).done();
            bench.run(&["fit", "--method", "quick", "--draws", "200"]).done();
        }
        assert!(!bench.path("logbook.db-wal").exists(), "a closed logbook is one file");
        fs::metadata(bench.path("logbook.db")).unwrap().len()
    };
    let before = ids(&bench, "logbook.db");
    let (early, late) = (rounds(ROUNDS), rounds(ROUNDS));
    println!("logbook: {early} bytes after {ROUNDS} rounds, {late} after {}", 2 * ROUNDS);
    // A fit's summary is some bytes longer or shorter than another's.
    assert!(late.abs_diff(early) <= 4 * PAGE, "{early} bytes, and later {late}, though nothing was added");
    assert_eq!(ids(&bench, "logbook.db"), before);
}
