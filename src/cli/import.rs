//! `import`: spreadsheets into the logbook. Good rows go in, bad rows are set aside in a file beside the
//! input, and what happened is told row by row.

use std::io::Read;
use std::path::{Path, PathBuf};

use indicatif::{ProgressBar, ProgressStyle};

pub use crate::answers::import::Imported;
use crate::answers::import::{self as answers, OfFile, Taking, take_all};
use crate::dough::Purpose;
use crate::intake::{ColumnMap, IntakeError, Opened, SetAside, Source as Bytes, write_set_aside};
use crate::logbook::Logbook;

use super::args::ImportArgs;
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::files::{write_new, write_whole};
use super::output::answer;
use super::sheet;
use super::text::counted;

/// Runs the command.
pub fn run(context: &Context, args: &ImportArgs) -> Outcome {
    let map = sheet::said(&args.sheet)?;
    let imported = import(context, &args.files, args.check, &map, args.sheet.save_columns.as_deref())?;
    if imported.files.iter().all(OfFile::is_empty) {
        let each: Vec<String> = imported.files.iter().map(OfFile::says_empty).collect();
        return Err(Failure::Call(format!(
            "{}: write a row for each batch, and import it again",
            each.join("; ")
        )));
    }
    answer(context, &imported, || text(&imported, args.check, &context.logbook))?;
    Ok(if imported.set_aside > 0 { Done::InPart } else { Done::All })
}

/// Imports files in the order given; each table is one transaction. What `map` says of the sheets is remembered for the
/// next sheet of the same shape; `save` receives what was understood, for the baker to edit.
pub fn import(
    context: &Context,
    files: &[PathBuf],
    check: bool,
    map: &ColumnMap,
    save: Option<&Path>,
) -> Result<Imported, Failure> {
    // All files are opened before any is taken, so that a wrong name changes nothing.
    // A logbook that cannot be read remembers nothing; what is wrong with it is said when it is opened for writing.
    let known = Logbook::open_read_only(&context.logbook).ok();
    let (paths, tables) = sheet::open(files, map, known.as_ref())?;
    drop(known);
    if let Some(path) = save {
        let text: Vec<String> = tables.iter().map(|table| table.opened.understood().to_toml()).collect();
        write_whole(path, text.join("\n"))?;
    }
    // Nothing is made for a sheet with questions open.
    tables
        .iter()
        .try_for_each(|table| table.opened.settled(Purpose::Record))
        .map_err(|open| asked(open, save))?;
    let scratch;
    let place = if check && !context.logbook.exists() {
        scratch = Scratch::new()?;
        scratch.0.join("check.db")
    } else {
        context.logbook.clone()
    };
    let mut logbook = Logbook::open_or_create(&place)?;
    let progress = ProgressBar::no_length().with_style(
        ProgressStyle::with_template("{spinner} {human_pos} rows, {per_sec}, {elapsed}")
            .unwrap_or_else(|_| ProgressStyle::default_spinner()),
    );
    let seen = |rows| {
        if rows >= SHOWN_FROM {
            progress.set_position(rows);
        }
    };
    let taking = Taking { kitchen: context.kitchen.as_deref(), seen: &seen };
    let imported = match check {
        true => answers::check(&mut logbook, &tables, &taking).map(|(imported, _)| imported),
        false => take_all(&mut logbook, &tables, map, &taking, |i, bad| {
            set_aside(&paths[i], &tables[i].opened, bad).map(Some)
        }),
    };
    progress.finish_and_clear();
    imported
}

/// Questions beyond which a file to edit is better than flags.
const MANY: usize = 3;

/// Open questions, with the way to settle many of them at once.
fn asked(open: IntakeError, saved: Option<&Path>) -> Failure {
    match (&open, saved) {
        (IntakeError::Open { .. }, Some(map)) => Failure::Call(format!(
            "{open}\nor settle them in {map}, and import again with --columns {map}",
            map = map.display()
        )),
        (IntakeError::Open { questions, .. }, None) if questions.len() > MANY => Failure::Call(format!(
            "{open}\nor settle all of them in a file: import once more with --save-columns map.toml, edit it, and import with \
             --columns map.toml"
        )),
        _ => open.into(),
    }
}

/// Rows before progress is shown.
const SHOWN_FROM: u64 = 20_000;

fn is_standard_input(path: &Path) -> bool {
    path.as_os_str() == "-"
}

