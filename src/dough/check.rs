//! What must hold inside one batch, beyond the range of each column: sums, stages, what belongs together.
//!
//! What is said to be usual (water, salt, yeast, oil, sugar and malt in % of the flour) is common practice, no source; the
//! bounds are wide, as those of the columns are.

use serde::{Deserialize, Serialize};

use super::batch::StageKind;
use super::columns::{Batch, Column};

/// Something wrong with a batch: where, what stands there, and what would be right.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Problem {
    /// The column to look at first.
    pub column: Column,
    /// What stands there; empty where it is blank.
    pub value: String,
    /// What is wrong and what would be right.
    pub message: String,
}

/// Whether the batch has happened, or is a plan with blanks to fill.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// A record: yeast must be known, and a rise needs a stage.
    Record,
    /// A plan: yeast and water temperature may be blank.
    Plan,
}

/// Checks one batch; an empty answer means that it can be used.
pub fn check(batch: &Batch, purpose: Purpose) -> Vec<Problem> {
    let mut found = Found { batch, problems: Vec::new() };
    needed(&mut found, purpose);
    sums(&mut found);
    preferment(&mut found);
    stages(&mut found, purpose);
    found.problems
}

struct Found<'a> {
    batch: &'a Batch,
    problems: Vec<Problem>,
}

impl Found<'_> {
    fn add(&mut self, column: Column, message: impl Into<String>) {
        let value = self.batch.get(column).map(|v| v.to_string()).unwrap_or_default();
        self.problems.push(Problem { column, value, message: message.into() });
    }
}

fn needed(found: &mut Found<'_>, purpose: Purpose) {
    for &column in Column::NEEDED {
        let may_be_blank = purpose == Purpose::Plan && matches!(column, Column::yeast_g | Column::date);
        if !may_be_blank && found.batch.get(column).is_none() {
            found.add(column, format!("{column} is needed: {}", column.meaning()));
        }
    }
    let yeast = found.batch.yeast_g.unwrap_or(0.0) + found.batch.preferment_yeast_g.unwrap_or(0.0);
    if purpose == Purpose::Record && found.batch.yeast_g.is_some() && yeast <= 0.0 {
        found.add(
            Column::yeast_g,
            "there is no yeast in it, neither in the dough nor in a preferment: give the yeast",
        );
    }
}

fn sums(found: &mut Found<'_>) {
    let b = found.batch;
    let (Some(flour), Some(water)) = (b.flour_g, b.water_g) else { return };
    let hydration = 100.0 * water / flour;
    if !(30.0..=150.0).contains(&hydration) {
        found.add(
            Column::water_g,
            format!(
                "{water} g of water on {flour} g of flour is {hydration:.0} %; \
                 30 to 150 % is usual: check both (all flour and all water count, a preferment's too)"
            ),
        );
    }
    let limits = [
        (Column::salt_g, b.salt_g, 6.0),
        (Column::yeast_g, b.yeast_g, 10.0),
        (Column::oil_g, b.oil_g, 40.0),
        (Column::sugar_g, b.sugar_g, 40.0),
        (Column::malt_g, b.malt_g, 10.0),
    ];
    for (column, grams, most) in limits {
        let percent = 100.0 * grams.unwrap_or(0.0) / flour;
        if percent > most {
            found.add(
                column,
                format!("{percent:.1} % of the flour is more than {most} %: check that it is in grams"),
            );
        }
    }
    if let (Some(ice), Some(added)) = (b.ice_g, b.water_added_g())
        && ice > added
    {
        found.add(Column::ice_g, format!("ice is part of the water: at most {added} g are added at mixing"));
    }
}

