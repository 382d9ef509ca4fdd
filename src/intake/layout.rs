//! Where the table stands in a sheet: a title block may stand above it, its headings may be in two rows
//! with a group over several columns, and a row of units may follow.

use super::column_map::ColumnMap;
use super::headings::{Target, column_letters};
use super::spellings::Spellings;

/// One heading of a table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Heading {
    /// As it stands in the sheet, with the group above it and the unit below it where there are such;
    /// blank where there is none.
    pub text: String,
    /// The heading without the group, where the sheet does not tell whether the group reaches so far.
    pub alone: Option<String>,
}

impl Heading {
    fn add_unit(&mut self, cell: &str) {
        let spellings = Spellings::get();
        let has_unit = spellings.heading(&self.text).1.is_some();
        if !self.text.is_empty() && !has_unit && spellings.unit(cell).is_some() {
            self.text = format!("{} ({cell})", self.text);
        }
    }
}

/// Where the table stands.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Layout {
    /// The row of headings, as a spreadsheet numbers it.
    pub heading_row: u64,
    /// The row of units below them.
    pub unit_row: Option<u64>,
    /// The headings, one a column.
    pub headings: Vec<Heading>,
    /// How many of them are known.
    pub known: usize,
}

/// A block of cells merged into one: first and last row and column, counted from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Merged {
    /// First and last row.
    pub rows: (u32, u32),
    /// First and last column.
    pub columns: (u32, u32),
}

/// The first rows of a sheet, as a person sees them.
pub struct Top<'a> {
    /// Rows that are not blank, with their numbers.
    pub rows: &'a [(u64, Vec<String>)],
    /// Merged cells, where the format tells them.
    pub merged: &'a [Merged],
    /// What bakers have said about headings.
    pub maps: &'a [&'a ColumnMap],
}

impl Top<'_> {
    /// Finds the row with the most known headings.
    pub fn layout(&self) -> Layout {
        let mut best = Layout::default();
        for (i, (number, row)) in self.rows.iter().enumerate() {
            let above = i.checked_sub(1).map(|j| &self.rows[j]);
            let headings = self.headings(row, above);
            let known = headings.iter().filter(|h| self.is_known(&h.text)).count();
            if known > best.known {
                best = Layout { heading_row: *number, unit_row: None, headings, known };
            }
        }
        let below = self.rows.iter().find(|(number, _)| *number > best.heading_row);
        if let Some((number, row)) = below.filter(|(_, row)| is_unit_row(row)) {
            best.unit_row = Some(*number);
            for (heading, cell) in best.headings.iter_mut().zip(row) {
                heading.add_unit(cell);
            }
        }
        while best.headings.last().is_some_and(|h| h.text.is_empty()) {
            best.headings.pop();
        }
        best
    }

    fn is_known(&self, text: &str) -> bool {
        !text.is_empty()
            && (!meant(text).is_empty()
                || self.maps.iter().any(|m| m.columns.iter().any(|e| e.heading == text)))
    }

    /// The headings of a row, each with its group when it is known with it.
    fn headings(&self, row: &[String], above: Option<&(u64, Vec<String>)>) -> Vec<Heading> {
        let width = row.len().max(above.map_or(0, |(_, cells)| cells.len()));
        let own = |place: usize| row.get(place).map_or("", String::as_str);
        let over = |place: usize| above.and_then(|(_, cells)| cells.get(place)).map_or("", String::as_str);
        let plain: Vec<&str> = (0..width).map(|i| if own(i).is_empty() { over(i) } else { own(i) }).collect();
        (0..width)
            .map(|place| {
                let alone = own(place).to_string();
                let Some((group, sure)) =
                    above.and_then(|(number, cells)| self.group(*number, cells, row, place))
                else {
                    return Heading { text: alone, ..Heading::default() };
                };
                if alone.is_empty() {
                    let text = if sure && self.is_known(group) { group.to_string() } else { alone };
                    return Heading { text, ..Heading::default() };
                }
                let together = format!("{group} {alone}");
                match (self.is_known(&together), self.is_known(&alone)) {
                    (false, _) => Heading { text: alone, ..Heading::default() },
                    (true, true) if !sure && meant(&together) != meant(&alone) => {
                        let elsewhere = plain.iter().filter(|t| meant(t) == meant(&alone)).count() > 1;
                        let alone = (!elsewhere).then_some(alone);
                        Heading { text: together, alone }
                    }
                    (true, _) => Heading { text: together, ..Heading::default() },
                }
            })
            .collect()
    }

    /// The group over a column, and whether it surely reaches there: it does where cells are merged, and
    /// over its own column; otherwise it reaches to the next group.
    fn group<'a>(
        &self,
        number: u64,
        cells: &'a [String],
        below: &[String],
        place: usize,
    ) -> Option<(&'a str, bool)> {
        let row = u32::try_from(number.checked_sub(1)?).ok()?;
        let in_row: Vec<&Merged> =
            self.merged.iter().filter(|m| (m.rows.0..=m.rows.1).contains(&row)).collect();
        let text = |at: usize| cells.get(at).map(String::as_str).filter(|t| !t.is_empty());
        if !in_row.is_empty() {
            let over = in_row.iter().find(|m| (m.columns.0..=m.columns.1).contains(&(place as u32)));
            let at = over.map_or(place, |m| m.columns.0 as usize);
            return text(at).map(|t| (t, true));
        }
        // A heading with nothing below it stands for itself, and is no group.
        let is_group = |at: usize| at == place || below.get(at).is_some_and(|t| !t.is_empty());
        let nearest = (0..=place).rev().find(|at| text(*at).is_some()).filter(|at| is_group(*at))?;
        text(nearest).map(|t| (t, nearest == place))
    }
}

