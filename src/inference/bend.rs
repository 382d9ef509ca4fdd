//! A smooth curve that rises through given points.
//!
//! Computes h(v), h'(v) and h''(v) of the natural cubic spline through points (v_k, y_k), straight beyond the first and the
//! last: h'' is continuous everywhere, as a sampler's steps along a density told by h want it; and v of h(v) = y. v and y
//! without unit.
//!
//! Source: de Boor 1978, *A Practical Guide to Splines*, chapter IV (from memory). Limits: points through which the spline
//! would fall anywhere are refused.

/// The least slope of a curve over its mean slope.
const LEAST_SLOPE: f64 = 0.02;
/// [`Bend::back`] ends at this part of a unit of v.
const NEAR: f64 = 1e-13;
/// Its steps at most.
const STEPS: usize = 100;

/// The curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Bend {
    /// v_k, rising.
    at: Vec<f64>,
    /// h(v_k).
    value: Vec<f64>,
    /// h'(v_k).
    slope: Vec<f64>,
    /// h''(v_k).
    bent: Vec<f64>,
}

/// The curve at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Here {
    /// h.
    pub value: f64,
    /// h'.
    pub slope: f64,
    /// h''.
    pub bent: f64,
}

impl Bend {
    /// h(v) = `slope` v.
    pub fn straight(slope: f64) -> Self {
        Self { at: vec![0.0], value: vec![0.0], slope: vec![slope], bent: vec![0.0] }
    }

    /// Through two points (v, y) or more, in the order of v; `None` where that curve does not rise everywhere.
    pub fn through(points: &[(f64, f64)]) -> Option<Self> {
        let (at, value): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
        let n = at.len();
        if n < 2 || at.windows(2).any(|w| w[0] >= w[1]) || value.iter().any(|y| !y.is_finite()) {
            return None;
        }
        let wide = |i: usize| at[i + 1] - at[i];
        let secant = |i: usize| (value[i + 1] - value[i]) / wide(i);
        let bent = bends(n, wide, secant);
        // On a stretch, h' at its ends follows from h'' there.
        let slope = (0..n)
            .map(|i| match i + 1 < n {
                true => secant(i) - wide(i) * (2.0 * bent[i] + bent[i + 1]) / 6.0,
                false => secant(i - 1) + wide(i - 1) * (bent[i - 1] + 2.0 * bent[i]) / 6.0,
            })
            .collect();
        let least = LEAST_SLOPE * (value[n - 1] - value[0]) / (at[n - 1] - at[0]);
        let curve = Self { at, value, slope, bent };
        let rises = curve.lowest_slopes().all(|s| s > least && least > 0.0);
        rises.then_some(curve)
    }

    /// h' at all points, and where it is least between two.
    fn lowest_slopes(&self) -> impl Iterator<Item = f64> {
        let between = (0..self.at.len() - 1).filter_map(|i| {
            let (from, to) = (self.bent[i], self.bent[i + 1]);
            // h'' goes from below zero to above it.
            (from < 0.0 && to > 0.0).then(|| {
                let wide = self.at[i + 1] - self.at[i];
                self.slope[i] - 0.5 * from * from * wide / (to - from)
            })
        });
        self.slope.iter().copied().chain(between)
    }

    /// The curve at v.
    pub fn at(&self, v: f64) -> Here {
        let after = self.at.partition_point(|&a| a < v);
        let last = self.at.len() - 1;
        if after == 0 || after > last {
            let i = after.min(last);
            let value = self.value[i] + self.slope[i] * (v - self.at[i]);
            return Here { value, slope: self.slope[i], bent: 0.0 };
        }
        let i = after - 1;
        let t = v - self.at[i];
        let third = (self.bent[after] - self.bent[i]) / (self.at[after] - self.at[i]);
        Here {
            value: self.value[i] + t * (self.slope[i] + t * (self.bent[i] / 2.0 + t * third / 6.0)),
            slope: self.slope[i] + t * (self.bent[i] + t * third / 2.0),
            bent: self.bent[i] + t * third,
        }
    }

