//! Yeast that was asleep: from thermal time to awake thermal time.
//!
//! Computes A(theta) = theta + (lag/h0) ln[e^(-h0 theta/lag) (1 - e^(-h0)) + e^(-h0)], the integral of the
//! adjustment function alpha = q/(1+q) with dq/dtheta = (h0/lag) q. theta, lag and A in hours at 25 °C.
//! At the start a share e^(-h0) of the yeast works; long after, A = theta - lag.
//!
//! Source: Baranyi & Roberts (1994), Int. J. Food Microbiol. 23:277-294. They tie the speed of waking to the
//! rate of growth; here it is tied to the lag itself through a fixed h0.
//! Limits: one lag for all yeast of a type; yeast from a preferment is awake and does not pass here.

use super::elementary::{exp, ln};

/// The work to be done before growth (h0), without unit: at the start e^-2, one yeast in seven, works.
/// A choice, not a measurement: with lags of a quarter of an hour the rise hardly feels it.
pub const H0: f64 = 2.0;

/// e^(-H0).
const ASLEEP: f64 = 0.135_335_283_236_612_7;

/// Awake thermal time with its derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Awake {
    /// A in hours at 25 °C.
    pub hours: f64,
    /// dA / dtheta: the share of the yeast that works now, 0 to 1.
    pub by_theta: f64,
    /// dA / d ln lag, in hours.
    pub by_ln_lag: f64,
}

/// Awake thermal time after `theta` hours at 25 °C with a lag of `lag` > 0 hours at 25 °C.
#[inline(always)]
pub fn awake(theta: f64, lag: f64) -> Awake {
    let decay = exp(-H0 * theta / lag);
    let mixture = decay * (1.0 - ASLEEP) + ASLEEP;
    let log = ln(mixture);
    let by_theta = ASLEEP / mixture;
    let hours = theta + lag * (1.0 / H0) * log;
    // A is homogeneous of degree one in (theta, lag): A = theta A_theta + lag A_lag.
    Awake { hours, by_theta, by_ln_lag: hours - theta * by_theta }
}
