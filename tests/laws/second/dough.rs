//! What a batch weighs, holds and mixes to: plain numbers, worked out a second time from the batch itself.
//!
//! Choi & Okos (1986) components: cp in kJ/(kg K) at 20 °C for the heat balance, density in kg/m³ at 25 °C
//! for volumes. Water at 4.186 kJ/(kg K) and ice at 333.6 kJ/kg: CRC Handbook (from memory). Air 8 % of the dough, flour
//! of 12 % protein where the bag was not read: common practice, no source.

use doughwright::dough::Batch;

/// Water, protein, fat, carbohydrate, fibre, ash: grams.
type Parts = [f64; 6];

fn at(t: f64, [a, b, c]: [f64; 3]) -> f64 {
    a + b * t + c * t * t
}

fn heats() -> [f64; 6] {
    [
        [4.1762, -9.0864e-5, 5.4731e-6],
        [2.0082, 1.2089e-3, -1.3129e-6],
        [1.9842, 1.4733e-3, -4.8008e-6],
        [1.5488, 1.9625e-3, -5.9399e-6],
        [1.8459, 1.8306e-3, -4.6509e-6],
        [1.0926, 1.8896e-3, -3.6817e-6],
    ]
    .map(|q| at(20.0, q))
}

fn densities() -> [f64; 6] {
    [
        [997.18, 3.1439e-3, -3.7574e-3],
        [1329.9, -0.51840, 0.0],
        [925.59, -0.41757, 0.0],
        [1599.1, -0.31046, 0.0],
        [1311.5, -0.36589, 0.0],
        [2423.8, -0.28063, 0.0],
    ]
    .map(|q| at(25.0, q))
}

/// Flour as sold: 14 % water, 1.5 % fat, 2.7 % fibre, 0.6 % ash.
fn flour(grams: f64, protein_pct: f64) -> Parts {
    let protein = protein_pct / 100.0;
    let starch = 1.0 - 0.14 - protein - 0.015 - 0.027 - 0.006;
    [0.14, protein, 0.015, starch, 0.027, 0.006].map(|x| x * grams)
}

fn dot(a: Parts, b: Parts) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// The dough that holds gas, for 100 g of flour: mL of water, of air, and in all.
#[derive(Clone)]
pub struct Vessel {
    pub water: f64,
    pub air: f64,
    pub volume: f64,
}

impl Vessel {
    /// From grams of flour, water, salt, oil and sugar, and the flour's protein in %.
    pub fn new(flour_g: f64, water_g: f64, salt_g: f64, oil_g: f64, sugar_g: f64, protein_pct: f64) -> Self {
        let mut parts = flour(flour_g, protein_pct);
        for (i, grams) in [(0, water_g), (5, salt_g), (2, oil_g), (3, sugar_g)] {
            parts[i] += grams;
        }
        let solid = dot(parts, densities().map(|rho| 1000.0 / rho)) * 100.0 / flour_g;
        Self { water: parts[0] * 100.0 / flour_g, air: solid * 0.08 / 0.92, volume: solid / 0.92 }
    }
}

pub fn protein(batch: &Batch) -> f64 {
    batch.flour_protein_pct.unwrap_or(12.0)
}

/// Grams of instant yeast that work like a gram of this batch's, and its lag over that of instant yeast.
pub fn yeast(batch: &Batch) -> (f64, f64) {
    match batch.yeast_type.map(|y| y.to_string()).as_deref() {
        Some("active_dry") => (0.80, 1.5),
        Some("fresh") => (0.36, 1.5),
        _ => (1.0, 1.0),
    }
}

/// Where the parts come together, in °C; `None` without water and room temperatures.
pub fn heat_balance(batch: &Batch) -> Option<f64> {
    let (room, water_c) = (batch.room_temp_c?, batch.water_temp_c?);
    let grams = |g: Option<f64>| g.unwrap_or(0.0);
    let (ice, own_flour, own_water) =
        (grams(batch.ice_g), grams(batch.preferment_flour_g), grams(batch.preferment_water_g));
    let liquid = batch.water_g? - own_water - ice;
    let mut preferment = flour(own_flour, protein(batch));
    preferment[0] += own_water;
    let others =
        [0.0, 0.0, grams(batch.oil_g), grams(batch.sugar_g) + grams(batch.malt_g), 0.0, grams(batch.salt_g)];
    let cp_water = 4.186;
    let parts = [
        (dot(flour(batch.flour_g? - own_flour, protein(batch)), heats()), batch.flour_temp_c.unwrap_or(room)),
        (liquid * cp_water, water_c),
        (dot(preferment, heats()), batch.preferment_temp_c.unwrap_or(room)),
        (dot(others, heats()), room),
    ];
    let heat: f64 = parts.iter().map(|(c, t)| c * t).sum::<f64>() - ice * 333.6;
    let capacity: f64 = parts.iter().map(|(c, _)| c).sum::<f64>() + ice * cp_water;
    Some(heat / capacity)
}
