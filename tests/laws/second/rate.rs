//! The cardinal temperature model as Rosso, Lobry & Flandrois (1993) print it, and its notional Tmin.

use num_dual::Dual64;

use super::Number;

/// Cardinal temperatures in °C.
pub struct Cardinal<T> {
    pub t_min: T,
    pub t_opt: T,
    pub t_max: T,
}

fn gamma<T: Number>(t: T, min: T, opt: T, max: T) -> T {
    let below = (opt - min) * ((opt - min) * (t - opt) - (opt - max) * (opt + min - t * 2.0));
    (t - max) * (t - min).powi(2) / below
}

fn miss<T: Number>(min: T, opt: T, max: T, rho4: T) -> T {
    gamma(T::from(4.0), min, opt, max) - rho4 * gamma(T::from(25.0), min, opt, max)
}

impl<T: Number> Cardinal<T> {
    /// From rho4 = r(4 °C): bisection on plain numbers, then two of Newton's steps in dual numbers.
    pub fn from_rho4(rho4: T, t_opt: T, t_max: T) -> Self {
        let (o, m, r) = (t_opt.re(), t_max.re(), rho4.re());
        let (mut low, mut high) = (-300.0, 3.9999);
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if miss(middle, o, m, r) > 0.0 { low = middle } else { high = middle }
        }
        let mut t_min = T::from(0.5 * (low + high));
        for _ in 0..2 {
            let along = Dual64::from(t_min.re()).derivative();
            let slope = miss(along, Dual64::from(o), Dual64::from(m), Dual64::from(r)).eps;
            t_min -= miss(t_min, t_opt, t_max, rho4) / slope;
        }
        Self { t_min, t_opt, t_max }
    }

    /// The slope of the model's denominator, 3 Topt - Tmin - 2 Tmax: its pole is as far as this is small.
    pub fn bracket_slope(&self) -> T {
        self.t_opt * 3.0 - self.t_min - self.t_max * 2.0
    }

    /// The rate at `t` °C over that at 25 °C; zero outside (Tmin, Tmax).
    pub fn rate(&self, t: T) -> T {
        if t.re() <= self.t_min.re() || t.re() >= self.t_max.re() {
            return T::zero();
        }
        let at = |t| gamma(t, self.t_min, self.t_opt, self.t_max);
        at(t) / at(T::from(25.0))
    }
}
