//! Uncertain quantities as quantiles, and curves of them.

use super::plotting::Edges;

/// A quantity's 5, 25, 50, 75 and 95 % quantiles: the middle, a 50 % and a 90 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantiles {
    /// 1 in 20 lies below.
    pub p05: f64,
    /// 1 in 4 lies below.
    pub p25: f64,
    /// The middle value.
    pub p50: f64,
    /// 1 in 4 lies above.
    pub p75: f64,
    /// 1 in 20 lies above.
    pub p95: f64,
}

/// A curve of an uncertain quantity: what it stands over, and its quantiles there.
pub type Curve = Vec<(f64, Quantiles)>;

/// The middle of a curve.
pub(super) fn middle(curve: &[(f64, Quantiles)]) -> Vec<(f64, f64)> {
    curve.iter().map(|(x, q)| (*x, q.p50)).collect()
}

/// The edges of its 90 % band.
pub(super) fn outer(curve: &[(f64, Quantiles)]) -> Edges {
    curve.iter().map(|(x, q)| (*x, q.p05, q.p95)).collect()
}

/// The edges of its 50 % band.
pub(super) fn inner(curve: &[(f64, Quantiles)]) -> Edges {
    curve.iter().map(|(x, q)| (*x, q.p25, q.p75)).collect()
}
