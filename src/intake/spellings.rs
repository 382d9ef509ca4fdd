//! The one table of accepted spellings (`spellings.toml`), ready for looking up headings, units and entries.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::LazyLock;

use serde::Deserialize;

use super::headings::Target;
use super::units::{Quantity, Unit};
use crate::dough::{Column, YeastType};

const TABLE: &str = include_str!("spellings.toml");

static SPELLINGS: LazyLock<Spellings> = LazyLock::new(|| {
    let table: Table =
        toml::from_str(TABLE).expect("the table of spellings is part of the program and tested");
    Spellings::of(table).expect("the table of spellings is part of the program and tested")
});

/// What one heading may mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meaning {
    /// The column it names.
    pub target: Target,
    /// The unit that its words imply, such as percent of the flour for "hydration".
    pub unit: Option<Unit>,
    /// The kind of yeast that its words imply.
    pub yeast: Option<YeastType>,
    /// Whether the words mean this only in a table of readings or of surroundings.
    pub in_log: bool,
}

/// The file, as it is written.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    noise: Vec<String>,
    same: BTreeMap<String, Vec<String>>,
    units: BTreeMap<String, Vec<String>>,
    headings: BTreeMap<String, Vec<String>>,
    log_headings: BTreeMap<String, Vec<String>>,
    clock: Headings,
    hints: BTreeMap<String, Vec<String>>,
    percent_headings: BTreeMap<String, Vec<String>>,
    preferment_percent_headings: BTreeMap<String, Vec<String>>,
    gained_headings: BTreeMap<String, Vec<String>>,
    yeast_headings: BTreeMap<String, Vec<String>>,
    choices: BTreeMap<String, BTreeMap<String, Vec<String>>>,
    foot: Words,
    dates: DateWords,
}

#[derive(Deserialize)]
struct Headings {
    headings: Vec<String>,
}

#[derive(Deserialize)]
struct Words {
    words: Vec<String>,
}

#[derive(Deserialize)]
struct DateWords {
    months: Vec<Vec<String>>,
    weekdays: Vec<String>,
    noise: Vec<String>,
}

/// Spellings, for looking up.
#[derive(Debug)]
pub struct Spellings {
    noise: HashSet<String>,
    same: HashMap<String, String>,
    units: HashMap<String, Unit>,
    headings: HashMap<String, Vec<Meaning>>,
    hints: HashMap<String, Vec<Target>>,
    choices: HashMap<Target, HashMap<String, String>>,
    foot: HashSet<String>,
    months: HashMap<String, i16>,
    date_noise: HashSet<String>,
}

