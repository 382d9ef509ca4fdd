//! Dough temperature from ingredients: heat balance, ice, and the trade's sum rule beside it.
//!
//! Computes T_mix, the temperature in °C of a dough just after its parts come together, from
//! sum(m_i cp_i (T_i - T_mix)) = m_ice (L + cp_w T_mix): m in g, cp in kJ/(kg K), T in °C. Warming by
//! mixing and the pull towards the room are learned, and added by the caller.
//!
//! Sources: latent heat of fusion of ice L = 333.6 kJ/kg (79.7 times 4.186, the value behind the trade's
//! 79.7 and 112 in the ice rule; CRC Handbook gives 333.6). Sum rule: Wihlfahrt, *A Treatise on Baking*
//! (early 1900s, public domain).
//! Limits: all ice melts; heat of wetting of flour (a degree or two in dry flour) is in the learned warming.

use super::composition::{Composition, USUAL_PROTEIN_PCT};

/// Latent heat of fusion of ice in kJ/kg.
pub const ICE_LATENT: f64 = 333.6;

/// Specific heat of liquid water in kJ/(kg K), for ice water.
pub const WATER_CP: f64 = 4.186;

/// What goes into the bowl: masses in g, temperatures in °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bowl {
    /// Flour added at mixing.
    pub flour_g: f64,
    /// Temperature of the flour.
    pub flour_c: f64,
    /// Protein of the flour in %.
    pub protein_pct: f64,
    /// Liquid water added at mixing (ice apart).
    pub water_g: f64,
    /// Temperature of that water.
    pub water_c: f64,
    /// Ice at 0 °C.
    pub ice_g: f64,
    /// Flour of the preferment.
    pub preferment_flour_g: f64,
    /// Water of the preferment.
    pub preferment_water_g: f64,
    /// Temperature of the preferment.
    pub preferment_c: f64,
    /// Salt, at room temperature.
    pub salt_g: f64,
    /// Oil, at room temperature.
    pub oil_g: f64,
    /// Sugar and malt, at room temperature.
    pub sugar_g: f64,
    /// Room temperature.
    pub room_c: f64,
}

impl Default for Bowl {
    /// An empty bowl at 20 °C.
    fn default() -> Self {
        Self {
            flour_g: 0.0,
            flour_c: 20.0,
            protein_pct: USUAL_PROTEIN_PCT,
            water_g: 0.0,
            water_c: 20.0,
            ice_g: 0.0,
            preferment_flour_g: 0.0,
            preferment_water_g: 0.0,
            preferment_c: 20.0,
            salt_g: 0.0,
            oil_g: 0.0,
            sugar_g: 0.0,
            room_c: 20.0,
        }
    }
}

/// The temperature at which heat capacities are taken, in °C; they change by 0.1 % a degree.
const CP_AT: f64 = 20.0;

impl Bowl {
    /// Heat capacity in J/K and temperature in °C of each part but ice.
    fn parts(&self) -> [(f64, f64); 4] {
        let flour = |g| Composition::flour(g, self.protein_pct);
        let preferment = flour(self.preferment_flour_g).plus(Composition::water(self.preferment_water_g));
        let rest = Composition {
            ash: self.salt_g,
            fat: self.oil_g,
            carbohydrate: self.sugar_g,
            ..Composition::default()
        };
        [
            (flour(self.flour_g).heat_capacity(CP_AT), self.flour_c),
            (self.water_g * WATER_CP, self.water_c),
            (preferment.heat_capacity(CP_AT), self.preferment_c),
            (rest.heat_capacity(CP_AT), self.room_c),
        ]
    }

    /// Heat capacity of the whole dough in J/K, melted ice included.
    pub fn heat_capacity(&self) -> f64 {
        self.parts().iter().map(|(c, _)| c).sum::<f64>() + self.ice_g * WATER_CP
    }

    /// The temperature in °C when the parts have come together, before mixing warms it.
    pub fn mixed(&self) -> f64 {
        let heat: f64 = self.parts().iter().map(|(c, t)| c * t).sum();
        (heat - self.ice_g * ICE_LATENT) / self.heat_capacity()
    }

    /// The water temperature in °C that brings the mix to `target` °C, ice as it stands.
    pub fn water_for(&self, target: f64) -> f64 {
        let lacking = (target - self.mixed()) * self.heat_capacity();
        self.water_c + lacking / (self.water_g * WATER_CP)
    }

    /// The share of the dough's heat capacity that the added water carries, 0 to 1.
    pub fn water_share(&self) -> f64 {
        (self.water_g + self.ice_g) * WATER_CP / self.heat_capacity()
    }
}

/// Ice in g to take in place of as much tap water, so that `water_g` in all comes to `wanted` °C.
///
/// m_ice = W (T_tap - T_wanted) / (L/cp + T_tap). Zero when the tap is cold enough.
pub fn ice_for(water_g: f64, tap_c: f64, wanted_c: f64) -> f64 {
    (water_g * (tap_c - wanted_c) / (ICE_LATENT / WATER_CP + tap_c)).clamp(0.0, water_g)
}

/// The trade's sum rule for the water temperature in °C: n times the dough temperature, less flour,
/// room and preferment temperatures (`others_c`, in any order), less the friction factor, where n counts these parts
/// with the water. All in °C; the friction factor is n times the true warming by mixing.
pub fn sum_rule(dough_c: f64, others_c: &[f64], friction: f64) -> f64 {
    (others_c.len() + 1) as f64 * dough_c - others_c.iter().sum::<f64>() - friction
}
