//! Thermal time of one stage under a rate without closed form, by quadrature, with its derivatives.
//!
//! As [`super::thermal_time`]: theta = integral of r(T(t)) dt over 0..H along T(t) = E + (T0 - E) e^(-t/tau), in hours at
//! 25 °C. With D = T0 - E and T1 the end, dt = -tau dT/(T - E), so that
//! theta = r(E) H + tau int from T1 to T0 of [r(T) - r(E)]/(T - E) dT, whose integrand is smooth also at E: Gauss-Legendre
//! with ten nodes. The same holds for r'(T) and for the derivatives of r by its coefficients. The other derivatives
//! need no integral: by T0 tau [r(T0) - r(T1)]/D, by tau (theta - H r(T1))/tau, by E int r' dt less that by T0.
//!
//! Source: the ten nodes and weights as in any table of Gauss-Legendre quadrature (from memory; the tests integrate
//! polynomials and compare with the closed form). Limits: one constant E a stage. Of a path that
//! leaves (Tmin, Tmax) only the part inside is integrated; r and r' vanish at both ends, so the moving limits add nothing.

use super::other_rate::{OtherRate, Point};
use super::thermal_time::{Stage, Stretch, time_inside};

/// Nodes on the right half of -1..1, with their weights.
const NODES: [(f64, f64); 5] = [
    (0.148_874_338_981_631_2, 0.295_524_224_714_752_9),
    (0.433_395_394_129_247_2, 0.269_266_719_309_996_3),
    (0.679_409_568_299_024_4, 0.219_086_362_515_982),
    (0.865_063_366_688_984_5, 0.149_451_349_150_580_6),
    (0.973_906_528_517_171_7, 0.066_671_344_308_688_1),
];

/// Above this temperature, in °C, r may bend sharply: a path that comes there is cut into so many panels.
const BENDS_C: f64 = 34.0;
const HOT_PANELS: usize = 6;

/// Below this difference of start and surroundings, in °C, the path stands still.
const STILL: f64 = 1e-7;

/// What `stage` is worth under `rate`.
pub fn stretch(rate: &OtherRate, stage: &Stage) -> Stretch {
    let Stage { start, around, tau, hours } = *stage;
    let d = start - around;
    let ratio = hours / tau;
    let lost = -(-ratio).exp_m1();
    let end = around + d * (1.0 - lost);
    let there = rate.point(around);
    let (low, high) = rate.limits();
    let inside = |t: f64| t > low && t < high;
    let sum = match inside(start) && inside(end) {
        true => Sum::over(rate, &there, Piece { d, around, tau, hours }),
        false => {
            time_inside((low, high), start, around, tau, hours).map_or_else(Sum::default, |(from, to)| {
                Sum::over(rate, &there, Piece { d: d * (-from / tau).exp(), around, tau, hours: to - from })
            })
        }
    };
    let last = rate.point(end);
    let by_start = match d.abs() < STILL {
        true => tau * lost * there.by_t,
        false => tau * (rate.at(start) - last.r) / d,
    };
    let [a, b, c] = sum.by_coefficient;
    Stretch {
        theta: sum.r,
        end_c: end,
        theta_by_start: by_start,
        theta_by_around: sum.by_t - by_start,
        theta_by_tau: (sum.r - hours * last.r) / tau,
        theta_by_rate: [a, b, c, 0.0],
        end_by_start: 1.0 - lost,
        end_by_tau: d * (1.0 - lost) * ratio / tau,
    }
}

/// A part of the path that lies where r is not zero; it begins `d` °C over the surroundings.
struct Piece {
    d: f64,
    around: f64,
    tau: f64,
    hours: f64,
}

/// Weighted sums of r and its derivatives.
#[derive(Default)]
struct Sum {
    r: f64,
    by_t: f64,
    by_coefficient: [f64; 3],
}

