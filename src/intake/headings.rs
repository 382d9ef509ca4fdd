//! What a heading means: which column of which table it names.

use std::fmt;

use crate::dough::Column;

/// What a column of the sheet is taken for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Target {
    /// A column of the batch table; `batch_id`, `rise` and `dough_temp_c` belong to the other tables as well.
    Column(Column),
    /// Hours since the end of mixing, in a table of readings or of surroundings.
    Hours,
    /// Where a reading was taken.
    Vessel,
    /// Temperature around the dough, in a table of surroundings.
    SurroundingsTemp,
}

/// Which of the three tables a sheet holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TableKind {
    /// One row a batch.
    Batches,
    /// One row a reading while it rises.
    Readings,
    /// One row a temperature of what is around the dough.
    Surroundings,
}

impl Target {
    /// The name of the column in the contract.
    pub fn name(self) -> &'static str {
        match self {
            Self::Column(column) => column.name(),
            Self::Hours => "hours",
            Self::Vessel => "vessel",
            Self::SurroundingsTemp => "surroundings_temp_c",
        }
    }

    /// The target of a heading, when it is known.
    pub fn of_heading(heading: &str) -> Option<Self> {
        let name = heading.trim().to_ascii_lowercase();
        match name.as_str() {
            "hours" => Some(Self::Hours),
            "vessel" => Some(Self::Vessel),
            "surroundings_temp_c" => Some(Self::SurroundingsTemp),
            name => name.parse().ok().map(Self::Column),
        }
    }
}

impl TableKind {
    /// The table that has these columns.
    pub fn of(targets: &[Target]) -> Self {
        let has = |target| targets.contains(&target);
        match () {
            () if has(Target::SurroundingsTemp) => Self::Surroundings,
            () if has(Target::Hours) => Self::Readings,
            () => Self::Batches,
        }
    }

    /// Columns without which no row of this table can be used.
    pub fn needed(self) -> &'static [Target] {
        use Target::Column as C;
        match self {
            Self::Batches => &[
                C(Column::date),
                C(Column::flour_g),
                C(Column::water_g),
                C(Column::yeast_g),
                C(Column::yeast_type),
            ],
            Self::Readings => &[C(Column::batch_id), Target::Hours],
            Self::Surroundings => &[C(Column::batch_id), Target::Hours, Target::SurroundingsTemp],
        }
    }

    /// Whether a column belongs to this table.
    pub fn holds(self, target: Target) -> bool {
        use Target::Column as C;
        let in_log = matches!(target, C(Column::batch_id) | Target::Hours);
        match self {
            Self::Batches => matches!(target, C(_)),
            Self::Readings => {
                in_log || matches!(target, C(Column::rise | Column::dough_temp_c) | Target::Vessel)
            }
            Self::Surroundings => in_log || target == Target::SurroundingsTemp,
        }
    }
}

/// A heading that is not known, with what it may have meant.
#[derive(Debug, Clone, PartialEq)]
pub struct UnknownHeading {
    /// The column's letter in a spreadsheet.
    pub letter: String,
    /// As it stands in the sheet.
    pub heading: String,
    /// The known name that is nearest.
    pub nearest: &'static str,
}

impl fmt::Display for UnknownHeading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.heading.is_empty() {
            true => write!(f, "column {} has cells but no heading", self.letter),
            false => write!(f, "'{}' (nearest: {})", self.heading, self.nearest),
        }
    }
}

/// The letter or letters by which a spreadsheet names a column counted from 0.
pub fn column_letters(mut column: usize) -> String {
    let mut letters = Vec::new();
    loop {
        letters.push(b'A' + (column % 26) as u8);
        if column < 26 {
            break;
        }
        column = column / 26 - 1;
    }
    letters.iter().rev().map(|&b| b as char).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_go_on_after_z() {
        assert_eq!([0, 25, 26, 701, 702].map(column_letters), ["A", "Z", "AA", "ZZ", "AAA"]);
    }
}
