//! Draws around a minimum of minus a log density: the Laplace approximation with heavier tails.
//!
//! The draws follow a multivariate Student t whose scale is the curvature's: it keeps importance weights bounded where
//! the density has heavier tails than a normal. In coordinates z in which the curvature H is the identity, g of them,
//! nu degrees:
//! ln density = ln Γ((nu+g)/2) - ln Γ(nu/2) - g/2 ln(nu pi) - (nu+g)/2 ln(1 + z'z/nu) + ln|H|/2.
//!
//! Cost if the density is exactly normal, as the part of the draws that stays effective (simulated with NumPy 2.4.6,
//! 200,000 draws): g = 10 with 10 / 20 / 40 degrees 0.85 / 0.93 / 0.97, g = 30 0.65 / 0.79 / 0.90.
//!
//! Source: Tierney & Kadane 1986, *Journal of the American Statistical Association* 81:82-86, for the approximation;
//! Geweke 1989, *Econometrica* 57:1317-1339, for the t as a proposal. Limits: one mode.

use super::curvature::{Curvature, Factor, NotPositiveDefinite};
use super::minimise::Minimum;
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{ChiSquared, Distribution, StandardNormal};
use rayon::prelude::*;
use statrs::function::gamma::ln_gamma;
use std::f64::consts::{PI, TAU};

/// Degrees of freedom unless said otherwise.
pub const DEGREES_OF_FREEDOM: f64 = 10.0;

/// An approximation that can be drawn from.
#[derive(Clone, Debug)]
pub struct Laplace {
    mode: Vec<f64>,
    factor: Factor,
    /// None for normal tails.
    tails: Option<Tails>,
}

/// The common stretch of all parameters: the root of nu over a chi-squared variable with nu degrees.
#[derive(Clone, Copy, Debug)]
struct Tails {
    degrees: f64,
    chi_squared: ChiSquared<f64>,
}

/// One draw.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// Where it lies, one entry a parameter.
    pub x: Vec<f64>,
    /// The log of the normalised density that it was drawn from, nats.
    pub log_density: f64,
}

impl Laplace {
    /// Around a minimum, with [`DEGREES_OF_FREEDOM`].
    ///
    /// # Errors
    /// When the curvature is not positive definite; that of a minimum found by the minimiser is.
    pub fn new(minimum: &Minimum) -> Result<Self, NotPositiveDefinite> {
        Self::with_degrees(minimum, DEGREES_OF_FREEDOM)
    }

    /// Around a minimum, with these degrees of freedom; normal if they are not a finite number above zero.
    ///
    /// # Errors
    /// When the curvature is not positive definite.
    pub fn with_degrees(minimum: &Minimum, degrees: f64) -> Result<Self, NotPositiveDefinite> {
        Self::about(minimum.x.clone(), &minimum.curvature, degrees)
    }

    /// About a centre, with the curvature of a normal there and these degrees of freedom; normal if they are not a finite
    /// number above zero.
    ///
    /// # Errors
    /// When the curvature is not positive definite.
    pub fn about(centre: Vec<f64>, curvature: &Curvature, degrees: f64) -> Result<Self, NotPositiveDefinite> {
        let chi_squared = ChiSquared::new(degrees).ok().filter(|_| degrees.is_finite());
        Ok(Laplace {
            mode: centre,
            factor: curvature.factor()?,
            tails: chi_squared.map(|chi_squared| Tails { degrees, chi_squared }),
        })
    }

    /// Draw number `index` of those that belong to `seed`: the same whichever others are drawn.
    pub fn draw(&self, seed: u64, index: u64) -> Proposal {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(index);
        let z = self.whitened(&mut rng);
        let away = self.factor.unwhiten(&z);
        let x = self.mode.iter().zip(away).map(|(mode, away)| mode + away).collect();
        Proposal { x, log_density: self.log_density_whitened(&z) }
    }

    /// The first `count` draws that belong to `seed`, on all processors.
    pub fn draws(&self, seed: u64, count: usize) -> Vec<Proposal> {
        (0..count as u64).into_par_iter().map(|index| self.draw(seed, index)).collect()
    }

    /// The log of the normalised density at `x`, nats.
    pub fn log_density(&self, x: &[f64]) -> f64 {
        let away: Vec<f64> = x.iter().zip(&self.mode).map(|(x, mode)| x - mode).collect();
        self.log_density_whitened(&self.factor.whiten(&away))
    }

