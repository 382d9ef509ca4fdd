//! How much CO2 water holds.
//!
//! Computes S(T), mL of CO2 (as gas at T and 1 atm) that one mL of water holds at 1 atm of CO2, without
//! unit: S = Hcp R T with Hcp(T) = 3.4e-4 exp[2400 (1/T - 1/298.15)] mol m⁻³ Pa⁻¹, T in K.
//!
//! Source: Sander, "Compilation of Henry's law constants", Atmos. Chem. Phys. 2015, version 5 (2023).
//! Limits: pure water, 0-40 °C; salt lowers it by a few percent.

use super::elementary::exp;

/// Henry's constant at 25 °C in mol m⁻³ Pa⁻¹ (Sander 2023).
pub const HCP_25: f64 = 3.4e-4;
/// Its temperature dependence d ln Hcp / d(1/T) in K (Sander 2023).
pub const HCP_SLOPE: f64 = 2400.0;
/// Gas constant in J/(mol K) (CODATA 2018).
pub const GAS_CONSTANT: f64 = 8.314_462_618;
/// 0 °C in K.
pub const ZERO_C: f64 = 273.15;
/// 25 °C in K.
pub const T25: f64 = 298.15;

/// S at `t` °C, without unit, and dS/dT per °C.
#[inline(always)]
pub fn solubility(t: f64) -> (f64, f64) {
    let kelvin = t + ZERO_C;
    let per_kelvin = kelvin.recip();
    let hcp = HCP_25 * exp(HCP_SLOPE * (per_kelvin - 1.0 / T25));
    let s = hcp * GAS_CONSTANT * kelvin;
    (s, s * (1.0 - HCP_SLOPE * per_kelvin) * per_kelvin)
}
