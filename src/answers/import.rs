//! Tables into the logbook, as one step each: good rows go in, bad rows come back with what is wrong.

use std::collections::BTreeMap;
use std::path::PathBuf;

use schemars::JsonSchema;
use serde::Serialize;

use crate::dough::counted::counted;
use crate::dough::{Column, Value};
use crate::intake::{ColumnMap, Decimal, Entry, Opened, Quantity, Row, RowProblem, SetAside, Target};
use crate::logbook::{Change, Counts, Importer, Logbook, LookAlike, Pushed, Source};

use super::failure::Failure;
use super::import_rows::{Taken, push_all};
use super::understood::understood;

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
    /// Rows that were taken, and are odd; the first of many.
    pub notes: Vec<String>,
}

/// Notes that are kept of one import.
const MOST_NOTES: usize = 100;

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
    /// How many batches went into each kitchen.
    pub kitchens: BTreeMap<String, usize>,
    /// Rows set aside.
    pub set_aside: usize,
    /// Where they were written.
    pub set_aside_file: Option<PathBuf>,
}

impl OfFile {
    /// Whether there was no row of data at all.
    pub fn is_empty(&self) -> bool {
        self.rows == 0 && self.example == 0
    }

    fn went_into(&mut self, kitchen: &str) {
        match self.kitchens.get_mut(kitchen) {
            Some(n) => *n += 1,
            None => {
                self.kitchens.insert(kitchen.into(), 1);
            }
        }
    }

    /// Into which kitchens its batches went, in words; `meant` is the one that was asked for. `None` without batches.
    pub fn says_kitchens(&self, meant: Option<&str>) -> Option<String> {
        let into = |(kitchen, n): (&String, &usize)| {
            format!("{} into kitchen '{kitchen}'", counted(*n, "batch", "batches"))
        };
        let all: Vec<String> = self.kitchens.iter().map(into).collect();
        let others = self.kitchens.keys().any(|k| meant.is_some_and(|m| m != k));
        let why = if others { ": a row that names its kitchen keeps it" } else { "" };
        (!all.is_empty()).then(|| all.join(", ") + why)
    }

