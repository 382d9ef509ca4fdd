//! The clock on the command line: what is asked of it, and a schedule as text.

use std::path::PathBuf;

use jiff::ZonedDateTime;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;

use crate::advice::clock::away::Away;
use crate::advice::clock::free::Free;
use crate::advice::clock::moment;
use crate::advice::clock::plan::{Asked, Entry, Schedule};
use crate::advice::clock::task::Task;
use crate::dough::units::UnitSystem;

use super::failure::Failure;
use super::text::{bullets, chance, mass, table};

/// When to bake, and what stands around it.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = "The clock")]
pub struct ClockArgs {
    /// When the first piece goes into the oven, in local time; all steps are then told on the clock
    #[arg(long, value_name = "DATE-TIME")]
    pub bake_at: Option<String>,
    /// When nobody is there: 22:00-06:30 each day, or 2026-12-04T09:00..2026-12-04T17:00; may be given again
    #[arg(long, value_name = "FROM-TO", requires = "bake_at")]
    pub away: Vec<String>,
    /// Hours that may move: cold_hours=18..48; may be given again
    #[arg(long, value_name = "HOURS=FROM..TO", requires = "bake_at")]
    pub free: Vec<String>,
    /// What else is to be done: 'sauce=1d before bake'; steps are preferment, mix, divide, out, oven, bake
    #[arg(long, value_name = "NAME=TIME before STEP", requires = "bake_at")]
    pub task: Vec<String>,
    /// How long the oven is lit before the bake, in minutes
    #[arg(long, value_name = "MINUTES", default_value_t = 60.0, requires = "bake_at")]
    pub preheat: f64,
    /// The chance that the slack of each step is told for, in percent
    #[arg(long, value_name = "PERCENT", default_value_t = 80.0, requires = "bake_at")]
    pub sure: f64,
    /// The time zone, such as Europe/Lisbon [default: this computer's]
    #[arg(long, value_name = "ZONE", requires = "bake_at")]
    pub zone: Option<String>,
    /// Take this for the present moment
    #[arg(long = "as-of", value_name = "DATE-TIME", requires = "bake_at")]
    pub as_of: Option<String>,
    /// Folder for charts of the rise and of readiness on the clock
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
}

impl ClockArgs {
    /// What is asked of the clock, with what is odd about the hour; `None` without an hour of the bake.
    pub fn asked(&self) -> Result<Option<(Asked, Option<String>)>, Failure> {
        let Some(bake_at) = &self.bake_at else { return Ok(None) };
        let zone = match &self.zone {
            None => TimeZone::system(),
            Some(name) => zone_of(name)?,
        };
        let (bake, odd) = moment(local("--bake-at", bake_at)?, &zone)?;
        let now = match &self.as_of {
            None => ZonedDateTime::now().with_time_zone(zone),
            Some(text) => moment(local("--as-of", text)?, &zone)?.0,
        };
        if !(0.0..=600.0).contains(&self.preheat) {
            return Err(Failure::Call(format!("--preheat {}: 0 to 600 minutes are wanted", self.preheat)));
        }
        if !(10.0..=99.0).contains(&self.sure) {
            return Err(Failure::Call(format!("--sure {}: 10 to 99 percent are wanted", self.sure)));
        }
        let asked = Asked {
            bake,
            now,
            preheat_min: self.preheat,
            away: self.away.iter().map(|t| Away::parse(t)).collect::<Result<_, _>>()?,
            free: self.free.iter().map(|t| Free::parse(t)).collect::<Result<_, _>>()?,
            tasks: self.task.iter().map(|t| Task::parse(t)).collect::<Result<_, _>>()?,
            sure: self.sure / 100.0,
        };
        Ok(Some((asked, odd)))
    }
}

fn zone_of(name: &str) -> Result<TimeZone, Failure> {
    TimeZone::get(name).or_else(|_| TimeZone::posix(name)).map_err(|_| {
        Failure::Call(format!("--zone '{name}' is not known: a name such as Europe/Lisbon is wanted"))
    })
}

fn local(flag: &str, text: &str) -> Result<DateTime, Failure> {
    let has_hour = text.len() > 10;
    text.trim().parse().ok().filter(|_| has_hour).ok_or_else(|| {
        Failure::Call(format!("{flag} '{text}': a date with its hour is wanted, such as 2026-12-05T18:30"))
    })
}

/// The schedule as text.
pub fn text(out: &mut String, schedule: &Schedule, units: UnitSystem) {
    let level = format!("{} from", chance(schedule.at_chance));
    let mut rows = vec![vec!["when".to_string(), "what".into(), level, "to".into()]];
    for e in &schedule.entries {
        let (from, to) = (near(e, e.from.as_ref()), near(e, e.to.as_ref()));
        rows.push(vec![day_and_time(&e.at), e.what.clone(), from, to]);
    }
    out.push_str(&table(&rows));
    if !schedule.ways.is_empty() {
        let heading = ["other hours", "mix", "yeast", "lands"].map(String::from).to_vec();
        let way = |w: &crate::advice::clock::plan::Way| {
            vec![w.hours.clone(), day_and_time(&w.mix), mass(w.yeast_g, units), chance(w.chance_in_window)]
        };
        let rows: Vec<Vec<String>> = std::iter::once(heading).chain(schedule.ways.iter().map(way)).collect();
        out.push_str(&table(&rows));
    }
    bullets(out, "About the clock:", &schedule.notes);
}

/// "Sat 5 Dec 18:30", to the minute.
pub fn day_and_time(at: &ZonedDateTime) -> String {
    at.strftime("%a %-d %b %H:%M").to_string()
}

/// An end of a step's slack: the time of day, with its day when that is another.
pub fn near(entry: &Entry, end: Option<&ZonedDateTime>) -> String {
    let Some(end) = end else { return String::new() };
    let other_day = end.date() != entry.at.date();
    end.strftime(if other_day { "%a %H:%M" } else { "%H:%M" }).to_string()
}
