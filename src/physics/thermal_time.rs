//! Thermal time of one stage, in closed form, with its derivatives.
//!
//! Computes theta = integral of r(T(t)) dt over 0..H along T(t) = E + (T0 - E) e^(-t/tau): the hours at 25 °C that make
//! as much gas. T0, E in °C; tau, H and theta in hours. With y = T - 25 and the rate as
//! 1 + a1 y + a2 y² + b3 y³/(1 + w y) ([`super::rate`]), y0 and y1 at start and end, u = E - 25, D = T0 - E,
//! M_n = int y^n dt: theta = H + a1 M1 + a2 M2 + b3 K, K = int y³/(1 + w y) dt.
//!
//! - M1 = u H + D tau (1-e), M2 = u² H + 2 u D tau (1-e) + D² tau (1-e²)/2, e = e^(-H/tau)
//! - near the pole: K = {M2 - [M1 - (H - L1)/w]/w}/w, L1 = int 1/(1 + w y) = [H + tau ln((1 + w y1)/(1 + w y0))]/(1 + w u)
//! - far from it: K = sum (-w)^n M_(n+3), M_n = u M_(n-1) + (tau/n)(y0^n - y1^n)
//!
//! Where the path leaves (Tmin, Tmax) only the part inside counts; r vanishes at both ends, so the
//! moving limits add nothing to the derivatives.
//!
//! The derivatives follow from dT/dt = -(T - E)/tau without further integrals but K2 = int y⁴/(1 + w y)² dt = -dK/dw:
//! - by T0: tau (1-e) [r(T0) - r(T1)]/(T0 - T1), taken as an exact divided difference
//! - by tau: (theta - H r(T1))/tau, by H: r(T1); by E: int r'(T) dt less the derivative by T0, with
//!   int r' = a1 H + 2 a2 M1 + b3 (3 M2 - 4 w K + w² K2)
//!
//! Source: elementary integration; checked against adaptive quadrature in `tests/reference`.
//! Limits: one constant E a stage; a logged series is a chain of such stages.

use super::other_time;
use super::rate::{REFERENCE_C, Rate};

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
    /// d theta by the four coefficients of the rate: a1, a2, b3, w.
    pub theta_by_rate: [f64; 4],
    /// d T1 / d T0, without unit.
    pub end_by_start: f64,
    /// d T1 / d tau, °C per h.
    pub end_by_tau: f64,
}

/// One stage: from `start` °C, surroundings at `around` °C, time constant `tau` h, for `hours`.
pub fn stretch(rate: &Rate, start: f64, around: f64, tau: f64, hours: f64) -> Stretch {
    if let Some(other) = &rate.other {
        return other_time::stretch(other, start, around, tau, hours);
    }
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
    } else if let Some((from, to)) = time_inside((rate.t_min, rate.t_max), start, around, tau, hours) {
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
    let u = around - REFERENCE_C;
    let m1 = u * hours + moved;
    let m2 = u * (u * hours + 2.0 * moved) + 0.5 * d * moved * (2.0 - lost);
    let path = Path { y0: start - REFERENCE_C, y1: end - REFERENCE_C, u, d, tau, hours, lost };
    let w = rate.w;
    let (k, k2) = path.pole_integrals(w, m1, m2);
    let theta = hours + rate.a1 * m1 + rate.a2 * m2 + rate.b3 * k;

    let (y0, y1) = (path.y0, path.y1);
    let cubic = (y0 * y0 + y0 * y1 + y1 * y1 + w * y0 * y1 * (y0 + y1)) / ((1.0 + w * y0) * (1.0 + w * y1));
    let by_start = tau * lost * (rate.a1 + rate.a2 * (y0 + y1) + rate.b3 * cubic);
    let slope_integral = rate.a1 * hours + 2.0 * rate.a2 * m1 + rate.b3 * (3.0 * m2 + w * (w * k2 - 4.0 * k));
    // The piece starts `from` hours into the stage, at a temperature that itself hangs on T0, E and tau.
    let carried = (-from / tau).exp();
    let start_by_tau = d * from / (tau * tau);
    out.theta = theta;
    out.theta_by_start = by_start * carried;
    out.theta_by_around = slope_integral - by_start * carried;
    out.theta_by_tau = (theta - hours * rate.inside(end)) / tau + by_start * start_by_tau;
    out.theta_by_rate = [m1, m2, k, -rate.b3 * k2];
}

