//! Sheets handed over: what is too large, what is hostile, and what only the baker can answer.

use std::io::Write;

use crate::client::{Bench, Served};

const HEADINGS: &str = "batch_id,date,flour_g,water_g,yeast_g,yeast_type,notes\n";

/// Hands each over and expects a refusal in words; the logbook must hold what it held, and the page go on.
fn refused(bench: &Bench, page: &Served, sheets: Vec<(&str, Vec<u8>, u16, &str)>) {
    let before = bench.everything();
    for (name, bytes, status, word) in sheets {
        page.upload(name, &bytes).says(status, &[word]);
    }
    assert_eq!(bench.everything(), before);
    page.get("").says(200, &["Next batch"]);
}

fn zipped(parts: &[(&str, usize)]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, zeros) in parts {
        zip.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
        for _ in 0..*zeros >> 20 {
            zip.write_all(&[b' '; 1 << 20]).unwrap();
        }
    }
    zip.finish().unwrap().into_inner()
}

#[test]
fn too_large_a_sheet_is_refused() {
    let bench = Bench::new();
    let page = bench.serve(&["--write"]);
    let row = |i: usize| format!("big-{i},2026-11-01,1000,620,2,instant,{}\n", "n".repeat(900));
    let large = HEADINGS.to_string() + &(0..10_000).map(row).collect::<String>();
    refused(&bench, &page, vec![("large.csv", large.into_bytes(), 413, "more than 8 MB")]);
}

#[test]
fn hostile_sheets_are_refused() {
    let bench = Bench::new();
    let page = bench.serve(&["--write"]);
    let mut gzip = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    gzip.write_all(HEADINGS.as_bytes()).unwrap();
    for i in 0..100 {
        gzip.write_all(format!("bomb-{i},2026-11-01,1000,620,2,instant,").as_bytes()).unwrap();
        (0..1 << 10).for_each(|_| gzip.write_all(&[b' '; 1 << 10]).unwrap());
        gzip.write_all(b"\n").unwrap();
    }
    let bomb = zipped(&[("xl/workbook.xml", 100 << 20), ("[Content_Types].xml", 1 << 20)]);
    assert!(bomb.len() < 1 << 20);
    let mut cut = std::fs::read(crate::client::demo_data("batches.xlsx")).unwrap();
    cut.truncate(cut.len() / 2);
    let picture = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
    refused(
        &bench,
        &page,
        vec![
            ("bomb.csv.gz", gzip.finish().unwrap(), 422, "more than"),
            ("bomb.xlsx", bomb, 422, "64 MB when unpacked"),
            ("cut.xlsx", cut, 422, "not a table"),
            ("picture.csv", picture, 422, "not a table"),
            ("empty.csv", Vec::new(), 422, "empty"),
            ("words.csv", b"Dear baker,\nthis is a letter.\n".to_vec(), 422, "headings"),
            ("nul.csv", vec![0; 4096], 422, ""),
        ],
    );
    // Not even the form that a sheet comes in.
    for body in [&b"--xyz"[..], b"", b"--xyz\r\nContent-Disposition: form-data; name=\"sheet\"\r\n\r\n"] {
        let answer = page.post_with("sheet", "multipart/form-data; boundary=xyz", &page.own(), body);
        assert!((400..500).contains(&answer.status), "{answer:?}");
    }
}

#[test]
fn a_name_is_only_a_name() {
    let bench = Bench::new();
    let page = bench.serve(&["--write"]);
    let before = std::fs::read_dir(bench.path("")).unwrap().count();
    let sheet = "batch_id,date,flour_g,water_g,yeast_g,yeast_type\n\
                 <script>alert(1)</script>,2026-11-01,1000,620,2,instant\nbad,2026-11-01,1000,620,<b>lots</b>,instant\n";
    for name in ["../logbook.db", "/etc/passwd", "<img src=x onerror=alert(1)>.csv"] {
        let shown = page.follow(&page.upload(name, sheet.as_bytes()));
        shown.says(200, &["1 new", "1 set aside", "&lt;b&gt;lots&lt;/b&gt;"]);
        assert!(
            !shown.body.contains("<script>")
                && !shown.body.contains("<img")
                && !shown.body.contains("<b>lots")
        );
        assert!(!shown.body.contains("etc/"));
    }
    // A path in the address is a word that is not known.
    for place in ["sheet/..%2F..%2Flogbook.db", "sheet/x/set-aside/0", "sheet/%2e%2e"] {
        let answer = page.get(place);
        assert!([404, 410].contains(&answer.status), "{answer:?}");
    }
    assert_eq!(std::fs::read_dir(bench.path("")).unwrap().count(), before);
}

#[test]
fn what_a_sheet_leaves_open_is_asked_and_remembered() {
    let bench = Bench::empty();
    let page = bench.serve(&["--write"]);
    let sheet = "date,flour_g,water_g,yeast_g,yeast_type,Warm spot\n\
                 3/4/2026,1000,620,2,instant,25\n5/4/2026,1000,620,2,instant,26\n";
    let handed = page.upload("mine.csv", sheet.as_bytes());
    let asked = page.follow(&handed);
    asked.says(200, &["Answer this first", "day comes first", "leave it out", "Warm spot"]);
    let word = handed.header("location").rsplit('/').next().unwrap().to_string();
    // Keeping what is not understood is refused.
    page.post(&format!("sheet/{word}/keep"), &[]).says(400, &["questions open"]);
    let way = |says: &str| {
        let label = asked.body.split("<label for=\"").find(|l| l.contains(says)).unwrap();
        let (name, value) = label.split('"').next().unwrap().rsplit_once('-').unwrap();
        (name.to_string(), value.to_string())
    };
    let ways = [way("day comes first"), way("leave it out")];
    let fields: Vec<(&str, &str)> = ways.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
    let found = page.follow(&page.post(&format!("sheet/{word}/settle"), &fields));
    found.says(200, &["batches: 2 new", "Keep it"]);
    let kept = page.follow(&page.post(&format!("sheet/{word}/keep"), &[]));
    kept.says(200, &["Kept."]);
    let listed = bench.run(&["list"]);
    assert!(listed.contains("2026-04-03") && listed.contains("2026-04-05"), "{listed}");
    // The next sheet with these headings asks nothing.
    let next = format!("{sheet}7/4/2026,1000,620,2,instant,25\n");
    page.follow(&page.upload("mine.csv", next.as_bytes())).says(200, &["1 new", "2 as before"]);
}
