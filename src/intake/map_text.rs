//! What was understood as a mapping file for the baker to edit: each entry with the reason for it, and one with a ? for
//! each heading that is open.

use super::column_map::{ColumnMap, Mapped, UNSAID};
use super::question::Question;
use super::understood::Understood;
use super::way::Way;

impl Understood {
    /// The mapping file for the baker to edit.
    pub fn to_toml(&self) -> String {
        let map = self.to_map();
        let mut text = format!("# How the columns of {} were understood.\n", one_line(&self.file));
        text.push_str("# Edit what is wrong and give the file back with --columns; a column named 'ignore' is left out.\n");
        let is_entry = |heading: &str| map.columns.iter().any(|e| e.heading == heading);
        let (open, other): (Vec<&Question>, Vec<&Question>) =
            self.questions.iter().partition(|q| q.open_heading().is_some_and(|h| !is_entry(h)));
        for question in other {
            text.push_str(&format!("\n# Open: {}\n", one_line(&question.to_string())));
            text.push_str(&to_be_said(question, &map));
        }
        let head = ColumnMap { columns: Vec::new(), ..map.clone() };
        let head = written(&head);
        if !head.is_empty() {
            text.push('\n');
            text.push_str(&head);
        }
        let mut asked: Vec<&str> = Vec::new();
        for question in open {
            let Some(heading) = question.open_heading().filter(|h| !asked.contains(h)) else { continue };
            asked.push(heading);
            text.push_str(&format!("\n# Open: {}\n", one_line(&question.to_string())));
            let entry = Mapped { heading: heading.into(), column: Some(UNSAID.into()), ..Mapped::default() };
            let entry = written(&ColumnMap { columns: vec![entry], ..ColumnMap::default() });
            text.push_str(&format!("{}  # {}\n", entry.trim_end(), candidates(question)));
        }
        for entry in map.columns {
            let column = self.columns.iter().find(|c| c.heading == entry.heading);
            let why = column.map(|c| one_line(&c.why.join("; "))).filter(|w| !w.is_empty());
            text.push_str(&why.map_or("\n".into(), |w| format!("\n# {w}\n")));
            let units =
                self.questions.iter().filter(|q| q.column == entry.heading).filter_map(units_of).next();
            text.push_str(&written(&ColumnMap { columns: vec![entry], ..ColumnMap::default() }));
            text.push_str(&units.unwrap_or_default());
        }
        text
    }
}

fn written(map: &ColumnMap) -> String {
    toml::to_string(map).expect("a mapping of plain words and numbers can be written")
}

fn one_line(text: &str) -> String {
    text.replace(['\n', '\r'], " ")
}

/// The columns that an open heading may be, as a remark.
fn candidates(question: &Question) -> String {
    let names = question.settled_by.iter().filter_map(|way| match way {
        Way::Column(_, column) => Some(column.as_str()),
        _ => None,
    });
    format!("{}, or any other column", names.collect::<Vec<_>>().join(", "))
}

/// The line that answers a question about the whole sheet, as a remark to be made a line.
fn to_be_said(question: &Question, map: &ColumnMap) -> String {
    let line = match question.settled_by.first() {
        Some(Way::Decimal(_)) => "decimal = \"point\"  # or \"comma\"".to_string(),
        Some(Way::Dates(_)) => "dates = \"day-first\"  # or \"month-first\"".into(),
        Some(Way::Fill(column, _)) if map.fill.is_empty() => {
            let words = question.settled_by.iter().filter_map(|way| match way {
                Way::Fill(_, word) => Some(format!("\"{word}\"")),
                _ => None,
            });
            let words: Vec<String> = words.collect();
            format!("fill.{column} = {}  # or {}", words[0], words[1..].join(", "))
        }
        _ => return String::new(),
    };
    format!("# Take the first # of the next line away, and choose:\n# {line}\n")
}

/// The line that answers which unit an entry is in, as a remark to be made a line.
fn units_of(question: &Question) -> Option<String> {
    let units = question.settled_by.iter().filter_map(|way| match way {
        Way::Unit(_, unit) => Some(format!("\"{unit}\"")),
        _ => None,
    });
    let units: Vec<String> = units.collect();
    let (first, others) = units.split_first()?;
    Some(format!("# unit = {first}  # or {}: choose, and take the first # away\n", others.join(", ")))
}
