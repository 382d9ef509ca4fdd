//! The day in an invented kitchen: room, flour, tap and fridges through the year.
//!
//! The room follows a yearly cosine with weather on it; flour and tap follow the room; a fridge follows it a
//! little, swings with its compressor, and is warmed for a while by each opening of its door.
//! All temperatures in °C, times in hours since mixing. Invented numbers, no source.

use jiff::civil::Date;
use rand::{Rng, RngExt};
use rand_distr::{Distribution, Exp};

use super::chance;

/// Days in a year, for the yearly cosine.
const YEAR: f64 = 365.25;
/// The room at which a fridge's usual temperature holds, in °C.
const USUAL_ROOM_C: f64 = 20.0;
/// Door openings are drawn for so many hours after mixing.
const LONGEST_H: f64 = 120.0;

/// The room through the year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Season {
    /// Mean over the year.
    pub mean_c: f64,
    /// Half the difference between the warmest and the coldest day.
    pub swing_c: f64,
    /// Day of the year that is warmest.
    pub warmest_day: f64,
    /// Standard deviation of a day about the season.
    pub weather_c: f64,
}

impl Season {
    /// The room usual at a date.
    pub fn usual(&self, date: Date) -> f64 {
        let days = f64::from(date.day_of_year()) - self.warmest_day;
        self.mean_c + self.swing_c * (std::f64::consts::TAU * days / YEAR).cos()
    }
}

/// How a fridge's air moves about its mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wave {
    /// Evenly up and down.
    Sine,
    /// Slowly up, at once down: a compressor that pulls hard.
    Sawtooth,
}

/// A fridge, or a shelf of one.
#[derive(Debug, Clone, PartialEq)]
pub struct Fridge {
    /// Its name in the column `cold_place`.
    pub name: String,
    /// Its mean in a room of 20 °C.
    pub usual_c: f64,
    /// How much it warms for each degree of the room.
    pub by_room: f64,
    /// Half its swing.
    pub swing_c: f64,
    /// Hours from peak to peak.
    pub period_h: f64,
    /// The form of the swing.
    pub wave: Wave,
    /// Openings of the door an hour.
    pub openings_an_hour: f64,
    /// What an opening adds at once.
    pub opening_c: f64,
    /// Time constant in h with which that goes away.
    pub closing_h: f64,
}

impl Fridge {
    /// A fridge that holds one temperature.
    pub fn steady(name: &str, usual_c: f64) -> Self {
        Self {
            name: name.to_string(),
            usual_c,
            by_room: 0.0,
            swing_c: 0.0,
            period_h: 1.0,
            wave: Wave::Sine,
            openings_an_hour: 0.0,
            opening_c: 0.0,
            closing_h: 1.0,
        }
    }
}

/// A fridge through the days of one batch.
#[derive(Debug, Clone, PartialEq)]
pub struct FridgeDay {
    fridge: Fridge,
    /// What its thermometer shows, the swing averaged out.
    pub mean_c: f64,
    phase: f64,
    openings: Vec<f64>,
}

impl FridgeDay {
    /// The air in °C so many hours after mixing.
    pub fn at(&self, hours: f64) -> f64 {
        let turn = hours / self.fridge.period_h + self.phase;
        let wave = match self.fridge.wave {
            Wave::Sine => (std::f64::consts::TAU * turn).sin(),
            Wave::Sawtooth => 2.0 * turn.rem_euclid(1.0) - 1.0,
        };
        // An opening eight time constants ago is forgotten.
        let since = self.openings.iter().map(|o| (hours - o) / self.fridge.closing_h);
        let open: f64 = since.filter(|s| (0.0..8.0).contains(s)).map(|s| (-s).exp()).sum();
        self.mean_c + self.fridge.swing_c * wave + self.fridge.opening_c * open
    }
}

/// What is around one batch.
#[derive(Debug, Clone, PartialEq)]
pub struct Day {
    /// The room at mixing and bulk.
    pub room_c: f64,
    /// The room in the hours before, where a preferment stands.
    pub before_c: f64,
    /// The room when the pieces come out.
    pub after_c: f64,
    /// Flour from the store.
    pub flour_c: f64,
    /// Water as the tap gives it.
    pub tap_c: f64,
    /// The fridges, in the kitchen's order.
    pub fridges: Vec<FridgeDay>,
}

impl Day {
    /// What a baker expects of a date: the season without weather, fridges without swing or openings.
    pub fn usual(season: &Season, fridges: &[Fridge], date: Date) -> Self {
        let room = season.usual(date);
        let steady = |f: &Fridge| {
            let mean_c = f.usual_c + f.by_room * (room - USUAL_ROOM_C);
            FridgeDay { fridge: Fridge::steady(&f.name, f.usual_c), mean_c, phase: 0.0, openings: vec![] }
        };
        Self::around(room, fridges.iter().map(steady).collect())
    }

    /// A day with its weather.
    pub fn drawn(season: &Season, fridges: &[Fridge], date: Date, rng: &mut impl Rng) -> Self {
        let mut normal = |sd: f64| sd * chance::normal(rng);
        let room = season.usual(date) + normal(season.weather_c);
        let (before, after) = (normal(0.5 * season.weather_c), normal(0.5 * season.weather_c));
        let (flour, tap) = (normal(0.5), normal(0.7));
        let moods: Vec<f64> = fridges.iter().map(|_| normal(0.3)).collect();
        let fridge = |(f, mood): (&Fridge, f64)| FridgeDay {
            mean_c: f.usual_c + f.by_room * (room - USUAL_ROOM_C) + mood,
            phase: rng.random(),
            openings: openings(f, rng),
            fridge: f.clone(),
        };
        let fridges = fridges.iter().zip(moods).map(fridge).collect();
        let day = Self::around(room, fridges);
        Self {
            before_c: day.before_c + before,
            after_c: day.after_c + after,
            flour_c: day.flour_c + flour,
            tap_c: day.tap_c + tap,
            ..day
        }
    }

    /// What a baker at the bench foresees of this day: its room, flour and tap as they are, the rest as `usual`.
    pub fn foreseen(&self, usual: Self) -> Self {
        Self { after_c: self.room_c, fridges: usual.fridges, ..self.clone() }
    }

    /// Nights are cooler, the store is near the room, the tap half way to the ground's 12 °C.
    fn around(room_c: f64, fridges: Vec<FridgeDay>) -> Self {
        Self {
            room_c,
            before_c: room_c - 1.0,
            after_c: room_c,
            flour_c: room_c - 0.5,
            tap_c: 0.5 * (room_c + 12.0),
            fridges,
        }
    }
}

fn openings(fridge: &Fridge, rng: &mut impl Rng) -> Vec<f64> {
    let Ok(gaps) = Exp::new(fridge.openings_an_hour) else { return vec![] };
    if fridge.openings_an_hour == 0.0 {
        return vec![];
    }
    let times = gaps.sample_iter(rng).scan(0.0, |t, gap: f64| {
        *t += gap;
        Some(*t)
    });
    times.take_while(|t| *t < LONGEST_H).collect()
}
