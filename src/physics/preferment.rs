//! A preferment: its own vessel at one temperature, without salt. Symbols as in [`super::course`].
//!
//! Computes, for H hours at T °C with X yeast in % of its flour: theta = r(T) H in h at 25 °C, its awake time A, the gas
//! G_p = G(a = k X, mu, M; A) in mL per 100 g of its flour, and ln rise, with their derivatives.
//!
//! Source: [`super::lag`], [`super::gas`] and [`super::rise`], where A, G and the rise are told. Limits: one temperature
//! from its mixing on (it neither cools nor warms), no salt, no added sugar.

use super::course::{Answer, Slopes};
use super::gas::{Gas, gas};
use super::lag::{Awake, awake};
use super::parameters::Parameters;
use super::rise::{Matrix, rise};
use super::scalar::Scalar;

/// The preferment's numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Preferment {
    /// Its flour's share of all flour, 0 to 1.
    pub share: f64,
    /// Its yeast in % of its own flour, as instant.
    pub yeast_pct: f64,
    /// How long it stood, in h.
    pub hours: f64,
    /// Where it stood, in °C.
    pub temp_c: f64,
    /// The dough that holds its gas.
    pub matrix: Matrix,
}

/// The preferment after its hours.
pub(super) struct Ripe<N> {
    pub(super) awake: Awake,
    pub(super) own_rate: N,
    pub(super) gas: Gas<N>,
}

impl Preferment {
    pub(super) fn ripen<N: Scalar>(&self, p: &Parameters, k: N, lag_factor: f64, hours: f64) -> Ripe<N> {
        let theta = p.rate.at(self.temp_c) * hours;
        let awake = awake(theta, p.lag * lag_factor);
        let own_rate = k * self.yeast_pct;
        let mu = N::constant(p.mu);
        let gas = gas(own_rate, mu, N::constant(p.ceiling), N::constant(awake.hours));
        Ripe { awake, own_rate, gas }
    }
}

/// The preferment's own rise.
pub(super) fn preferment_rise<N: Scalar>(vessel: &Preferment, ripe: &Ripe<N>, p: &Parameters) -> Answer<N> {
    let r = rise(&vessel.matrix, ripe.gas.ml, vessel.temp_c, p.kept_preferment, p.max_rise);
    let by_awake = r.by_gas * ripe.gas.by_time;
    let zero = N::constant(0.0);
    Answer {
        value: r.ln_rise,
        unbounded: r.ln_unbounded,
        slopes: Slopes {
            ln_k: r.by_gas * ripe.gas.by_rate * ripe.own_rate,
            ln_mu: r.by_gas * ripe.gas.by_growth * p.mu,
            ln_lag: by_awake * ripe.awake.by_ln_lag,
            ceiling: r.by_gas * ripe.gas.by_ceiling,
            salt: zero,
            kept: r.by_kept,
            max_rise: r.by_max_rise,
            theta: zero,
            preferment_theta: by_awake * ripe.awake.by_theta,
            end_c: zero,
        },
        unbounded_factor: r.unbounded_factor,
    }
}
