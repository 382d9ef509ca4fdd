//! `import`: spreadsheets into the logbook. Good rows go in, bad rows are set aside in a file beside the
//! input, and what happened is told row by row.

use std::io::Read;
use std::path::{Path, PathBuf};

use indicatif::{ProgressBar, ProgressStyle};

pub use crate::answers::import::Imported;
use crate::answers::import::{self as answers, OfFile, Taking, take_all};
use crate::dough::Purpose;
use crate::intake::{
    ColumnMap, IntakeError, Opened, Question, SetAside, Source as Bytes, UNSAID, quoted, write_set_aside,
};
use crate::logbook::Logbook;

use super::args::{ImportArgs, NAME};
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
    answer(context, &imported, || text(&imported, args.check, context))?;
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
    let open = tables.iter().find_map(|t| Some((t, t.opened.settled(Purpose::Record).err()?)));
    if let Some((table, open)) = open {
        return Err(asked(open, &table.opened, save));
    }
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

/// Open questions, with what was understood beside them, and the call that settles all that a call can.
fn asked(open: IntakeError, table: &Opened, saved: Option<&Path>) -> Failure {
    let IntakeError::Open { file, questions } = &open else { return open.into() };
    let mut said = open.to_string();
    let understood = table.understood().in_short();
    if !understood.is_empty() {
        said += &format!("\nunderstood of {file}: {understood}");
    }
    let mut answers: Vec<String> = Vec::new();
    for answer in questions.iter().filter_map(Question::answer) {
        if !answers.contains(&answer) {
            answers.push(answer);
        }
    }
    match saved {
        Some(map) => {
            said += &format!(
                "\nor settle them in {map}, and import again with --columns {map}",
                map = map.display()
            );
        }
        None if questions.len() > MANY => {
            said += "\nor settle all of them in a file: import once more with --save-columns map.toml, edit it, and import \
                     with --columns map.toml";
        }
        None => {}
    }
    if !answers.is_empty() {
        let blank = if answers.iter().any(|a| a.contains(UNSAID)) {
            format!(" (put your answer in place of each {UNSAID})")
        } else {
            String::new()
        };
        said += &format!("\nall in one call{blank}:\n  {} {}", this_call(), answers.join(" "));
    }
    Failure::Call(said)
}

/// The call as it was typed, ready to be typed again.
fn this_call() -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_./=:+,@%".contains(c);
    let typed = |word: String| match !word.is_empty() && word.chars().all(plain) {
        true => word,
        false => quoted(&word),
    };
    let words = std::env::args_os().skip(1).map(|w| typed(w.to_string_lossy().into_owned()));
    std::iter::once(NAME.to_string()).chain(words).collect::<Vec<_>>().join(" ")
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
    let separator = file.separator();
    write_set_aside(file.headings(), rows, separator, &mut text)
        .map_err(|e| Failure::write(path, std::io::Error::other(e)))?;
    let (stem, mut n) = stem_and_number(path);
    loop {
        let place = beside(path, &stem, n, separator);
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

/// The name that rows set aside are called by, and the number of the first such file: rows of a file that was itself set
/// aside go into the next one of the same sheet.
fn stem_and_number(path: &Path) -> (String, usize) {
    if is_standard_input(path) {
        return ("standard-input".into(), 1);
    }
    let stem = path.file_stem().map_or("sheet".into(), |s| s.to_string_lossy().into_owned());
    let Some((sheet, mark)) = stem.rsplit_once('.') else { return (stem, 1) };
    let number = match mark.strip_prefix(SET_ASIDE) {
        Some("") => Some(1),
        Some(n) => n.strip_prefix('-').and_then(|n| n.parse::<usize>().ok()),
        None => None,
    };
    match number {
        Some(n) => (sheet.into(), n.saturating_add(1)),
        None => (stem, 1),
    }
}

const SET_ASIDE: &str = "set-aside";

fn beside(path: &Path, stem: &str, n: usize, separator: u8) -> PathBuf {
    let ending = if separator == b'\t' { "tsv" } else { "csv" };
    let number = if n == 1 { String::new() } else { format!("-{n}") };
    let name = format!("{stem}.{SET_ASIDE}{number}.{ending}");
    if is_standard_input(path) { name.into() } else { path.with_file_name(name) }
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

fn text(imported: &Imported, check: bool, context: &Context) -> String {
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
        lines.extend(f.says_kitchens(context.kitchen.as_deref()).map(|says| format!("  {says}")));
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
                let kitchen = context.kitchen.as_ref().map(|k| format!(" with --kitchen {k}"));
                let file = file.display();
                let how = kitchen.unwrap_or_default();
                format!("{rows} set aside in {file}: correct them there and import that file{how}")
            }
            None => format!("{rows} not fit to be taken"),
        });
    }
    lines.push(match check {
        true => "nothing was written: this was a check".into(),
        false => format!("logbook: {}", context.logbook.display()),
    });
    lines.join("\n") + "\n"
}
