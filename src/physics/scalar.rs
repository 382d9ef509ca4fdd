//! A number, or a number that carries its slope along one direction.
//!
//! The model needs the derivative of ln rise along ln k (to integrate a batch's own vigour out), and
//! the gradient of that derivative. Code written once over [`Scalar`] and run on [`Jet`] gives both:
//! hand-written first derivatives evaluated on jets carry the second derivative in their slope.
//!
//! Source: the chain rule (differentiation in forward mode). Limits: one direction at a time.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// What the physics needs of a number.
pub trait Scalar:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
    + Div<f64, Output = Self>
{
    /// The number itself, without its slope.
    fn value(self) -> f64;
    /// A constant: a number of no slope.
    fn constant(x: f64) -> Self;
    /// e to this power.
    fn exp(self) -> Self;
    /// e to this power, less one, exact near zero.
    fn exp_m1(self) -> Self;
    /// Natural logarithm.
    fn ln(self) -> Self;
    /// Natural logarithm of one plus this, exact near zero.
    fn ln_1p(self) -> Self;
    /// Square root.
    fn sqrt(self) -> Self;
    /// Itself times `by_value`, and its slope (if it carries one) times `by_slope`.
    fn contract(self, by_value: f64, by_slope: f64) -> f64;
}

impl Scalar for f64 {
    fn value(self) -> f64 {
        self
    }
    fn constant(x: f64) -> Self {
        x
    }
    fn exp(self) -> Self {
        self.exp()
    }
    fn exp_m1(self) -> Self {
        self.exp_m1()
    }
    fn ln(self) -> Self {
        self.ln()
    }
    fn ln_1p(self) -> Self {
        self.ln_1p()
    }
    fn sqrt(self) -> Self {
        self.sqrt()
    }
    fn contract(self, by_value: f64, _by_slope: f64) -> f64 {
        self * by_value
    }
}

/// A number `x` with its slope `d` along one chosen direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Jet {
    /// The number.
    pub x: f64,
    /// Its derivative along the direction.
    pub d: f64,
}

impl Jet {
    /// A number with a slope.
    pub const fn new(x: f64, d: f64) -> Self {
        Self { x, d }
    }
}

impl Scalar for Jet {
    fn value(self) -> f64 {
        self.x
    }
    fn constant(x: f64) -> Self {
        Self::new(x, 0.0)
    }
    fn exp(self) -> Self {
        let e = self.x.exp();
        Self::new(e, e * self.d)
    }
    fn exp_m1(self) -> Self {
        let e = self.x.exp_m1();
        Self::new(e, (e + 1.0) * self.d)
    }
    fn ln(self) -> Self {
        Self::new(self.x.ln(), self.d / self.x)
    }
    fn ln_1p(self) -> Self {
        Self::new(self.x.ln_1p(), self.d / (1.0 + self.x))
    }
    fn sqrt(self) -> Self {
        let root = self.x.sqrt();
        Self::new(root, 0.5 * self.d / root)
    }
    fn contract(self, by_value: f64, by_slope: f64) -> f64 {
        self.x * by_value + self.d * by_slope
    }
}

impl Add for Jet {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self::new(self.x + o.x, self.d + o.d)
    }
}

impl Sub for Jet {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self::new(self.x - o.x, self.d - o.d)
    }
}

impl Mul for Jet {
    type Output = Self;
    fn mul(self, o: Self) -> Self {
        Self::new(self.x * o.x, self.d * o.x + self.x * o.d)
    }
}

impl Div for Jet {
    type Output = Self;
    fn div(self, o: Self) -> Self {
        // One division for both: the dearest step of the physics.
        let by = o.x.recip();
        let q = self.x * by;
        Self::new(q, (self.d - q * o.d) * by)
    }
}

impl Neg for Jet {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.x, -self.d)
    }
}

impl Add<f64> for Jet {
    type Output = Self;
    fn add(self, o: f64) -> Self {
        Self::new(self.x + o, self.d)
    }
}

impl Sub<f64> for Jet {
    type Output = Self;
    fn sub(self, o: f64) -> Self {
        Self::new(self.x - o, self.d)
    }
}

impl Mul<f64> for Jet {
    type Output = Self;
    fn mul(self, o: f64) -> Self {
        Self::new(self.x * o, self.d * o)
    }
}

impl Div<f64> for Jet {
    type Output = Self;
    fn div(self, o: f64) -> Self {
        Self::new(self.x / o, self.d / o)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Value and slope of `f` on jets against `f` on numbers and their central difference.
    fn agrees(name: &str, jets: impl Fn(Jet) -> Jet, numbers: impl Fn(f64) -> f64) {
        const STEP: f64 = 1e-5;
        for x in [0.3, 1.7] {
            let jet = jets(Jet::new(x, 2.0));
            let slope = (numbers(x + STEP) - numbers(x - STEP)) / STEP;
            assert!((jet.x - numbers(x)).abs() < 1e-13, "{name}: {} {}", jet.x, numbers(x));
            assert!((jet.d - slope).abs() < 1e-8 * slope.abs().max(1.0), "{name}: {} {slope}", jet.d);
        }
    }

    #[test]
    fn slopes_of_jets_are_differences_of_numbers() {
        let c = |x: Jet| x * 0.7 + 1.1;
        agrees("sum", |x| x * x + c(x), |x| x * x + (0.7 * x + 1.1));
        agrees("difference", |x| x * x - c(x), |x| x * x - (0.7 * x + 1.1));
        agrees("product", |x| x * c(x), |x| x * (0.7 * x + 1.1));
        agrees("quotient", |x| x / c(x), |x| x / (0.7 * x + 1.1));
        agrees("negative", |x| -(x * x), |x| -(x * x));
        agrees("less a number", |x| x * x - 0.4, |x| x * x - 0.4);
        agrees("over a number", |x| x / 0.4, |x| x / 0.4);
        agrees("exp", Scalar::exp, f64::exp);
        agrees("exp_m1", Scalar::exp_m1, f64::exp_m1);
        agrees("ln", Scalar::ln, f64::ln);
        agrees("ln_1p", Scalar::ln_1p, f64::ln_1p);
        agrees("sqrt", Scalar::sqrt, f64::sqrt);
    }

    #[test]
    fn numbers_are_jets_without_a_slope() {
        fn all<N: Scalar>(x: N) -> [f64; 6] {
            [x.exp(), x.exp_m1(), x.ln(), x.ln_1p(), x.sqrt(), N::constant(3.0)].map(Scalar::value)
        }
        assert_eq!(all(0.7), all(Jet::new(0.7, 5.0)));
        assert_eq!((0.7_f64.contract(2.0, 9.0), Jet::new(0.7, 5.0).contract(2.0, 9.0)), (1.4, 46.4));
        assert_eq!(Jet::constant(3.0), Jet::new(3.0, 0.0));
    }
}
