//! `record`: one batch written down by hand. Columns given with `--set` are taken without questions; with none it
//! asks at the terminal (`ask`), with what is known beforehand as defaults (`defaults`).

mod ask;
mod defaults;
mod desk;

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io;

use schemars::JsonSchema;
use serde::Serialize;

use crate::dough::{Batch, Column, Purpose, Reading, Value, Vessel, check};
use crate::intake::{typed, typed_reading};
use crate::logbook::{Logbook, PlanRecord, Pushed, Source};

use super::args::RecordArgs;
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::output::answer;
use super::planned::Planned;
use ask::Ended;
use defaults::Defaults;
use desk::Desk;

/// What was written down.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Recorded {
    kitchen: String,
    batch_id: String,
    /// Whether the batch is new.
    added: bool,
    /// Columns of a batch that was there already, and now say otherwise.
    changed: Vec<Column>,
    readings: usize,
    batch: Batch,
    /// What its plan foretold.
    #[serde(skip_serializing_if = "Option::is_none")]
    plan: Option<Planned>,
}

/// What is to be written down.
struct Entry {
    batch: Batch,
    /// The columns that are said; `None` for a new batch, of which all are.
    said: Option<Vec<Column>>,
    readings: Vec<(f64, f64)>,
}

/// Runs the command.
pub fn run(context: &Context, args: &RecordArgs) -> Outcome {
    // The words of the call are judged before a logbook is made for them.
    let said = said(&args.set)?;
    let readings = args.reading.iter().map(|text| reading(text)).collect::<Result<Vec<_>, _>>()?;
    let mut logbook = Logbook::open_or_create(&context.logbook)?;
    let kitchen = match &context.kitchen {
        Some(named) => named.clone(),
        None => context.kitchen(&logbook)?,
    };
    let asks = said.is_empty() && readings.is_empty();
    let entry = match (&args.batch, &args.plan) {
        (Some(id), _) => of_batch(&logbook, &kitchen, id, asks)?,
        (None, None) if said.is_empty() && !asks => of_latest(&logbook, &kitchen)?,
        (None, plan) if asks => {
            let plan = plan.as_deref().map(|id| plan_named(&logbook, &kitchen, id)).transpose()?;
            new_batch(context, &mut logbook, &kitchen, plan)?
        }
        (None, Some(id)) => {
            let plan = plan_named(&logbook, &kitchen, id)?;
            Some(Entry { batch: defaults::baked_by(&plan), said: None, readings: Vec::new() })
        }
        (None, None) => Some(Entry { batch: Batch::default(), said: None, readings: Vec::new() }),
    };
    let Some(mut entry) = entry else { return Ok(Done::All) };
    put(&mut entry, said)?;
    entry.readings = readings;
    let recorded = write(&mut logbook, &kitchen, entry)?;
    answer(context, &recorded, || recorded.text(context))?;
    Ok(Done::All)
}

/// `COLUMN=VALUE` words; nothing behind the `=` makes the column blank.
fn said(words: &[String]) -> Result<BTreeMap<Column, Option<Value>>, Failure> {
    let mut said = BTreeMap::new();
    for word in words {
        let wrong = |why: String| Failure::Call(format!("--set '{word}': {why}"));
        let (name, text) = word
            .split_once('=')
            .ok_or_else(|| wrong("a column, = and its value are wanted, such as yeast_g=2.5".into()))?;
        let column: Column = name
            .trim()
            .parse()
            .map_err(|nearest| wrong(format!("there is no column '{name}': nearest is {nearest}")))?;
        if column == Column::kitchen {
            return Err(wrong("say the kitchen with --kitchen".into()));
        }
        let value = match text.trim() {
            "" => None,
            text => Some(typed(column, text).map_err(|why| wrong(format!("{column}: {why}")))?),
        };
        if said.insert(column, value).is_some() {
            return Err(wrong(format!("{column} is said twice: say it once")));
        }
    }
    Ok(said)
}

