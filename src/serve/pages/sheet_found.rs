//! What was made of a sheet: how each column was understood, what keeping it does, what is wrong row by row, and the
//! questions that only the baker can answer.

use maud::{Markup, html};

use crate::answers::import::Imported;
use crate::intake::{ColumnMap, Question, Understood};
use crate::serve::form::Form;
use crate::serve::frame::Frame;
use crate::serve::held::{Found, Held, Read};

/// Problems and changes listed; the table of rows set aside has all.
const LISTED: usize = 30;

/// The page.
pub fn page(frame: &Frame<'_>, word: &str, held: &Held, kitchen: &str) -> Markup {
    html! {
        h1 { "The sheet " (held.name) }
        @match held.found.as_ref() {
            Found::WhichSheet { sheets } => (which_sheet(frame, word, sheets)),
            Found::Open { tables } => { (questions(frame, word, &held.found)) @for t in tables { (columns(t)) } }
            Found::Read(read) => (found(frame, word, read, kitchen)),
        }
        p { a href=(frame.to("sheet")) { "Take in another sheet" } }
    }
}

fn found(frame: &Frame<'_>, word: &str, read: &Read, kitchen: &str) -> Markup {
    html! {
        @if read.kept { p.done { "Kept. " (in_words(&read.imported, true)) } } @else {
            p.first { "Nothing is kept yet. " (in_words(&read.imported, false)) }
            @if frame.writes { (frame.post(&format!("sheet/{word}/keep"), html! {}, "Keep it")) }
        }
        @for says in read.imported.files.iter().filter_map(|f| f.says_kitchens(Some(kitchen))) { p { (says) "." } }
        (set_aside(frame, word, read))
        (look_alikes(&read.imported))
        @for table in &read.tables { (columns(table)) }
    }
}

/// What keeping does, or did.
fn in_words(imported: &Imported, kept: bool) -> String {
    let files = imported.files.iter().filter(|f| !f.is_empty()).map(|f| {
        let counts = [
            (f.added, "new"),
            (f.changed, "changed"),
            (f.unchanged, "as before"),
            (f.set_aside, "set aside"),
        ];
        let counts: Vec<_> =
            counts.iter().filter(|c| c.0 > 0).map(|(n, what)| format!("{n} {what}")).collect();
        format!("{}: {}", f.kind, if counts.is_empty() { "no row".into() } else { counts.join(", ") })
    });
    let files: Vec<String> = files.collect();
    match (files.is_empty(), kept) {
        (true, _) => "There is no row below the headings.".into(),
        (false, true) => format!("{}.", files.join("; ")),
        (false, false) => format!("This is what keeping it would do: {}.", files.join("; ")),
    }
}

fn set_aside(frame: &Frame<'_>, word: &str, read: &Read) -> Markup {
    let problems = &read.imported.problems;
    html! {
        @if !problems.is_empty() {
            section {
                h2 { "Rows set aside" }
                @for (i, rows) in read.set_aside.iter().enumerate() {
                    @if rows.is_some() {
                        p { a.button href=(frame.to(&format!("sheet/{word}/set-aside/{i}"))) download="set-aside.csv" {
                            "Save the rows set aside"
                            @if read.set_aside.len() > 1 { " of the table of " (read.tables[i].kind.name()) }
                        } }
                    }
                }
                p { "Correct them there, and take that file in: the other rows are not touched by it." }
                div.wide role="region" tabindex="0" aria-label="What is wrong" {
                    table {
                        caption { "What is wrong" }
                        thead { tr { @for h in ["row", "column", "what stands there", "what is wrong"] { th scope="col" { (h) } } } }
                        tbody {
                            @for p in problems.iter().take(LISTED) {
                                tr {
                                    th scope="row" { (p.row) }
                                    td.words { (p.column) }
                                    td.words { @if p.value.is_empty() { "blank" } @else { (p.value) } }
                                    td.words { (p.message) }
                                }
                            }
                        }
                    }
                }
                @if problems.len() > LISTED { p { "And " (problems.len() - LISTED) " more." } }
            }
        }
    }
}

