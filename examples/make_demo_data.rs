//! Writes the demo data anew from its committed seed: `cargo run --release --example make_demo_data [DIR]`.

use std::path::PathBuf;

use doughwright::simulate::demo;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("demo-data"), PathBuf::from);
    std::fs::create_dir_all(&folder)?;
    let mut files = demo::text_files()?;
    files.push(("batches.xlsx", demo::spreadsheet()?));
    for (name, bytes) in files {
        std::fs::write(folder.join(name), bytes)?;
        println!("{}", folder.join(name).display());
    }
    Ok(())
}
