//! A preferment: its own vessel at one temperature, without salt. Symbols as in [`super::course`].
//!
//! Computes, for H hours at T °C with X yeast in % of its flour: theta = r(T) H in h at 25 °C, its awake time A, the gas
//! G_p = G(a = k X, mu, M; A) in mL per 100 g of its flour, and ln rise, with their derivatives.
//!
//! Source: [`super::lag`], [`super::gas`] and [`super::rise`], where A, G and the rise are told. Limits: one temperature
//! from its mixing on (it neither cools nor warms), no salt, no added sugar.

use super::abreast::Step;
use super::course::{Answer, Slopes};
use super::gas::{Gas, gas};
use super::lag::{Awake, awake};
use super::moment::nought;
use super::parameters::Nature;
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

/// A preferment at one moment.
#[derive(Debug, Clone, Copy)]
pub struct Ripening<N> {
    /// What yeast and flour are like.
    pub nature: Nature,
    /// k of this batch, with its slope along ln k.
    pub k: N,
    /// Lag of its yeast in h at 25 °C.
    pub lag: f64,
    /// Thermal time since it was mixed, in h at 25 °C.
    pub theta: f64,
    /// The vessel.
    pub vessel: Preferment,
}

/// What it has come to.
pub(super) struct Ripe<N> {
    pub(super) awake: Awake,
    pub(super) own_rate: N,
    pub(super) gas: Gas<N>,
}

impl<N: Scalar> Ripening<N> {
    #[inline(always)]
    pub(super) fn ripen(&self) -> Ripe<N> {
        let p = &self.nature;
        let awake = awake(self.theta, self.lag);
        let own_rate = self.k * self.vessel.yeast_pct;
        let mu = N::constant(p.mu);
        let gas = gas(own_rate, mu, N::constant(p.ceiling), N::constant(awake.hours));
        Ripe { awake, own_rate, gas }
    }
}

/// The preferment's own ln rise.
pub(super) struct Vessel;

impl<N: Scalar> Step<N> for Vessel {
    type In = Ripening<N>;
    type Out = Answer<N>;

    #[inline(always)]
    fn one(&self, ripening: &Ripening<N>) -> Answer<N> {
        let (p, ripe, vessel) = (&ripening.nature, ripening.ripen(), &ripening.vessel);
        let r = rise(&vessel.matrix, ripe.gas.ml, vessel.temp_c, p.kept_preferment, p.max_rise);
        let by_awake = r.by_gas * ripe.gas.by_time;
        let zero = nought(ripening.k);
        let slopes = Slopes {
            ln_k: r.by_gas * ripe.gas.by_rate * ripe.own_rate,
            ln_mu: r.by_gas * ripe.gas.by_growth * p.mu,
            ln_lag: by_awake * ripe.awake.by_ln_lag,
            ceiling: r.by_gas * ripe.gas.by_ceiling,
            kept: r.by_kept,
            max_rise: r.by_max_rise,
            preferment_theta: by_awake * ripe.awake.by_theta,
            salt: zero,
            theta: zero,
            end_c: zero,
        };
        Answer { value: r.ln_rise, unbounded: r.ln_unbounded, slopes, unbounded_factor: r.unbounded_factor }
    }
}