fn look_alikes(imported: &Imported) -> Markup {
    html! {
        @if !imported.look_alikes.is_empty() || !imported.notes.is_empty() {
            section {
                h2 { "Look at these" }
                ul {
                    @for note in imported.notes.iter().take(LISTED) { li { (note) } }
                    @for alike in imported.look_alikes.iter().take(LISTED) {
                        li {
                            (alike.added) " is new, and nearly the same as " (alike.existing) " of another sheet: if it is the same "
                            "batch, take this back with " code { "doughwright undo" } " and give its row the batch_id " (alike.existing) "."
                        }
                    }
                }
            }
        }
    }
}

/// How each column was understood.
fn columns(table: &Understood) -> Markup {
    let name = match &table.sheet {
        Some(sheet) => format!("What was understood of sheet {sheet}"),
        None => "What was understood".to_string(),
    };
    html! {
        section {
            h2 { (name) }
            p { "A table of " (table.kind.name()) "; " (table.form) "." }
            div.wide role="region" tabindex="0" aria-label=(name) {
                table {
                    caption { (name) }
                    thead { tr { @for h in ["heading", "is taken for", "in", "because"] { th scope="col" { (h) } } } }
                    tbody {
                        @for c in &table.columns {
                            tr {
                                th scope="row" { (c.heading) }
                                td.words { (c.target.name()) }
                                td.words { @if let Some(unit) = c.unit { (unit.name()) } }
                                td.words { (c.why.iter().chain(&c.notes).cloned().collect::<Vec<_>>().join("; ")) }
                            }
                        }
                        @for left in &table.left_out {
                            tr { th scope="row" { (left.heading) } td.words { "left out" } td {} td.words { (left.why) } }
                        }
                    }
                }
            }
            @for (column, value) in &table.fill { p { "Every row: " (column.name()) " is " (value) "." } }
        }
    }
}

fn which_sheet(frame: &Frame<'_>, word: &str, sheets: &[String]) -> Markup {
    let choices = html! {
        fieldset {
            legend { "Which sheet is meant? Several hold the same kind of table." }
            @for (i, sheet) in sheets.iter().enumerate() { (choice("which", i, &i.to_string(), sheet)) }
        }
    };
    frame.post(&format!("sheet/{word}/settle"), choices, "Look again")
}

fn questions(frame: &Frame<'_>, word: &str, found: &Found) -> Markup {
    let all = found.questions();
    let settled = all.iter().any(|q| !q.settled_by.is_empty());
    let fields = html! {
        @for (i, question) in all.iter().enumerate() { (one_question(i, question)) }
    };
    html! {
        section {
            h2 { "Answer this first" }
            p { "Nothing is read while the sheet may mean two things. What you answer is remembered for the next sheet with the "
                "same headings, once this one is kept." }
            @if settled { (frame.post(&format!("sheet/{word}/settle"), fields, "Look again")) } @else { (fields) }
        }
    }
}

fn one_question(i: usize, question: &Question) -> Markup {
    let name = format!("q{i}");
    html! {
        fieldset {
            legend {
                "Row " (question.row) ", " (question.column)
                @if !question.value.is_empty() { ", “" (question.value) "”" }
                ": " (question.message)
            }
            @for (k, option) in question.settled_by.iter().enumerate() {
                (choice(&name, k, &k.to_string(), &option.says()))
            }
            @if question.settled_by.is_empty() { p { "Change it in the sheet, and choose the sheet again." } }
        }
    }
}

fn choice(name: &str, k: usize, value: &str, says: &str) -> Markup {
    let id = format!("{name}-{k}");
    html! {
        div.choice { input type="radio" id=(id) name=(name) value=(value); label for=(id) { (says) } }
    }
}

/// The map with what the form answers.
pub fn answered(found: &Found, map: &ColumnMap, form: &Form) -> ColumnMap {
    let mut map = map.clone();
    let chosen = |name: &str| form.get(name).parse::<usize>().ok();
    if let Found::WhichSheet { sheets } = found {
        map.sheet = chosen("which").and_then(|i| sheets.get(i).cloned()).or(map.sheet);
    }
    for (i, question) in found.questions().into_iter().enumerate() {
        if let Some(way) = chosen(&format!("q{i}")).and_then(|k| question.settled_by.get(k)) {
            way.put_into(&mut map);
        }
    }
    map
}