fn preferment(found: &mut Found<'_>) {
    let b = found.batch;
    let within = [
        (Column::preferment_flour_g, b.preferment_flour_g, Column::flour_g, b.flour_g),
        (Column::preferment_water_g, b.preferment_water_g, Column::water_g, b.water_g),
    ];
    for (column, part, total_column, total) in within {
        if let (Some(part), Some(total)) = (part, total)
            && part > total
        {
            found.add(column, format!("it is part of {total_column}, so at most {total} g"));
        }
    }
    let has_preferment = b.preferment_flour_g.unwrap_or(0.0) > 0.0;
    let parts = [
        (Column::preferment_water_g, b.preferment_water_g),
        (Column::preferment_yeast_g, b.preferment_yeast_g),
        (Column::preferment_hours, b.preferment_hours),
    ];
    for (column, value) in parts {
        let present = value.unwrap_or(0.0) > 0.0;
        if has_preferment && !present {
            found.add(column, format!("a preferment with flour needs {column}"));
        }
        if !has_preferment && present {
            found.add(
                column,
                "there is no preferment_flour_g: give the preferment's flour, or leave this blank",
            );
        }
    }
    if !has_preferment && b.preferment_rise.is_some() {
        found.add(
            Column::preferment_rise,
            "there is no preferment_flour_g: a preferment's rise needs a preferment",
        );
    }
    if let (true, Some(flour), Some(water)) = (has_preferment, b.preferment_flour_g, b.preferment_water_g)
        && !(0.3..=3.0).contains(&(water / flour))
    {
        found.add(
            Column::preferment_water_g,
            format!(
                "{water} g on the preferment's {flour} g of flour is {:.0} %; 30 to 300 % is usual",
                100.0 * water / flour
            ),
        );
    }
}

fn stages(found: &mut Found<'_>, purpose: Purpose) {
    let b = found.batch;
    let present: Vec<StageKind> = b.stages().map(|s| s.kind).collect();
    if present.is_empty() && (b.rise.is_some() || purpose == Purpose::Plan) {
        found.add(
            Column::bulk_hours,
            "a rise needs the time it took: give bulk_hours, cold_hours or temper_hours",
        );
    }
    if let Some(at) = b.rise_at
        && !present.contains(&at)
    {
        found.add(Column::rise_at, format!("there is no {at} stage: give {at}_hours, or another stage"));
    }
    if let (Some(piece), Some(dough)) = (b.piece_g, b.dough_g())
        && piece > dough * 1.02
    {
        found.add(Column::piece_g, format!("a piece cannot weigh more than the dough, {dough:.0} g"));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dough::{When, YeastType};

    fn plain() -> Batch {
        Batch {
            date: "2026-03-01".parse::<When>().ok(),
            flour_g: Some(1000.0),
            water_g: Some(620.0),
            yeast_g: Some(2.0),
            yeast_type: Some(YeastType::Instant),
            bulk_hours: Some(1.0),
            rise: Some(1.8),
            ..Batch::default()
        }
    }

    fn columns(batch: &Batch) -> Vec<Column> {
        check(batch, Purpose::Record).iter().map(|p| p.column).collect()
    }

    #[test]
    fn a_sound_batch_passes() {
        assert_eq!(check(&plain(), Purpose::Record), []);
    }

    #[test]
    fn each_fault_names_its_column() {
        let with = |change: fn(&mut Batch)| {
            let mut b = plain();
            change(&mut b);
            columns(&b)
        };
        assert_eq!(with(|b| b.yeast_g = None), [Column::yeast_g]);
        assert_eq!(with(|b| b.yeast_g = Some(0.0)), [Column::yeast_g]);
        assert_eq!(with(|b| b.water_g = Some(62.0)), [Column::water_g]);
        assert_eq!(with(|b| b.salt_g = Some(200.0)), [Column::salt_g]);
        assert_eq!(with(|b| b.ice_g = Some(700.0)), [Column::ice_g]);
        assert_eq!(with(|b| b.bulk_hours = None), [Column::bulk_hours]);
        assert_eq!(with(|b| b.rise_at = Some(StageKind::Cold)), [Column::rise_at]);
        assert_eq!(with(|b| b.piece_g = Some(3000.0)), [Column::piece_g]);
        assert_eq!(with(|b| b.preferment_rise = Some(2.0)), [Column::preferment_rise]);
        assert_eq!(
            with(|b| b.preferment_flour_g = Some(300.0)),
            [Column::preferment_water_g, Column::preferment_yeast_g, Column::preferment_hours]
        );
    }

    #[test]
    fn a_plan_may_leave_yeast_blank() {
        let mut plan = plain();
        plan.yeast_g = None;
        plan.rise = None;
        assert_eq!(check(&plan, Purpose::Plan), []);
    }
}
