//! Coordinates in which the posterior is nearly normal: a change of variables and nothing else.

use doughwright::inference::lean::Upright;
use doughwright::inference::lots::Centring;
use doughwright::inference::minimise::{Settings, minimise};
use doughwright::inference::posterior::Posterior;
use doughwright::inference::prepare::prepare;
use doughwright::inference::quick;
use doughwright::inference::unbend::Unbent;
use nalgebra::DMatrix;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use crate::kitchen;

/// A change of variables.
trait Coordinates {
    fn x(&self, u: &[f64]) -> Option<Vec<f64>>;
    fn u(&self, x: &[f64]) -> Option<Vec<f64>>;
    fn log_density(&self, u: &[f64]) -> f64;
    fn log_density_gradient(&self, u: &[f64], gradient: &mut [f64]) -> f64;
}

macro_rules! coordinates {
    ($of:ty, $back:ident) => {
        impl Coordinates for $of {
            fn x(&self, u: &[f64]) -> Option<Vec<f64>> {
                self.x(u)
            }
            fn u(&self, x: &[f64]) -> Option<Vec<f64>> {
                self.$back(x)
            }
            fn log_density(&self, u: &[f64]) -> f64 {
                self.log_density(u)
            }
            fn log_density_gradient(&self, u: &[f64], gradient: &mut [f64]) -> f64 {
                self.log_density_gradient(u, gradient)
            }
        }
    };
}
coordinates!(Unbent, u);
coordinates!(Upright, v);

struct Case {
    posterior: Posterior,
    told: Box<dyn Coordinates>,
    /// Places about the mode.
    places: Vec<Vec<f64>>,
}

/// Those of `unbend`, and those of `lean` upon them.
fn cases() -> [Case; 2] {
    let posterior = Posterior::new(prepare(&kitchen::records()), Centring::None);
    let (mode, _) = quick::mode(&posterior, 1).unwrap();
    let unbent = || Unbent::new(&posterior, &mode.x).unwrap();
    let (first, centre) = unbent();
    let mode_there = minimise(&first, &centre, &Settings::default()).unwrap();
    let upright = Upright::new(first, &mode_there).unwrap();
    let there = upright.centre();
    let case = |told: Box<dyn Coordinates>, centre: Vec<f64>| {
        let mut random = ChaCha8Rng::seed_from_u64(21);
        let mut about = |_| {
            let mut moved = |c: &f64| {
                let z: f64 = StandardNormal.sample(&mut random);
                c + 0.5 * z
            };
            centre.iter().map(&mut moved).collect::<Vec<f64>>()
        };
        let places: Vec<Vec<f64>> =
            (0..60).map(&mut about).filter(|u| told.log_density(u).is_finite()).take(20).collect();
        assert_eq!(places.len(), 20);
        Case { posterior: posterior.clone(), told, places }
    };
    [case(Box::new(unbent().0), centre), case(Box::new(upright), there)]
}

#[test]
fn the_way_there_and_back_is_the_identity() {
    for Case { told, places, .. } in cases() {
        for u in places {
            let back = told.u(&told.x(&u).unwrap()).unwrap();
            for (a, b) in u.iter().zip(&back) {
                assert!((a - b).abs() < 1e-9 * (1.0 + a.abs()), "{a} became {b}");
            }
        }
    }
}

#[test]
fn the_density_changes_by_the_volume_and_by_nothing_else() {
    // ln p(u) - ln p(x(u)) - ln|dx/du| is one number everywhere; the Jacobian by central differences.
    for Case { posterior, told, places } in cases() {
        let constants: Vec<f64> = places
            .iter()
            .map(|u| {
                let columns: Vec<Vec<f64>> = (0..u.len())
                    .map(|i| {
                        let h = 1e-5;
                        let at = |sign: f64| {
                            let mut moved = u.clone();
                            moved[i] += sign * h;
                            told.x(&moved).unwrap()
                        };
                        at(1.0).iter().zip(at(-1.0)).map(|(a, b)| (a - b) / (2.0 * h)).collect()
                    })
                    .collect();
                let jacobian = DMatrix::from_fn(u.len(), u.len(), |i, j| columns[j][i]);
                told.log_density(u)
                    - posterior.log_density(&told.x(u).unwrap())
                    - jacobian.determinant().abs().ln()
            })
            .collect();
        for c in &constants {
            assert!((c - constants[0]).abs() < 1e-5, "{c} against {}", constants[0]);
        }
    }
}

#[test]
fn gradients_agree_with_differences() {
    for Case { told, places, .. } in cases() {
        for u in &places {
            let mut gradient = vec![0.0; u.len()];
            let value = told.log_density_gradient(u, &mut gradient);
            assert!((value - told.log_density(u)).abs() < 1e-9 * (1.0 + value.abs()));
            let largest = gradient.iter().fold(1.0_f64, |m, g| m.max(g.abs()));
            for i in 0..u.len() {
                // Richardson's extrapolation of central differences.
                let central = |h: f64| {
                    let at = |sign: f64| {
                        let mut moved = u.clone();
                        moved[i] += sign * h;
                        told.log_density(&moved)
                    };
                    (at(1.0) - at(-1.0)) / (2.0 * h)
                };
                let slope = (4.0 * central(1e-4) - central(2e-4)) / 3.0;
                assert!((gradient[i] - slope).abs() < 1e-6 * largest, "{i}: {} against {slope}", gradient[i]);
            }
        }
    }
}
