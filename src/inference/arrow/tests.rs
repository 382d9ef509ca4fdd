//! Against the dense matrix, which is affordable when there are few batches.

use super::*;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

/// An invented matrix, diagonally dominant and so positive definite.
fn example(shared: usize, local: usize) -> Arrow {
    let wave = |i: usize, j: usize| ((3 * i + 5 * j) as f64).sin();
    let mut border = DMatrix::from_fn(shared, shared, |i, j| wave(i, j) + wave(j, i));
    border += DMatrix::identity(shared, shared) * (3 * shared + local) as f64;
    let diagonal = (0..local).map(|i| shared as f64 + 1.0 + (i % 7) as f64).collect();
    Arrow { border, cross: DMatrix::from_fn(local, shared, wave), diagonal }
}

fn as_dense(arrow: &Arrow) -> DMatrix<f64> {
    let (g, n) = (arrow.shared(), arrow.dim());
    DMatrix::from_fn(n, n, |i, j| match (i < g, j < g) {
        (true, true) => arrow.border[(i, j)],
        (false, true) => arrow.cross[(i - g, j)],
        (true, false) => arrow.cross[(j - g, i)],
        (false, false) if i == j => arrow.diagonal[i - g],
        (false, false) => 0.0,
    })
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * (1.0 + b.abs())
}

/// Against nalgebra's dense Cholesky decomposition of the same matrix.
#[test]
fn agrees_with_the_dense_matrix() {
    for (shared, local) in [(4, 9), (5, 0), (1, 3), (0, 4)] {
        let arrow = example(shared, local);
        let dense = as_dense(&arrow);
        let cholesky = dense.clone().cholesky().expect("diagonally dominant");
        let factor = arrow.factor().expect("diagonally dominant");
        let x = DVector::from_fn(shared + local, |i, _| (i as f64).cos());

        let product = &dense * &x;
        assert!(arrow.multiply(x.as_slice()).iter().zip(product.iter()).all(|(a, b)| close(*a, *b)));
        let solved = cholesky.solve(&x);
        assert!(factor.solve(x.as_slice()).iter().zip(solved.iter()).all(|(a, b)| close(*a, *b)));
        assert!(close(factor.ln_determinant(), cholesky.ln_determinant()));
        let inverse = cholesky.inverse().diagonal();
        assert!(factor.variances().iter().zip(inverse.iter()).all(|(a, b)| close(*a, *b)));
        let u = DVector::from_vec(factor.unwhiten(x.as_slice()));
        let back = factor.whiten(u.as_slice());
        assert!(back.iter().zip(x.iter()).all(|(a, b)| close(*a, *b)));
        assert!(close(u.dot(&(&dense * &u)), x.dot(&x)), "u' H u = z' z");
    }
}

#[test]
fn draws_have_the_inverse_as_covariance() {
    let arrow = example(2, 2);
    let inverse = as_dense(&arrow).try_inverse().expect("diagonally dominant");
    let factor = arrow.factor().expect("diagonally dominant");
    let mut rng = ChaCha8Rng::seed_from_u64(7);
    let draws = 40_000;
    let mut sum = DMatrix::zeros(4, 4);
    for _ in 0..draws {
        let x = DVector::from_vec(factor.sample(&mut rng));
        sum += &x * x.transpose();
    }
    let covariance = sum / f64::from(draws);
    // Standard error of a covariance entry, at most sqrt(2 / draws) of the variances: five of them.
    let widest = inverse.diagonal().max();
    assert!((covariance - &inverse).amax() < 5.0 * widest * (2.0 / f64::from(draws)).sqrt());
}

#[test]
fn says_what_is_not_positive() {
    let mut arrow = example(3, 4);
    arrow.diagonal[2] = -1.0;
    assert_eq!(arrow.factor().err(), Some(NotPositiveDefinite::Local { index: 2, value: -1.0 }));
    let mut damping = vec![0.0; 7];
    damping[5] = 6.0;
    assert!(arrow.factor_damped(&damping).is_ok());
    let mut arrow = example(3, 4);
    arrow.border[(1, 1)] = -50.0;
    assert_eq!(arrow.factor().err(), Some(NotPositiveDefinite::Shared));
    arrow.border[(1, 1)] = f64::NAN;
    assert_eq!(arrow.factor().err(), Some(NotPositiveDefinite::Shared));
}

/// 100,000 batches: the dense matrix would take 80 GB.
#[test]
fn is_linear_in_the_batches() {
    let arrow = example(6, 100_000);
    let factor = arrow.factor().expect("diagonally dominant");
    let x: Vec<f64> = (0..arrow.dim()).map(|i| (i as f64).sin()).collect();
    let back = factor.solve(&arrow.multiply(&x));
    assert!(x.iter().zip(&back).all(|(a, b)| (a - b).abs() < 1e-9));
}
