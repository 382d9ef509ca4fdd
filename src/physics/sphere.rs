//! Conduction inside a piece of dough: a sphere in surroundings of one temperature.
//!
//! Computes theta = (T - E)/(T0 - E), without unit, at a relative radius r* (0 centre, 1 skin) and its
//! volume mean, from the Biot number Bi = h R/k and the Fourier number Fo = alpha t/R²:
//! theta(r*) = sum C_n exp(-z_n² Fo) sin(z_n r*)/(z_n r*), z_n the roots of 1 - z cot z = Bi,
//! C_n = 4 (sin z - z cos z)/(2z - sin 2z); volume mean: sum C_n exp(-z_n² Fo) 3 (sin z - z cos z)/z³.
//!
//! Source: the exact series of heat-transfer textbooks (e.g. Incropera & DeWitt, *Fundamentals of Heat and
//! Mass Transfer*, transient conduction). Limits: constant properties, no heat of fermentation, Bi > 0.

/// How many terms are kept; the last matters only for Fo below 1e-4.
const TERMS: usize = 60;

/// A sphere with its roots worked out.
#[derive(Debug, Clone)]
pub struct Sphere {
    roots: Vec<f64>,
}

impl Sphere {
    /// The sphere of Biot number `bi` > 0.
    pub fn new(bi: f64) -> Self {
        Self { roots: (0..TERMS).map(|n| root(n, bi)).collect() }
    }

    /// The n-th root z_n and its factor C_n, n from 0 to 59.
    pub fn term(&self, n: usize) -> (f64, f64) {
        let z = self.roots[n];
        (z, 4.0 * (z.sin() - z * z.cos()) / (2.0 * z - (2.0 * z).sin()))
    }

    /// theta, without unit, at relative radius `r` (0 to 1) and Fourier number `fo`.
    pub fn at(&self, r: f64, fo: f64) -> f64 {
        self.sum(fo, |z| {
            let zr = z * r;
            if zr < 1e-8 { 1.0 } else { zr.sin() / zr }
        })
    }

    /// Volume mean of theta at Fourier number `fo`.
    pub fn mean(&self, fo: f64) -> f64 {
        self.sum(fo, |z| 3.0 * (z.sin() - z * z.cos()) / z.powi(3))
    }

    fn sum(&self, fo: f64, shape: impl Fn(f64) -> f64) -> f64 {
        (0..TERMS)
            .map(|n| {
                let (z, c) = self.term(n);
                c * (-z * z * fo).exp() * shape(z)
            })
            .sum()
    }
}

/// The n-th root of 1 - z cot z = bi; it lies between n pi and (n+1) pi, where the left side rises from
/// its least value to infinity.
fn root(n: usize, bi: f64) -> f64 {
    let pi = std::f64::consts::PI;
    let (mut low, mut high) = (n as f64 * pi, (n as f64 + 1.0) * pi);
    for _ in 0..100 {
        let z = 0.5 * (low + high);
        // (1 - bi) sin z - z cos z has the sign of 1 - z cot z - bi times that of sin z.
        let sign = if n.is_multiple_of(2) { 1.0 } else { -1.0 };
        if sign * ((1.0 - bi) * z.sin() - z * z.cos()) < 0.0 { low = z } else { high = z }
    }
    0.5 * (low + high)
}
