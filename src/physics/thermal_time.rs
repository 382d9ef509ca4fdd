//! Thermal time of one stage, in closed form, with its derivatives.
//!
//! Computes theta = integral of r(T(t)) dt over 0..H along T(t) = E + (T0 - E) e^(-t/tau): the hours at 25 °C that make
//! as much gas. T0, E in °C; tau, H and theta in hours. With y = T - 25 and the rate as
//! 1 + a1 y + a2 y² + b3 y³/(1 + w y) ([`super::rate`]), y0 and y1 at start and end, u = E - 25, D = T0 - E,
//! M_n = int y^n dt: theta = H + a1 M1 + a2 M2 + b3 K, K = int y³/(1 + w y) dt.
//!
//! - M1 = u H + D tau (1-e), M2 = u² H + 2 u D tau (1-e) + D² tau (1-e²)/2, e = e^(-H/tau)
//! - K = S + tau J2, S = [u³ H + tau u J1 + tau u² (y0 - y1)]/q, q = 1 + w u, with J_n the integrals of y^n/(1 + w y) dy from y1
//!   to y0. About the middle c of y0 and y1, h half their distance, p = 1 + w c, z = (w h/p)²:
//!   J0 = (2h/p) A, J1 = c J0 + I1, J2 = c (J1 + I1) + I2, I1 = -2h w (h/p)² B, I2 = 2h p (h/p)² B,
//!   A = artanh(√z)/√z = 1 + z B, B = 1/3 + z B', B' = 1/5 + z/7 + z²/9 + ..: nothing is lost where w is small
//! - where E is on the pole (q near 0) or the path very long (z large):
//!   K = {M2 - [M1 - (H - L1)/w]/w}/w, L1 = int 1/(1 + w y) dt = [H + tau ln((1 + w y1)/(1 + w y0))]/q
//!
//! Where the path leaves (Tmin, Tmax) only the part inside counts; r vanishes at both ends, so the
//! moving limits add nothing to the derivatives.
//!
//! The derivatives follow from dT/dt = -(T - E)/tau without further integrals but K2 = int y⁴/(1 + w y)² dt = -dK/dw:
//! - by T0: tau (1-e) [r(T0) - r(T1)]/(T0 - T1), taken as an exact divided difference
//! - by tau: (theta - H r(T1))/tau, by H: r(T1); by E: int r'(T) dt less the derivative by T0, with
//!   int r' = a1 H + 2 a2 M1 + b3 (3 M2 - 4 w K + w² K2)
//! - K2 = tau Q3 + (u/q)(tau Q2 + S), Q_n the integrals of y^n/(1 + w y)² dy, about the middle by the same series
//!
//! Source: elementary integration; checked against adaptive quadrature in `tests/reference`.
//! Limits: one constant E a stage; a logged series is a chain of such stages.

use super::abreast::Step;
use super::elementary::{exp_m1, polynomial};
use super::other_time;
use super::rate::{REFERENCE_C, Rate};

/// A stretch of time at one surroundings' temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stage {
    /// T0 in °C.
    pub start: f64,
    /// E in °C.
    pub around: f64,
    /// tau in h.
    pub tau: f64,
    /// H in h.
    pub hours: f64,
}

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

/// What `stage` is worth.
pub fn stretch(rate: &Rate, stage: &Stage) -> Stretch {
    Inside.one(&(*stage, *rate)).or_else(|| unusual(rate, stage))
}

/// [`stretch`] of most stages: under the cardinal model, along a path inside (Tmin, Tmax), not too long and not towards the pole. Of
/// others the thermal time is NaN.
pub(super) struct Inside;

impl Step for Inside {
    type In = (Stage, Rate);
    type Out = Stretch;

    #[inline(always)]
    fn one(&self, (stage, rate): &(Stage, Rate)) -> Stretch {
        let path = Path::new(stage);
        let (k, k2, near) = path.about_the_middle(rate.w);
        let mut out = path.stretch(rate, k, k2);
        let inside = |t: f64| (t > rate.t_min) & (t < rate.t_max);
        let usual = inside(stage.start) & inside(out.end_c) & near;
        out.theta = if usual { out.theta } else { f64::NAN };
        out
    }
}

