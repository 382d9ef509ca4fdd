//! Taking in a sheet: handed over, looked at, asked about, and only then kept.

use std::sync::Arc;

use axum::extract::Multipart;
use axum::extract::multipart::MultipartError;
use maud::html;

use crate::answers::import::{Table, Taking, check, take_all};
use crate::answers::understood::tables;
use crate::intake::{ColumnMap, IntakeError, Source, Understood};
use crate::logbook::Logbook;
use crate::serve::desk::{Desk, Reply};
use crate::serve::form::Form;
use crate::serve::frame::Tab;
use crate::serve::held::{Found, Held, MOST_BYTES, MOST_UNPACKED, Read, as_table};
use crate::serve::refused::Refused;
use crate::serve::secret::Secret;

use super::sheet_found;

/// Letters of a file's name that are shown.
const MOST_NAME: usize = 100;

/// A file as it came in, with the form around it.
#[derive(Debug)]
pub struct HandedOver {
    name: String,
    bytes: Vec<u8>,
    form: Form,
}

/// Reads what a browser hands over. Too large a file is read to its end and dropped, so that the browser gets an answer.
pub async fn handed_over(parts: &mut Multipart) -> Result<HandedOver, Refused> {
    let unread = |e: MultipartError| match e.status() {
        axum::http::StatusCode::PAYLOAD_TOO_LARGE => Refused::TooLarge,
        _ => Refused::Form(e.body_text()),
    };
    let mut handed = HandedOver { name: String::new(), bytes: Vec::new(), form: Form::default() };
    let mut size = 0;
    while let Some(mut part) = parts.next_field().await.map_err(unread)? {
        match part.name() {
            Some("sheet") => {
                handed.name = plain_name(part.file_name().unwrap_or_default());
                while let Some(bytes) = part.chunk().await.map_err(unread)? {
                    size += bytes.len();
                    if size <= MOST_BYTES {
                        handed.bytes.extend_from_slice(&bytes);
                    }
                }
            }
            Some("token") => handed.form.0.push(("token".into(), part.text().await.map_err(unread)?)),
            _ => {}
        }
    }
    if size > MOST_BYTES {
        return Err(Refused::TooLarge);
    }
    if handed.name.is_empty() {
        return Err(Refused::Form("choose a file first.".into()));
    }
    Ok(handed)
}

/// A name to show, without folders and without letters that do not show.
fn plain_name(given: &str) -> String {
    let last = given.rsplit(['/', '\\']).next().unwrap_or_default();
    last.chars().filter(|c| !c.is_control()).take(MOST_NAME).collect::<String>().trim().to_string()
}

/// The form to hand a sheet over.
pub fn show(desk: &Desk) -> Result<Reply, Refused> {
    let frame = desk.frame();
    let contents = html! {
        h1 { "Take in a sheet" }
        p { "Choose a table of batches, readings or temperatures (CSV, TSV, XLSX, ODS or JSON Lines). You see what was "
            "understood before anything is kept." }
        form method="post" action=(frame.to("sheet")) enctype="multipart/form-data" {
            input type="hidden" name="token" value=(frame.token);
            div.field.drop {
                label for="sheet" { "The sheet: choose it, or drop it here" }
                input type="file" id="sheet" name="sheet" required;
            }
            p { button type="submit" { "Look at it" } }
        }
    };
    Ok(Reply::Page(Tab::Sheet, "Take in a sheet".into(), contents))
}

/// Looks at a sheet that was handed over, and holds it.
pub fn look_at(desk: &Desk, handed: HandedOver) -> Result<Reply, Refused> {
    desk.is_own(&handed.form)?;
    let word = Secret::new().map_err(|_| Refused::Unforeseen)?;
    let bytes: Arc<[u8]> = handed.bytes.into();
    look(desk, word.text(), handed.name, bytes, ColumnMap::default())
}

/// Looks at a held sheet again, with answers to its questions.
pub fn settle(desk: &Desk, word: &str, form: &Form) -> Result<Reply, Refused> {
    desk.is_own(form)?;
    let held = held(desk, word)?;
    let map = sheet_found::answered(&held.found, &held.map, form);
    look(desk, word, held.name, held.bytes, map)
}

fn look(desk: &Desk, word: &str, name: String, bytes: Arc<[u8]>, map: ColumnMap) -> Result<Reply, Refused> {
    // A copy in memory is what the check writes to and forgets.
    let mut copy = desk.logbook()?.copy_in_memory()?;
    let found = Arc::new(find(desk, &mut copy, &name, &bytes, &map)?);
    desk.shelf().hold(word, Held { name, bytes, map, found });
    Ok(Reply::GoTo(format!("sheet/{word}")))
}

