//! The rooms of `src/` as DEVELOPERS.md tells them: data flow one way, and no file grows beyond one idea.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

const MOST_LINES: usize = 500;

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
    found
}

fn sources() -> Vec<(PathBuf, String)> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let read = |path: PathBuf| {
        let text = fs::read_to_string(&path).unwrap();
        (path.strip_prefix(&src).unwrap().to_path_buf(), text)
    };
    files(&src).into_iter().map(read).collect()
}

/// Each room with those that it uses, tests aside.
fn uses() -> BTreeMap<String, BTreeSet<String>> {
    let mut uses: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for (path, text) in sources() {
        let first = path.iter().next().unwrap().to_string_lossy();
        let room = first.trim_end_matches(".rs").to_string();
        let code = text.split("#[cfg(test)]").next().unwrap();
        for part in code.split("crate::").skip(1) {
            let used: String = part.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            if used != room && !used.is_empty() {
                uses.entry(room.clone()).or_default().insert(used);
            }
        }
    }
    uses
}

#[test]
fn issue_8_no_room_leads_back_to_itself() {
    let uses = uses();
    for room in uses.keys() {
        let (mut seen, mut open) = (BTreeSet::new(), vec![room]);
        while let Some(at) = open.pop() {
            for next in uses.get(at).into_iter().flatten() {
                assert!(next != room, "{room} leads back to itself by way of {at}");
                if seen.insert(next) {
                    open.push(next);
                }
            }
        }
    }
    // The same rooms in the order of the data: each knows only those before it.
    let order = ["dough", "intake", "logbook", "physics", "inference", "crust", "advice", "consistency"];
    let after = ["charts", "report", "answers", "serve", "cli"];
    let place = |room: &str| order.iter().chain(&after).position(|r| *r == room);
    for (room, used) in &uses {
        for used in used {
            if let (Some(here), Some(there)) = (place(room), place(used)) {
                assert!(there < here, "{room} uses {used}, which is downstream of it");
            }
        }
    }
}

#[test]
fn issue_8_no_file_is_longer_than_one_idea() {
    for (path, text) in sources() {
        let lines = text.lines().count();
        assert!(lines <= MOST_LINES, "{}: {lines} lines", path.display());
    }
}
