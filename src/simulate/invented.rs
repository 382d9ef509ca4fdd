//! Invented kitchens by the dozen, each with numbers of its own, whose physics is the model's or differs from it in
//! one chosen way or in all.
//!
//! For one seed the numbers are the same whatever the difference, so that two kitchens differ in it alone.
//! The spreads are those a set of real kitchens might have (a choice, no source), narrower than what the workbench
//! believes before it has seen any record.

use jiff::civil::date;
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::dough::{Batch, YeastType};
use crate::physics::course::Parameters;
use crate::physics::rate::{COLD_C, REFERENCE_C, Rate};

use super::chance::normal;
use super::habit::Habit;
use super::kitchen::{Kitchen, Lot, Noise, Packet};
use super::season::{Fridge, Season, Wave};
use super::truth::{Cooling, HEAT_PER_ML, Slowing, Truth, Warmth};
use super::year::Recipe;

/// In what an invented kitchen's physics differs from the model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Difference {
    /// In nothing.
    Nothing,
    /// Heat is conducted inside the pieces.
    Conduction,
    /// The square root model of temperature.
    SquareRoot,
    /// An Arrhenius rate with a switch.
    Arrhenius,
    /// Gas making slows in the manner of Gompertz curves.
    Slowing,
    /// The fridge swings and its door is opened.
    Fridge,
    /// Fermentation warms the dough.
    Heat,
    /// All of these at once, with the square root model.
    Everything,
}

impl Difference {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::Nothing,
        Self::Conduction,
        Self::SquareRoot,
        Self::Arrhenius,
        Self::Slowing,
        Self::Fridge,
        Self::Heat,
        Self::Everything,
    ];

    fn has(self, part: Self) -> bool {
        self == part || self == Self::Everything && part != Self::Arrhenius
    }
}

/// Mixing methods of an invented kitchen.
pub const MIXERS: [&str; 2] = ["spiral", "hand"];
/// Its cold places.
pub const PLACES: [&str; 2] = ["fridge", "cellar"];
/// Steepness of the square root model at the hot end, per °C: the lower, the sooner it bends.
const SOON_BENT: f64 = 0.08;
const LOTS: usize = 6;
const PACKETS: usize = 4;

/// The kitchen of a seed.
pub fn kitchen(difference: Difference, seed: u64) -> Kitchen {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let numbers = Numbers::drawn(&mut rng);
    let truth = truth(difference, &numbers);
    let fridges = PLACES.iter().zip([3.5, 5.0]).map(|(name, usual_c)| {
        let usual_c = usual_c + 0.7 * normal(&mut rng);
        let steady = Fridge { by_room: rng.random_range(0.0..0.12), ..Fridge::steady(name, usual_c) };
        let (swing_c, period_h) = (rng.random_range(0.5..1.5), rng.random_range(0.4..1.2));
        let wave = if rng.random() { Wave::Sine } else { Wave::Sawtooth };
        let openings_an_hour = rng.random_range(0.05..0.4);
        match difference.has(Difference::Fridge) {
            true => {
                Fridge { swing_c, period_h, wave, openings_an_hour, opening_c: 2.0, closing_h: 0.4, ..steady }
            }
            false => steady,
        }
    });
    let fridges = fridges.collect();
    let season = Season {
        mean_c: 20.5 + normal(&mut rng),
        swing_c: rng.random_range(2.5..5.0),
        warmest_day: 203.0,
        weather_c: 1.0,
    };
    let lot = |i| Lot { name: format!("lot{}", i + 1), ln_vigour: 0.12 * normal(&mut rng) };
    let lots = (0..LOTS).map(lot).collect();
    let packet = |i| Packet {
        name: format!("packet{}", i + 1),
        ln_vigour: 0.03 * normal(&mut rng),
        opened: date(2025, 1 + 3 * i as i8, 1),
        fading_a_day: rng.random_range(0.0..0.001),
    };
    let packets = (0..PACKETS).map(packet).collect();
    Kitchen {
        name: format!("invented-{seed}"),
        truth,
        mixers: MIXERS.map(String::from).into(),
        fridges,
        season,
        lots,
        packets,
        noise: Noise {
            vigour: 0.04,
            rise: 0.025,
            thermometer_c: 0.3,
            mixing_c: 0.4,
            yeast_g: 0.03,
            weighing: 0.002,
            crust: 0.6,
        },
    }
}