fn opened(name: &str, bytes: &Arc<[u8]>, map: &ColumnMap, logbook: &Logbook) -> Result<Vec<Table>, Refused> {
    let source = Source::bytes(name, bytes.clone()).at_most(MOST_UNPACKED);
    let tables = tables(&source, map, Some(logbook))?;
    let table = |opened| Table { file: name.to_string(), source: name.to_string(), opened };
    Ok(tables.into_iter().map(table).collect())
}

fn understood(tables: &[Table]) -> Vec<Understood> {
    tables.iter().map(|t| t.opened.understood().clone()).collect()
}

fn find(
    desk: &Desk,
    copy: &mut Logbook,
    name: &str,
    bytes: &Arc<[u8]>,
    map: &ColumnMap,
) -> Result<Found, Refused> {
    use crate::answers::failure::Failure;
    let tables = match opened(name, bytes, map, copy) {
        Ok(tables) => tables,
        Err(Refused::Failed(Failure::Intake(IntakeError::WhichSheet { sheets, .. }))) => {
            return Ok(Found::WhichSheet { sheets });
        }
        Err(why) => return Err(why),
    };
    if tables.iter().any(|t| !t.opened.understood().questions.is_empty()) {
        return Ok(Found::Open { tables: understood(&tables) });
    }
    let kitchen = desk.known()?.name.clone();
    let (imported, bad) = check(copy, &tables, &taking(&kitchen))?;
    let set_aside = tables.iter().zip(&bad).map(|(t, bad)| as_table(&t.opened, bad)).collect();
    Ok(Found::Read(Read {
        tables: understood(&tables),
        imported: Box::new(imported),
        set_aside,
        kept: false,
    }))
}

/// Rows without a kitchen belong to the one of this page.
fn taking(kitchen: &str) -> Taking<'_> {
    Taking { kitchen: Some(kitchen), seen: &|_| {} }
}

fn held(desk: &Desk, word: &str) -> Result<Held, Refused> {
    desk.shelf().get(word).ok_or(Refused::Forgotten)
}

/// What was made of a held sheet.
pub fn show_found(desk: &Desk, word: &str) -> Result<Reply, Refused> {
    let held = held(desk, word)?;
    let contents = sheet_found::page(&desk.frame(), word, &held, &desk.known()?.name);
    Ok(Reply::Page(Tab::Sheet, format!("The sheet {}", held.name), contents))
}

/// Keeps a held sheet: what can be taken goes into the logbook.
pub fn keep(desk: &Desk, word: &str, form: &Form) -> Result<Reply, Refused> {
    desk.is_own(form)?;
    let held = held(desk, word)?;
    let Found::Read(read) = held.found.as_ref() else {
        return Err(Refused::Form("the sheet leaves questions open.".into()));
    };
    if !read.kept {
        let mut logbook = desk.logbook_to_write()?;
        let tables = opened(&held.name, &held.bytes, &held.map, &logbook)?;
        let kitchen = desk.known()?.name.clone();
        let mut set_aside = vec![None; tables.len()];
        let imported = take_all(&mut logbook, &tables, &held.map, &taking(&kitchen), |i, bad| {
            set_aside[i] = as_table(&tables[i].opened, bad);
            Ok(None)
        })?;
        let read = Read { tables: understood(&tables), imported: Box::new(imported), set_aside, kept: true };
        desk.shelf().hold(word, Held { found: Arc::new(Found::Read(read)), ..held });
    }
    Ok(Reply::GoTo(format!("sheet/{word}")))
}

/// The rows of a table that were set aside, to be corrected.
pub fn set_aside(desk: &Desk, word: &str, table: usize) -> Result<Reply, Refused> {
    let held = held(desk, word)?;
    match held.found.as_ref() {
        Found::Read(read) => {
            let rows = read.set_aside.get(table).cloned().flatten().ok_or(Refused::NotFound)?;
            Ok(Reply::Table("set-aside.csv", rows))
        }
        _ => Err(Refused::NotFound),
    }
}

#[cfg(test)]
mod tests {
    use super::plain_name;

    #[test]
    fn a_file_has_its_last_name_only() {
        assert_eq!(plain_name("../../etc/batches.csv"), "batches.csv");
        assert_eq!(plain_name("C:\\Users\\me\\a\u{0}b.xlsx"), "ab.xlsx");
        assert_eq!(plain_name("/"), "");
        assert_eq!(plain_name(&"x".repeat(1000)).len(), 100);
    }
}
