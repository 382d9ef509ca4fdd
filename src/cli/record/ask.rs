//! The questions of `record`, one a column, each answer checked as it is typed.

use std::io::{BufRead, Write};

use crate::answers::defaults::Defaults;
use crate::answers::questions::{USUAL, order};
use crate::cli::failure::Failure;
use crate::dough::{Batch, Column, Kind, Purpose, Value, check};
use crate::intake::typed;

use super::desk::Desk;

/// How to answer.
pub const HELP: &str = "Enter takes what stands in [ ], or leaves blank; - leaves blank; ? explains; \
                        later stops here and keeps what was said.";

/// How the questions ended.
pub enum Ended {
    /// With a batch that can be kept.
    Sound(Batch),
    /// Early, with a batch that still lacks something.
    Early(Batch),
}

/// What came of one question.
enum Answer {
    Said,
    Later,
}

/// Asks whether to go on with a batch that was begun.
pub fn goes_on<R: BufRead, W: Write>(desk: &mut Desk<R, W>, draft: &Batch) -> Result<bool, Failure> {
    let of = draft.date.map(|d| format!(" of {d}")).unwrap_or_default();
    let question = format!("A batch{of} was begun: Enter goes on with it, new begins another");
    Ok(desk.ask(&question)?.is_some_and(|a| !a.eq_ignore_ascii_case("new")))
}

/// Asks for a new batch; what the draft has is not asked again.
pub fn new_batch<R: BufRead, W: Write>(
    desk: &mut Desk<R, W>,
    draft: Batch,
    defaults: &Defaults,
) -> Result<Ended, Failure> {
    let mut batch = Batch { plan_id: defaults.plan_id(), batch_id: defaults.batch_id(), ..draft };
    // Date and recipe go before the rest: the recipe says which batch the defaults come from.
    let first = [Column::date, Column::recipe];
    for column in first {
        let likely = defaults.of_day(column);
        if batch.get(column).is_none()
            && matches!(ask(desk, &mut batch, column, likely.as_ref(), None)?, Answer::Later)
        {
            return Ok(early(batch));
        }
    }
    let defaults = defaults.for_recipe(batch.recipe.as_deref());
    let columns = order(|c| USUAL.contains(&c) || defaults.likely(c).is_some());
    for column in columns.into_iter().filter(|c| !first.contains(c)) {
        if batch.get(column).is_some() {
            continue;
        }
        let (likely, hint) = (defaults.likely(column), defaults.last_time(column));
        if matches!(ask(desk, &mut batch, column, likely.as_ref(), hint.as_ref())?, Answer::Later) {
            return Ok(early(batch));
        }
    }
    mend(desk, batch)
}

/// Asks for the usual columns that a batch leaves blank.
pub fn blanks<R: BufRead, W: Write>(desk: &mut Desk<R, W>, batch: &mut Batch) -> Result<(), Failure> {
    for column in order(|c| USUAL.contains(&c)) {
        if batch.get(column).is_none() && matches!(ask(desk, batch, column, None, None)?, Answer::Later) {
            break;
        }
    }
    Ok(())
}

/// What was said so far, when the baker stops.
fn early(batch: Batch) -> Ended {
    match check(&batch, Purpose::Record).is_empty() {
        true => Ended::Sound(batch),
        false => Ended::Early(batch),
    }
}

/// Asks again for what does not hold together.
fn mend<R: BufRead, W: Write>(desk: &mut Desk<R, W>, mut batch: Batch) -> Result<Ended, Failure> {
    loop {
        let Some(problem) = check(&batch, Purpose::Record).into_iter().next() else {
            return Ok(Ended::Sound(batch));
        };
        desk.say(&format!("  {}: {}", problem.column, problem.message))?;
        batch.clear(problem.column);
        if matches!(ask(desk, &mut batch, problem.column, None, None)?, Answer::Later) {
            return Ok(early(batch));
        }
    }
}