    /// A draw in the coordinates in which the curvature is the identity.
    fn whitened(&self, rng: &mut impl Rng) -> Vec<f64> {
        let mut z: Vec<f64> = (0..self.mode.len()).map(|_| rng.sample(StandardNormal)).collect();
        if let Some(Tails { degrees, chi_squared }) = self.tails {
            let stretch = (degrees / chi_squared.sample(rng)).sqrt();
            z.iter_mut().for_each(|z| *z *= stretch);
        }
        z
    }

    fn log_density_whitened(&self, z: &[f64]) -> f64 {
        let square = |z: &[f64]| z.iter().map(|z| z * z).sum::<f64>();
        let normal = |z: &[f64]| -(square(z) + z.len() as f64 * TAU.ln()) / 2.0;
        let student = |z: &[f64], nu: f64| {
            let g = z.len() as f64;
            ln_gamma((nu + g) / 2.0)
                - ln_gamma(nu / 2.0)
                - g / 2.0 * (nu * PI).ln()
                - (nu + g) / 2.0 * (square(z) / nu).ln_1p()
        };
        let whitened = self.tails.map_or_else(|| normal(z), |tails| student(z, tails.degrees));
        whitened + self.factor.ln_determinant() / 2.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inference::curvature::Curvature;
    use crate::inference::minimise::{Objective, Settings, minimise};
    use nalgebra::DMatrix;

    /// f = (x - m)'H(x - m)/2.
    struct Bowl;

    const CENTRE: [f64; 3] = [1.0, -2.0, 0.5];

    fn bowl() -> Curvature {
        Curvature(DMatrix::from_row_slice(3, 3, &[4.0, 1.0, 0.5, 1.0, 3.0, 0.2, 0.5, 0.2, 2.0]))
    }

    impl Objective for Bowl {
        fn dim(&self) -> usize {
            3
        }

        fn value_gradient(&self, x: &[f64], gradient: &mut [f64]) -> f64 {
            let away: Vec<f64> = x.iter().zip(CENTRE).map(|(x, c)| x - c).collect();
            gradient.copy_from_slice(&bowl().multiply(&away));
            away.iter().zip(gradient).map(|(a, g)| a * *g).sum::<f64>() / 2.0
        }

        fn curvature(&self, _: &[f64]) -> Option<Curvature> {
            Some(bowl())
        }
    }

    fn around(degrees: f64) -> Laplace {
        let minimum = minimise(&Bowl, &[0.0; 3], &Settings::default()).expect("a bowl has a minimum");
        Laplace::with_degrees(&minimum, degrees).expect("and is convex")
    }

    fn close(a: f64, b: f64) -> bool {
        (a - b).abs() < 1e-10
    }

    /// SciPy 1.17.1, V the inverse of H, m the centre: multivariate_normal(m, V).logpdf(x),
    /// multivariate_t(m, V, df=10).logpdf(x).
    #[test]
    fn densities_agree_with_scipy() {
        let x = [1.5, -1.0, 0.0];
        let normal = around(f64::INFINITY).log_density(&x);
        assert!(close(normal, -3.7526968601613238), "{normal}");
        let student = around(10.0).log_density(&x);
        assert!(close(student, -3.814499337608733), "{student}");
    }

    #[test]
    fn draws_carry_their_own_density_and_depend_on_the_seed_alone() {
        let around = around(10.0);
        let draws = around.draws(4, 200);
        assert!(draws.iter().all(|draw| close(draw.log_density, around.log_density(&draw.x))));
        assert_eq!(draws[17], around.draw(4, 17));
        assert_eq!(draws[..20], around.draws(4, 20)[..]);
        assert_ne!(draws[0].x, around.draw(5, 0).x);
        assert_ne!(draws[0].x, draws[1].x);
    }

    /// A t with n degrees of freedom has n / (n - 2) times the variance of its scale.
    #[test]
    fn draws_have_the_spread_of_a_student_t() {
        let variances = bowl().factor().expect("convex").variances();
        let count = 40_000;
        for (degrees, stretch) in [(f64::INFINITY, 1.0), (10.0, 1.25)] {
            let draws = around(degrees).draws(9, count);
            for (place, variance) in variances.iter().enumerate() {
                let moment =
                    draws.iter().map(|d| (d.x[place] - CENTRE[place]).powi(2)).sum::<f64>() / count as f64;
                // Kurtosis 3 or 4: five standard errors are 5 sqrt((4 - 1) / count) = 4 %.
                assert!((moment / (variance * stretch) - 1.0).abs() < 0.045, "{degrees} {place}: {moment}");
            }
        }
    }
}