    /// v of h(v) = y, by Newton's steps kept between the two points about y.
    pub fn back(&self, y: f64) -> f64 {
        let after = self.value.partition_point(|&h| h < y);
        let last = self.at.len() - 1;
        if after == 0 || after > last {
            let i = after.min(last);
            return self.at[i] + (y - self.value[i]) / self.slope[i];
        }
        let (mut low, mut high) = (self.at[after - 1], self.at[after]);
        let mut v = 0.5 * (low + high);
        for _ in 0..STEPS {
            let here = self.at(v);
            if here.value < y {
                low = v
            } else {
                high = v
            }
            let newton = v - (here.value - y) / here.slope;
            let next = if low <= newton && newton <= high { newton } else { 0.5 * (low + high) };
            if (next - v).abs() < NEAR {
                return next;
            }
            v = next;
        }
        v
    }
}

/// h'' at the n points of a natural spline: zero at the ends; in between the equations of continuous h', by elimination.
fn bends(n: usize, wide: impl Fn(usize) -> f64, secant: impl Fn(usize) -> f64) -> Vec<f64> {
    // Row i: wide(i-1) b(i-1) + 2 (wide(i-1) + wide(i)) b(i) + wide(i) b(i+1) = 6 (secant(i) - secant(i-1)).
    let (mut diagonal, mut right) = (vec![1.0; n], vec![0.0; n]);
    for i in 1..n - 1 {
        let carried = if i == 1 { 0.0 } else { wide(i - 1) / diagonal[i - 1] };
        diagonal[i] = 2.0 * (wide(i - 1) + wide(i)) - carried * wide(i - 1);
        right[i] = 6.0 * (secant(i) - secant(i - 1)) - carried * right[i - 1];
    }
    let mut bent = vec![0.0; n];
    for i in (1..n - 1).rev() {
        bent[i] = (right[i] - wide(i) * bent[i + 1]) / diagonal[i];
    }
    bent
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve() -> Bend {
        let points =
            [(-4.0, -9.0), (-2.0, -2.5), (-1.0, -1.1), (0.0, 0.1), (1.0, 0.9), (2.5, 2.0), (4.0, 6.0)];
        Bend::through(&points).expect("it rises")
    }

    #[test]
    fn it_passes_its_points_and_is_smooth() {
        let h = curve();
        for (v, y) in h.at.iter().zip(&h.value) {
            assert!((h.at(*v).value - y).abs() < 1e-14);
            let (before, after) = (h.at(v - 1e-9), h.at(v + 1e-9));
            assert!((before.slope - after.slope).abs() < 1e-7 && (before.bent - after.bent).abs() < 1e-7);
        }
        for v in [-7.0, -3.3, -1.5, 0.2, 1.9, 3.1, 6.0] {
            let step = 1e-5;
            let (less, here, more) = (h.at(v - step), h.at(v), h.at(v + step));
            assert!(((more.value - less.value) / (2.0 * step) - here.slope).abs() < 1e-8);
            assert!(((more.slope - less.slope) / (2.0 * step) - here.bent).abs() < 1e-8);
            assert!((h.back(here.value) - v).abs() < 1e-12);
        }
    }

    #[test]
    fn a_line_stays_a_line() {
        let line = Bend::through(&[(-1.0, -3.0), (0.5, 1.5), (2.0, 6.0)]).expect("it rises");
        for h in [line, Bend::straight(3.0)] {
            assert!((h.at(0.7).value - 2.1).abs() < 1e-14 && (h.back(-30.0) + 10.0).abs() < 1e-14);
        }
    }

    #[test]
    fn what_falls_anywhere_is_refused() {
        assert!(Bend::through(&[(0.0, 0.0), (1.0, 2.0), (2.0, 1.0)]).is_none());
        // It would swing below between the first two.
        assert!(Bend::through(&[(0.0, 0.0), (1.0, 0.01), (2.0, 5.0), (3.0, 5.1)]).is_none());
        assert!(Bend::through(&[(0.0, 1.0)]).is_none());
    }
}