/// The numbers of one kitchen.
struct Numbers {
    parameters: Parameters,
    t_opt: f64,
    cold_rate: f64,
}

impl Numbers {
    fn drawn(rng: &mut impl Rng) -> Self {
        let mut about = |median: f64, sd: f64| median * (sd * normal(rng)).exp();
        let (t_opt, t_max) = (about(35.0, 0.02), about(45.5, 0.015));
        let cold_rate = about(0.11, 0.2);
        let parameters = Parameters {
            k: about(195.0, 0.15),
            mu: about(0.20, 0.2),
            lag: about(0.20, 0.3),
            ceiling: about(1100.0, 0.2),
            salt: about(0.10, 0.2),
            kept: 1.0 - about(0.08, 0.3),
            kept_preferment: 1.0 - about(0.16, 0.3),
            rate: Rate::from_rho4(cold_rate, t_opt, t_max).unwrap_or_else(|| {
                Rate::cardinal(-6.0, 35.0, 45.5).expect("usual cardinal temperatures are in order")
            }),
            max_rise: about(3.6, 0.1),
            tau250: about(1.9, 0.2),
            pull: about(0.06, 0.3),
            warming: vec![about(3.0, 0.3), about(1.1, 0.3)],
            place_tau: vec![about(0.9, 0.1), about(1.1, 0.1)],
            fridge_offset: vec![0.0; PLACES.len()],
        };
        Self { parameters, t_opt, cold_rate }
    }
}

fn truth(difference: Difference, n: &Numbers) -> Truth {
    let mut truth = Truth::of_model(n.parameters.clone(), n.t_opt);
    if difference.has(Difference::Conduction) {
        truth.cooling = Cooling::Shells(6);
    }
    if difference.has(Difference::SquareRoot) {
        // The Tmin that gives the same cold rate through a curve that bends much sooner.
        let t_max = n.parameters.rate.t_max;
        let bent = |t: f64| -(SOON_BENT * (t - t_max)).exp_m1();
        let root = n.cold_rate.sqrt() * bent(REFERENCE_C) / bent(COLD_C);
        let t_min = (COLD_C - REFERENCE_C * root) / (1.0 - root);
        truth.warmth = Warmth::SquareRoot { t_min, t_max, c: SOON_BENT };
    }
    if difference.has(Difference::Arrhenius) {
        truth.warmth =
            Warmth::Arrhenius { energy: 68_000.0, switch_energy: 250_000.0, switch_c: n.t_opt + 5.0 };
    }
    if difference.has(Difference::Slowing) {
        truth.slowing = Slowing::Logarithmic(0.3);
        // A logarithm slows at once; more sugar keeps the day's gas alike.
        truth.parameters.ceiling *= 1.6;
    }
    if difference.has(Difference::Heat) {
        truth.heat_per_ml = HEAT_PER_ML;
    }
    truth
}

/// What an invented kitchen bakes in a closed loop: hearth pizza without and with a poolish, 18 to 48 hours cold.
pub fn recipes() -> Vec<Recipe> {
    let pizza = Batch {
        recipe: Some("pizza".to_string()),
        yeast_type: Some(YeastType::Instant),
        target_rise: Some(2.2),
        flour_g: Some(1000.0),
        water_g: Some(640.0),
        salt_g: Some(25.0),
        bulk_hours: Some(1.0),
        temper_hours: Some(2.0),
        piece_g: Some(260.0),
        rise_sample_g: Some(120.0),
        ..Batch::default()
    };
    let recipe = |weight, yeast_pct, per_kilo| Recipe {
        weight,
        flour_kg: &[3.0, 4.0, 6.0],
        cold_hours: &[18.0, 24.0, 24.0, 36.0, 48.0],
        mixers: &MIXERS,
        cold_places: &PLACES,
        habit: Habit::new(yeast_pct, 24.0),
        per_kilo,
    };
    let poolish = Batch {
        recipe: Some("poolish pizza".to_string()),
        preferment_flour_g: Some(120.0),
        preferment_water_g: Some(120.0),
        preferment_yeast_g: Some(0.2),
        preferment_hours: Some(8.0),
        ..pizza.clone()
    };
    vec![recipe(2, 0.24, pizza), recipe(1, 0.18, poolish)]
}