/// The columns that a heading may name.
fn meant(text: &str) -> Vec<Target> {
    Spellings::get().heading(text).0.iter().map(|m| m.target).collect()
}

/// Whether a row names units and little else.
pub fn is_unit_row(row: &[String]) -> bool {
    let filled = row.iter().filter(|c| !c.is_empty() && *c != "-").count();
    let units = row.iter().filter(|c| Spellings::get().unit(c).is_some()).count();
    units >= 2 && units * 5 >= filled * 4
}

/// The name by which a column is told: its heading, or its letter where it has none.
pub fn column_name(place: usize, heading: &str) -> String {
    if heading.is_empty() { column_letters(place) } else { heading.to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(text: &str) -> Vec<(u64, Vec<String>)> {
        (1..).zip(text.lines().map(|l| l.split('|').map(|c| c.trim().to_string()).collect())).collect()
    }

    fn texts(text: &str, merged: &[Merged]) -> (u64, Vec<String>) {
        let rows = rows(text);
        let layout = Top { rows: &rows, merged, maps: &[] }.layout();
        (layout.heading_row, layout.headings.into_iter().map(|h| h.text).collect())
    }

    #[test]
    fn a_title_block_is_passed_over() {
        let (row, headings) = texts(
            "Dough log of the hall\nFlour: strong\nDate | Flour (g) | Water (g)\n2026-03-01 | 1 | 2",
            &[],
        );
        assert_eq!((row, headings), (3, vec!["Date".into(), "Flour (g)".into(), "Water (g)".into()]));
    }

    #[test]
    fn a_group_belongs_to_the_headings_below_it() {
        let merged = [Merged { rows: (0, 0), columns: (1, 2) }, Merged { rows: (0, 0), columns: (3, 4) }];
        let sheet = "Date | Preferment | | Cold | | \n | flour g | hours | hrs | °C | rise";
        let (row, headings) = texts(sheet, &merged);
        assert_eq!(row, 2);
        assert_eq!(
            headings,
            ["Date", "Preferment flour g", "Preferment hours", "Cold hrs", "Cold °C", "rise"]
        );
    }

    #[test]
    fn a_row_of_units_is_known_by_its_units() {
        let rows = rows("Date | Flour | Water | Cold time\n | g | g | h\n2026-03-01 | 1 | 2 | 3");
        let layout = Top { rows: &rows, merged: &[], maps: &[] }.layout();
        assert_eq!(layout.unit_row, Some(2));
        assert_eq!(layout.headings[3].text, "Cold time (h)");
    }
}
