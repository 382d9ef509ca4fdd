//! From gas to rise.
//!
//! Computes ln rise, rise being the volume over the volume V0 just after mixing (without unit), for 100 g
//! of flour. CO2 made (G, mL at 25 °C) swells to G' = G T/298.15 at the dough's temperature; it shares
//! itself between the water, which holds s = S(T)·water mL at 1 atm, and the air cells, A mL of air at the
//! start. At the CO2 pressure p (atm): G' = s p + A p/(1-p), so with b = s + A + G',
//! p = 2 G'/(b + sqrt(b² - 4 s G')) and V_CO2 = A p/(1-p). A share R = 1 - loss stays in the dough:
//! x = R V_CO2/V0. The flour carries at most a rise of Rmax: rise = 1 + x (1 + (x/m)^8)^(-1/8), m = Rmax - 1.
//!
//! Sources: Henry's law ([`super::solubility`]), Dalton and the ideal gas; the soft maximum is a choice.
//! Limits: cells at 1 atm (surface tension is left out), equilibrium at each moment; a preferment's dissolved
//! gas is lost at mixing.

use super::composition::{Composition, FLOUR_MOISTURE};
use super::scalar::Scalar;
use super::solubility::{T25, ZERO_C, solubility};

/// Share of the dough's volume that is air after mixing (common practice, no source: 5-10 %).
pub const AIR_SHARE: f64 = 0.08;

/// The dough that holds the gas, for 100 g of its flour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Matrix {
    /// Water in mL, the flour's own moisture included.
    pub water_ml: f64,
    /// Air in mL just after mixing.
    pub air_ml: f64,
    /// Volume just after mixing in mL, air included.
    pub volume_ml: f64,
}

impl Matrix {
    /// From percent of flour by weight: water, salt, oil, sugar; protein of the flour in %.
    pub fn new(water_pct: f64, salt_pct: f64, oil_pct: f64, sugar_pct: f64, protein_pct: f64) -> Self {
        let solids = Composition {
            water: water_pct,
            ash: salt_pct,
            fat: oil_pct,
            carbohydrate: sugar_pct,
            ..Composition::default()
        };
        let gas_free = Composition::flour(100.0, protein_pct).plus(solids).millilitres(25.0);
        let volume_ml = gas_free / (1.0 - AIR_SHARE);
        Self { water_ml: water_pct + 100.0 * FLOUR_MOISTURE, air_ml: AIR_SHARE * volume_ml, volume_ml }
    }
}

/// ln rise with its derivatives.
#[derive(Debug, Clone, Copy)]
pub struct Rise<N> {
    /// ln rise.
    pub ln_rise: N,
    /// ln of the rise that an unbounded flour would have had.
    pub ln_unbounded: N,
    /// d ln rise / dG per mL.
    pub by_gas: N,
    /// d ln rise / dT per °C of the dough's temperature.
    pub by_temperature: N,
    /// d ln rise / dR, R the share of gas kept.
    pub by_kept: N,
    /// d ln rise / d Rmax.
    pub by_max_rise: N,
    /// d ln unbounded / d ln rise along x, the unbounded rise less one: turns the slopes above into those of the
    /// unbounded rise.
    pub unbounded_factor: N,
}

/// The rise of `matrix` with `gas` mL (25 °C) per 100 g flour at `t` °C, keeping a share `kept`, in a
/// flour that carries `max_rise`.
#[inline(always)]
pub fn rise<N: Scalar>(matrix: &Matrix, gas: N, t: f64, kept: f64, max_rise: f64) -> Rise<N> {
    let one = N::constant(1.0);
    let (s_unit, s_unit_slope) = solubility(t);
    let s = s_unit * matrix.water_ml;
    let swell = (t + ZERO_C) * (1.0 / T25);
    let g = gas * swell;
    let b = g + (s + matrix.air_ml);
    let (root, per_root) = (b * b - g * (4.0 * s)).sqrt_and_reciprocal();
    let p = g * 2.0 / (b + root);
    let air_left = one - p;
    let per_left = one / air_left;
    let co2 = p * per_left * matrix.air_ml;
    // dp/dG' = (1-p)/root, dp/ds = -p(1-p)/root, dV/dp = A/(1-p)².
    let volume_by_g = per_left * per_root * matrix.air_ml;
    let volume_by_t = volume_by_g * (gas * (1.0 / T25) - p * (s_unit_slope * matrix.water_ml));

    let per_volume = matrix.volume_ml.recip();
    let scale = kept * per_volume;
    let x = co2 * scale;
    let z = x * (max_rise - 1.0).recip();
    let z2 = z * z;
    let z4 = z2 * z2;
    let z8 = z4 * z4;
    let bound = one + z8;
    let per_bound = one / bound;
    let shrink = (bound.ln_given(per_bound) * -0.125).exp();
    let y = x * shrink;
    let (risen, unbounded) = (y + 1.0, x + 1.0);
    let (per_risen, per_unbounded) = (one / risen, one / unbounded);
    // dy/dx = bound^(-9/8), dy/dm = (x/m)^9 bound^(-9/8).
    let by_x = shrink * per_bound * per_risen;
    // bound^(9/8) = bound² (bound^(-1/8))^7.
    let shrink2 = shrink * shrink;
    let grow = bound * bound * (shrink * shrink2 * (shrink2 * shrink2));
    Rise {
        ln_rise: risen.ln_given(per_risen),
        ln_unbounded: unbounded.ln_given(per_unbounded),
        by_gas: by_x * volume_by_g * (scale * swell),
        by_temperature: by_x * volume_by_t * scale,
        by_kept: by_x * co2 * per_volume,
        by_max_rise: by_x * (z8 * z),
        unbounded_factor: per_unbounded * risen * grow,
    }
}
