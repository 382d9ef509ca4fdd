//! A local date, with the hour when the baker wrote it down.

use std::fmt;
use std::str::FromStr;

use jiff::civil::{Date, DateTime};
use serde::{Deserialize, Serialize};

/// A local date, or a local date and time of day. A bench has no time zone: the clock on the wall counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct When {
    at: DateTime,
    hour_known: bool,
}

impl When {
    /// A date whose hour is not known.
    pub fn on(date: Date) -> Self {
        Self { at: date.to_datetime(jiff::civil::Time::midnight()), hour_known: false }
    }

    /// A date with its time of day.
    pub fn at(at: DateTime) -> Self {
        Self { at, hour_known: true }
    }

    /// The date.
    pub fn date(self) -> Date {
        self.at.date()
    }

    /// Date and time of day; `None` when the hour is not known.
    pub fn clock(self) -> Option<DateTime> {
        self.hour_known.then_some(self.at)
    }

    /// Days since 1970-01-01, the time of day as a fraction (midnight when not known): an axis for charts.
    pub fn days(self) -> f64 {
        const SECONDS_A_DAY: f64 = 86_400.0;
        let epoch = jiff::civil::date(1970, 1, 1).at(0, 0, 0, 0);
        self.at.duration_since(epoch).as_secs_f64() / SECONDS_A_DAY
    }
}

impl fmt::Display for When {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.hour_known {
            false => write!(f, "{}", self.date()),
            true if self.at.second() == 0 => write!(f, "{}", self.at.strftime("%Y-%m-%dT%H:%M")),
            true => write!(f, "{}", self.at.strftime("%Y-%m-%dT%H:%M:%S")),
        }
    }
}

impl FromStr for When {
    type Err = jiff::Error;

    fn from_str(s: &str) -> Result<Self, Self::Err> {
        let s = s.trim();
        if s.len() <= 10 {
            return s.parse().map(Self::on);
        }
        s.parse().map(Self::at)
    }
}

impl Serialize for When {
    fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

crate::dough::words::text_schema!(When);

impl<'de> Deserialize<'de> for When {
    fn deserialize<D: serde::Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let text = String::deserialize(d)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hour_is_kept_only_when_it_was_written() {
        for text in ["2026-03-01", "2026-03-01T08:30", "2026-03-01T08:30:15"] {
            assert_eq!(text.parse::<When>().unwrap().to_string(), text);
        }
        let spaced: When = "2026-03-01 08:30".parse().unwrap();
        assert_eq!(spaced.to_string(), "2026-03-01T08:30");
        assert!("2026-02-30".parse::<When>().is_err());
        assert!("1/3/2026".parse::<When>().is_err());
    }

    #[test]
    fn days_count_from_1970() {
        assert_eq!("1970-01-02T12:00".parse::<When>().unwrap().days(), 1.5);
    }
}