/// Opens a file, or all of standard input for `-`.
pub fn source_of(path: &Path) -> Result<Bytes, Failure> {
    if !is_standard_input(path) {
        return Ok(Bytes::path(path));
    }
    let mut bytes = Vec::new();
    std::io::stdin()
        .lock()
        .read_to_end(&mut bytes)
        .map_err(|e| Failure::Work(format!("standard input cannot be read: {e}")))?;
    Ok(Bytes::bytes("standard input", bytes))
}

pub fn file_name(path: &Path) -> String {
    match path.file_name() {
        Some(name) if !is_standard_input(path) => name.to_string_lossy().into_owned(),
        _ => "standard input".into(),
    }
}

/// Writes bad rows beside their file: `batches.csv` → `batches.set-aside.csv`, or with a number where that
/// name is taken by other rows, which the baker may be correcting just now.
fn set_aside(path: &Path, file: &Opened, rows: &[SetAside]) -> Result<PathBuf, Failure> {
    let mut text = Vec::new();
    write_set_aside(file.headings(), rows, &mut text)
        .map_err(|e| Failure::write(&beside(path, 1), std::io::Error::other(e)))?;
    let mut n = 1;
    loop {
        let place = beside(path, n);
        let same = || {
            let as_long = std::fs::metadata(&place).is_ok_and(|m| m.len() == text.len() as u64);
            as_long && std::fs::read(&place).is_ok_and(|there| there == text)
        };
        if write_new(&place, &text)? || same() {
            return Ok(place);
        }
        n += 1;
    }
}

fn beside(path: &Path, n: usize) -> PathBuf {
    let ending = if n == 1 { "set-aside.csv".to_string() } else { format!("set-aside-{n}.csv") };
    if is_standard_input(path) {
        format!("standard-input.{ending}").into()
    } else {
        path.with_extension(ending)
    }
}

/// A folder of its own that goes when dropped, for a check without a logbook.
struct Scratch(PathBuf);

impl Scratch {
    fn new() -> Result<Self, Failure> {
        let unique = format!("doughwright-check-{}", std::process::id());
        let path = std::env::temp_dir().join(unique);
        std::fs::create_dir_all(&path).map_err(|e| Failure::write(&path, e))?;
        Ok(Self(path))
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        // Nothing depends on it: what is left of a check is an empty logbook in the system's scratch folder.
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// Problems shown at most; all are in the file set aside and in the JSON.
const SHOWN: usize = 12;

fn text(imported: &Imported, check: bool, logbook: &Path) -> String {
    let mut lines = Vec::new();
    for f in &imported.files {
        if f.is_empty() {
            lines.push(f.says_empty());
            continue;
        }
        let mut line = format!("{}: {} new", f.file, f.added);
        if f.changed > 0 {
            line += &format!(", {} changed", f.changed);
        }
        if f.unchanged > 0 {
            line += &format!(", {} as before", f.unchanged);
        }
        if f.repeated > 0 {
            line += &format!(", {} repeated word for word", f.repeated);
        }
        if f.example > 0 {
            line += ", the template's example passed over";
        }
        line += &format!(" ({})", f.kind);
        lines.push(line);
        lines.extend(f.understood.iter().map(|u| format!("  {u}")));
    }
    for p in imported.problems.iter().take(SHOWN) {
        let value = if p.value.is_empty() { "blank".to_string() } else { format!("'{}'", p.value) };
        lines.push(format!("  {} row {}, {}: {value}: {}", p.file, p.row, p.column, p.message));
    }
    if imported.problems.len() > SHOWN {
        lines.push(format!("  and {} more", imported.problems.len() - SHOWN));
    }
    lines.extend(imported.notes.iter().take(SHOWN).map(|note| format!("  {note}")));
    if imported.notes.len() > SHOWN {
        lines.push(format!("  and {} more like these", imported.notes.len() - SHOWN));
    }
    for alike in imported.look_alikes.iter().take(SHOWN) {
        lines.push(format!(
            "  {} is new, and nearly the same as {} of another sheet: if it is the same batch, take this import back \
             with `undo` and give the row the batch_id {}",
            alike.added, alike.existing, alike.existing
        ));
    }
    if imported.look_alikes.len() > SHOWN {
        lines.push(format!("  and {} more like these", imported.look_alikes.len() - SHOWN));
    }
    if imported.set_aside > 0 {
        let rows = counted(imported.set_aside, "row was", "rows were");
        lines.push(match &imported.set_aside_file {
            Some(file) => {
                format!("{rows} set aside in {}: correct them there and import that file", file.display())
            }
            None => format!("{rows} not fit to be taken"),
        });
    }
    lines.push(match check {
        true => "nothing was written: this was a check".into(),
        false => format!("logbook: {}", logbook.display()),
    });
    lines.join("\n") + "\n"
}