impl Stretch {
    /// Itself, or what `unusual` says of a stage that [`Inside`] does not know.
    #[inline]
    pub(super) fn or_else(self, unusual: impl FnOnce() -> Self) -> Self {
        if self.theta.is_nan() { unusual() } else { self }
    }
}

/// A stage of which only a part counts, if any, which is long or leads towards the pole, or under another form of the rate.
#[cold]
fn unusual(rate: &Rate, stage: &Stage) -> Stretch {
    if let Some(other) = &rate.other {
        return other_time::stretch(other, stage);
    }
    let Stage { start, around, tau, hours } = *stage;
    let (d, ratio) = (start - around, hours / tau);
    let kept = (-ratio).exp();
    let whole = Stretch {
        end_c: around + d * kept,
        end_by_start: kept,
        end_by_tau: d * kept * ratio / tau,
        ..Stretch::default()
    };
    let inside = |t: f64| t > rate.t_min && t < rate.t_max;
    let part = match inside(start) && inside(whole.end_c) {
        true => Some((0.0, hours)),
        false => time_inside((rate.t_min, rate.t_max), start, around, tau, hours),
    };
    let Some((from, to)) = part else { return whole };
    // The part starts `from` hours into the stage, at a temperature that itself hangs on T0, E and tau.
    let carried = (-from / tau).exp();
    let path = Path::new(&Stage { start: around + d * carried, around, tau, hours: to - from });
    let (k, k2) = path.pole_integrals(rate.w);
    let part = path.stretch(rate, k, k2);
    let by_start = part.theta_by_start;
    Stretch {
        theta: part.theta,
        theta_by_start: by_start * carried,
        theta_by_around: part.theta_by_around + by_start * (1.0 - carried),
        theta_by_tau: part.theta_by_tau + by_start * (d * carried * from / (tau * tau)),
        theta_by_rate: part.theta_by_rate,
        ..whole
    }
}

/// The path of y = T - 25 from y0 to y1, towards u, in `hours` with the time constant tau.
struct Path {
    y0: f64,
    y1: f64,
    u: f64,
    tau: f64,
    per_tau: f64,
    hours: f64,
    /// 1 - e^(-H/tau).
    lost: f64,
    /// y0 - y1.
    fall: f64,
    m1: f64,
    m2: f64,
}

/// The series in z is summed where z is below this.
const LONG: f64 = 0.15;
/// Coefficients of B', highest power first: 18 terms reach double precision there.
const SERIES: [f64; 18] = {
    let mut terms = [0.0; 18];
    let mut i = 0;
    while i < 18 {
        terms[i] = 1.0 / (2.0 * (17 - i) as f64 + 5.0);
        i += 1;
    }
    terms
};

/// E is on the pole where 1 + w u is below this.
const ON_POLE: f64 = 0.03;
/// Terms that reach double precision there.
const ON_POLE_TERMS: u32 = 11;

impl Path {
    #[inline(always)]
    fn new(stage: &Stage) -> Self {
        let Stage { start, around, tau, hours } = *stage;
        let per_tau = tau.recip();
        let lost = -exp_m1(-(hours * per_tau));
        let d = start - around;
        let fall = d * lost;
        let (y0, u) = (start - REFERENCE_C, around - REFERENCE_C);
        let moved = fall * tau;
        let m1 = u * hours + moved;
        let m2 = u * (u * hours + 2.0 * moved) + 0.5 * d * moved * (2.0 - lost);
        Self { y0, y1: y0 - fall, u, tau, per_tau, hours, lost, fall, m1, m2 }
    }

