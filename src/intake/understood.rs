//! What was made of a sheet: which table it is and what each heading was taken for.

use super::error::IntakeError;
use super::headings::{TableKind, Target, UnknownHeading, column_letters};
use super::set_aside::PROBLEM_HEADING;
use super::table::Table;

/// What a sheet was taken for, to be told before anything is kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Understood {
    /// Which table it is.
    pub kind: TableKind,
    /// The row of headings, as a spreadsheet numbers it.
    pub heading_row: u64,
    /// Each column of the sheet that is used, in its order.
    pub columns: Vec<UnderstoodColumn>,
}

/// What one column of the sheet was taken for.
#[derive(Debug, Clone, PartialEq)]
pub struct UnderstoodColumn {
    /// Counted from 0.
    pub place: usize,
    /// As it stands in the sheet.
    pub heading: String,
    /// What it is taken for.
    pub target: Target,
}

impl Understood {
    /// Makes out the headings of a table.
    ///
    /// # Errors
    /// When a heading is not known, two mean the same, or a needed one is missing.
    pub fn of(table: &Table) -> Result<Self, IntakeError> {
        let filled = filled_columns(table)?;
        let named: Vec<(usize, &String, Option<Target>)> = (0..table.headings.len().max(filled.len()))
            .filter_map(|i| {
                let heading = table.headings.get(i).unwrap_or(&NO_HEADING);
                if heading == PROBLEM_HEADING {
                    return None;
                }
                let used = !heading.is_empty() || filled.get(i).copied().unwrap_or(false);
                used.then(|| (i, heading, Target::of_heading(heading)))
            })
            .collect();
        let targets: Vec<Target> = named.iter().filter_map(|(_, _, t)| *t).collect();
        let kind = TableKind::of(&targets);
        let mut columns: Vec<UnderstoodColumn> = Vec::new();
        let mut unknown = Vec::new();
        for (place, heading, target) in named {
            match target.filter(|t| kind.holds(*t)) {
                Some(target) => columns.push(UnderstoodColumn { place, heading: heading.clone(), target }),
                None => unknown.push(unknown_heading(place, heading)),
            }
        }
        let understood = Self { kind, heading_row: table.heading_row, columns };
        understood.checked(table, unknown)
    }

    fn checked(self, table: &Table, unknown: Vec<UnknownHeading>) -> Result<Self, IntakeError> {
        let file = table.file().to_string();
        if !unknown.is_empty() {
            return Err(IntakeError::UnknownHeadings { file, row: table.heading_row, headings: unknown });
        }
        for (i, second) in self.columns.iter().enumerate() {
            if let Some(first) = self.columns[..i].iter().find(|c| c.target == second.target) {
                let [first, second] = [first.place, second.place].map(column_letters);
                return Err(IntakeError::Twice {
                    file,
                    column: self.columns[i].target.name(),
                    first,
                    second,
                });
            }
        }
        let missing: Vec<&'static str> = (self.kind.needed().iter())
            .filter(|t| self.columns.iter().all(|c| c.target != **t))
            .map(|t| t.name())
            .collect();
        match missing.is_empty() {
            true => Ok(self),
            false => Err(IntakeError::MissingColumns { file, columns: missing }),
        }
    }
}

static NO_HEADING: String = String::new();

fn unknown_heading(place: usize, heading: &str) -> UnknownHeading {
    use crate::dough::Column;
    let nearest = Column::nearest(heading).name();
    UnknownHeading { letter: column_letters(place), heading: heading.to_string(), nearest }
}

/// Which columns have any cell below the headings.
fn filled_columns(table: &Table) -> Result<Vec<bool>, IntakeError> {
    let mut filled = vec![false; table.headings.len()];
    table.visit::<IntakeError>(|_, cells| {
        for i in 0..cells.len() {
            if i >= filled.len() {
                filled.push(false);
            }
            filled[i] = filled[i] || !cells.cell(i).is_blank();
        }
        Ok(())
    })?;
    Ok(filled)
}
