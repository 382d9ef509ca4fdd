//! A number, or a number that carries its slope along one direction.
//!
//! The model needs the derivative of ln rise along ln k (to integrate a batch's own vigour out), and
//! the gradient of that derivative. Code written once over [`Scalar`] and run on [`Jet`] gives both:
//! hand-written first derivatives evaluated on jets carry the second derivative in their slope.

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
