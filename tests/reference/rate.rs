//! The rate and its integral over time.

use doughwright::physics::rate::{Rate, gamma};
use doughwright::physics::thermal_time::{self, stretch};
use serde::Deserialize;

use crate::{close, read};

#[test]
fn cardinal_model_gives_its_published_values() {
    // Rosso, Lobry & Flandrois (1993), J. Theor. Biol. 162:447-463, with (Tmin, Topt, Tmax) = (5, 20, 30).
    for (t, value) in [(22.0, 0.963333), (10.0, 0.333333), (25.0, 0.761905)] {
        close(gamma(t, 5.0, 20.0, 30.0), value, 5e-7);
    }
    // What the three cardinal temperatures mean.
    assert_eq!(gamma(20.0, 5.0, 20.0, 30.0), 1.0);
    assert_eq!(gamma(5.0, 5.0, 20.0, 30.0), 0.0);
    assert_eq!(gamma(30.0, 5.0, 20.0, 30.0), 0.0);
    let top = |t| gamma(t, -5.0, 35.5, 45.5);
    assert!(top(35.4) < 1.0 && top(35.6) < 1.0);
}

/// `thermal-time.csv`: mpmath 1.4.1, adaptive quadrature in 40 digits of gamma's definition, over gamma(25
/// °C).
#[derive(Deserialize)]
struct Stage {
    t_min: f64,
    t_opt: f64,
    t_max: f64,
    start_c: f64,
    around_c: f64,
    tau_h: f64,
    hours: f64,
    theta_h: f64,
}

/// Thermal time in h of a stage told by T0 and E in °C, tau and H in h.
fn theta(rate: &Rate, [start, around, tau, hours]: [f64; 4]) -> f64 {
    stretch(rate, &thermal_time::Stage { start, around, tau, hours }).theta
}

#[test]
fn thermal_time_agrees_with_quadrature() {
    let rows: Vec<Stage> = read("thermal-time.csv");
    assert_eq!(rows.len(), 35);
    for r in rows {
        let rate = Rate::cardinal(r.t_min, r.t_opt, r.t_max).unwrap();
        let ours = theta(&rate, [r.start_c, r.around_c, r.tau_h, r.hours]);
        let stage = (r.t_min, r.start_c, r.around_c, r.tau_h, r.hours);
        assert!(
            (ours - r.theta_h).abs() <= 3e-14 * (1.0 + r.theta_h),
            "{stage:?}: {ours}, quadrature {}",
            r.theta_h
        );
    }
}

#[test]
fn two_integrals_agree_to_the_last_digits() {
    // Worked out with adaptive quadrature (scipy, version not noted) as gamma-hours, for cardinal temperatures
    // (-5, 35.5, 45.5).
    let rate = Rate::cardinal(-5.0, 35.5, 45.5).unwrap();
    let at25 = gamma(25.0, -5.0, 35.5, 45.5);
    close(theta(&rate, [4.0 + 19.0, 4.0, 2.0, 24.0]) * at25, 2.829972137692457, 5e-15);
    close(theta(&rate, [22.0 - 15.0, 22.0, 1.5, 3.0]) * at25, 1.1693321761807267, 5e-15);
}

#[test]
fn constant_temperature_is_its_rate_times_hours() {
    let rate = Rate::cardinal(-5.0, 35.5, 45.5).unwrap();
    for t in [0.0, 4.0, 25.0, 40.0] {
        close(theta(&rate, [t, t, 2.0, 7.0]), 7.0 * rate.at(t), 1e-13);
    }
}

#[test]
fn a_degree_is_worth_about_what_the_trade_says() {
    // "A degree is worth about 10 %" (common practice, no source): 1.1 a degree, r(4)/r(25) = 1.1^-21 = 0.135. The prior's
    // median of r(4)/r(25) is 0.107: the same size, which compares a prior with a habit and validates
    // nothing.
    let rate = Rate::from_rho4(0.107, 35.5, 45.5).unwrap();
    close(rate.at(4.0), 0.107, 1e-12);
    close(1.1f64.powi(-21), 0.135, 0.0005);
    let a_degree = (rate.at(25.0) / rate.at(4.0)).powf(1.0 / 21.0);
    close(a_degree, 1.10, 0.02);
}