impl Spellings {
    /// The table that is part of the program.
    pub fn get() -> &'static Self {
        &SPELLINGS
    }

    fn of(table: Table) -> Result<Self, String> {
        let mut same = HashMap::new();
        for (word, others) in table.same {
            same.extend(others.into_iter().map(|other| (other, word.clone())));
        }
        let mut units = HashMap::new();
        for (name, spelled) in table.units {
            let unit: Unit = name.parse().map_err(|e| format!("{e}"))?;
            units.extend(spelled.into_iter().map(|s| (s, unit)));
        }
        units.extend(Unit::ALL.iter().map(|u| (squeezed(u.name()), *u)));
        let months =
            (1..).zip(table.dates.months).flat_map(|(n, names)| names.into_iter().map(move |m| (m, n)));
        let date_noise = table.dates.weekdays.into_iter().chain(table.dates.noise).collect();
        let mut spellings = Self {
            noise: table.noise.into_iter().collect(),
            same,
            units,
            headings: HashMap::new(),
            hints: HashMap::new(),
            choices: HashMap::new(),
            foot: table.foot.words.into_iter().collect(),
            months: months.collect(),
            date_noise,
        };
        for (kinds, unit, in_log) in [
            (table.headings, None, false),
            (table.log_headings, None, true),
            (table.percent_headings, Some(Unit::PercentOfFlour), false),
            (table.preferment_percent_headings, Some(Unit::PercentOfPreferment), false),
            (table.gained_headings, Some(Unit::PercentGained), false),
        ] {
            for (name, phrases) in kinds {
                let target = Target::of_name(&name).ok_or_else(|| format!("{name} is no column"))?;
                phrases.iter().for_each(|p| spellings.add(p, Meaning { target, unit, yeast: None, in_log }));
            }
        }
        for phrase in &table.clock.headings {
            spellings.add(phrase, Meaning { target: Target::Clock, unit: None, yeast: None, in_log: false });
        }
        for (kind, phrases) in table.yeast_headings {
            let yeast = Some(kind.parse().map_err(|()| format!("{kind} is no yeast"))?);
            let target = Target::Column(Column::yeast_g);
            phrases
                .iter()
                .for_each(|p| spellings.add(p, Meaning { target, unit: None, yeast, in_log: false }));
        }
        for (name, words) in table.hints {
            let target = Target::of_name(&name).ok_or_else(|| format!("{name} is no column"))?;
            words.into_iter().for_each(|w| spellings.hints.entry(w).or_default().push(target));
        }
        for (name, words) in table.choices {
            let target = Target::of_name(&name).ok_or_else(|| format!("{name} is no column"))?;
            let spelled = words
                .into_iter()
                .flat_map(|(word, all)| all.into_iter().map(move |s| (words_of(&s).concat(), word.clone())));
            spellings.choices.insert(target, spelled.collect());
        }
        Ok(spellings)
    }

    fn add(&mut self, phrase: &str, meaning: Meaning) {
        let key = self.key(words_of(phrase).iter().map(String::as_str));
        let meanings = self.headings.entry(key).or_default();
        if !meanings.contains(&meaning) {
            meanings.push(meaning);
        }
    }

    /// A set of words as one text: noise left out, one word for others, sorted.
    fn key<'a>(&'a self, words: impl Iterator<Item = &'a str>) -> String {
        let mut kept: Vec<&str> = words
            .filter(|w| !self.noise.contains(*w))
            .map(|w| self.same.get(w).map_or(w, String::as_str))
            .collect();
        kept.sort_unstable();
        kept.dedup();
        kept.join(" ")
    }

    /// What a heading may mean, and the unit that is written in it. No meaning: it is not known.
    pub fn heading(&self, text: &str) -> (Vec<Meaning>, Option<Unit>) {
        if let Some(target) = Target::of_name(text) {
            let unit = Quantity::of(target).map(Quantity::kept_in);
            return (vec![Meaning { target, unit: None, yeast: None, in_log: false }], unit);
        }
        let (outside, inside) = bracketed(text);
        let words = words_of(&outside);
        let all = || words.iter().map(String::as_str);
        let bracket_unit = inside.as_deref().and_then(|b| self.unit(b));
        if inside.is_none() || bracket_unit.is_some() {
            let found = self.with_unit(all(), bracket_unit);
            if !found.is_empty() {
                return (found, bracket_unit);
            }
        }
        if bracket_unit.is_none() {
            for at in (0..words.len()).rev() {
                let Some(unit) = self.unit(&words[at]) else { continue };
                let others = all().enumerate().filter(|(i, _)| *i != at).map(|(_, w)| w);
                let found = self.with_unit(others, Some(unit));
                if !found.is_empty() {
                    return (found, Some(unit));
                }
            }
            if let Some(inside) = inside {
                return self.heading(&format!("{outside} {}", inside.replace(['(', ')', '[', ']'], " ")));
            }
        }
        (Vec::new(), bracket_unit)
    }

    /// Meanings of words beside a unit: the unit says as much as the word "time" or "temp" would.
    fn with_unit<'a>(&'a self, words: impl Iterator<Item = &'a str>, unit: Option<Unit>) -> Vec<Meaning> {
        let said = match unit {
            Some(Unit::Celsius | Unit::Fahrenheit) => Some("temp"),
            Some(Unit::Second | Unit::Minute | Unit::Hour | Unit::Day) => Some("time"),
            _ => None,
        };
        let words: Vec<&str> = words.collect();
        let fits = |m: &&Meaning| unit.is_none_or(|u| !u.meanings(m.target).is_empty());
        let of = |key: String| -> Vec<Meaning> {
            self.headings.get(&key).into_iter().flatten().filter(fits).copied().collect()
        };
        let found = of(self.key(words.iter().copied().chain(said)));
        if found.is_empty() { of(self.key(words.into_iter())) } else { found }
    }

    /// The unit that a word or sign names.
    pub fn unit(&self, text: &str) -> Option<Unit> {
        self.units.get(text).or_else(|| self.units.get(&squeezed(text))).copied()
    }

    /// The fixed word for an entry in a column of choices.
    pub fn choice(&self, target: Target, text: &str) -> Option<&str> {
        let words = self.choices.get(&target)?;
        words.get(&words_of(text).concat()).map(String::as_str)
    }

    /// Whether a row that begins with this text is a line at the foot of a table.
    pub fn is_foot(&self, text: &str) -> bool {
        text.len() <= 40 && self.foot.contains(&words_of(text).join(" "))
    }

    /// The month that a word names, 1 to 12.
    pub fn month(&self, word: &str) -> Option<i16> {
        self.months.get(&word.to_lowercase()).copied()
    }

    /// Whether a word in a date says nothing: a day of the week, the "st" of "1st".
    pub fn is_date_noise(&self, word: &str) -> bool {
        word.is_empty() || self.date_noise.contains(&word.to_lowercase())
    }

    /// The words of a heading that tell what it is: no noise, no units, no figures; one word for others.
    pub fn telling_words(&self, heading: &str) -> Vec<String> {
        let mut words = words_of(heading);
        words.retain(|w| {
            let is_said = w.chars().any(char::is_alphabetic);
            is_said && !self.noise.contains(w) && self.unit(w).is_none()
        });
        words.into_iter().map(|w| self.same.get(&w).cloned().unwrap_or(w)).collect()
    }

    /// The known headings of a target, each as its words with spaces between them.
    pub fn phrases(&self, target: Target) -> impl Iterator<Item = &str> {
        let names =
            move |(_, meanings): &(&String, &Vec<Meaning>)| meanings.iter().any(|m| m.target == target);
        self.headings.iter().filter(names).map(|(phrase, _)| phrase.as_str())
    }

    /// The columns that a word hints at without naming one.
    pub fn hints(&self, word: &str) -> &[Target] {
        self.hints.get(word).map_or(&[], Vec::as_slice)
    }
}

/// Lower case, without spaces, apostrophes and full stops.
fn squeezed(text: &str) -> String {
    let lower = text.to_lowercase();
    if lower.trim() == "'" { "'".into() } else { lower.chars().filter(|c| !" .'’_".contains(*c)).collect() }
}

/// The words of a text: lower case, parted at spaces and punctuation; a percent sign is a word.
fn words_of(text: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    for c in text.to_lowercase().chars() {
        match c {
            '%' => words.extend(["%".into(), String::new()]),
            '\'' | '’' | '.' => {}
            c if c.is_alphanumeric() || "°℃℉ºª×#".contains(c) => {
                words.last_mut().expect("there is always a last word").push(c);
            }
            _ => words.push(String::new()),
        }
    }
    words.retain(|w| !w.is_empty());
    words
}

/// A text without what stands in brackets at its end, and that.
fn bracketed(text: &str) -> (String, Option<String>) {
    let text = text.trim();
    match (text.rfind(['(', '[']), text.ends_with([')', ']'])) {
        (Some(open), true) if open > 0 => {
            (text[..open].to_string(), Some(text[open + 1..text.len() - 1].to_string()))
        }
        _ => (text.to_string(), None),
    }
}