/// The path of y = T - 25 from y0 to y1, towards u, by d e^(-t/tau).
struct Path {
    y0: f64,
    y1: f64,
    u: f64,
    d: f64,
    tau: f64,
    hours: f64,
    lost: f64,
}

/// Below this size of w y the integrals over the pole are summed as a series, above it taken in closed form.
const FAR: f64 = 0.3;

/// Below this ratio of 1 + w u to the part of 1 + w y that decays, their integrals are expanded in it.
const ON_POLE: f64 = 0.03;
/// Terms that reach double precision there.
const ON_POLE_TERMS: u32 = 11;

impl Path {
    /// K = int y³/(1 + w y) dt and K2 = int y⁴/(1 + w y)² dt.
    fn pole_integrals(&self, w: f64, m1: f64, m2: f64) -> (f64, f64) {
        let largest = self.y0.abs().max(self.y1.abs()).max(self.u.abs());
        if (w * largest).abs() < FAR {
            return self.series(w, m2, largest);
        }
        let (l1, l2) = self.reciprocals(w);
        let h = self.hours;
        let k = (m2 - (m1 - (h - l1) / w) / w) / w;
        let k2 = (m2 - (2.0 * m1 - (3.0 * h - 4.0 * l1 + l2) / w) / w) / (w * w);
        (k, k2)
    }

    /// The same as sums of (-w)^(n-3) M_n and (n-3) (-w)^(n-4) M_n, whose terms fall as (w y)^n.
    fn series(&self, w: f64, m2: f64, largest: f64) -> (f64, f64) {
        let (mut k, mut k2, mut moment) = (0.0, 0.0, m2);
        let (mut power0, mut power1) = (self.y0 * self.y0, self.y1 * self.y1);
        let (mut factor, mut before, mut n) = (1.0, 0.0, 3.0);
        // The size of the next terms of both sums.
        let mut sizes = [1.0, 1.0];
        while sizes[1] > 0.01 * f64::EPSILON {
            (power0, power1) = (power0 * self.y0, power1 * self.y1);
            moment = self.u * moment + self.tau / n * (power0 - power1);
            k += factor * moment;
            k2 += (n - 3.0) * before * moment;
            (before, factor) = (factor, -w * factor);
            sizes = [sizes[0] * (w * largest).abs(), sizes[0]];
            n += 1.0;
        }
        (k, k2)
    }

    /// Integrals over time of 1/(1 + w y) and 1/(1 + w y)².
    fn reciprocals(&self, w: f64) -> (f64, f64) {
        let Self { tau, hours, lost, .. } = *self;
        let (q, g) = (1.0 + w * self.u, w * self.d);
        let (first, last) = (q + g, q + g * (1.0 - lost));
        if q.abs() > ON_POLE * last.abs() {
            let integral = (hours + tau * (-g * lost / first).ln_1p()) / q;
            let by_q = tau * (last.recip() - first.recip());
            return (integral, (integral - by_q) / q);
        }
        // E on the pole: the closed form is 0/0; expand 1/(g e^(-t/tau) + q) in powers of q.
        let grown = |n: f64| tau / n * (n * hours / tau).exp_m1();
        let (mut one, mut two, mut power) = (0.0, 0.0, g.recip());
        for n in 1..=ON_POLE_TERMS {
            let n = f64::from(n);
            one += power * grown(n);
            two += n * power / g * grown(n + 1.0);
            power *= -q / g;
        }
        (one, two)
    }
}

/// The interval of time in which the path lies inside (low, high); `None` when it never does.
pub(super) fn time_inside(
    (low, high): (f64, f64),
    start: f64,
    around: f64,
    tau: f64,
    hours: f64,
) -> Option<(f64, f64)> {
    let (mut from, mut to) = (0.0, hours);
    let d = start - around;
    for (limit, is_inside) in [(low, (|t, l| t > l) as fn(f64, f64) -> bool), (high, |t, l| t < l)] {
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
