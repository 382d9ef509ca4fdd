//! From gas to rise: dissolved CO2, its balance, and whole batches integrated numerically.

use doughwright::physics::course::{Course, Output, Parameters, Preferment, Segment, Start, Workspace};
use doughwright::physics::rate::Rate;
use doughwright::physics::rise::{Matrix, rise};
use doughwright::physics::solubility::{T25, ZERO_C, solubility};
use serde::Deserialize;

use crate::{close, folder, read};

/// `water.csv`: Henry's constant of IAPWS guideline G7-04 with the density of IAPWS-95 (Python package iapws
/// 1.5.5), as mL of ideal gas at 1 atm and the water's temperature per mL of water.
#[derive(Deserialize)]
struct Water {
    t_c: f64,
    co2_ml_per_ml: f64,
}

#[test]
fn solubility_agrees_with_the_international_guideline() {
    // Sander's two figures are rounded (3.4e-4, 2400 K): 2.5 % over 0-40 °C.
    for row in read::<Water>("water.csv") {
        close(solubility(row.t_c).0 / row.co2_ml_per_ml, 1.0, 0.025);
    }
}

#[test]
fn solubility_agrees_with_measurements() {
    // Murray & Riley (1971), Deep-Sea Res. 18:533-541, in the IUPAC-NIST Solubility Database (SRD 106):
    // Bunsen coefficients, mL of gas at 0 °C per mL at 1 atm.
    for (t, bunsen) in
        [(5.0, 1.4199), (10.0, 1.1926), (15.0, 1.0100), (20.0, 0.8652), (25.0, 0.7519), (35.0, 0.5905)]
    {
        let measured = bunsen * (t + ZERO_C) / ZERO_C;
        close(solubility(t).0 / measured, 1.0, 0.03);
    }
}

#[test]
fn solubility_follows_sander() {
    // Sander (2015; version 5, 2023): 3.4e-4 mol/(m3 Pa) and 2400 K; times R T by hand.
    close(solubility(4.0).0, 1.44, 0.005);
    close(solubility(25.0).0, 0.843, 0.0005);
}

fn lean() -> Matrix {
    Matrix::new(62.0, 2.0, 0.0, 0.0, 12.0)
}

#[test]
fn a_lean_dough_dissolves_tens_of_millilitres() {
    // 62 % hydration, 2 % salt: water with the flour's own times the solubility; 164 g at 1227 kg/m3, with 8
    // % of air, is 146 mL.
    let dough = lean();
    close(dough.water_ml * solubility(25.0).0, 64.0, 0.5);
    close(dough.water_ml * solubility(4.0).0, 110.0, 0.5);
    close(dough.volume_ml, 164.0 / 1.227 / 0.92, 0.2);
    close(dough.volume_ml, 146.0, 1.0);
}

#[test]
fn carbon_dioxide_is_balanced() {
    // What was made is what is dissolved and what is in the cells, at one pressure with the air (Henry,
    // Dalton).
    let dough = lean();
    for t in [2.0, 4.0, 25.0, 38.0] {
        for made in [0.0, 1e-6, 5.0, 60.0, 110.0, 300.0, 1500.0] {
            // A flour without limit that keeps all its gas: the rise tells the volume of CO2.
            let r = rise(&dough, made, t, 1.0, 1e9);
            let cells = (r.ln_unbounded.exp_m1()) * dough.volume_ml;
            let pressure = cells / (cells + dough.air_ml);
            let dissolved = solubility(t).0 * dough.water_ml * pressure;
            let swollen = made * (t + ZERO_C) / T25;
            close(dissolved + cells, swollen, 1e-10 * (1.0 + swollen));
        }
    }
}

#[test]
fn the_same_dough_stands_taller_warm_than_cold() {
    // Worked out with the equations (a calculation, not a measurement): a dough at about double stands 15 %
    // taller at 20 than at 4 °C.
    let dough = lean();
    let made = 215.0;
    let stands = |t| rise(&dough, made, t, 0.92, 3.5).ln_rise.exp();
    close(stands(20.0) / stands(4.0), 1.15, 0.03);
}

