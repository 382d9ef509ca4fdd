//! Rows that say the same twice, and rows that contradict each other.
//!
//! A repeat agrees with an earlier batch in every cell but its name, the rise included: it tells nothing new, and counted
//! twice it would make the answer surer than it is. Two batches contradict each other when all that was done is the same
//! and their rises differ by more than chance makes likely.

use std::collections::HashMap;

use crate::dough::{Batch, Column};

/// Rises of like batches further apart than this in ln rise contradict each other: noise .055 and own vigour .1 of two
/// batches, both about the priors' middle, give .15, and this is three times that.
const APART: f64 = 0.45;

/// Cells that say what came of a batch, or when and by whom it was made, rather than what was done.
const NOT_DONE: [&str; 11] = [
    "batch_id",
    "date",
    "baker",
    "kitchen",
    "rise",
    "ripeness",
    "crust_score",
    "notes",
    "preferment_rise",
    "target_rise",
    "dough_temp_c",
];

/// For each batch, whether it repeats an earlier one.
pub fn repeats(batches: &[Batch]) -> Vec<bool> {
    let mut seen: HashMap<String, ()> = HashMap::new();
    batches
        .iter()
        .map(|b| b.rise.is_some() && seen.insert(key(b, &["batch_id", "notes"]), ()).is_some())
        .collect()
}

/// The two batches of like making whose rises lie furthest apart, when that is too far for chance.
pub fn contradiction(batches: &[Batch]) -> Option<(usize, usize)> {
    // Of each making, the least and the most risen.
    let mut ends: HashMap<String, (usize, usize)> = HashMap::new();
    let rise = |i: usize| batches[i].rise.unwrap_or(1.0);
    for (i, b) in batches.iter().enumerate().filter(|(_, b)| b.rise.is_some()) {
        let end = ends.entry(key(b, &NOT_DONE)).or_insert((i, i));
        if rise(i) < rise(end.0) {
            end.0 = i;
        }
        if rise(i) > rise(end.1) {
            end.1 = i;
        }
    }
    let apart = |(low, high): &(usize, usize)| (rise(*high) / rise(*low)).ln();
    ends.into_values()
        .filter(|e| apart(e) > APART)
        .max_by(|a, b| apart(a).total_cmp(&apart(b)).then(b.cmp(a)))
}

/// All cells but some, in one text.
fn key(batch: &Batch, without: &[&str]) -> String {
    use std::fmt::Write;
    let mut key = String::new();
    for column in Column::ALL.iter().filter(|c| !without.contains(&c.name())) {
        if let Some(value) = batch.get(*column) {
            let _ = write!(key, "{}={value};", column.name());
        }
    }
    key
}

#[cfg(test)]
mod tests {
    use super::*;

    fn batch(id: &str, rise: f64) -> Batch {
        Batch {
            batch_id: Some(id.into()),
            flour_g: Some(1000.0),
            yeast_g: Some(2.0),
            rise: Some(rise),
            ..Batch::default()
        }
    }

    #[test]
    fn the_same_row_twice_is_a_repeat() {
        let batches = [batch("a", 2.0), batch("b", 2.1), batch("c", 2.0)];
        assert_eq!(repeats(&batches), [false, false, true]);
        assert_eq!(contradiction(&batches), None);
    }

    #[test]
    fn like_batches_far_apart_contradict() {
        let batches = [batch("a", 2.0), batch("b", 1.3), batch("c", 2.4)];
        assert_eq!(contradiction(&batches), Some((1, 2)));
    }
}
