//! The invented kitchens: the demo data is what its seed makes.

use std::path::Path;

use doughwright::simulate::demo;

fn committed(name: &str) -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data").join(name);
    std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

#[test]
fn the_committed_demo_data_is_what_its_seed_makes() {
    for (name, made) in demo::text_files().unwrap() {
        assert!(
            made == committed(name),
            "{name} differs: run `cargo run --release --example make_demo_data`"
        );
    }
}
