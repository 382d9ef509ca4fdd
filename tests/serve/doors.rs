//! Who is let in, and who is not.

use std::fs;

use crate::client::{Bench, FORM, form};

#[test]
fn a_wrong_key_is_refused_and_told_nothing() {
    let bench = Bench::new();
    let page = bench.serve(&["--write"]);
    let longer = format!("/{}0/", page.key);
    let shorter = format!("/{}/", &page.key[1..]);
    let other = format!("/{}/", "0".repeat(page.key.len()));
    for path in ["/", "/next", "//", "/batch?id=hall-001", &longer, &shorter, &other] {
        let answer = page.get_as(&page.host, path);
        answer.says(403, &["Open the address that"]);
        assert!(!answer.body.contains(&page.key) && !answer.body.contains("hall"), "{path}");
    }
    let again = bench.serve(&[]);
    assert_ne!(page.key, again.key);
    assert!(page.key.len() >= 32);
}

#[test]
fn another_name_for_this_machine_is_refused() {
    let bench = Bench::new();
    let page = bench.serve(&[]);
    let path = format!("/{}/", page.key);
    let port = page.host.split_once(':').unwrap().1;
    for host in ["example.com", &format!("example.com:{port}"), &format!("127.0.0.1.example.com:{port}"), ""]
    {
        page.get_as(host, &path).says(403, &["under no other name"]);
    }
    page.get_as(&format!("localhost:{port}"), &path).says(200, &[]);
    // HTTP/1.1 without a Host is no request (RFC 9112, 3.2).
    let answer = page.raw(&format!("GET {path} HTTP/1.1\r\nConnection: close\r\n\r\n"), b"");
    assert!(answer.status >= 400, "{answer:?}");
}

#[test]
fn it_is_there_on_the_loopback_address_only() {
    let bench = Bench::new();
    let page = bench.serve(&[]);
    assert!(page.host.starts_with("127.0.0.1:"), "{}", page.host);
}

#[test]
fn a_post_from_another_site_is_refused_and_changes_nothing() {
    let bench = Bench::new();
    let page = bench.serve(&["--write"]);
    let before = bench.everything();
    let token = page.token();
    let body = form(&[("token", &token), ("id", "hall-001"), ("hours", "1"), ("risen", "1.5")]);
    let from = [
        "Origin: http://example.com\r\n",
        "Origin: null\r\n",
        "",
        "Origin: http://127.0.0.1:1\r\n",
        "Sec-Fetch-Site: cross-site\r\n",
        "Sec-Fetch-Site: same-site\r\nOrigin: null\r\n",
    ];
    for headers in from {
        let answer = page.post_with("reading", FORM, headers, body.as_bytes());
        answer.says(403, &["another site", "nothing was changed"]);
    }
    // The page itself, but a form of another run, or none.
    for token in ["", "0", &page.key] {
        let body = form(&[("token", token), ("id", "hall-001"), ("hours", "1"), ("risen", "1.5")]);
        page.post_with("reading", FORM, &page.own(), body.as_bytes()).says(403, &["Load the page again"]);
    }
    assert_eq!(bench.everything(), before);
    // As a browser without referrers says it.
    let own = "Sec-Fetch-Site: same-origin\r\nOrigin: null\r\n";
    page.post_with("reading", FORM, own, body.as_bytes()).says(303, &[]);
    assert_eq!(bench.everything().len(), before.len() + 1);
}

#[test]
fn nothing_is_kept_unless_it_was_started_to() {
    let bench = Bench::new();
    bench.run(&["fit", "--method", "quick"]);
    let page = bench.serve(&[]);
    let before = fs::read(bench.path("logbook.db")).unwrap();
    for place in ["", "next?cold_hours=24", "sheet", "record", "batch?id=hall-001"] {
        page.get(place).says(200, &["This page only shows"]);
    }
    assert!(!page.get("batch?id=hall-001").body.contains("<form"));
    let new = [
        ("date", "2026-11-01T08:00"),
        ("flour_g", "1000"),
        ("water_g", "620"),
        ("yeast_g", "2"),
        ("yeast_type", "instant"),
    ];
    for (place, fields) in [
        ("reading", &[("id", "hall-001"), ("hours", "1"), ("risen", "1.5")][..]),
        ("batch", &[("id", "hall-001"), ("rise", "2")]),
        ("record/new", &new),
        ("next", &[("cold_hours", "24")]),
    ] {
        page.post(place, fields).says(403, &["serve --write"]);
    }
    // A sheet can be looked at, and not kept.
    let sheet = "date,flour_g,water_g,yeast_g,yeast_type\n2026-11-01,1000,620,2,instant\n";
    let found = page.upload("more.csv", sheet.as_bytes());
    let word = found.header("location").rsplit('/').next().unwrap().to_string();
    let shown = page.follow(&found);
    shown.says(200, &["1 new", "Nothing is kept yet"]);
    assert!(!shown.body.contains("Keep it"));
    page.post(&format!("sheet/{word}/keep"), &[]).says(403, &["serve --write"]);
    drop(page);
    assert_eq!(fs::read(bench.path("logbook.db")).unwrap(), before);
}

