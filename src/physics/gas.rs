//! Gas made in awake thermal time, in closed form.
//!
//! Computes G, CO2 in mL (25 °C, 1 atm) per 100 g flour, from dG/dA = (a + mu G)(1 - G/M), G(0) = 0:
//! a the starting rate in mL/h, mu the effective growth of activity per h, M the gas that the sugars can
//! give, A the awake thermal time in h at 25 °C. With lambda = mu + a/M and e = e^(-lambda A):
//! G = a (1 - e) / (mu e + a/M).
//!
//! Source: separation of variables; stoichiometry C6H12O6 -> 2 C2H5OH + 2 CO2 and the ideal gas.
//! Limits: sugar below 5 %, salt 0-3 %, lean dough. "mu" is an effective growth of activity: published cell
//! counts grow more slowly.

use super::scalar::Scalar;
use super::solubility::{GAS_CONSTANT, T25};

/// mL of CO2 (25 °C, 1 atm) from one gram of hexose: 2 mol a mol of 180.156 g, 24 465 mL a mol.
pub const ML_PER_GRAM_HEXOSE: f64 = 2.0 * MOLAR_ML / 180.156;

/// mL of CO2 (25 °C, 1 atm) from one gram of maltose: 4 mol a mol of 342.297 g.
pub const ML_PER_GRAM_MALTOSE: f64 = 4.0 * MOLAR_ML / 342.297;

/// Molar volume of an ideal gas at 25 °C and 1 atm (101 325 Pa) in mL.
pub const MOLAR_ML: f64 = GAS_CONSTANT * T25 / 101_325.0 * 1e6;

/// How much one percent of added sugar raises M, in mL per 100 g flour: sucrose and glucose both give
/// about this (stoichiometry above).
pub const ML_PER_PERCENT_SUGAR: f64 = 270.0;

/// Gas and its derivatives by what it follows from.
#[derive(Debug, Clone, Copy)]
pub struct Gas<N> {
    /// G in mL per 100 g flour.
    pub ml: N,
    /// dG/da in h.
    pub by_rate: N,
    /// dG/dmu in mL h.
    pub by_growth: N,
    /// dG/dM, without unit.
    pub by_ceiling: N,
    /// dG/dA in mL/h.
    pub by_time: N,
}

/// Gas after `time` awake hours at 25 °C, from a starting rate `a` in mL/h, growth `mu` per h and ceiling `m` in mL, all
/// per 100 g flour.
#[inline(always)]
pub fn gas<N: Scalar>(a: N, mu: N, m: N, time: N) -> Gas<N> {
    let one = N::constant(1.0);
    let per_m = one / m;
    let a_m = a * per_m;
    let lambda = mu + a_m;
    let left = -(-(lambda * time)).exp_m1();
    let e = one - left;
    let denominator = mu * e + a_m;
    let per = one / denominator;
    let ml = a * left * per;
    // e depends on a, mu and M through lambda: de = -A e dlambda.
    let ae = time * e;
    let by_lambda = ae * (a + mu * ml);
    let by_a_direct = left - per_m * ml;
    Gas {
        ml,
        by_rate: (by_a_direct + by_lambda * per_m) * per,
        by_growth: (by_lambda - e * ml) * per,
        by_ceiling: a_m * per_m * (ml - by_lambda) * per,
        by_time: (a + mu * ml) * (one - ml * per_m),
    }
}

/// The awake thermal time in h at 25 °C at which `ml` of gas is reached, arguments as in [`gas`]; infinite at or above
/// the ceiling.
pub fn time_for(ml: f64, a: f64, mu: f64, m: f64) -> f64 {
    if ml >= m {
        return f64::INFINITY;
    }
    ((a + mu * ml) / (a * (1.0 - ml / m))).ln() / (mu + a / m)
}
