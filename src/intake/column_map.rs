//! The mapping file: what each heading of a sheet is taken for, written for the baker to edit, and applied.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::dates::DateOrder;
use super::error::IntakeError;
use super::headings::{Target, column_letters};
use super::number::Decimal;
use super::units::Unit;
use crate::dough::{Batch, Column, Value, YeastType};

/// The word that leaves a column out.
pub const IGNORE: &str = "ignore";

/// What stands in place of a column, a unit or a mark that is still to be said.
pub const UNSAID: &str = "?";

/// What the baker says about a sheet, in place of or beside what its headings and cells say.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ColumnMap {
    /// The sheet of a workbook.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<String>,
    /// The decimal mark of all columns that do not name their own.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub decimal: Option<Decimal>,
    /// The order of day and month in dates of figures.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dates: Option<DateOrder>,
    /// What every row says though the sheet has no column for it, such as the type of yeast.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub fill: BTreeMap<Column, Value>,
    /// One entry a heading.
    #[serde(rename = "column", skip_serializing_if = "Vec::is_empty")]
    pub columns: Vec<Mapped>,
}

/// What the baker says about one heading.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Mapped {
    /// As it stands in the sheet.
    pub heading: String,
    /// The column's letter, where the same heading stands twice.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub letter: Option<String>,
    /// A column's name, or `ignore`; blank: as the heading says.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub column: Option<String>,
    /// The unit of cells that do not name their own.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<Unit>,
    /// The decimal mark.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub decimal: Option<Decimal>,
    /// Which kind of yeast the column counts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub yeast_type: Option<YeastType>,
}

impl ColumnMap {
    /// Reads a mapping file.
    ///
    /// # Errors
    /// When it is no TOML, or names a column, a unit or an entry that there is not.
    pub fn from_toml(name: &str, text: &str) -> Result<Self, IntakeError> {
        let wrong = |message: String| IntakeError::Map { file: name.to_string(), message };
        let map: Self =
            toml::from_str(text).map_err(|e| wrong(e.to_string().trim_end().replace('\n', " ")))?;
        let unsaid = |e: &&Mapped| e.column.as_deref() == Some(UNSAID);
        let unsaid: Vec<String> =
            map.columns.iter().filter(unsaid).map(|e| format!("'{}'", e.heading)).collect();
        if !unsaid.is_empty() {
            return Err(wrong(format!(
                "{} still stands as column = \"{UNSAID}\": put the name of a column in place of the {UNSAID}, or \"{IGNORE}\" \
                 (`doughwright import --help` lists all columns)",
                unsaid.join(", ")
            )));
        }
        for entry in &map.columns {
            if let Some(column) = &entry.column
                && column != IGNORE
                && Target::of_name(column).is_none()
            {
                let nearest = Column::none_named(column);
                let heading = &entry.heading;
                return Err(wrong(format!(
                    "'{heading}' is given the column '{column}', which there is not: {nearest}, or say {IGNORE}"
                )));
            }
        }
        for (column, value) in &map.fill {
            Batch::default().set(*column, value).map_err(|e| wrong(e.to_string()))?;
        }
        Ok(map)
    }

    /// What is said about the column at a place with a heading; a column can also be named by its letter.
    pub fn entry(&self, place: usize, heading: &str) -> Option<&Mapped> {
        let letters = column_letters(place);
        let by_heading =
            |e: &&Mapped| e.heading == heading && e.letter.as_ref().is_none_or(|l| *l == letters);
        self.columns.iter().find(by_heading).or_else(|| self.columns.iter().find(|e| e.heading == letters))
    }

    /// The entry for a heading, made when there is none yet: for settling one question at a time.
    pub fn settle(&mut self, heading: &str) -> &mut Mapped {
        let at = self.columns.iter().position(|e| e.heading == heading).unwrap_or_else(|| {
            self.columns.push(Mapped { heading: heading.to_string(), ..Mapped::default() });
            self.columns.len() - 1
        });
        &mut self.columns[at]
    }

    /// What this map says, and what `other` says where this one is silent.
    #[must_use]
    pub fn over(&self, other: &Self) -> Self {
        let mut both = self.clone();
        both.sheet = both.sheet.or_else(|| other.sheet.clone());
        both.decimal = both.decimal.or(other.decimal);
        both.dates = both.dates.or(other.dates);
        for (column, value) in &other.fill {
            both.fill.entry(*column).or_insert_with(|| value.clone());
        }
        for theirs in &other.columns {
            match both.columns.iter_mut().find(|e| e.heading == theirs.heading && e.letter == theirs.letter) {
                None => both.columns.push(theirs.clone()),
                Some(ours) => {
                    ours.column = ours.column.take().or_else(|| theirs.column.clone());
                    ours.unit = ours.unit.or(theirs.unit);
                    ours.decimal = ours.decimal.or(theirs.decimal);
                    ours.yeast_type = ours.yeast_type.or(theirs.yeast_type);
                }
            }
        }
        both
    }
}
