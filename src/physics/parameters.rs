//! The physics' parameters of a kitchen, and the derivatives of one number by them. Symbols as in [`super::course`].

use super::rate::Rate;

/// What is the same for all batches of a kitchen.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameters {
    /// k of salt-free dough at 25 °C in mL/h per 100 g flour per % instant yeast.
    pub k: f64,
    /// mu at 25 °C per h.
    pub mu: f64,
    /// Lag of instant yeast in h at 25 °C.
    pub lag: f64,
    /// M without added sugar in mL per 100 g flour.
    pub ceiling: f64,
    /// c per % of salt.
    pub salt: f64,
    /// Share of the gas that a dough keeps, 0 to 1.
    pub kept: f64,
    /// Share of the gas that a preferment keeps, 0 to 1.
    pub kept_preferment: f64,
    /// r(T), without unit.
    pub rate: Rate,
    /// Rmax: the most a dough of this flour rises, volume over that just after mixing, above 1.
    pub max_rise: f64,
    /// tau of a 250 g piece in h.
    pub tau250: f64,
    /// Share of the way to room temperature that a dough goes while it is mixed, 0 to 1.
    pub pull: f64,
    /// Warming by mixing in °C, one a mixing method.
    pub warming: Vec<f64>,
    /// Factor on tau, without unit, one a cold place.
    pub place_tau: Vec<f64>,
    /// Temperature of a fridge that was not measured, in °C over the assumed one; one a cold place.
    pub fridge_offset: Vec<f64>,
}

/// Those of the parameters that a rise follows from directly; as there.
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(missing_docs, reason = "told at Parameters")]
pub struct Nature {
    pub mu: f64,
    pub ceiling: f64,
    pub salt: f64,
    pub kept: f64,
    pub kept_preferment: f64,
    pub max_rise: f64,
}

impl Parameters {
    /// Those that a rise follows from directly.
    pub fn nature(&self) -> Nature {
        let Self { mu, ceiling, salt, kept, kept_preferment, max_rise, .. } = *self;
        Nature { mu, ceiling, salt, kept, kept_preferment, max_rise }
    }
}

/// Derivatives of one number (a log likelihood) by the parameters.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Adjoints {
    /// By ln k (and so by any effect that adds to it).
    pub ln_k: f64,
    /// By ln mu.
    pub ln_mu: f64,
    /// By ln lag.
    pub ln_lag: f64,
    /// By M, per mL per 100 g flour.
    pub ceiling: f64,
    /// By c, which is per % of salt.
    pub salt: f64,
    /// By the share kept.
    pub kept: f64,
    /// By the share kept in a preferment.
    pub kept_preferment: f64,
    /// By the four coefficients of r(T): a1, a2, b3, w, or those of another form and a zero.
    pub rate: [f64; 4],
    /// By the most a dough rises.
    pub max_rise: f64,
    /// By ln tau250.
    pub ln_tau250: f64,
    /// By the pull towards the room.
    pub pull: f64,
    /// By the warming of each mixing method, per °C; as long as [`Parameters::warming`].
    pub warming: Vec<f64>,
    /// By the log of each cold place's factor on tau; as long as [`Parameters::place_tau`].
    pub ln_place_tau: Vec<f64>,
    /// By each fridge's offset, per °C; as long as [`Parameters::fridge_offset`].
    pub fridge_offset: Vec<f64>,
}

impl Adjoints {
    /// All zero, with room for as many mixing methods and cold places as `p` has.
    pub fn zero(p: &Parameters) -> Self {
        Self {
            warming: vec![0.0; p.warming.len()],
            ln_place_tau: vec![0.0; p.place_tau.len()],
            fridge_offset: vec![0.0; p.fridge_offset.len()],
            ..Self::default()
        }
    }
}

#[cfg(test)]
impl Parameters {
    /// A kitchen near the medians of the priors, with one mixing method and one cold place: for tests.
    pub(super) fn for_tests() -> Self {
        Self {
            k: 60.0,
            mu: 0.2,
            lag: 0.25,
            ceiling: 1100.0,
            salt: 0.09,
            kept: 0.9,
            kept_preferment: 0.7,
            rate: Rate::from_rho4(0.107, 35.5, 45.5).unwrap(),
            max_rise: 3.5,
            tau250: 1.0,
            pull: 0.1,
            warming: vec![2.0],
            place_tau: vec![1.2],
            fridge_offset: vec![0.4],
        }
    }
}