fn reading(text: &str) -> Result<(f64, f64), Failure> {
    typed_reading(text).map_err(|why| Failure::Call(format!("--reading '{text}': {why}")))
}

/// A batch that is there already; asked about, what it still leaves blank.
fn of_batch(logbook: &Logbook, kitchen: &str, id: &str, asks: bool) -> Result<Option<Entry>, Failure> {
    let stored = logbook.batch(kitchen, id)?.ok_or_else(|| {
        Failure::Work(format!("kitchen '{kitchen}' has no batch '{id}': `list` shows them all"))
    })?;
    let mut batch = stored.clone();
    if asks {
        let mut desk = Desk::new(io::stdin().lock(), io::stderr());
        desk.say(&format!("Batch {id}: what it leaves blank. {}", ask::HELP))?;
        ask::blanks(&mut desk, &mut batch)?;
    }
    let said = Column::ALL.iter().copied().filter(|c| batch.get(*c) != stored.get(*c)).collect();
    Ok(Some(Entry { batch, said: Some(said), readings: Vec::new() }))
}

/// The latest batch, which readings by themselves belong to.
fn of_latest(logbook: &Logbook, kitchen: &str) -> Result<Option<Entry>, Failure> {
    let latest = logbook.latest(kitchen, None)?.ok_or_else(|| {
        Failure::Work(format!(
            "kitchen '{kitchen}' has no batch yet that a reading could belong to: `record` it first"
        ))
    })?;
    Ok(Some(Entry { batch: latest, said: Some(Vec::new()), readings: Vec::new() }))
}

fn plan_named(logbook: &Logbook, kitchen: &str, id: &str) -> Result<PlanRecord, Failure> {
    logbook.plan(kitchen, id)?.ok_or_else(|| {
        let mut known: Vec<String> =
            logbook.plans(kitchen).unwrap_or_default().into_iter().map(|p| p.plan_id).collect();
        known.dedup();
        let known = known.split_off(known.len().saturating_sub(PLANS_NAMED));
        Failure::Work(match known.is_empty() {
            true => format!("kitchen '{kitchen}' has no plan '{id}', nor any other: `recommend` makes them"),
            false => {
                format!("kitchen '{kitchen}' has no plan '{id}': the last ones are {}", known.join(", "))
            }
        })
    })
}

/// Plans named when another was meant.
const PLANS_NAMED: usize = 5;

/// A new batch, asked for column by column; `None` when it was left for later.
fn new_batch(
    context: &Context,
    logbook: &mut Logbook,
    kitchen: &str,
    plan: Option<PlanRecord>,
) -> Result<Option<Entry>, Failure> {
    let mut desk = Desk::new(io::stdin().lock(), io::stderr());
    let defaults = Defaults::of(logbook, kitchen, plan)?;
    desk.say(&defaults.says())?;
    desk.say(ask::HELP)?;
    let draft = match logbook.draft(kitchen)? {
        Some(draft) if ask::goes_on(&mut desk, &draft)? => draft,
        _ => Batch::default(),
    };
    let asked = ask::new_batch(&mut desk, draft, &defaults)?;
    match asked {
        Ended::Sound(batch) => {
            logbook.forget_draft(kitchen)?;
            Ok(Some(Entry { batch, said: None, readings: Vec::new() }))
        }
        Ended::Early(batch) if batch == Batch::default() => Err(Failure::Call(
            "nothing was said: answer at the terminal, or say columns with --set COLUMN=VALUE".into(),
        )),
        Ended::Early(batch) => {
            logbook.keep_draft(kitchen, &batch)?;
            context.note("what was said is kept; `record` goes on with it");
            Ok(None)
        }
    }
}

