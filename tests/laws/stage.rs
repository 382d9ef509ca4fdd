//! The derivatives of one stage's thermal time and end temperature against dual numbers run through
//! quadrature, in the cases that a kitchen seldom meets: through either end of the range, standing still,
//! surroundings on the pole.

use doughwright::physics::rate::{Rate, RateSlopes};
use doughwright::physics::thermal_time::{Stage, stretch};
use num_dual::Dual64;

use crate::second::quadrature::{temperature, thermal_time};
use crate::second::rate::Cardinal;

/// rho4, Topt, Tmax: near the prior's medians, a slow and a fast fridge, a pole near Tmax, a far one, none.
const KITCHENS: [[f64; 3]; 6] = [
    [0.107, 35.5, 45.5],
    [0.02, 36.0, 46.5],
    [0.22, 34.0, 45.0],
    [0.15, 39.0, 45.0],
    [0.05, 32.5, 46.0],
    [0.07, 30.5, 47.0],
];

/// Start, surroundings, tau, hours.
fn stages(cardinal: &Cardinal<f64>) -> Vec<[f64; 4]> {
    let pole = (2.0 * cardinal.t_opt.powi(2) - cardinal.t_max * (cardinal.t_opt + cardinal.t_min))
        / cardinal.bracket_slope();
    let mut stages = vec![
        [23.0, 4.0, 2.0, 24.0],
        [26.0, 3.5, 0.7, 72.0],
        [7.0, 22.0, 1.5, 3.0],
        [24.0, 21.0, 5.2, 0.01],
        [25.0, 25.0, 2.0, 4.0],
        [20.0, 20.0 + 1e-9, 2.0, 12.0],
        [23.0, 4.0, 5000.0, 1.0],
        // Through Tmin, out of it, below it; through Tmax, down from it, above it; from beyond one to beyond
        // the other.
        [20.0, -60.0, 1.5, 10.0],
        [-60.0, 22.0, 2.5, 6.0],
        [-60.0, -50.0, 2.0, 5.0],
        [30.0, 60.0, 1.0, 6.0],
        [60.0, 25.0, 1.0, 6.0],
        [60.0, 50.0, 1.0, 3.0],
        [70.0, -60.0, 1.0, 6.0],
        [-60.0, 70.0, 1.0, 6.0],
    ];
    if pole.abs() < 80.0 {
        stages
            .extend([0.0, 1e-9, -1e-6, 1e-3, -2e-2, 0.1, -0.5, 2.0].map(|off| [30.0, pole + off, 2.0, 1.0]));
    }
    stages
}

fn close(ours: f64, theirs: f64, scale: f64, what: &str) {
    assert!((ours - theirs).abs() <= 1e-11 * scale, "{what}: {ours}, by dual numbers {theirs}");
}

#[test]
fn derivatives_of_a_stage_equal_dual_numbers() {
    let mut pieces = 0;
    for kitchen in KITCHENS {
        let [rho4, t_opt, t_max] = kitchen;
        let rate = Rate::from_rho4(rho4, t_opt, t_max).unwrap();
        let slopes = RateSlopes::new(&rate, rho4, t_opt, t_max);
        for stage in stages(&Cardinal::from_rho4(rho4, t_opt, t_max)) {
            let [start, around, tau, hours] = stage;
            let ours = stretch(&rate, &Stage { start, around, tau, hours });
            let by_cardinal = slopes.chain(&ours.theta_by_rate);
            let ours_by = [
                (ours.theta_by_start, ours.end_by_start),
                (ours.theta_by_around, 1.0 - ours.end_by_start),
                (ours.theta_by_tau, ours.end_by_tau),
                (by_cardinal[0], 0.0),
                (by_cardinal[1], 0.0),
                (by_cardinal[2], 0.0),
            ];
            for (which, (theta_by, end_by)) in ours_by.into_iter().enumerate() {
                let seeded = [start, around, tau, rho4, t_opt, t_max];
                let dual = |i: usize| Dual64::new(seeded[i], if i == which { 1.0 } else { 0.0 });
                let cardinal = Cardinal::from_rho4(dual(3), dual(4), dual(5));
                let theta = thermal_time(&cardinal, dual(0), dual(1), dual(2), hours);
                let end = temperature(dual(0), dual(1), dual(2), hours);
                let what = format!("derivative {which} of {stage:?} in {kitchen:?}");
                close(ours.theta, theta.re, 1.0 + theta.re, &what);
                close(theta_by, theta.eps, 1.0 + theta.re.abs() + theta.eps.abs(), &what);
                close(ours.end_c, end.re, 1.0 + end.re.abs(), &what);
                close(end_by, end.eps, 1.0 + end.eps.abs(), &what);
                pieces += 1;
            }
        }
    }
    assert!(pieces > 500);
}
