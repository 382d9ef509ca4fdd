//! The report page: whole, small, without network or script, and saying what it must. Its parts are read back with
//! an XML reader; what a page needs is from the HTML standard (<https://html.spec.whatwg.org>, as of 2025).

use assert_cmd::Command;
use doughwright::advice::cautions::KITCHEN;
use quick_xml::Reader;
use quick_xml::events::Event;

/// Elements that have no end tag (HTML standard, 13.1.2 "Elements": void elements).
const VOID: [&str; 14] = [
    "area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "param", "source", "track",
    "wbr",
];

fn doughwright(folder: &std::path::Path, words: &[&str]) -> Command {
    let mut command = Command::cargo_bin("doughwright").expect("the program is built with its tests");
    command.current_dir(folder).env_remove("DOUGHWRIGHT_LOGBOOK").args(words);
    command
}

/// The demo's page, and the folder it stands in.
fn demo() -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let said = doughwright(folder.path(), &["demo", "--out", "d", "--json"]).output().unwrap();
    let told: serde_json::Value = serde_json::from_slice(&said.stdout).unwrap();
    let page = std::fs::read_to_string(folder.path().join(told["report"].as_str().unwrap())).unwrap();
    (folder, page)
}

/// Names of the elements in order; panics when they do not nest.
fn elements(page: &str) -> Vec<String> {
    let mut reader = Reader::from_str(page);
    reader.config_mut().check_end_names = false;
    let (mut open, mut all) = (Vec::new(), Vec::new());
    let name = |name: &str| name.to_string();
    loop {
        match reader.read_event().unwrap() {
            Event::Start(e) => {
                let name = name(e.name().as_ref());
                all.push(name.clone());
                if !VOID.contains(&name.as_str()) {
                    open.push(name);
                }
            }
            Event::Empty(e) => all.push(name(e.name().as_ref())),
            Event::End(e) => assert_eq!(open.pop(), Some(name(e.name().as_ref()))),
            Event::Eof => break,
            _ => {}
        }
    }
    assert_eq!(open, Vec::<String>::new());
    all
}

#[test]
fn the_demo_writes_one_whole_page() {
    let (_folder, page) = demo();
    assert!(page.starts_with("<!DOCTYPE html><html lang=\"en\">"));
    let elements = elements(&page);
    let count = |name: &str| elements.iter().filter(|e| *e == name).count();
    assert_eq!((count("h1"), count("main"), count("script"), count("link"), count("img")), (1, 1, 0, 0, 0));
    assert_eq!(count("svg"), count("figure"));
    assert!(count("figure") >= 9, "{} figures", count("figure"));
    // Each table says what it is, and each picture has its numbers.
    assert_eq!(count("table"), count("caption"));
    assert!(count("details") > count("figure"));
    assert!(page.len() < 1_000_000, "{} bytes", page.len());
}

#[test]
fn the_page_asks_nothing_of_the_network() {
    let (_folder, page) = demo();
    let page = page.replace("http://www.w3.org/2000/svg", "");
    for word in ["http:", "https:", "<script", "src=", "url(", "@import", "javascript:"] {
        assert!(!page.contains(word), "{word}");
    }
}

#[test]
fn the_page_says_what_it_must_and_in_that_order() {
    let (_folder, page) = demo();
    let place = |text: &str| page.find(text).unwrap_or_else(|| panic!("'{text}' is not on the page"));
    let order = [
        "invented",
        "Next batch",
        "Weigh",
        "Pour",
        "Expect",
        "Ready",
        "How sure",
        "How steady",
        "How well",
        "Parameters",
    ];
    let places: Vec<usize> = order.iter().map(|text| place(text)).collect();
    assert!(places.is_sorted(), "{places:?}");
    for caution in KITCHEN {
        place(caution);
    }
    for kept in ["prefers-color-scheme: dark", "@media print", "width=device-width"] {
        place(kept);
    }
    assert!(
        page.split("<tbody>")
            .skip(1)
            .all(|t| t.split("</tbody>").next().unwrap().matches("<tr>").count() <= 60)
    );
}

#[test]
fn the_report_gives_the_same_yeast_as_recommend() {
    let (folder, _) = demo();
    let plan = ["--logbook", "d/logbook.db", "--json", "d/plan.csv"];
    let json = |words: &[&str]| -> serde_json::Value {
        let said = doughwright(folder.path(), &[words, &plan].concat()).output().unwrap();
        serde_json::from_slice(&said.stdout).unwrap()
    };
    let yeast_g = json(&["recommend"])["plans"][0]["yeast_g"].as_f64().unwrap();
    let told = json(&["report", "--out", "page.html"]);
    assert_eq!(told["report"], "page.html");
    let page = std::fs::read_to_string(folder.path().join("page.html")).unwrap();
    assert!(page.contains(&format!("<strong class=\"big\">{yeast_g} g</strong> of instant yeast")));
}

#[test]
fn a_name_cannot_write_into_the_page() {
    let folder = tempfile::tempdir().unwrap();
    let rows = "batch_id,date,flour_g,water_g,yeast_g,yeast_type,bulk_hours,room_temp_c,rise,target_rise,kitchen\n\
                <script>a,2026-01-02,1000,650,5,instant,3,22,2.1,2.2,<b>k\n";
    std::fs::write(folder.path().join("b.csv"), rows).unwrap();
    doughwright(folder.path(), &["import", "b.csv"]).assert().success();
    doughwright(folder.path(), &["report", "--out", "p.html"]).assert().success();
    let page = std::fs::read_to_string(folder.path().join("p.html")).unwrap();
    assert!(!page.contains("<script") && !page.contains("<b>") && page.contains("&lt;b&gt;k"));
    elements(&page);
}
