//! How much of the sugar that the yeast can use is left at the oven, which colours the crust.
//!
//! Computes 1 - G/M: G the gas that the dough has made and M the gas that its sugars can give, both in mL per 100 g
//! flour, by the same closed form as the rise ([`super::course`]).
//!
//! Source: stoichiometry, as for M in [`super::gas`].
//! Limits: a share of what the yeast could still turn into gas, not of all sugar; what a preferment used is left out.

use super::course::{Course, Parameters, Workspace};
use super::gas::{ML_PER_PERCENT_SUGAR, gas};
use super::lag::awake;
use super::preferment::Ripening;

/// The share left after the whole course, 0 to 1; `k` is the kitchen's k times what the lots do to it, in the unit of
/// [`Parameters::k`].
pub fn left(course: &Course, p: &Parameters, k: f64) -> f64 {
    let mut ws = Workspace::<f64>::default();
    course.forward(p, k, &mut ws);
    let theta = ws.theta_after(course.segments.len());
    let fresh = k * course.fresh_pct;
    let carried = course.preferment.map_or(0.0, |v| {
        let theta = p.rate.at(v.temp_c) * v.hours;
        let ripe =
            Ripening { nature: p.nature(), k, lag: p.lag * course.lag_factor, theta, vessel: v }.ripen();
        v.share * (ripe.own_rate + ripe.gas.ml * p.mu)
    });
    let salted = (-p.salt * course.salt_pct).exp();
    let total = fresh + carried;
    let time = (fresh * awake(theta, p.lag * course.lag_factor).hours + carried * theta) / total;
    let ceiling = p.ceiling + ML_PER_PERCENT_SUGAR * course.sugar_pct;
    1.0 - gas(total * salted, p.mu * salted, ceiling, time).ml / ceiling
}

#[cfg(test)]
mod tests {
    use super::super::course::{Output, Preferment, Segment, Start};
    use super::super::rise::Matrix;
    use super::*;

    /// A dough at 25 °C, where an hour is an hour of thermal time.
    fn course(fresh_pct: f64, preferment: Option<Preferment>, hours: f64) -> Course {
        let segment = Segment { around_c: 25.0, hours, tau_factor: 1.0, place: None, unmeasured: None };
        Course {
            preferment,
            mixing: None,
            start: Start::Measured(25.0),
            fresh_pct,
            lag_factor: 1.5,
            salt_pct: 2.0,
            sugar_pct: 1.0,
            matrix: Matrix::new(65.0, 2.0, 0.0, 1.0, 12.0),
            segments: vec![segment],
            outputs: vec![Output::Rise(1)],
        }
    }

    /// Gas after `time` of dG/dA = (a + mu G)(1 - G/M) by Runge and Kutta's fourth-order rule.
    fn integrated(a: f64, mu: f64, m: f64, time: f64) -> f64 {
        const STEPS: usize = 2_000;
        let (slope, h) = (|g: f64| (a + mu * g) * (1.0 - g / m), time / STEPS as f64);
        (0..STEPS).fold(0.0, |g, _| {
            let k1 = slope(g);
            let k2 = slope(g + 0.5 * h * k1);
            let k3 = slope(g + 0.5 * h * k2);
            let k4 = slope(g + h * k3);
            g + h * (k1 + 2.0 * k2 + 2.0 * k3 + k4) / 6.0
        })
    }

    #[test]
    fn what_is_left_is_what_the_gas_has_not_taken() {
        let p = Parameters::for_tests();
        let (salted, ceiling) = ((-0.18_f64).exp(), 1100.0 + 270.0);
        // Fresh yeast alone, which wakes first with a lag of 1.5 times 0.25 h.
        let made = integrated(60.0 * 0.8 * salted, 0.2 * salted, ceiling, awake(6.0, 0.375).hours);
        let ours = left(&course(0.8, None, 6.0), &p, p.k);
        assert!((ours - (1.0 - made / ceiling)).abs() < 1e-9, "{ours}");
        // Yeast of a preferment alone: it grew by what it made there, unsalted, and is awake.
        let matrix = Matrix::new(100.0, 0.0, 0.0, 0.0, 12.0);
        let vessel = Preferment { share: 0.3, yeast_pct: 0.4, hours: 8.0, temp_c: 25.0, matrix };
        let before = integrated(60.0 * 0.4, 0.2, 1100.0, awake(8.0, 0.375).hours);
        let carried = 0.3 * (60.0 * 0.4 + 0.2 * before);
        let made = integrated(carried * salted, 0.2 * salted, ceiling, 6.0);
        let ours = left(&course(0.0, Some(vessel), 6.0), &p, p.k);
        assert!((ours - (1.0 - made / ceiling)).abs() < 1e-9, "{ours}");
        // Both: the awake time lies between the two, weighted by their rates.
        let time = (48.0 * awake(6.0, 0.375).hours + carried * 6.0) / (48.0 + carried);
        let made = integrated((48.0 + carried) * salted, 0.2 * salted, ceiling, time);
        let ours = left(&course(0.8, Some(vessel), 6.0), &p, p.k);
        assert!((ours - (1.0 - made / ceiling)).abs() < 1e-9, "{ours}");
    }
}
