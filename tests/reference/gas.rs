//! Gas made: stoichiometry, the closed forms of gas and of waking against numerical integration.

use doughwright::physics::gas::{
    ML_PER_GRAM_HEXOSE, ML_PER_GRAM_MALTOSE, ML_PER_PERCENT_SUGAR, MOLAR_ML, gas, time_for,
};
use doughwright::physics::lag::{H0, awake};
use serde::Deserialize;

use crate::{close, read};

/// Standard atomic weights, abridged (IUPAC 2021): C, H, O in g/mol.
const ATOMS: [f64; 3] = [12.011, 1.008, 15.999];

fn molar_mass(formula: [f64; 3]) -> f64 {
    formula.iter().zip(ATOMS).map(|(n, mass)| n * mass).sum()
}

#[test]
fn carbon_dioxide_of_sugar_follows_from_the_equation_of_fermentation() {
    // One mol of ideal gas at 25 °C and 1 atm: 24.465 L (CODATA 2018: R = 8.314 462 618 J/(mol K)).
    let molar = 8.314_462_618 * 298.15 / 101_325.0 * 1e6;
    close(MOLAR_ML, molar, 1e-9);
    // C6H12O6 -> 2 C2H5OH + 2 CO2 conserves mass.
    let [hexose, ethanol, co2] = [[6.0, 12.0, 6.0], [2.0, 6.0, 1.0], [1.0, 0.0, 2.0]].map(molar_mass);
    close(hexose, 2.0 * ethanol + 2.0 * co2, 1e-9);
    close(ML_PER_GRAM_HEXOSE / (2.0 * molar / hexose), 1.0, 1e-5);
    close(ML_PER_GRAM_HEXOSE, 271.6, 0.05);
    // Maltose C12H22O11 takes up water and gives two hexoses.
    let maltose = molar_mass([12.0, 22.0, 11.0]);
    close(ML_PER_GRAM_MALTOSE / (4.0 * molar / maltose), 1.0, 1e-5);
    close(ML_PER_GRAM_MALTOSE, 285.9, 0.05);
    // One percent of sugar is a gram per 100 g of flour, between the two.
    close(ML_PER_PERCENT_SUGAR, 271.6, 2.0);
}

/// `gas.csv`: scipy 1.17.1, `solve_ivp` DOP853, rtol 1e-13: dG/dA = (a + mu G)(1 - G/M).
#[derive(Deserialize)]
struct Made {
    rate: f64,
    growth: f64,
    ceiling: f64,
    hours: f64,
    gas_ml: f64,
}

#[test]
fn gas_agrees_with_the_differential_equation() {
    let rows: Vec<Made> = read("gas.csv");
    assert_eq!(rows.len(), 24);
    for r in rows {
        let g = gas(r.rate, r.growth, r.ceiling, r.hours);
        close(g.ml / r.gas_ml, 1.0, 2e-12);
        // The slope in time is the equation itself.
        let slope = (r.rate + r.growth * g.ml) * (1.0 - g.ml / r.ceiling);
        close(g.by_time, slope, 1e-12 * r.rate);
        // The inverse finds the time back, where the ceiling leaves anything to tell it by.
        if g.ml < 0.99 * r.ceiling {
            close(time_for(g.ml, r.rate, r.growth, r.ceiling) / r.hours, 1.0, 1e-10);
        }
    }
    assert_eq!(time_for(1100.0, 60.0, 0.2, 1100.0), f64::INFINITY);
}

/// `lag.csv`: scipy 1.17.1, `solve_ivp` DOP853, rtol 1e-13: the adjustment function of Baranyi & Roberts
/// (1994).
#[derive(Deserialize)]
struct Woken {
    theta_h: f64,
    lag_h: f64,
    awake_h: f64,
    awake_share: f64,
}

#[test]
fn waking_agrees_with_the_differential_equation() {
    assert_eq!(H0, 2.0, "lag.csv was made with h0 = 2");
    let rows: Vec<Woken> = read("lag.csv");
    assert_eq!(rows.len(), 20);
    for r in rows {
        let a = awake(r.theta_h, r.lag_h);
        close(a.hours / r.awake_h, 1.0, 2e-12);
        close(a.by_theta, r.awake_share, 1e-12);
    }
}

#[test]
fn waking_takes_the_form_of_the_paper() {
    // Baranyi & Roberts (1994): A(t) = t + ln[e^(-nu t) + e^(-h0) - e^(-nu t - h0)]/nu, nu = h0/lag.
    for (theta, lag) in [(0.1, 0.2), (0.7, 0.3), (5.0, 0.4)] {
        let nu = H0 / lag;
        let by_paper = theta + ((-nu * theta).exp() + (-H0).exp() - (-nu * theta - H0).exp()).ln() / nu;
        close(awake(theta, lag).hours, by_paper, 1e-14);
    }
    // Long after, the whole lag is lost.
    close(awake(50.0, 0.5).hours, 49.5, 1e-12);
}
