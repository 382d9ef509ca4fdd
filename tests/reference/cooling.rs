//! A sphere that cools: roots, factors and temperatures of textbooks, and what the lumped form makes of it.

use doughwright::physics::cooling::{tau_factor, temperature};
use doughwright::physics::sphere::Sphere;
use serde::Deserialize;

use crate::{close, read};

/// First root and factor of a sphere by Biot number. Çengel, Heat and Mass Transfer, table 4-2 (Incropera &
/// DeWitt, table 5.1, carry the same; editions not noted).
#[allow(clippy::approx_constant)] // the value as the table prints it
const TEXTBOOK: [(f64, f64, f64); 14] = [
    (0.01, 0.1730, 1.0030),
    (0.02, 0.2445, 1.0060),
    (0.04, 0.3450, 1.0120),
    (0.06, 0.4217, 1.0179),
    (0.08, 0.4860, 1.0239),
    (0.1, 0.5423, 1.0298),
    (0.2, 0.7593, 1.0592),
    (0.5, 1.1656, 1.1441),
    (1.0, 1.5708, 1.2732),
    (2.0, 2.0288, 1.4793),
    (4.0, 2.4556, 1.7202),
    (5.0, 2.5704, 1.7870),
    (8.0, 2.7654, 1.8920),
    (10.0, 2.8363, 1.9249),
];

#[test]
fn first_roots_are_those_of_the_textbook() {
    for (bi, root, factor) in TEXTBOOK {
        let (z, c) = Sphere::new(bi).term(0);
        close(z, root, 0.6e-4);
        close(c, factor, 0.6e-4);
    }
}

/// `sphere-roots.csv`: scipy 1.17.1, `scipy.optimize.brentq`.
#[derive(Deserialize)]
struct Root {
    bi: f64,
    n: usize,
    root: f64,
}

#[test]
fn further_roots_are_those_of_scipy() {
    for row in read::<Root>("sphere-roots.csv") {
        close(Sphere::new(row.bi).term(row.n).0, row.root, 1e-13 * row.root);
    }
}

#[test]
fn temperatures_inside_are_published_ones() {
    // A worked example of a textbook: r* = 0.3, Fo = 0.23, Bi = 1.02, theta = 0.6895 (from memory: which one was not noted).
    close(Sphere::new(1.02).at(0.3, 0.23), 0.6895, 0.00005);
}

#[test]
fn series_begins_whole_and_conserves_heat() {
    for bi in [0.1, 1.0, 8.0] {
        let sphere = Sphere::new(bi);
        close(sphere.mean(0.0), 1.0, 1e-5);
        // The mean falls as heat leaves through the skin: d mean/d Fo = -3 Bi theta(1).
        let (fo, step) = (0.2, 1e-4);
        let slope = (sphere.mean(fo + step) - sphere.mean(fo - step)) / (2.0 * step);
        close(slope, -3.0 * bi * sphere.at(1.0, fo), 1e-6);
        // So does conduction inside: d theta/d Fo = (1/r) d²(r theta)/dr².
        let (r, dr) = (0.6, 1e-3);
        let flux = |r: f64| r * sphere.at(r, fo);
        let curvature = (flux(r + dr) - 2.0 * flux(r) + flux(r - dr)) / (dr * dr * r);
        let change = (sphere.at(r, fo + step) - sphere.at(r, fo - step)) / (2.0 * step);
        close(change, curvature, 1e-4 * (1.0 + change.abs()));
    }
}

#[test]
fn lumped_form_is_the_sphere_of_small_biot_number() {
    // z² tends to 3 Bi: e^(-t/tau) with tau = R²/(3 Bi alpha).
    let bi = 1e-3;
    let sphere = Sphere::new(bi);
    for t in [0.1, 1.0, 3.0] {
        close(sphere.mean(t / (3.0 * bi)), temperature(1.0, 0.0, 1.0, t), 3e-4);
    }
    close(tau_factor(250.0), 1.0, 0.0);
    close(tau_factor(500.0), 2f64.powf(0.4), 1e-15);
}
