//! `import`: spreadsheets into the logbook. Good rows go in, bad rows are set aside in a file beside the
//! input, and what happened is told row by row.

use std::fs::File;
use std::io::{ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

use schemars::JsonSchema;
use serde::Serialize;

use crate::dough::{Column, Purpose, Value};
use crate::intake::{
    ColumnMap, Entry, IntakeError, Opened, Row, RowProblem, SetAside, Source as Bytes, Target,
    write_set_aside,
};
use crate::logbook::{Change, Importer, Logbook, LookAlike, Pushed, Source};

use super::args::ImportArgs;
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::import_rows::{Taken, push_all};
use super::output::answer;
use super::sheet;

/// What an import did, over all files.
#[derive(Debug, Default, Serialize, JsonSchema)]
pub struct Imported {
    /// New rows.
    pub added: usize,
    /// Rows with other values than before; the former values stay in the history.
    pub changed: usize,
    /// Rows that were there just so.
    pub unchanged: usize,
    /// Rows that were set aside.
    pub set_aside: usize,
    /// Where the last of those were written.
    pub set_aside_file: Option<PathBuf>,
    /// Everything that is wrong, row by row.
    pub problems: Vec<RowProblem>,
    /// One entry a file.
    pub files: Vec<OfFile>,
    /// Values that changed.
    pub changes: Vec<Change>,
    /// Batches that came without an id and are nearly the same as one of another sheet.
    pub look_alikes: Vec<LookAlike>,
}

/// What one file gave.
#[derive(Debug, Serialize, JsonSchema)]
pub struct OfFile {
    /// The file.
    pub file: String,
    /// Batches, readings or surroundings.
    pub kind: &'static str,
    /// New rows.
    pub added: usize,
    /// Changed rows.
    pub changed: usize,
    /// Rows that were there just so.
    pub unchanged: usize,
    /// What headings were taken for, where that is not their own name.
    pub understood: Vec<String>,
    /// Rows that say word for word what an earlier one says.
    pub repeated: usize,
    /// Rows of data.
    #[serde(skip)]
    rows: usize,
    /// Rows that are the example of a template.
    pub example: usize,
    /// Rows set aside.
    pub set_aside: usize,
    /// Where they were written.
    pub set_aside_file: Option<PathBuf>,
}

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
    let opened = sheet::open(files, map, known.as_ref())?;
    drop(known);
    if let Some(path) = save {
        let text: Vec<String> = opened.iter().map(|(_, table)| table.understood().to_toml()).collect();
        std::fs::write(path, text.join("\n")).map_err(|e| Failure::write(path, e))?;
    }
    // Nothing is made for a sheet with questions open.
    opened
        .iter()
        .try_for_each(|(_, table)| table.settled(Purpose::Record))
        .map_err(|open| asked(open, save))?;
    let scratch;
    let place = if check && !context.logbook.exists() {
        scratch = Scratch::new()?;
        scratch.0.join("check.db")
    } else {
        context.logbook.clone()
    };
    let mut logbook = Logbook::open_or_create(&place)?;
    let mut total = Imported::default();
    if check {
        let mut importer = logbook.importer(&Source::new("check"))?;
        // One import for all files, so that readings find their batches; dropped, it leaves no trace.
        for (path, file) in &opened {
            take(&mut importer, path, file, context.kitchen.as_deref(), &mut total)?;
        }
        return Ok(total);
    }
    for (path, file) in &opened {
        let mut source = Source::new(file_name(path));
        source.columns = columns_of(file);
        source.kitchen = context.kitchen.clone();
        let mut importer = logbook.importer(&source)?;
        let bad = take(&mut importer, path, file, context.kitchen.as_deref(), &mut total)?;
        // The bad rows are safe on the disk before the good ones count as taken.
        if !bad.is_empty() {
            let place = set_aside(path, file, &bad)?;
            total.set_aside_file = Some(place.clone());
            if let Some(of) = total.files.last_mut() {
                of.set_aside_file = Some(place);
            }
        }
        let summary = importer.finish()?;
        if *map != ColumnMap::default() {
            let understood = file.understood();
            logbook.keep_column_map(&understood.shape, &understood.to_toml())?;
        }
        total.changes.extend(summary.changes);
        total.look_alikes.extend(summary.look_alikes);
        // Batches without an id find out only at the end what they are.
        if let Some(of) = total.files.last_mut() {
            let all = [summary.batches, summary.readings, summary.surroundings];
            let sum = |f: fn(&crate::logbook::Counts) -> usize| all.iter().map(f).sum::<usize>();
            (of.added, of.changed, of.unchanged) =
                (sum(|c| c.added), sum(|c| c.changed), sum(|c| c.unchanged));
        }
    }
    total.sum_files();
    Ok(total)
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

impl OfFile {
    /// Whether there was no row of data at all.
    fn is_empty(&self) -> bool {
        self.rows == 0 && self.example == 0
    }

    fn says_empty(&self) -> String {
        format!("{}: headings of {}, and no row below them", self.file, self.kind)
    }
}

impl Imported {
    fn sum_files(&mut self) {
        let sum = |f: fn(&OfFile) -> usize| self.files.iter().map(f).sum::<usize>();
        (self.added, self.changed, self.unchanged) =
            (sum(|f| f.added), sum(|f| f.changed), sum(|f| f.unchanged));
    }
}

/// Takes one file's rows; returns the bad ones.
fn take(
    importer: &mut Importer<'_>,
    path: &Path,
    file: &Opened,
    kitchen: Option<&str>,
    total: &mut Imported,
) -> Result<Vec<SetAside>, Failure> {
    let mut of = OfFile {
        file: path.display().to_string(),
        kind: file.understood().kind.name(),
        added: 0,
        changed: 0,
        unchanged: 0,
        understood: sheet::understood(file),
        repeated: 0,
        rows: 0,
        example: file.understood().passed_over.example.0 as usize,
        set_aside: 0,
        set_aside_file: None,
    };
    let mut bad: Vec<SetAside> = Vec::new();
    push_all(importer, file, kitchen, |taken| {
        of.rows += 1;
        match taken {
            Taken::Bad(row) => bad.push(row),
            Taken::Repeated => of.repeated += 1,
            Taken::Refused(row, why) => bad.push(refusal(path, file, row, why)),
            Taken::Pushed(Pushed::Added) => of.added += 1,
            Taken::Pushed(Pushed::Changed) => of.changed += 1,
            Taken::Pushed(Pushed::Unchanged) => of.unchanged += 1,
            Taken::Pushed(_) => {}
        }
    })?;
    of.set_aside = bad.len();
    total.set_aside += bad.len();
    total.problems.extend(bad.iter().flat_map(|b| b.problems.iter().cloned()));
    total.files.push(of);
    total.sum_files();
    Ok(bad)
}

/// A good row that the logbook cannot place.
fn refusal(path: &Path, file: &Opened, row: Row<Entry>, why: Pushed) -> SetAside {
    let id = match &row.value {
        Entry::Batch(b) => b.batch_id.clone().unwrap_or_default(),
        Entry::Reading(r) => r.batch_id.clone(),
        Entry::Surroundings(p) => p.batch_id.clone(),
    };
    let message = match why {
        Pushed::NoSuchBatch => {
            "there is no such batch in the logbook: import its batch first, or correct the id"
        }
        Pushed::SeveralKitchens => "several kitchens have a batch of this id: say which with --kitchen",
        _ => "this stands in the file already with other values: keep one of them",
    };
    let cells = file.headings().iter().enumerate().map(|(place, _)| cell(file, &row.value, place)).collect();
    let problem = RowProblem {
        file: path.display().to_string(),
        row: row.row,
        column: Column::batch_id.name().into(),
        value: id,
        message: message.into(),
    };
    SetAside { row: row.row, cells, problems: vec![problem] }
}

/// What stands in a place of a row, from what the row was taken for.
fn cell(file: &Opened, entry: &Entry, place: usize) -> String {
    let columns = &file.understood().columns;
    let Some(target) = columns.iter().find(|c| c.place == place).map(|c| c.target) else {
        return String::new();
    };
    let from_json = |value: serde_json::Result<serde_json::Value>, name: &str| match value
        .ok()
        .map(|v| v[name].clone())
    {
        Some(serde_json::Value::String(s)) => s,
        Some(serde_json::Value::Null) | None => String::new(),
        Some(other) => other.to_string(),
    };
    match (entry, target) {
        (Entry::Batch(b), Target::Column(c)) => b.get(c).map(|v: Value| v.to_string()).unwrap_or_default(),
        (Entry::Batch(_), _) => String::new(),
        (Entry::Reading(r), t) => from_json(serde_json::to_value(r), t.name()),
        (Entry::Surroundings(p), t) => from_json(serde_json::to_value(p), t.name()),
    }
}

/// Columns of batches that the sheet has; `None` for tables of other kinds.
fn columns_of(file: &Opened) -> Option<Vec<Column>> {
    let columns = file.understood().columns.iter().filter_map(|c| match c.target {
        Target::Column(column) => Some(column),
        _ => None,
    });
    Some(columns.collect::<Vec<_>>()).filter(|c| !c.is_empty())
}

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

fn file_name(path: &Path) -> String {
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
        let made = File::create_new(&place).and_then(|mut out| {
            out.write_all(&text)?;
            out.sync_all()
        });
        match made {
            Ok(()) => return Ok(place),
            Err(e) if e.kind() == ErrorKind::AlreadyExists && same() => return Ok(place),
            Err(e) if e.kind() == ErrorKind::AlreadyExists => n += 1,
            Err(e) => return Err(Failure::write(&place, e)),
        }
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
        let rows = if imported.set_aside == 1 {
            "1 row was".into()
        } else {
            format!("{} rows were", imported.set_aside)
        };
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