/// `courses.json`: scipy 1.17.1, whole batches integrated with `solve_ivp`, the mass balance solved with
/// `brentq`.
#[derive(Deserialize)]
struct Batch {
    card: [f64; 3],
    k: f64,
    mu: f64,
    lag: f64,
    ceiling: f64,
    salt: f64,
    loss: f64,
    preferment_loss: f64,
    max_rise: f64,
    fresh_pct: f64,
    lag_factor: f64,
    salt_pct: f64,
    sugar_pct: f64,
    dough: [f64; 3],
    start_c: f64,
    segments: Vec<[f64; 3]>,
    preferment: Option<Poolish>,
    expected: Expected,
}

#[derive(Deserialize)]
struct Poolish {
    share: f64,
    yeast_pct: f64,
    hours: f64,
    temp_c: f64,
    dough: [f64; 3],
}

#[derive(Deserialize)]
struct Expected {
    end_c: f64,
    ln_rise: f64,
    preferment_ln_rise: Option<f64>,
}

fn matrix([water_ml, air_ml, volume_ml]: [f64; 3]) -> Matrix {
    Matrix { water_ml, air_ml, volume_ml }
}

impl Batch {
    fn parameters(&self) -> Parameters {
        let [t_min, t_opt, t_max] = self.card;
        Parameters {
            k: self.k,
            mu: self.mu,
            lag: self.lag,
            ceiling: self.ceiling,
            salt: self.salt,
            kept: 1.0 - self.loss,
            kept_preferment: 1.0 - self.preferment_loss,
            rate: Rate::cardinal(t_min, t_opt, t_max).unwrap(),
            max_rise: self.max_rise,
            tau250: 1.0,
            pull: 0.0,
            warming: vec![],
            place_tau: vec![],
            fridge_offset: vec![],
        }
    }

    fn course(&self) -> Course {
        let segment = |[around_c, tau_factor, hours]: &[f64; 3]| Segment {
            around_c: *around_c,
            hours: *hours,
            tau_factor: *tau_factor,
            place: None,
            unmeasured: None,
        };
        let preferment = self.preferment.as_ref().map(|p| Preferment {
            share: p.share,
            yeast_pct: p.yeast_pct,
            hours: p.hours,
            temp_c: p.temp_c,
            matrix: matrix(p.dough),
        });
        let n = self.segments.len();
        let mut outputs = vec![Output::Rise(n), Output::Temperature(n)];
        outputs.extend(preferment.iter().map(|p| Output::PrefermentRise(p.hours)));
        Course {
            preferment,
            mixing: None,
            start: Start::Measured(self.start_c),
            fresh_pct: self.fresh_pct,
            lag_factor: self.lag_factor,
            salt_pct: self.salt_pct,
            sugar_pct: self.sugar_pct,
            matrix: matrix(self.dough),
            segments: self.segments.iter().map(segment).collect(),
            outputs,
        }
    }
}

#[test]
fn whole_batches_agree_with_numerical_integration() {
    let text = std::fs::read_to_string(folder().join("courses.json")).unwrap();
    let batches: Vec<Batch> = serde_json::from_str(&text).unwrap();
    assert_eq!(batches.len(), 5);
    for (i, b) in batches.iter().enumerate() {
        let mut ws = Workspace::<f64>::default();
        b.course().forward(&b.parameters(), b.k, &mut ws);
        let found: Vec<f64> = ws.answers.iter().map(|a| a.value).collect();
        let mut expected = vec![b.expected.ln_rise, b.expected.end_c];
        expected.extend(b.expected.preferment_ln_rise);
        assert_eq!(found.len(), expected.len());
        for (ours, theirs) in found.iter().zip(&expected) {
            assert!((ours / theirs - 1.0).abs() < 1e-9, "batch {i}: {found:?}, integrated {expected:?}");
        }
    }
}
