//! The column that a name which is none most likely means. Whole words and beginnings of words count before letters
//! that differ; what is far from every column is near to none.

use std::fmt;

// How many letters are to be put in, left out, changed, or exchanged with their neighbour, each place once.
use strsim::osa_distance as slips;

use super::columns::Column;

/// A word that only begins like another is as good as this share of the same word.
const BEGINS_ALIKE: f64 = 0.8;
/// A word with a slip of the keys is as good as this share of the right one.
const MISTYPED: f64 = 0.6;
/// Letters from which on a beginning says enough.
const ENOUGH_LETTERS: usize = 4;
/// Letters from which on a word may have two slips.
const LONG_WORD: usize = 7;

/// A name that is no column's.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoColumn {
    /// The column that is most likely meant, if any is near.
    pub nearest: Option<Column>,
}

impl fmt::Display for NoColumn {
    /// Goes after "there is no column 'x': ".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.nearest {
            Some(column) => write!(f, "nearest is {column}"),
            None => f.write_str("`doughwright import --help` lists all columns"),
        }
    }
}

impl Column {
    /// What is to be said of a name that is no column's, for "did you mean".
    pub fn none_named(name: &str) -> NoColumn {
        let name = name.to_ascii_lowercase();
        let wanted: Vec<&str> = words(&name).collect();
        let score = |c: Column| -> f64 {
            let best = |w: &&str| words(c.name()).map(|own| likeness(w, own)).fold(0.0, f64::max);
            wanted.iter().map(best).sum()
        };
        let distance = |c: Column| slips(&name, c.name());
        let by_words = Self::ALL.iter().copied().filter(|c| score(*c) > 0.0);
        let best =
            by_words.min_by(|a, b| score(*b).total_cmp(&score(*a)).then(distance(*a).cmp(&distance(*b))));
        let by_letters = || {
            let nearest = Self::ALL.iter().copied().min_by_key(|c| distance(*c));
            nearest.filter(|c| distance(*c) <= name.chars().count() / 3)
        };
        NoColumn { nearest: best.or_else(by_letters) }
    }
}

/// The words of a column's name that say something: not the letter of its unit.
fn words(name: &str) -> impl Iterator<Item = &str> {
    name.split(|c: char| !c.is_alphanumeric()).filter(|w| w.len() > 1)
}

/// How well one word stands for another: 1 the same, 0 another word.
pub fn likeness(a: &str, b: &str) -> f64 {
    if a == b {
        return 1.0;
    }
    let (short, long) = if a.len() <= b.len() { (a, b) } else { (b, a) };
    let letters = short.chars().count();
    if letters >= ENOUGH_LETTERS && long.starts_with(short) {
        return BEGINS_ALIKE;
    }
    let allowed = match letters {
        n if n < ENOUGH_LETTERS => 0,
        n if n < LONG_WORD => 1,
        _ => 2,
    };
    if slips(a, b) <= allowed { MISTYPED } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_column_shares_a_word_or_its_letters() {
        let nearest = |name| Column::none_named(name).nearest;
        assert_eq!(nearest("crust"), Some(Column::crust_score));
        assert_eq!(nearest("yeast"), Some(Column::yeast_g));
        assert_eq!(nearest("yaest_g"), Some(Column::yeast_g));
        assert_eq!(nearest("cold_hrs"), Some(Column::cold_hours));
        assert_eq!(nearest("Cold-Temp"), Some(Column::cold_temp_c));
        assert_eq!(nearest("roomtempc"), Some(Column::room_temp_c));
        assert_eq!(nearest("weather"), None);
        assert_eq!(nearest("?"), None);
    }

    #[test]
    fn slips_of_the_keys_are_counted() {
        let cases = [("yaest", "yeast", 1), ("flour", "flour", 0), ("", "rise", 4), ("kitten", "sitting", 3)];
        for (a, b, n) in cases {
            assert_eq!(slips(a, b), n, "{a} {b}");
        }
    }
}
