//! How a piece of dough follows the temperature around it.
//!
//! Computes T(t) = E + (T0 - E) e^(-t/tau): T dough and E surroundings in °C, t and tau in hours
//! (Newton's law of cooling, one lump). tau grows with the piece's mass m in g as
//! tau = tau250 (m/250)^0.4.
//!
//! Source of the exponent: between 1/3 (a lump cooled through its skin: volume over surface) and 2/3
//! (conduction inside), nearer the first for pieces in still air; common practice, no source.
//! Limits: one temperature for the whole piece. Conduction inside is in [`super::sphere`], by which
//! the lump is 8-20 % too fast for 250-400 g; the learned tau takes the mean difference up.

/// The mass in g for which tau250 is stated.
pub const REFERENCE_GRAMS: f64 = 250.0;

/// How tau grows with mass: its exponent, without unit (source at the head of this file).
pub const MASS_EXPONENT: f64 = 0.4;

/// tau of a piece of `grams` g over tau of a 250 g piece, without unit.
pub fn tau_factor(grams: f64) -> f64 {
    (grams / REFERENCE_GRAMS).powf(MASS_EXPONENT)
}

/// Temperature in °C after `hours` h at surroundings `e` °C, starting from `t0` °C, with time constant `tau` > 0 in h.
pub fn temperature(t0: f64, e: f64, tau: f64, hours: f64) -> f64 {
    e + (t0 - e) * (-hours / tau).exp()
}