/// Asks until the answer can stand in the column beside what the batch says already.
fn ask<R: BufRead, W: Write>(
    desk: &mut Desk<R, W>,
    batch: &mut Batch,
    column: Column,
    likely: Option<&Value>,
    last_time: Option<&Value>,
) -> Result<Answer, Failure> {
    let question = question(column, likely, last_time);
    loop {
        let Some(text) = desk.ask(&question)? else { return Ok(Answer::Later) };
        let value = match text.as_str() {
            "later" => return Ok(Answer::Later),
            "-" => return Ok(Answer::Said),
            "?" => {
                desk.say(&format!("  {}", explained(column)))?;
                continue;
            }
            "" => match likely {
                Some(value) => value.clone(),
                None => return Ok(Answer::Said),
            },
            text => match typed(column, text) {
                Ok(value) => value,
                Err(why) => {
                    desk.say(&format!("  '{text}': {why}"))?;
                    continue;
                }
            },
        };
        let mut with = batch.clone();
        if let Err(refused) = with.set(column, &value) {
            desk.say(&format!("  {refused}"))?;
            continue;
        }
        match check(&with, Purpose::Record).into_iter().find(|p| p.column == column) {
            // What else must be given may still come.
            Some(problem) if !waits_for_more(column) => desk.say(&format!("  {}", problem.message))?,
            _ => {
                *batch = with;
                return Ok(Answer::Said);
            }
        }
    }
}

/// Columns whose checks need what is asked only afterwards.
fn waits_for_more(column: Column) -> bool {
    matches!(column, Column::yeast_g | Column::ice_g | Column::piece_g)
}

fn question(column: Column, likely: Option<&Value>, last_time: Option<&Value>) -> String {
    let unit = match column.unit() {
        "" => String::new(),
        unit => format!(", {unit}"),
    };
    let known = match (likely, last_time) {
        (Some(value), _) => format!(" [{value}]"),
        (None, Some(value)) => format!(" (last time {value})"),
        (None, None) => String::new(),
    };
    format!("{column}{unit}{known}")
}

fn explained(column: Column) -> String {
    let allowed = match column.kind() {
        Kind::Number { unit, min, max } => format!(", {min} to {max} {unit}"),
        Kind::Choice(words) => format!(": {}", words.join(", ")),
        Kind::When => ", such as 2026-03-01T08:30".into(),
        Kind::Text => String::new(),
    };
    format!("{}{allowed}", column.meaning())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(answers: &str, draft: Batch) -> (Ended, String) {
        let mut questions = Vec::new();
        let mut desk = Desk::new(answers.as_bytes(), &mut questions);
        let ended = new_batch(&mut desk, draft, &Defaults::default()).unwrap();
        (ended, String::from_utf8(questions).unwrap())
    }

    #[test]
    fn an_answer_that_cannot_be_is_asked_again() {
        let answers = "2026-03-01\n\nlots\n1 kg\n62\n620\n";
        let (ended, asked) = said(answers, Batch::default());
        let Ended::Early(batch) = ended else { panic!("yeast is still missing") };
        assert_eq!((batch.flour_g, batch.water_g), (Some(1000.0), Some(620.0)));
        assert!(asked.contains("'lots': a number is wanted, in g"), "{asked}");
        assert!(asked.contains("30 to 150 % is usual"), "{asked}");
    }

    #[test]
    fn what_is_needed_is_asked_until_it_is_given_or_left_for_later() {
        let blank = "\n".repeat(40);
        let (ended, asked) = said(&format!("2026-03-01\n\n1000\n620\n{blank}"), Batch::default());
        assert!(matches!(ended, Ended::Early(_)));
        assert!(asked.contains("yeast_g is needed"), "{asked}");
        let enough = "2026-03-01\n\n1000\n620\n20\n2\ninstant\nlater\n";
        let (ended, _) = said(enough, Batch::default());
        let Ended::Sound(batch) = ended else { panic!("all that is needed was said") };
        assert_eq!((batch.yeast_g, batch.rise), (Some(2.0), None));
    }

    #[test]
    fn a_question_explains_itself() {
        let (_, asked) = said("?\n", Batch::default());
        assert!(asked.contains("The start of mixing"), "{asked}");
        assert!(explained(Column::cold_temp_c).contains("-5 to 20 °C"));
        assert!(explained(Column::yeast_type).contains("instant, active_dry, fresh"));
    }
}