    /// That there was none, in words.
    pub fn says_empty(&self) -> String {
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

/// A table to be taken in.
#[derive(Debug)]
pub struct Table {
    /// The file, as messages name it.
    pub file: String,
    /// The file's name without its folder, as the logbook remembers where rows came from.
    pub source: String,
    /// The table.
    pub opened: Opened,
}

/// What is known of an import beside its tables.
pub struct Taking<'a> {
    /// The kitchen that rows belong to which name none.
    pub kitchen: Option<&'a str>,
    /// Hears now and then how many rows there were so far.
    pub seen: &'a dyn Fn(u64),
}

/// What taking the tables would do, and the rows of each that would be set aside. Nothing is written.
pub fn check(
    logbook: &mut Logbook,
    tables: &[Table],
    taking: &Taking<'_>,
) -> Result<(Imported, Vec<Vec<SetAside>>), Failure> {
    let mut total = Imported::default();
    // One import for all files, so that readings find their batches; dropped, it leaves no trace.
    let mut importer = logbook.importer(&Source::new("check"))?;
    let bad = tables.iter().map(|table| take(&mut importer, table, taking, &mut total));
    let bad = bad.collect::<Result<_, _>>()?;
    Ok((total, bad))
}

/// Takes tables in the order given, each as one step. `put_aside` gets the bad rows of a table before its good ones count
/// as taken, and says where it wrote them. What `map` says of the sheets is remembered for the next sheet of the same
/// shape.
pub fn take_all(
    logbook: &mut Logbook,
    tables: &[Table],
    map: &ColumnMap,
    taking: &Taking<'_>,
    mut put_aside: impl FnMut(usize, &[SetAside]) -> Result<Option<PathBuf>, Failure>,
) -> Result<Imported, Failure> {
    let mut total = Imported::default();
    for (i, table) in tables.iter().enumerate() {
        let mut source = Source::new(&table.source);
        source.columns = columns_of(&table.opened);
        source.kitchen = taking.kitchen.map(str::to_string);
        let mut importer = logbook.importer(&source)?;
        let bad = take(&mut importer, table, taking, &mut total)?;
        if !bad.is_empty()
            && let Some(place) = put_aside(i, &bad)?
        {
            total.set_aside_file = Some(place.clone());
            if let Some(of) = total.files.last_mut() {
                of.set_aside_file = Some(place);
            }
        }
        let summary = importer.finish()?;
        if *map != ColumnMap::default() {
            let understood = table.opened.understood();
            logbook.keep_column_map(&understood.shape, &understood.to_toml())?;
        }
        total.changes.extend(summary.changes);
        total.look_alikes.extend(summary.look_alikes);
        // Batches without an id find out only at the end what they are.
        if let Some(of) = total.files.last_mut() {
            let all = [summary.batches, summary.readings, summary.surroundings];
            let sum = |f: fn(&Counts) -> usize| all.iter().map(f).sum::<usize>();
            (of.added, of.changed, of.unchanged) =
                (sum(|c| c.added), sum(|c| c.changed), sum(|c| c.unchanged));
        }
    }
    total.sum_files();
    Ok(total)
}

/// Takes one table's rows; returns the bad ones.
fn take(
    importer: &mut Importer<'_>,
    table: &Table,
    taking: &Taking<'_>,
    total: &mut Imported,
) -> Result<Vec<SetAside>, Failure> {
    let file = &table.opened;
    let mut of = OfFile {
        file: table.file.clone(),
        kind: file.understood().kind.name(),
        added: 0,
        changed: 0,
        unchanged: 0,
        understood: understood(file),
        repeated: 0,
        rows: 0,
        example: file.understood().passed_over.example.0 as usize,
        kitchens: BTreeMap::new(),
        set_aside: 0,
        set_aside_file: None,
    };
    let mut bad: Vec<SetAside> = Vec::new();
    push_all(importer, file, taking.kitchen, taking.seen, |taken| {
        of.rows += 1;
        if let Taken::Pushed(_, Some(kitchen), _) = taken {
            of.went_into(kitchen);
        }
        match taken {
            Taken::Bad(row) => bad.push(row),
            Taken::Repeated => of.repeated += 1,
            Taken::Refused(row, why) => bad.push(refusal(table, row, why)),
            Taken::Pushed(pushed, _, odd) => {
                match pushed {
                    Pushed::Added => of.added += 1,
                    Pushed::Changed => of.changed += 1,
                    Pushed::Unchanged => of.unchanged += 1,
                    _ => {}
                }
                if let Some(odd) = odd.filter(|_| total.notes.len() < MOST_NOTES) {
                    total.notes.push(format!("{} {odd}", table.file));
                }
            }
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
fn refusal(table: &Table, row: Row<Entry>, why: Pushed) -> SetAside {
    let file = &table.opened;
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
        file: table.file.clone(),
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
    let Some(column) = columns.iter().find(|c| c.place == place) else {
        return String::new();
    };
    let target = column.target;
    // The numbers of a batch are in the units of the contract; those of the sheet may be in others.
    let number = |x: f64| {
        let kept = target.quantity().map(Quantity::kept_in);
        let unit = kept.filter(|k| column.unit.is_some_and(|u| u != *k)).map(|k| format!(" {k}"));
        let figures = match column.decimal {
            Some(Decimal::Comma) => x.to_string().replace('.', ","),
            _ => x.to_string(),
        };
        figures + &unit.unwrap_or_default()
    };
    let from_json = |value: serde_json::Result<serde_json::Value>, name: &str| match value
        .ok()
        .map(|v| v[name].clone())
    {
        Some(serde_json::Value::String(s)) => s,
        Some(serde_json::Value::Null) | None => String::new(),
        Some(serde_json::Value::Number(x)) => number(x.as_f64().unwrap_or_default()),
        Some(other) => other.to_string(),
    };
    match (entry, target) {
        (Entry::Batch(b), Target::Column(c)) => match b.get(c) {
            Some(Value::Number(x)) => number(x),
            value => value.map(|v| v.to_string()).unwrap_or_default(),
        },
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