impl Sum {
    /// Integrals over a piece; `there` is the rate at the surroundings.
    fn over(rate: &OtherRate, there: &Point, piece: Piece) -> Self {
        let Piece { d, around, tau, hours } = piece;
        let lost = -(-hours / tau).exp_m1();
        let mut sum = Self::default();
        sum.add(hours, there);
        let warmest = around + d.max(d * (1.0 - lost));
        let panels = if warmest > BENDS_C { HOT_PANELS } else { 1 };
        let half = lost / (2.0 * panels as f64);
        for panel in 0..panels {
            let middle = 1.0 - lost + half * (2 * panel + 1) as f64;
            for (x, w) in NODES {
                for share in [middle + half * x, middle - half * x] {
                    let weight = tau * half * w / share;
                    sum.add(weight, &rate.point(around + d * share));
                    sum.add(-weight, there);
                }
            }
        }
        sum
    }

    fn add(&mut self, weight: f64, point: &Point) {
        self.r += weight * point.r;
        self.by_t += weight * point.by_t;
        for (sum, by) in self.by_coefficient.iter_mut().zip(point.by_coefficient) {
            *sum += weight * by;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ten_nodes_integrate_polynomials_to_the_nineteenth_power() {
        for power in 0..20 {
            let sum: f64 = NODES.iter().map(|(x, w)| w * (x.powi(power) + (-x).powi(power))).sum();
            let wanted = if power % 2 == 0 { 2.0 / (f64::from(power) + 1.0) } else { 0.0 };
            assert!((sum - wanted).abs() < 1e-14, "{power}: {sum} {wanted}");
        }
    }

    /// Simpson's rule with many steps in time.
    fn simpson(rate: &OtherRate, start: f64, around: f64, tau: f64, hours: f64) -> f64 {
        const STEPS: usize = 20_000;
        let h = hours / STEPS as f64;
        let r = |i: usize| rate.at(around + (start - around) * (-(i as f64) * h / tau).exp());
        let inner: f64 = (1..STEPS).map(|i| r(i) * if i % 2 == 1 { 4.0 } else { 2.0 }).sum();
        (r(0) + inner + r(STEPS)) * h / 3.0
    }

    #[test]
    fn thermal_time_and_slopes_agree_with_plain_integration() {
        let rates = [
            OtherRate::square_root(0.107, 35.5, 45.5).expect("the medians have one"),
            OtherRate::arrhenius(0.107, 38.3, 250.0).expect("and the other"),
        ];
        for rate in rates {
            for (start, around, tau, hours) in [
                (23.0, 4.0, 2.0, 24.0),
                (7.0, 22.0, 1.5, 3.0),
                (24.0, 24.0, 4.0, 2.0),
                (20.0, 36.0, 3.0, 0.5),
                (24.0, 49.0, 1.0, 2.0),
                (50.0, 30.0, 1.0, 2.0),
            ] {
                let s = stretch(&rate, &Stage { start, around, tau, hours });
                let wanted = simpson(&rate, start, around, tau, hours);
                assert!((s.theta / wanted - 1.0).abs() < 1e-9, "{start} {around}: {} {wanted}", s.theta);
                let h = 1e-4;
                let theta = |s: f64, a: f64, t: f64| {
                    stretch(&rate, &Stage { start: s, around: a, tau: t, hours }).theta
                };
                let by = |up: f64, down: f64| (up - down) / (2.0 * h);
                let pairs = [
                    (s.theta_by_start, by(theta(start + h, around, tau), theta(start - h, around, tau))),
                    (s.theta_by_around, by(theta(start, around + h, tau), theta(start, around - h, tau))),
                    (s.theta_by_tau, by(theta(start, around, tau + h), theta(start, around, tau - h))),
                ];
                for (found, wanted) in pairs {
                    assert!((found - wanted).abs() < 1e-6 * wanted.abs().max(1e-2), "{found} {wanted}");
                }
            }
        }
    }
}
