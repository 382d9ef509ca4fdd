//! Which places on an axis get a label.
//!
//! Ticks are chosen here rather than by the drawing library, which cannot know how wide a label is: from a ladder of
//! round steps, dense to sparse, the first whose labels all have room is taken.

use jiff::civil::Date;
use jiff::{SignedDuration, ToSpan, ZonedDateTime};

use super::axis::{Axis, Scale};
use super::figure::number;

/// One labelled place on an axis.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tick {
    /// The value that it marks.
    pub at: f64,
    /// What is written there.
    pub label: String,
}

/// No ladder rung has more labels than this; no picture has room for more.
const MOST_TICKS: usize = 200;
const MINUTES_OF_A_DAY: i64 = 24 * 60;
/// Round steps of time.
const HOUR_STEPS: [f64; 13] = [0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0, 72.0, 168.0, 336.0, 672.0];

impl Axis {
    /// The densest ticks that `fit` accepts; the last resort is no tick at all.
    pub fn ticks(&self, fit: impl Fn(&[Tick]) -> bool) -> Vec<Tick> {
        let ladder = match &self.scale {
            Scale::Linear => self.linear_ladder(),
            Scale::Log => self.log_ladder(),
            Scale::Change => self.change_ladder(),
            Scale::Hours => self.stepped(&HOUR_STEPS, 0.0, |hours| plain(hours, 2)),
            Scale::Clock(start) => self.clock_ladder(start),
            Scale::Dates => self.date_ladder(),
            Scale::Listed(labels) => self.listed_ladder(labels),
            Scale::Bare => Vec::new(),
        };
        let first_with = |least: usize| ladder.iter().find(|ticks| ticks.len() >= least && fit(ticks));
        first_with(2).or_else(|| first_with(1)).cloned().unwrap_or_default()
    }

    /// Multiples of each step, counted from `origin`.
    fn stepped(&self, steps: &[f64], origin: f64, label: impl Fn(f64) -> String) -> Vec<Vec<Tick>> {
        let rungs = steps.iter().filter(|&&step| (self.high - self.low) / step < MOST_TICKS as f64);
        rungs
            .map(|step| {
                let (first, last) =
                    (((self.low - origin) / step - 1e-9).ceil(), (self.high - origin) / step + 1e-9);
                let at =
                    (0..).map(|i| first + f64::from(i)).take_while(|&i| i <= last).map(|i| i * step + origin);
                at.map(|at| Tick { at, label: label(at) }).collect()
            })
            .collect()
    }

    fn linear_ladder(&self) -> Vec<Vec<Tick>> {
        let power = ((self.high - self.low) / MOST_TICKS as f64).log10().floor() as i32;
        (power..power + 5)
            .flat_map(|power| [1, 2, 5].map(|mantissa| (mantissa, power)))
            .flat_map(|(mantissa, power)| {
                let step = f64::from(mantissa) * 10f64.powi(power);
                self.stepped(&[step], 0.0, |v| number(v, (-power).max(0).unsigned_abs() as usize))
            })
            .collect()
    }

    fn log_ladder(&self) -> Vec<Vec<Tick>> {
        const MANTISSAS: [&[i32]; 5] = [
            &[10, 12, 15, 20, 25, 30, 40, 50, 60, 80],
            &[10, 15, 20, 30, 50, 70],
            &[10, 20, 50],
            &[10, 30],
            &[10],
        ];
        const DECADES: [usize; 3] = [2, 3, 5];
        let (first, last) = (self.low.log10().floor() as i32, self.high.log10().ceil() as i32);
        let rung = |mantissas: &[i32], decades: usize| -> Vec<Tick> {
            let powers = (first..=last).step_by(decades);
            let at = powers.flat_map(|p| mantissas.iter().map(move |m| f64::from(*m) * 10f64.powi(p - 1)));
            at.filter(|v| (self.low..=self.high).contains(v))
                .map(|at| Tick { at, label: plain(at, 9) })
                .collect()
        };
        let dense = MANTISSAS.iter().map(|mantissas| rung(mantissas, 1));
        let mut ladder: Vec<_> = dense.chain(DECADES.iter().map(|&decades| rung(&[10], decades))).collect();
        ladder.retain(|ticks| ticks.len() >= 2);
        ladder.extend(self.linear_ladder());
        ladder
    }

