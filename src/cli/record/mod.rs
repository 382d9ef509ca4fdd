//! `record`: one batch written down by hand. Columns given with `--set` are taken without questions; with none it
//! asks at the terminal (`ask`), with what is known beforehand as defaults (`defaults`).

mod ask;
mod desk;

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io;

use jiff::Timestamp;

use crate::answers::defaults::Defaults;
use crate::answers::record::{
    Entry, Recorded, batch_named, by_plan, not_baked_yet, plan_named, put, still_rises, write,
};
use crate::dough::{Batch, Column, NoColumn, Value};
use crate::intake::{typed, typed_beside, typed_reading};
use crate::logbook::{Logbook, PlanRecord};

use super::args::RecordArgs;
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::output::answer;
use super::planned;
use super::text::counted;
use ask::Ended;
use desk::Desk;

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
            let named = |id| plan_named(&logbook, &kitchen, id).and_then(not_baked_yet);
            let plan = plan.as_deref().map(named).transpose()?;
            new_batch(context, &mut logbook, &kitchen, plan)?
        }
        (None, Some(id)) => Some(by_plan(&logbook, &kitchen, id, &said)?),
        (None, None) => Some(Entry { batch: Batch::default(), said: None, readings: Vec::new() }),
    };
    let Some(mut entry) = entry else { return Ok(Done::All) };
    put(&mut entry, said)?;
    entry.readings = readings;
    let recorded = write(&mut logbook, &kitchen, entry)?;
    answer(context, &recorded, || text(&recorded, context))?;
    Ok(Done::All)
}

/// `COLUMN=VALUE` words; nothing behind the `=` makes the column blank.
fn said(words: &[String]) -> Result<BTreeMap<Column, Option<Value>>, Failure> {
    let mut said = BTreeMap::new();
    // What is given in percent of the flour takes the flour said beside it.
    let flour = words.iter().find_map(|word| typed(Column::flour_g, word.strip_prefix("flour_g=")?).ok());
    let flour_g = flour.and_then(|value| if let Value::Number(g) = value { Some(g) } else { None });
    for word in words {
        let wrong = |why: String| Failure::Call(format!("--set '{word}': {why}"));
        let (name, text) = word
            .split_once('=')
            .ok_or_else(|| wrong("a column, = and its value are wanted, such as yeast_g=2.5".into()))?;
        let column: Column = name
            .trim()
            .parse()
            .map_err(|none: NoColumn| wrong(format!("there is no column '{name}': {none}")))?;
        if column == Column::kitchen {
            return Err(wrong("say the kitchen with --kitchen".into()));
        }
        let value = match text.trim() {
            "" => None,
            text => {
                Some(typed_beside(column, text, flour_g).map_err(|why| wrong(format!("{column}: {why}")))?)
            }
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
    let stored = batch_named(logbook, kitchen, id)?;
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
    still_rises(logbook, kitchen, &latest, Timestamp::now())?;
    Ok(Some(Entry { batch: latest, said: Some(Vec::new()), readings: Vec::new() }))
}

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

fn text(recorded: &Recorded, context: &Context) -> String {
    let (id, book) = (&recorded.batch_id, context.logbook.display());
    let mut out = String::new();
    let changed: Vec<&str> = recorded.changed.iter().map(|c| c.name()).collect();
    let _ = match (recorded.added, changed.is_empty()) {
        (true, _) => writeln!(out, "batch {id} is in {book}"),
        (false, false) => writeln!(out, "batch {id}: {} written", changed.join(", ")),
        (false, true) if recorded.readings == 0 => writeln!(out, "batch {id} is as before"),
        (false, true) => Ok(()),
    };
    if recorded.readings > 0 {
        let _ = writeln!(out, "{} with batch {id}", counted(recorded.readings, "reading", "readings"));
    }
    for warning in &recorded.warnings {
        let _ = writeln!(out, "batch {id} is {warning}");
    }
    if let Some(plan) = &recorded.plan {
        out.push_str(&planned::text(plan, context.units));
    }
    if recorded.batch.rise.is_none() {
        let _ =
            writeln!(out, "once it is baked: doughwright record --batch {id} --set rise=... ripeness=...");
    }
    out
}