/// Puts what was said into the batch.
fn put(entry: &mut Entry, said: BTreeMap<Column, Option<Value>>) -> Result<(), Failure> {
    for (column, value) in said {
        match value {
            None => entry.batch.clear(column),
            Some(value) => {
                entry.batch.set(column, &value).map_err(|e| Failure::Call(e.to_string()))?;
            }
        }
        if let Some(all) = &mut entry.said {
            if column == Column::batch_id {
                return Err(Failure::Call("a batch keeps its id: leave batch_id out of --set".into()));
            }
            all.push(column);
        }
    }
    Ok(())
}

/// Checks it, and writes it into the logbook as one step.
fn write(logbook: &mut Logbook, kitchen: &str, entry: Entry) -> Result<Recorded, Failure> {
    let batch = Batch { kitchen: Some(kitchen.into()), ..entry.batch };
    let is_new = entry.said.is_none();
    let mut changed = entry.said.clone().unwrap_or_default();
    if is_new || !changed.is_empty() {
        let problems = check(&batch, Purpose::Record);
        if !problems.is_empty() {
            let said = problems.iter().map(|p| match p.value.is_empty() {
                true => p.message.clone(),
                false => format!("{} {}: {}", p.column, p.value, p.message),
            });
            return Err(Failure::Call(format!(
                "nothing was written: {}",
                said.collect::<Vec<_>>().join("; ")
            )));
        }
    }
    if let (true, Some(id)) = (is_new, &batch.batch_id)
        && logbook.batch(kitchen, id)?.is_some()
    {
        return Err(Failure::Call(format!(
            "kitchen '{kitchen}' has a batch '{id}' already: `record --batch {id}` adds to it, another batch_id begins a new one"
        )));
    }
    let source = Source { columns: entry.said, kitchen: Some(kitchen.into()), ..Source::by_hand() };
    let mut importer = logbook.importer(&source)?;
    if is_new || !changed.is_empty() {
        importer.push(&batch)?;
    }
    let made = importer.made_id().map(str::to_string);
    let batch_id = batch.batch_id.clone().or(made).unwrap_or_default();
    for &(hours, rise) in &entry.readings {
        let (batch_id, rise) = (batch_id.clone(), Some(rise));
        let reading = Reading { batch_id, hours, rise, dough_temp_c: None, vessel: Vessel::Dough };
        if importer.push_reading(&reading)? == Pushed::Repeated {
            return Err(Failure::Call(format!("--reading: hour {hours} is said twice: say it once")));
        }
    }
    let summary = importer.finish()?;
    changed.retain(|c| summary.changes.iter().any(|change| change.column == *c));
    let batch = logbook.batch(kitchen, &batch_id)?.unwrap_or(batch);
    Ok(Recorded {
        added: is_new,
        changed,
        readings: entry.readings.len(),
        plan: Planned::of(logbook, &batch)?,
        kitchen: kitchen.into(),
        batch_id,
        batch,
    })
}

impl Recorded {
    fn text(&self, context: &Context) -> String {
        let (id, book) = (&self.batch_id, context.logbook.display());
        let mut out = String::new();
        let changed: Vec<&str> = self.changed.iter().map(|c| c.name()).collect();
        let _ = match (self.added, changed.is_empty()) {
            (true, _) => writeln!(out, "batch {id} is in {book}"),
            (false, false) => writeln!(out, "batch {id}: {} written", changed.join(", ")),
            (false, true) if self.readings == 0 => writeln!(out, "batch {id} is as before"),
            (false, true) => Ok(()),
        };
        if self.readings > 0 {
            let readings = if self.readings == 1 { "reading" } else { "readings" };
            let _ = writeln!(out, "{} {readings} with batch {id}", self.readings);
        }
        if let Some(plan) = &self.plan {
            out.push_str(&plan.text(context.units));
        }
        if self.batch.rise.is_none() {
            let _ = writeln!(
                out,
                "once it is baked: doughwright record --batch {id} --set rise=... ripeness=..."
            );
        }
        out
    }
}
