//! The clock of a batch: from the hour of the bake back to the start of the preferment, in local time.
//!
//! Dough feels hours that pass, a baker reads the clock on the wall: hours are counted on the time line and shown as
//! local time, so that a change to or from summer time shifts the clock and not the dough. [`steps`] are the moments at
//! which somebody must be there, [`away`] the times at which nobody is, [`task`] what rides on the same clock,
//! [`free`] the hours that may move, [`slack`] how far a step can be moved, [`plan`] puts them together.

pub mod away;
pub mod free;
pub mod plan;
pub mod slack;
pub mod steps;
pub mod task;

use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, ZonedDateTime};

use super::AdviceError;

/// Refuses, with the way out.
pub(crate) fn refuse<T>(why: String) -> Result<T, AdviceError> {
    Err(AdviceError::Clock(why))
}

/// A local time as a moment, and what is odd about it: a clock that is put forward skips an hour, one that is put
/// back shows an hour twice.
///
/// # Errors
/// When the date lies beyond the calendar.
pub fn moment(local: DateTime, zone: &TimeZone) -> Result<(ZonedDateTime, Option<String>), AdviceError> {
    let ambiguous = zone.to_ambiguous_zoned_datetime(local);
    let odd = ambiguous.is_ambiguous();
    let at = ambiguous.compatible().map_err(|e| AdviceError::Clock(format!("{local}: {e}")))?;
    let note = odd.then(|| match at.datetime() == local {
        true => format!("the clock shows {} twice that day: the first is taken", shown(&at)),
        false => format!("the clock skips {} that day: {} is taken", local.strftime("%H:%M"), shown(&at)),
    });
    Ok((at, note))
}

/// So many hours later (earlier, below zero), counted as they pass, to the minute.
pub fn later(at: &ZonedDateTime, hours: f64) -> ZonedDateTime {
    at.saturating_add(SignedDuration::from_mins((hours * 60.0).round() as i64))
}

/// "Sat 5 Dec 18:30".
pub fn shown(at: &ZonedDateTime) -> String {
    at.strftime("%a %-d %b %H:%M").to_string()
}
