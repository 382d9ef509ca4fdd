//! Thermal time of one stage, in closed form, with its derivatives.
//!
//! Computes theta = integral of r(T(t)) dt over 0..H along T(t) = E + (T0 - E) e^(-t/tau): the hours
//! at 25 °C that make as much gas. T0, E in °C; tau, H and theta in hours. With the rate as
//! p2 T² + p1 T + p0 + s/(T - pole) ([`super::rate`]), e = e^(-H/tau), D = T0 - E, u = E - pole:
//!
//! - int T = E H + D tau (1-e), int T² = E² H + 2 E D tau (1-e) + D² tau (1-e²)/2
//! - int 1/(T-pole) = [H + tau ln((u + D e)/(u + D))] / u
//!
//! Where the path leaves (Tmin, Tmax) only the part inside counts; r vanishes at both ends, so the
//! moving limits add nothing to the derivatives.
//!
//! The derivatives follow from dT/dt = -(T - E)/tau without further integrals:
//! - by T0: tau (1-e) [r(T0) - r(T1)]/(T0 - T1), taken as an exact divided difference
//! - by tau: (theta - H r(T1))/tau, by H: r(T1); by E: int r'(T) dt less the derivative by T0
//!
//! Source: elementary integration; checked against adaptive quadrature in `tests/reference`.
//! Limits: one constant E a stage; a logged series is a chain of such stages.

use super::rate::Rate;

/// Thermal time and end temperature of a stage, with their derivatives.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Stretch {
    /// Thermal time in hours at 25 °C.
    pub theta: f64,
    /// Temperature at the end in °C.
    pub end_c: f64,
    /// d theta / d T0, h per °C.
    pub theta_by_start: f64,
    /// d theta / d E, h per °C.
    pub theta_by_around: f64,
    /// d theta / d tau, without unit.
    pub theta_by_tau: f64,
    /// d theta by the five coefficients of the rate: p2, p1, p0, s, pole.
    pub theta_by_rate: [f64; 5],
    /// d T1 / d T0, without unit.
    pub end_by_start: f64,
    /// d T1 / d tau, °C per h.
    pub end_by_tau: f64,
}

/// One stage: from `start` °C, surroundings at `around` °C, time constant `tau` h, for `hours`.
pub fn stretch(rate: &Rate, start: f64, around: f64, tau: f64, hours: f64) -> Stretch {
    let d = start - around;
    let ratio = hours / tau;
    let lost = -(-ratio).exp_m1();
    let end = around + d * (1.0 - lost);
    let mut out = Stretch {
        end_c: end,
        end_by_start: 1.0 - lost,
        end_by_tau: d * (1.0 - lost) * ratio / tau,
        ..Stretch::default()
    };
    let inside = |t: f64| t > rate.t_min && t < rate.t_max;
    if inside(start) && inside(end) {
        add(&mut out, rate, Piece { start, around, tau, hours, end, lost, from: 0.0 });
    } else if let Some((from, to)) = time_inside(rate, start, around, tau, hours) {
        let start = around + d * (-from / tau).exp();
        let lost = -(-(to - from) / tau).exp_m1();
        let end = start - (start - around) * lost;
        add(&mut out, rate, Piece { start, around, tau, hours: to - from, end, lost, from });
    }
    out
}

/// The part of a path that lies inside (Tmin, Tmax); `from` hours after the stage began.
struct Piece {
    start: f64,
    around: f64,
    tau: f64,
    hours: f64,
    end: f64,
    lost: f64,
    from: f64,
}

fn add(out: &mut Stretch, rate: &Rate, piece: Piece) {
    let Piece { start, around, tau, hours, end, lost, from } = piece;
    let d = start - around;
    let moved = d * tau * lost;
    let m1 = around * hours + moved;
    let m2 = around * (around * hours + 2.0 * moved) + 0.5 * d * moved * (2.0 - lost);
    let (pole1, pole2) = pole_integrals(around - rate.pole, d, tau, hours, lost);
    let theta = rate.p2 * m2 + rate.p1 * m1 + rate.p0 * hours + rate.s * pole1;

    let (a, b) = (start - rate.pole, end - rate.pole);
    let by_start = tau * lost * (rate.p2 * (start + end) + rate.p1 - rate.s / (a * b));
    let slope_integral = 2.0 * rate.p2 * m1 + rate.p1 * hours - rate.s * pole2;
    // The piece starts `from` hours into the stage, at a temperature that itself hangs on T0, E and tau.
    let carried = (-from / tau).exp();
    let start_by_tau = d * from / (tau * tau);
    out.theta = theta;
    out.theta_by_start = by_start * carried;
    out.theta_by_around = slope_integral - by_start * carried;
    out.theta_by_tau = (theta - hours * rate.inside(end)) / tau + by_start * start_by_tau;
    out.theta_by_rate = [m2, m1, hours, pole1, rate.s * pole2];
}

/// Below this share of the nearest approach to the pole, E counts as lying on it.
const NEAR_POLE: f64 = 0.05;

/// Integrals over time of 1/(T - pole) and 1/(T - pole)², where u = E - pole and D = T0 - E.
fn pole_integrals(u: f64, d: f64, tau: f64, hours: f64, lost: f64) -> (f64, f64) {
    let (first, last) = (u + d, u + d * (1.0 - lost));
    if u.abs() > NEAR_POLE * last.abs() {
        let integral = (hours + tau * (-d * lost / first).ln_1p()) / u;
        let by_u = tau * (last.recip() - first.recip());
        return (integral, (integral - by_u) / u);
    }
    // E on the pole: the closed form is 0/0; expand 1/(D e^(-t/tau) + u) in powers of u. Fourteen terms
    // of a ratio below 0.05 (of the smaller denominator) reach double precision.
    let grown = |n: f64| tau / n * (n * hours / tau).exp_m1();
    let (mut one, mut two, mut power) = (0.0, 0.0, d.recip());
    for n in 1..=14 {
        let n = f64::from(n);
        one += power * grown(n);
        two += n * power / d * grown(n + 1.0);
        power *= -u / d;
    }
    (one, two)
}

/// The interval of time in which the path lies inside (Tmin, Tmax); `None` when it never does.
fn time_inside(rate: &Rate, start: f64, around: f64, tau: f64, hours: f64) -> Option<(f64, f64)> {
    let (mut from, mut to) = (0.0, hours);
    let d = start - around;
    for (limit, is_inside) in
        [(rate.t_min, (|t, l| t > l) as fn(f64, f64) -> bool), (rate.t_max, |t, l| t < l)]
    {
        let crossing = -tau * ((limit - around) / d).ln();
        match (is_inside(start, limit), is_inside(around, limit)) {
            (true, true) => {}
            (false, false) => return None,
            (true, false) => to = if crossing < to { crossing } else { to },
            (false, true) => from = if crossing > from { crossing } else { from },
        }
    }
    (from < to).then_some((from, to))
}
