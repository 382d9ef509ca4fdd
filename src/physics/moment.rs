//! The rise of a dough at one moment. Symbols as in [`super::course`].
//!
//! A preferment is its own vessel at one temperature, without salt: with X yeast in % of its flour it makes
//! G_p, and carries the rate (k X + mu G_p) into the dough in proportion phi to its share of all flour, awake.
//! Fresh yeast of the dough wakes first ([`super::lag`]). The dough's rate is
//! a = e^(-c salt) (k X_fresh + carried), its awake time the mean of both weighted by their rates.
//!
//! Source: [`super::lag`], [`super::gas`] and [`super::rise`], where awake time, gas and rise are told. Limits: those of
//! [`super::course`].

use super::abreast::Step;
use super::course::{Answer, Slopes};
use super::elementary::exp;
use super::gas::{ML_PER_PERCENT_SUGAR, gas};
use super::lag::awake;
use super::parameters::Nature;
use super::preferment::{Ripe, Ripening};
use super::rise::{Matrix, rise};
use super::scalar::Scalar;

/// A dough at one moment.
#[derive(Debug, Clone, Copy)]
pub struct Moment<N> {
    /// What yeast and flour are like.
    pub nature: Nature,
    /// k of this batch, with its slope along ln k.
    pub k: N,
    /// Yeast added at mixing, in % of all flour, as instant.
    pub fresh_pct: f64,
    /// Lag of that yeast in h at 25 °C.
    pub lag: f64,
    /// Salt in % of all flour.
    pub salt_pct: f64,
    /// Added sugar in % of all flour.
    pub sugar_pct: f64,
    /// The dough that holds the gas.
    pub matrix: Matrix,
    /// Thermal time since mixing in h at 25 °C.
    pub theta: f64,
    /// Dough temperature in °C.
    pub end_c: f64,
}

/// ln rise of a dough without preferment.
pub(super) struct Dough;

impl<N: Scalar> Step<N> for Dough {
    type In = Moment<N>;
    type Out = Answer<N>;

    #[inline(always)]
    fn one(&self, moment: &Moment<N>) -> Answer<N> {
        ln_rise(moment, None)
    }
}

/// ln rise of a dough with a preferment.
pub(super) struct DoughWithPreferment;

impl<N: Scalar> Step<N> for DoughWithPreferment {
    type In = (Moment<N>, Ripening<N>);
    type Out = Answer<N>;

    #[inline(always)]
    fn one(&self, (moment, ripening): &(Moment<N>, Ripening<N>)) -> Answer<N> {
        ln_rise(moment, Some((ripening.ripen(), ripening.vessel.share)))
    }
}

/// Zero, worked out: a constant that is stored would keep the compiler from working out eight at a time.
#[inline(always)]
pub(super) fn nought<N: Scalar>(k: N) -> N {
    k * 0.0
}

/// ln rise with what a preferment and its share of the flour bring, if any.
#[inline(always)]
fn ln_rise<N: Scalar>(moment: &Moment<N>, preferment: Option<(Ripe<N>, f64)>) -> Answer<N> {
    let Moment { nature: p, k, fresh_pct, lag, salt_pct, sugar_pct, matrix, theta, end_c } = *moment;
    let zero = nought(k);
    let fresh = k * fresh_pct;
    let carried = preferment.as_ref().map_or(zero, |(r, share)| (r.own_rate + r.gas.ml * p.mu) * *share);
    let salted = exp(-p.salt * salt_pct);
    let awake = awake(theta, lag);
    let total = fresh + carried;
    let per_total = N::constant(1.0) / total;
    let time = (fresh * awake.hours + carried * theta) * per_total;
    let rate = total * salted;
    let mu = p.mu * salted;
    let ceiling = p.ceiling + ML_PER_PERCENT_SUGAR * sugar_pct;
    let g = gas(rate, N::constant(mu), N::constant(ceiling), time);
    let r = rise(&matrix, g.ml, end_c, p.kept, p.max_rise);

    let by_rate = r.by_gas * g.by_rate;
    let by_mu = r.by_gas * g.by_growth;
    let by_time = r.by_gas * g.by_time * per_total;
    let by_fresh = by_rate * salted + by_time * (-(time - awake.hours));
    let by_carried = by_rate * salted + by_time * (-(time - theta));
    let mut slopes = Slopes {
        ln_k: by_fresh * fresh,
        ln_mu: by_mu * mu,
        ln_lag: by_time * fresh * awake.by_ln_lag,
        ceiling: r.by_gas * g.by_ceiling,
        salt: -(by_rate * rate + by_mu * mu) * salt_pct,
        kept: r.by_kept,
        max_rise: r.by_max_rise,
        theta: by_time * (fresh * awake.by_theta + carried),
        preferment_theta: zero,
        end_c: r.by_temperature,
    };
    if let Some((ripe, share)) = &preferment {
        let by_activity = by_carried * *share;
        let by_gas = by_activity * p.mu;
        let by_awake = by_gas * ripe.gas.by_time;
        slopes.ln_k = slopes.ln_k + (by_activity + by_gas * ripe.gas.by_rate) * ripe.own_rate;
        slopes.ln_mu = slopes.ln_mu + (by_activity * ripe.gas.ml + by_gas * ripe.gas.by_growth) * p.mu;
        slopes.ceiling = slopes.ceiling + by_gas * ripe.gas.by_ceiling;
        slopes.ln_lag = slopes.ln_lag + by_awake * ripe.awake.by_ln_lag;
        slopes.preferment_theta = by_awake * ripe.awake.by_theta;
    }
    Answer { value: r.ln_rise, unbounded: r.ln_unbounded, slopes, unbounded_factor: r.unbounded_factor }
}
