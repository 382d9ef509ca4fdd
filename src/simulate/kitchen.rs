//! An invented kitchen: hidden numbers that only its bakes ([`super::bake`]) let through.
//!
//! Names that the kitchen does not know (a new lot of flour, another mixer) have no effect of their own, or are
//! taken for its first.

use jiff::civil::Date;
use rand::Rng;

use crate::dough::Batch;

use super::season::{Day, Fridge, Season};
use super::truth::Truth;

/// A lot of flour.
#[derive(Debug, Clone, PartialEq)]
pub struct Lot {
    /// Its name in the column `flour_lot`.
    pub name: String,
    /// What it adds to ln k.
    pub ln_vigour: f64,
}

/// A packet of yeast that loses its strength.
#[derive(Debug, Clone, PartialEq)]
pub struct Packet {
    /// Its name in the column `yeast_lot`.
    pub name: String,
    /// What it adds to ln k when it is opened.
    pub ln_vigour: f64,
    /// When it was opened.
    pub opened: Date,
    /// What it loses of ln k each day.
    pub fading_a_day: f64,
}

/// What chance does to a batch and to its record.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    /// Standard deviation of a batch's own vigour on ln k.
    pub vigour: f64,
    /// Scale of Student's t4 on a ln rise as read.
    pub rise: f64,
    /// Standard deviation of a thermometer, °C.
    pub thermometer_c: f64,
    /// Standard deviation of the warming by mixing from batch to batch, °C.
    pub mixing_c: f64,
    /// Standard deviation of the yeast weighed, g.
    pub yeast_g: f64,
    /// Standard deviation of flour and water weighed, as a share.
    pub weighing: f64,
    /// Standard deviation of the crust's score.
    pub crust: f64,
}

/// A kitchen with its hidden numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Kitchen {
    /// Its name in the column `kitchen`.
    pub name: String,
    /// What goes on in its dough.
    pub truth: Truth,
    /// Its mixing methods, in the order of the warming in [`Truth::parameters`].
    pub mixers: Vec<String>,
    /// Its cold places, in the order of `place_tau` in [`Truth::parameters`].
    pub fridges: Vec<Fridge>,
    /// Its room through the year.
    pub season: Season,
    /// Its lots of flour.
    pub lots: Vec<Lot>,
    /// Its packets of yeast.
    pub packets: Vec<Packet>,
    /// Its noise.
    pub noise: Noise,
}

/// The year of a plan without a date.
const UNDATED: Date = jiff::civil::date(2025, 1, 1);

impl Kitchen {
    /// A day of the plan's date with its weather.
    pub fn day(&self, plan: &Batch, rng: &mut impl Rng) -> Day {
        Day::drawn(&self.season, &self.fridges, date(plan), rng)
    }

    /// The day that a baker expects at the plan's date.
    pub fn usual_day(&self, plan: &Batch) -> Day {
        Day::usual(&self.season, &self.fridges, date(plan))
    }

    /// What flour lot and yeast packet add to ln k of a plan.
    pub fn ln_effect(&self, plan: &Batch) -> f64 {
        let lot = self.lots.iter().find(|l| Some(&l.name) == plan.flour_lot.as_ref());
        let packet = self.packets.iter().find(|p| Some(&p.name) == plan.yeast_lot.as_ref());
        let faded = |p: &Packet| {
            let days = date(plan).since(p.opened).map_or(0, |s| s.get_days());
            p.ln_vigour - p.fading_a_day * f64::from(days)
        };
        lot.map_or(0.0, |l| l.ln_vigour) + packet.map_or(0.0, faded)
    }

    /// Which of the fridges a plan names; the first when it names none.
    pub(super) fn fridge(&self, plan: &Batch) -> usize {
        self.fridges.iter().position(|f| Some(&f.name) == plan.cold_place.as_ref()).unwrap_or(0)
    }

    /// Which of the mixing methods a plan names; the first when it names none.
    pub(super) fn mixer(&self, plan: &Batch) -> usize {
        self.mixers.iter().position(|m| Some(m) == plan.mix_method.as_ref()).unwrap_or(0)
    }
}

fn date(plan: &Batch) -> Date {
    plan.date.map_or(UNDATED, |when| when.date())
}
