//! The committed schemas of the JSON answers are those of the answers' types. `WRITE_EXPECTED=1 cargo test --release
//! --test schemas` writes them anew, to be read before they are committed: readers outside lean on them.

use std::collections::BTreeSet;
use std::path::PathBuf;

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("schemas")
}

#[test]
fn issue_7_the_committed_schemas_are_those_of_the_answers() {
    for (command, schema) in doughwright::cli::schemas() {
        let made = serde_json::to_string_pretty(&schema).unwrap() + "\n";
        let file = folder().join(format!("{command}.json"));
        if std::env::var_os("WRITE_EXPECTED").is_some() {
            std::fs::create_dir_all(folder()).unwrap();
            std::fs::write(&file, &made).unwrap();
        }
        let committed = std::fs::read_to_string(&file).unwrap_or_default();
        assert!(made == committed, "{} is not what `{command}` answers", file.display());
    }
}

#[test]
fn issue_7_there_is_a_schema_for_each_command_and_no_other() {
    let files = std::fs::read_dir(folder()).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap());
    let files: BTreeSet<String> = files.map(|f| f.trim_end_matches(".json").to_string()).collect();
    let command = doughwright::cli::command();
    let commands: BTreeSet<String> = command.get_subcommands().map(|c| c.get_name().to_string()).collect();
    assert_eq!(files, commands);
}
