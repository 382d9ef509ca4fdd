//! Times at which nobody is at the bench.

use jiff::ZonedDateTime;
use jiff::civil::{DateTime, Time};

use super::refuse;
use crate::advice::AdviceError;

/// A time at which nobody is there, by the clock on the wall; the end is not part of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Away {
    /// Each day, over midnight when the end lies before the start.
    Daily(Time, Time),
    /// Once.
    Once(DateTime, DateTime),
}

impl Away {
    /// From "22:00-06:30", or "2026-12-04T09:00..2026-12-04T17:00".
    ///
    /// # Errors
    /// When it is neither.
    pub fn parse(text: &str) -> Result<Self, AdviceError> {
        let wrong = || {
            AdviceError::Clock(format!(
                "'{text}': two times of day are wanted, such as 22:00-06:30, or two dates with times, such as \
                 2026-12-04T09:00..2026-12-04T17:00"
            ))
        };
        if let Some((from, to)) = text.split_once("..") {
            let at = |t: &str| t.trim().parse::<DateTime>().map_err(|_| wrong());
            let (from, to) = (at(from)?, at(to)?);
            return if from < to { Ok(Self::Once(from, to)) } else { Err(wrong()) };
        }
        let (from, to) = text.split_once('-').ok_or_else(wrong)?;
        let at = |t: &str| time(t.trim()).ok_or_else(wrong);
        match (at(from)?, at(to)?) {
            (from, to) if from == to => refuse(format!("'{text}' would be the whole day: give another end")),
            (from, to) => Ok(Self::Daily(from, to)),
        }
    }

    /// Whether it holds at a moment.
    pub fn holds(&self, at: &ZonedDateTime) -> bool {
        match *self {
            Self::Daily(from, to) if from < to => (from..to).contains(&at.time()),
            Self::Daily(from, to) => at.time() >= from || at.time() < to,
            Self::Once(from, to) => (from..to).contains(&at.datetime()),
        }
    }
}

impl std::fmt::Display for Away {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Daily(from, to) => write!(f, "{}-{}", from.strftime("%H:%M"), to.strftime("%H:%M")),
            Self::Once(from, to) => {
                write!(f, "{} to {}", from.strftime("%a %-d %b %H:%M"), to.strftime("%a %-d %b %H:%M"))
            }
        }
    }
}

/// "6:30" or "06:30"; 24:00 is midnight.
fn time(text: &str) -> Option<Time> {
    let (hour, minute) = text.split_once(':')?;
    let hour = hour.parse::<i8>().ok()?;
    Time::new(if hour == 24 { 0 } else { hour }, minute.parse().ok()?, 0, 0).ok()
}
