//! The tables that a sheet may hold, and the columns of each that a heading may name.

use std::fmt;

use super::units::Quantity;
use crate::dough::{Column, Kind};

/// What a column of the sheet is taken for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Target {
    /// A column of the batch table; `batch_id`, `kitchen`, `rise` and `dough_temp_c` belong to the other tables
    /// as well.
    Column(Column),
    /// The time of day of mixing, in a column beside the date.
    Clock,
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
    /// The name of the column, as exports and mapping files give it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Column(column) => column.name(),
            Self::Clock => "time_of_day",
            Self::Hours => "hours",
            Self::Vessel => "vessel",
            Self::SurroundingsTemp => "surroundings_temp_c",
        }
    }

    /// The target of that exact name.
    pub fn of_name(name: &str) -> Option<Self> {
        match name {
            "time_of_day" => Some(Self::Clock),
            "hours" => Some(Self::Hours),
            "vessel" => Some(Self::Vessel),
            "surroundings_temp_c" => Some(Self::SurroundingsTemp),
            name => Column::ALL.iter().find(|c| c.name() == name).map(|c| Self::Column(*c)),
        }
    }

    /// The closed range that a sane entry keeps, in the unit in which it is kept.
    pub fn range(self) -> Option<(f64, f64)> {
        match self {
            Self::Hours => Some((0.0, 480.0)),
            Self::SurroundingsTemp => Some((-25.0, 60.0)),
            Self::Clock | Self::Vessel => None,
            Self::Column(column) => match column.kind() {
                Kind::Number { min, max, .. } => Some((min, max)),
                _ => None,
            },
        }
    }

    /// Whether it holds one of a few words.
    pub fn is_choice(self) -> bool {
        match self {
            Self::Vessel => true,
            Self::Column(column) => matches!(column.kind(), Kind::Choice(_)),
            _ => false,
        }
    }

    /// Whether it holds a date.
    pub fn is_date(self) -> bool {
        self == Self::Column(Column::date)
    }

    /// What it measures; `None` for text, dates and words.
    pub fn quantity(self) -> Option<Quantity> {
        Quantity::of(self)
    }
}

impl fmt::Display for Target {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl TableKind {
    /// All three.
    pub const ALL: [Self; 3] = [Self::Batches, Self::Readings, Self::Surroundings];

    /// Its name, as a mapping file gives it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Batches => "batches",
            Self::Readings => "readings",
            Self::Surroundings => "surroundings",
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
        let in_log = matches!(target, C(Column::batch_id | Column::kitchen) | Target::Hours);
        match self {
            Self::Batches => matches!(target, C(_) | Target::Clock),
            Self::Readings => {
                in_log || matches!(target, C(Column::rise | Column::dough_temp_c) | Target::Vessel)
            }
            Self::Surroundings => in_log || target == Target::SurroundingsTemp,
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

    #[test]
    fn names_are_read_back() {
        let others = [Target::Clock, Target::Hours, Target::Vessel, Target::SurroundingsTemp];
        for target in Column::ALL.iter().map(|c| Target::Column(*c)).chain(others) {
            assert_eq!(Target::of_name(target.name()), Some(target));
        }
    }
}
