//! The invented community hall of the demo data: its hidden numbers and its recipes.
//!
//! No such hall exists and nothing here was measured. Its dough is not quite that of the model: pieces
//! conduct heat inside, fermentation warms them, its fridges swing and are opened, its yeast ages.

use jiff::civil::date;

use crate::dough::{Batch, YeastType};
use crate::physics::course::Parameters;
use crate::physics::rate::Rate;

use super::habit::Habit;
use super::kitchen::{Kitchen, Lot, Noise, Packet};
use super::season::{Fridge, Season, Wave};
use super::truth::{Cooling, HEAT_PER_ML, Slowing, Truth, Warmth};
use super::year::Recipe;

/// The hall's name in the column `kitchen`.
pub const NAME: &str = "hall";

const T_MIN: f64 = -6.0;
const T_OPT: f64 = 35.0;
const T_MAX: f64 = 45.3;

/// The hall.
pub fn hall() -> Kitchen {
    let truth = Truth {
        parameters: Parameters {
            k: 185.0,
            mu: 0.21,
            lag: 0.22,
            ceiling: 1150.0,
            salt: 0.105,
            kept: 0.91,
            kept_preferment: 0.84,
            rate: Rate::cardinal(T_MIN, T_OPT, T_MAX).expect("the hall's cardinal temperatures are in order"),
            max_rise: 3.4,
            tau250: 1.6,
            pull: 0.07,
            warming: vec![1.2, 3.8, 2.7],
            place_tau: vec![0.9, 1.15],
            fridge_offset: vec![0.0, 0.0],
        },
        warmth: Warmth::Cardinal { t_min: T_MIN, t_opt: T_OPT, t_max: T_MAX },
        slowing: Slowing::Linear,
        cooling: Cooling::Shells(6),
        heat_per_ml: HEAT_PER_ML,
    };
    let upright = Fridge {
        by_room: 0.06,
        swing_c: 0.9,
        period_h: 0.6,
        wave: Wave::Sawtooth,
        openings_an_hour: 0.1,
        opening_c: 2.5,
        closing_h: 0.3,
        ..Fridge::steady("upright", 4.0)
    };
    let under_counter = Fridge {
        by_room: 0.10,
        swing_c: 0.6,
        period_h: 0.9,
        wave: Wave::Sine,
        openings_an_hour: 0.25,
        opening_c: 2.0,
        closing_h: 0.4,
        ..Fridge::steady("under_counter", 5.5)
    };
    let lot = |(name, ln_vigour): (&str, f64)| Lot { name: name.to_string(), ln_vigour };
    let packet = |(name, ln_vigour, month): (&str, f64, i8)| {
        let year = if month >= 9 { 2025 } else { 2026 };
        Packet { name: name.to_string(), ln_vigour, opened: date(year, month, 1), fading_a_day: 0.0007 }
    };
    Kitchen {
        name: NAME.to_string(),
        truth,
        mixers: ["hand", "stand_mixer", "spiral"].map(String::from).into(),
        fridges: vec![upright, under_counter],
        season: Season { mean_c: 20.5, swing_c: 3.5, warmest_day: 203.0, weather_c: 1.0 },
        lots: [("A101", 0.02), ("A117", 0.13), ("B204", -0.14), ("B219", 0.10), ("C305", -0.08)]
            .map(lot)
            .into(),
        packets: [("tin1", 0.02, 9), ("tin2", -0.03, 12), ("tin3", 0.03, 3), ("tin4", -0.01, 6)]
            .map(packet)
            .into(),
        noise: Noise {
            vigour: 0.03,
            rise: 0.022,
            thermometer_c: 0.3,
            mixing_c: 0.4,
            yeast_g: 0.04,
            weighing: 0.002,
            crust: 0.6,
        },
    }
}

/// What the hall bakes: hearth pizza on a poolish, tray bread, rolls.
pub fn recipes() -> Vec<Recipe> {
    let usual = Batch { yeast_type: Some(YeastType::Instant), target_rise: Some(2.2), ..Batch::default() };
    let dough = |name: &str, flour: &str, protein: f64, salt_pct: f64, oil_pct: f64, sugar_pct: f64| Batch {
        recipe: Some(name.to_string()),
        flour_name: Some(flour.to_string()),
        flour_protein_pct: Some(protein),
        flour_g: Some(1000.0),
        salt_g: Some(10.0 * salt_pct),
        oil_g: Some(10.0 * oil_pct).filter(|g| *g > 0.0),
        sugar_g: Some(10.0 * sugar_pct).filter(|g| *g > 0.0),
        ..usual.clone()
    };
    let own = |text: &str| Some(text.to_string());
    vec![
        Recipe {
            weight: 11,
            flour_kg: &[3.0, 4.0, 5.0, 6.0],
            cold_hours: &[18.0, 24.0, 24.0, 24.0, 42.0, 48.0],
            mixers: &["spiral", "spiral", "spiral", "hand"],
            cold_places: &["upright", "upright", "upright", "under_counter"],
            habit: Habit::new(0.13, 24.0),
            per_kilo: Batch {
                water_g: Some(650.0),
                preferment_flour_g: Some(200.0),
                preferment_water_g: Some(200.0),
                preferment_yeast_g: Some(0.20),
                preferment_hours: Some(12.0),
                mix_minutes: Some(10.0),
                bulk_hours: Some(1.0),
                temper_hours: Some(2.0),
                piece_g: Some(260.0),
                rise_sample_g: Some(120.0),
                container: own("lidded tray"),
                bake_temp_c: Some(430.0),
                bake_minutes: Some(2.5),
                ..dough("hearth pizza", "strong white", 12.5, 2.6, 0.0, 0.0)
            },
        },
        Recipe {
            weight: 5,
            flour_kg: &[2.0, 2.5, 3.0],
            cold_hours: &[16.0, 18.0, 20.0, 24.0],
            mixers: &["stand_mixer", "stand_mixer", "spiral"],
            cold_places: &["under_counter", "under_counter", "upright"],
            habit: Habit::new(0.26, 18.0),
            per_kilo: Batch {
                water_g: Some(720.0),
                mix_minutes: Some(8.0),
                bulk_hours: Some(1.5),
                temper_hours: Some(2.5),
                piece_g: Some(900.0),
                container: own("oiled tray"),
                bake_temp_c: Some(250.0),
                bake_minutes: Some(22.0),
                ..dough("tray bread", "strong white", 12.5, 2.2, 3.0, 0.0)
            },
        },
        Recipe {
            weight: 4,
            flour_kg: &[1.5, 2.0, 2.5],
            cold_hours: &[12.0, 14.0, 16.0],
            mixers: &["hand", "stand_mixer"],
            cold_places: &["under_counter", "upright"],
            habit: Habit::new(0.42, 14.0),
            per_kilo: Batch {
                water_g: Some(600.0),
                mix_minutes: Some(12.0),
                bulk_hours: Some(1.0),
                temper_hours: Some(1.5),
                piece_g: Some(80.0),
                container: own("sheet"),
                bake_temp_c: Some(220.0),
                bake_minutes: Some(16.0),
                ..dough("rolls", "strong white", 12.5, 2.0, 4.0, 2.0)
            },
        },
    ]
}
