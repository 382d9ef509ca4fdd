//! Thermal time of one stage by Gauss-Legendre quadrature, where the program uses a closed form.
//!
//! theta = integral of r(E + (T0 - E) e^(-t/tau)) dt over 0..H. The stage is cut where the path meets Tmin or
//! Tmax and at tau/2, tau, 2 tau, 4 tau ...; each piece takes 24 nodes. The cuts are plain numbers: r
//! vanishes where the path enters or leaves, so moving cuts add nothing to the derivatives.

use super::Number;
use super::rate::Cardinal;

const NODES: usize = 24;

/// Nodes on (-1, 1) and weights, by Newton's method on the Legendre polynomial.
fn nodes() -> Vec<(f64, f64)> {
    let n = NODES as f64;
    (0..NODES)
        .map(|i| {
            let mut x = (std::f64::consts::PI * (i as f64 + 0.75) / (n + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..100 {
                let (mut before, mut p) = (1.0, x);
                for k in 2..=NODES {
                    let k = k as f64;
                    (before, p) = (p, ((2.0 * k - 1.0) * x * p - (k - 1.0) * before) / k);
                }
                slope = n * (x * p - before) / (x * x - 1.0);
                x -= p / slope;
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

thread_local! {
    static RULE: Vec<(f64, f64)> = nodes();
}

/// Integral of a plain function from `low` to `high`, in pieces of at most one.
pub fn integral(low: f64, high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let pieces = (high - low).abs().ceil().max(1.0);
    let half = 0.5 * (high - low) / pieces;
    let piece = |i: u32| {
        let middle = low + (2.0 * f64::from(i) + 1.0) * half;
        RULE.with(|rule| rule.iter().map(|(x, weight)| f(middle + half * x) * weight * half).sum::<f64>())
    };
    (0..pieces as u32).map(piece).sum()
}

/// Temperature in °C after `hours`.
pub fn temperature<T: Number>(start: T, around: T, tau: T, hours: f64) -> T {
    around + (start - around) * (-(tau.recip() * hours)).exp()
}

/// Thermal time in h, by the rate relative to 25 °C.
pub fn thermal_time<T: Number>(cardinal: &Cardinal<T>, start: T, around: T, tau: T, hours: f64) -> T {
    let (e, d, lag) = (around.re(), (start - around).re(), tau.re());
    let mut cuts = vec![0.0, hours];
    cuts.extend((-1..8).map(|i| lag * 2f64.powi(i)));
    for limit in [cardinal.t_min.re(), cardinal.t_max.re()] {
        let share = (limit - e) / d;
        if share > 0.0 && share.is_finite() {
            // Closer together there: the pole may lie just outside.
            let at = -lag * share.ln();
            cuts.extend([-0.3, -0.1, -0.03, 0.0, 0.03, 0.1, 0.3].map(|off| at + off * lag));
        }
    }
    cuts.retain(|t| (0.0..=hours).contains(t));
    cuts.sort_by(f64::total_cmp);
    let mut sum = T::zero();
    for piece in cuts.windows(2) {
        let (middle, half) = (0.5 * (piece[0] + piece[1]), 0.5 * (piece[1] - piece[0]));
        RULE.with(|rule| {
            for (x, weight) in rule {
                let t = temperature(start, around, tau, middle + half * x);
                sum += cardinal.rate(t) * (weight * half);
            }
        });
    }
    sum
}