    /// What the path is worth, K and K2 given.
    #[inline(always)]
    fn stretch(&self, rate: &Rate, k: f64, k2: f64) -> Stretch {
        let Self { y0, y1, u, tau, per_tau, hours, lost, m1, m2, .. } = *self;
        let Rate { a1, a2, b3, w, .. } = *rate;
        let theta = hours + a1 * m1 + a2 * m2 + b3 * k;
        let per_first = (1.0 + w * y0).recip();
        let per_last = (1.0 + w * y1).recip();
        let cubic = (y0 * y0 + y0 * y1 + y1 * y1 + w * y0 * y1 * (y0 + y1)) * per_first * per_last;
        let by_start = tau * lost * (a1 + a2 * (y0 + y1) + b3 * cubic);
        let slope_integral = a1 * hours + 2.0 * a2 * m1 + b3 * (3.0 * m2 + w * (w * k2 - 4.0 * k));
        let at_end = 1.0 + y1 * (a1 + y1 * (a2 + y1 * b3 * per_last));
        let kept = 1.0 - lost;
        Stretch {
            theta,
            end_c: y1 + REFERENCE_C,
            theta_by_start: by_start,
            theta_by_around: slope_integral - by_start,
            theta_by_tau: (theta - hours * at_end) * per_tau,
            theta_by_rate: [m1, m2, k, -b3 * k2],
            end_by_start: kept,
            end_by_tau: (y0 - u) * kept * (hours * per_tau) * per_tau,
        }
    }

    /// K = int y³/(1 + w y) dt and K2 = int y⁴/(1 + w y)² dt, and whether they hold.
    #[inline(always)]
    fn about_the_middle(&self, w: f64) -> (f64, f64, bool) {
        let Self { u, tau, hours, fall, .. } = *self;
        let c = 0.5 * (self.y0 + self.y1);
        let p = 1.0 + w * c;
        let per_p = p.recip();
        let h_p = 0.5 * fall * per_p;
        let g = h_p * h_p;
        let z = w * w * g;
        let b1 = polynomial(&SERIES, z);
        let b = b1 * z + 1.0 / 3.0;
        let a = b * z + 1.0;
        let wg = w * g;

        let j0 = fall * per_p * a;
        let i1 = -fall * wg * b;
        let j1 = c * j0 + i1;
        let j2 = c * (j1 + i1) + fall * p * g * b;
        let q = 1.0 + w * u;
        let per_q = q.recip();
        let s = u * (u * (u * hours + tau * fall) + tau * j1) * per_q;

        // The integrals of (y - c)^n/(1 + w y)² dy.
        let whole = (1.0 - z).recip();
        let c0 = fall * per_p * per_p * whole;
        let c1 = -fall * wg * per_p * (whole - b);
        let c2 = fall * g * (whole - 2.0 * b);
        let c3 = -fall * wg * g * p * (whole - 3.0 * b1);
        let q2 = c * (c * c0 + 2.0 * c1) + c2;
        let q3 = c * (c * (c * c0 + 3.0 * c1) + 3.0 * c2) + c3;
        let k2 = tau * q3 + u * per_q * (tau * q2 + s);
        (s + tau * j2, k2, (z < LONG) & (q.abs() > ON_POLE))
    }

    /// The same wherever the pole and the path lie.
    fn pole_integrals(&self, w: f64) -> (f64, f64) {
        let (k, k2, holds) = self.about_the_middle(w);
        if holds {
            return (k, k2);
        }
        let Self { hours: h, m1, m2, .. } = *self;
        let (l1, l2) = self.reciprocals(w);
        let k = (m2 - (m1 - (h - l1) / w) / w) / w;
        let k2 = (m2 - (2.0 * m1 - (3.0 * h - 4.0 * l1 + l2) / w) / w) / (w * w);
        (k, k2)
    }

    /// Integrals over time of 1/(1 + w y) and 1/(1 + w y)².
    fn reciprocals(&self, w: f64) -> (f64, f64) {
        let Self { tau, hours, lost, .. } = *self;
        let (q, g) = (1.0 + w * self.u, w * (self.y0 - self.u));
        let (first, last) = (q + g, q + g * (1.0 - lost));
        if q.abs() > ON_POLE * last.abs() {
            let integral = (hours + tau * (-g * lost / first).ln_1p()) / q;
            let by_q = tau * (last.recip() - first.recip());
            return (integral, (integral - by_q) / q);
        }
        // The closed form is 0/0; expand 1/(g e^(-t/tau) + q) in powers of q.
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