    fn change_ladder(&self) -> Vec<Vec<Tick>> {
        const STEPS: [f64; 11] = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0];
        const FAR: [f64; 9] = [-90.0, -75.0, -50.0, 0.0, 100.0, 300.0, 900.0, 9_900.0, 99_900.0];
        let percent = |v: f64| v.exp_m1() * 100.0;
        let ends = Axis::between("", Scale::Linear, percent(self.low), percent(self.high).min(1e5));
        let tick = |p: f64| Tick { at: (p / 100.0).ln_1p(), label: signed_plain(p) };
        let far = FAR.iter().filter(|p| (ends.low..=ends.high).contains(*p)).map(|&p| tick(p)).collect();
        let mut ladder = ends.stepped(&STEPS, 0.0, |_| String::new());
        for rung in &mut ladder {
            rung.retain(|t| t.at > -100.0);
            *rung = rung.iter().map(|t| tick(t.at)).collect();
        }
        ladder.push(far);
        ladder
    }

    /// Multiples of each step on the clock on the wall, each at the hours that have passed by then: where the clock is
    /// changed, an hour of the day is missing or there twice.
    fn clock_ladder(&self, start: &ZonedDateTime) -> Vec<Vec<Tick>> {
        let midnight = start.datetime().date().at(0, 0, 0, 0);
        let tick = |minutes: i64| {
            let wall = midnight.saturating_add(SignedDuration::from_mins(minutes));
            let at = start.time_zone().to_ambiguous_zoned_datetime(wall).compatible().ok()?;
            let label = if minutes % MINUTES_OF_A_DAY == 0 { "%a" } else { "%-H:%M" };
            let hours = at.duration_since(start).as_secs_f64() / 3600.0;
            let on_the_clock = at.datetime() == wall && (self.low..=self.high).contains(&hours);
            on_the_clock.then(|| Tick { at: hours, label: wall.strftime(label).to_string() })
        };
        let since = start.datetime().duration_since(midnight).as_mins();
        // A change of the clock moves an end by an hour or so.
        let end = |hours: f64, more: f64| since + (60.0 * (hours + more)) as i64;
        let (first, last) = (end(self.low, -2.0), end(self.high, 2.0));
        let rungs = HOUR_STEPS.iter().filter(|&&step| (self.high - self.low) / step < MOST_TICKS as f64);
        rungs
            .map(|step| {
                let step = (60.0 * step) as i64;
                let steps = first.div_euclid(step)..=last.div_euclid(step) + 1;
                steps.filter_map(|i| tick(i * step)).collect()
            })
            .collect()
    }

    fn date_ladder(&self) -> Vec<Vec<Tick>> {
        let day_label =
            |at: f64| date_of_days(at).map(|d| d.strftime("%-d %b").to_string()).unwrap_or_default();
        let mut ladder = self.stepped(&[1.0, 2.0, 7.0, 14.0], 0.0, day_label);
        if ladder.iter().all(Vec::is_empty) || self.high - self.low > 60.0 {
            ladder.clear();
        }
        ladder.extend([1, 2, 3, 6, 12, 24, 60, 120, 240].map(|step| self.month_rung(step)));
        ladder
    }

    fn month_rung(&self, step: i32) -> Vec<Tick> {
        let Some(first) = date_of_days(self.low) else { return Vec::new() };
        let month = (i32::from(first.year()) * 12 + i32::from(first.month()) - 1).div_euclid(step) * step;
        let start = (1970 * 12 - month).months();
        let Ok(mut at) = jiff::civil::date(1970, 1, 1).checked_sub(start) else { return Vec::new() };
        let mut ticks: Vec<Tick> = Vec::new();
        while days_of_date(at) <= self.high && ticks.len() < MOST_TICKS {
            if days_of_date(at) >= self.low {
                let form = if step >= 12 {
                    "%Y"
                } else if ticks.is_empty() || at.month() == 1 {
                    "%b %Y"
                } else {
                    "%b"
                };
                ticks.push(Tick { at: days_of_date(at), label: at.strftime(form).to_string() });
            }
            let Ok(next) = at.checked_add(step.months()) else { break };
            at = next;
        }
        ticks
    }

    fn listed_ladder(&self, labels: &[String]) -> Vec<Vec<Tick>> {
        let steps = (0..6).flat_map(|power| [1, 2, 5].map(|m| m * 10usize.pow(power)));
        let all = labels.iter().enumerate().map(|(i, label)| Tick { at: i as f64, label: label.clone() });
        let all: Vec<Tick> = all.filter(|t| t.at >= self.low && t.at <= self.high).collect();
        steps.map(|step| all.iter().step_by(step).cloned().collect()).collect()
    }
}

/// As few decimals as say the value, at most so many.
pub(super) fn plain(value: f64, most: usize) -> String {
    let text = number(value, most);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// With a sign in front, unless it is nothing.
pub(super) fn signed(value: f64, decimals: usize) -> String {
    let text = number(value, decimals);
    if value > 0.0 && text.contains(|c: char| ('1'..='9').contains(&c)) { format!("+{text}") } else { text }
}

/// [`signed`] with as few decimals as say the value, at most one.
fn signed_plain(value: f64) -> String {
    let text = plain(value, 1);
    if value > 0.0 { format!("+{text}") } else { text }
}

/// The date of so many days since 1970-01-01; `None` beyond the calendar.
pub(super) fn date_of_days(days: f64) -> Option<Date> {
    let days = days.floor();
    if !(-4e6..4e6).contains(&days) {
        return None;
    }
    jiff::civil::date(1970, 1, 1).checked_add((days as i64).days()).ok()
}

fn days_of_date(date: Date) -> f64 {
    date.duration_since(jiff::civil::date(1970, 1, 1)).as_secs_f64() / 86_400.0
}

/// The date of so many days since 1970-01-01, as written in tables.
pub(super) fn date_text(days: f64) -> String {
    date_of_days(days).map_or_else(|| "–".to_owned(), |date| date.to_string())
}

#[cfg(test)]
#[path = "ticks_tests.rs"]
mod tests;