#[test]
fn every_answer_says_what_a_browser_may_do() {
    let bench = Bench::new();
    let page = bench.serve(&["--write"]);
    let places =
        ["", "next", "next?cold_hours=24", "sheet", "record", "record/new", "batch?id=hall-001", "nothing"];
    let mut answers: Vec<_> = places.iter().map(|p| page.get(p)).collect();
    answers.push(page.get_as(&page.host, "/"));
    answers.push(page.get_as(&page.host, "/favicon.ico"));
    for answer in answers {
        assert!(answer.header("content-security-policy").contains("default-src 'none'"), "{answer:?}");
        assert!(!answer.header("content-security-policy").contains("unsafe"));
        for (name, value) in [
            ("x-content-type-options", "nosniff"),
            ("referrer-policy", "no-referrer"),
            ("cache-control", "no-store"),
            ("x-frame-options", "DENY"),
        ] {
            assert_eq!(answer.header(name), value);
        }
        assert!(!answer.body.contains("<script") && !answer.body.contains("style=\""));
    }
}

#[test]
fn what_cannot_be_is_answered_in_words() {
    let bench = Bench::new();
    let page = bench.serve(&["--write"]);
    page.get("nothing").says(404, &["Go to the overview"]);
    page.get("batch?id=none").says(422, &["no batch", "none"]);
    page.get("sheet/0000").says(410, &["Choose the sheet again"]);
    page.get("next?cold_hours=long").says(200, &["a number is wanted"]);
    // What was typed stays, and what cannot be read is marked.
    let wrong = page.get("next?cold_hours=900&room_temp_c=21.5");
    wrong.says(200, &["value=\"900\"", "value=\"21.5\"", "aria-invalid=\"true\"", "Change what is marked"]);
    page.get("next?cold_hours=900").says(200, &["must lie between"]);
    page.post("reading", &[("id", "hall-001"), ("hours", "soon"), ("risen", "1.5")]).says(400, &["hours"]);
    page.post("record/new", &[("flour_g", "1000")]).says(422, &["nothing was written", "date is needed"]);
    // More than a form may be, and no form at all.
    let long = form(&[("notes", &"x".repeat(100_000))]);
    let answer = page.post_with("record/new", FORM, &page.own(), long.as_bytes());
    assert!((400..500).contains(&answer.status), "{answer:?}");
    page.post_with("reading", "text/plain", &page.own(), b"x").says(400, &["Go back"]);
    page.get("").says(200, &[]);
}

#[cfg(unix)]
#[test]
fn ctrl_c_ends_it_cleanly() {
    use std::io::Read;
    for signal in ["-INT", "-TERM"] {
        let bench = Bench::new();
        let mut page = bench.serve(&["--write"]);
        page.get("next?cold_hours=24").says(200, &[]);
        // A browser holds its connection open.
        let open = std::net::TcpStream::connect(&page.host).unwrap();
        let started = std::time::Instant::now();
        let sent = std::process::Command::new("kill").args([signal, &page.child.id().to_string()]).status();
        assert!(sent.unwrap().success());
        assert_eq!(page.child.wait().unwrap().code(), Some(0), "{signal}");
        assert!(started.elapsed().as_secs() < 5, "{:?}", started.elapsed());
        let mut said = String::new();
        page.child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
        assert_eq!(said, "");
        drop(open);
    }
}

#[test]
fn it_says_what_to_do_where_it_cannot_begin() {
    let bench = Bench::empty();
    let told = |words: &[&str]| {
        let done = std::process::Command::new(env!("CARGO_BIN_EXE_doughwright"))
            .current_dir(bench.path(""))
            .env_remove("DOUGHWRIGHT_LOGBOOK")
            .args(words)
            .output()
            .unwrap();
        (done.status.code(), String::from_utf8(done.stderr).unwrap())
    };
    let (code, said) = told(&["serve"]);
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains("serve --write") && said.contains("import"), "{said}");
    let page = bench.serve(&["--write"]);
    page.get("").says(200, &[]);
    page.get("record").says(200, &["There is none yet"]);
    let (code, said) = told(&["serve", "--port", page.host.split_once(':').unwrap().1]);
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains("leave --port out"), "{said}");
}
