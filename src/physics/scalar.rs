//! A number, or a number that carries its slope along one direction.
//!
//! The model needs the derivative of ln rise along ln k (to integrate a batch's own vigour out), and
//! the gradient of that derivative. Code written once over [`Scalar`] and run on [`Jet`] gives both:
//! hand-written first derivatives evaluated on jets carry the second derivative in their slope.
//!
//! Source: the chain rule (differentiation in forward mode). Limits: one direction at a time.

use std::ops::{Add, Div, Mul, Neg, Sub};

use super::elementary;

/// What the physics needs of a number.
pub trait Scalar:
    Copy
    + Default
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
    /// Natural logarithm, when the reciprocal is at hand.
    fn ln_given(self, reciprocal: Self) -> Self;
    /// Square root and its reciprocal.
    fn sqrt_and_reciprocal(self) -> (Self, Self);
    /// Itself times `by_value`, and its slope (if it carries one) times `by_slope`.
    fn contract(self, by_value: f64, by_slope: f64) -> f64;
}

impl Scalar for f64 {
    #[inline(always)]
    fn value(self) -> f64 {
        self
    }
    #[inline(always)]
    fn constant(x: f64) -> Self {
        x
    }
    #[inline(always)]
    fn exp(self) -> Self {
        elementary::exp(self)
    }
    #[inline(always)]
    fn exp_m1(self) -> Self {
        elementary::exp_m1(self)
    }
    #[inline(always)]
    fn ln_given(self, _reciprocal: Self) -> Self {
        elementary::ln(self)
    }
    #[inline(always)]
    fn sqrt_and_reciprocal(self) -> (Self, Self) {
        let root = self.sqrt();
        (root, root.recip())
    }
    #[inline(always)]
    fn contract(self, by_value: f64, _by_slope: f64) -> f64 {
        self * by_value
    }
}

/// A number `x` with its slope `d` along one chosen direction.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
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
    #[inline(always)]
    fn value(self) -> f64 {
        self.x
    }
    #[inline(always)]
    fn constant(x: f64) -> Self {
        Self::new(x, 0.0)
    }
    #[inline(always)]
    fn exp(self) -> Self {
        let e = elementary::exp(self.x);
        Self::new(e, e * self.d)
    }
    #[inline(always)]
    fn exp_m1(self) -> Self {
        let e = elementary::exp_m1(self.x);
        Self::new(e, (e + 1.0) * self.d)
    }
    #[inline(always)]
    fn ln_given(self, reciprocal: Self) -> Self {
        Self::new(elementary::ln(self.x), self.d * reciprocal.x)
    }
    #[inline(always)]
    fn sqrt_and_reciprocal(self) -> (Self, Self) {
        let root = self.x.sqrt();
        let by = root.recip();
        let slope = 0.5 * self.d * by;
        (Self::new(root, slope), Self::new(by, -slope * by * by))
    }
    #[inline(always)]
    fn contract(self, by_value: f64, by_slope: f64) -> f64 {
        self.x * by_value + self.d * by_slope
    }
}

impl Add for Jet {
    type Output = Self;
    #[inline(always)]
    fn add(self, o: Self) -> Self {
        Self::new(self.x + o.x, self.d + o.d)
    }
}

impl Sub for Jet {
    type Output = Self;
    #[inline(always)]
    fn sub(self, o: Self) -> Self {
        Self::new(self.x - o.x, self.d - o.d)
    }
}

impl Mul for Jet {
    type Output = Self;
    #[inline(always)]
    fn mul(self, o: Self) -> Self {
        Self::new(self.x * o.x, self.d * o.x + self.x * o.d)
    }
}

impl Div for Jet {
    type Output = Self;
    #[inline(always)]
    fn div(self, o: Self) -> Self {
        // One division for both: the dearest step of the physics.
        let by = o.x.recip();
        let q = self.x * by;
        Self::new(q, (self.d - q * o.d) * by)
    }
}

impl Neg for Jet {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        Self::new(-self.x, -self.d)
    }
}

impl Add<f64> for Jet {
    type Output = Self;
    #[inline(always)]
    fn add(self, o: f64) -> Self {
        Self::new(self.x + o, self.d)
    }
}

impl Sub<f64> for Jet {
    type Output = Self;
    #[inline(always)]
    fn sub(self, o: f64) -> Self {
        Self::new(self.x - o, self.d)
    }
}

impl Mul<f64> for Jet {
    type Output = Self;
    #[inline(always)]
    fn mul(self, o: f64) -> Self {
        Self::new(self.x * o, self.d * o)
    }
}

impl Div<f64> for Jet {
    type Output = Self;
    #[inline(always)]
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
        agrees("ln", |x| x.ln_given(Jet::constant(1.0) / x), f64::ln);
        agrees("root", |x| x.sqrt_and_reciprocal().0, f64::sqrt);
        agrees("reciprocal of the root", |x| x.sqrt_and_reciprocal().1, |x| 1.0 / x.sqrt());
    }

    #[test]
    fn numbers_are_jets_without_a_slope() {
        fn all<N: Scalar>(x: N) -> [f64; 6] {
            let (root, per_root) = x.sqrt_and_reciprocal();
            [x.exp(), x.exp_m1(), x.ln_given(per_root), root, per_root, N::constant(3.0)].map(Scalar::value)
        }
        assert_eq!(all(0.7), all(Jet::new(0.7, 5.0)));
        assert_eq!((0.7_f64.contract(2.0, 9.0), Jet::new(0.7, 5.0).contract(2.0, 9.0)), (1.4, 46.4));
        assert_eq!(Jet::constant(3.0), Jet::new(3.0, 0.0));
    }
}
