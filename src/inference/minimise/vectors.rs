//! The few sums over plain slices that the minimiser needs.

/// The inner product.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The Euclidean norm, without overflow or underflow of the squares.
pub(super) fn norm(a: &[f64]) -> f64 {
    let largest = a.iter().fold(0.0, |most: f64, x| most.max(x.abs()));
    if largest == 0.0 || !largest.is_finite() {
        return largest;
    }
    largest * a.iter().map(|x| (x / largest).powi(2)).sum::<f64>().sqrt()
}

/// The norm of `a` when each entry is measured in units of 1 / `scale`.
pub(super) fn scaled_norm(a: &[f64], scale: &[f64]) -> f64 {
    norm(&a.iter().zip(scale).map(|(a, scale)| a * scale).collect::<Vec<f64>>())
}
