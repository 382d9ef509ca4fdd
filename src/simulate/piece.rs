//! A piece of dough through a stretch of time: a lump, or a ball of shells with conduction between them.
//!
//! Shells: radius in units of the piece's R; neighbours exchange heat by conduction, the skin by
//! film and half a shell in series. R from the mass, thermal numbers of a 62 % dough at 25 °C (Choi & Okos 1986).
//! Limits: as of [`super::truth`].

use crate::physics::cooling::{MASS_EXPONENT, REFERENCE_GRAMS};
use crate::physics::course::Segment;
use crate::physics::rise::Matrix;

use super::follow::{Found, STEP_H, Yeast, asleep, bounded, co2, steps};
use super::truth::{Cooling, Truth};

/// Density of gas-free dough in kg/m³ (Choi & Okos 1986 at 62 % water, 2 % salt, 25 °C).
const DENSITY: f64 = 1227.0;
/// Specific heat of that dough in J/(kg K).
const SPECIFIC_HEAT: f64 = 2820.0;
/// Conductivity of that dough in W/(m K).
const CONDUCTIVITY: f64 = 0.448;
const SECONDS_AN_HOUR: f64 = 3600.0;

/// Radius in m of a ball of dough of so many grams.
pub fn radius(grams: f64) -> f64 {
    (3.0 * grams / 1000.0 / DENSITY / (4.0 * std::f64::consts::PI)).cbrt()
}

/// Thermal diffusivity of dough in m²/h.
pub fn diffusivity() -> f64 {
    CONDUCTIVITY / (DENSITY * SPECIFIC_HEAT) * SECONDS_AN_HOUR
}

/// Biot number of a ball of so many grams whose skin passes heat as that of a 250 g lump of time constant `tau` h.
pub fn biot(grams: f64, tau: f64) -> f64 {
    let film = DENSITY * SPECIFIC_HEAT * radius(REFERENCE_GRAMS) / (3.0 * tau * SECONDS_AN_HOUR);
    film * radius(grams) / CONDUCTIVITY
}

/// A piece of dough: the state of its shells, from the centre out, as temperatures, ln q and gas.
pub(super) struct Piece {
    shells: usize,
    lump: bool,
    state: Vec<f64>,
    /// Share of the volume of each shell.
    share: Vec<f64>,
}

impl Piece {
    pub(super) fn new(cooling: Cooling, start_c: f64) -> Self {
        let (shells, lump) = match cooling {
            Cooling::Lump => (1, true),
            Cooling::Shells(n) => (n, false),
        };
        let edge = |i: usize| (i as f64 / shells as f64).powi(3);
        let share = (0..shells).map(|i| edge(i + 1) - edge(i)).collect();
        let state = [start_c, asleep(), 0.0].iter().flat_map(|x| std::iter::repeat_n(*x, shells)).collect();
        Self { shells, lump, state, share }
    }

    fn mean(&self, part: usize) -> f64 {
        self.state[part * self.shells..].iter().zip(&self.share).map(|(x, w)| x * w).sum()
    }

    pub(super) fn mean_c(&self) -> f64 {
        self.mean(0)
    }

    /// Makes all shells alike, as kneading or dividing does.
    pub(super) fn mix(&mut self) {
        for part in 0..3 {
            let mean = self.mean(part);
            self.state[part * self.shells..(part + 1) * self.shells].fill(mean);
        }
    }

    pub(super) fn rise(&self, truth: &Truth, matrix: &Matrix) -> Found {
        let n = self.shells;
        let volume: f64 =
            (0..n).map(|i| self.share[i] * co2(matrix, self.state[2 * n + i], self.state[i])).sum();
        bounded(truth.parameters.kept * volume / matrix.volume_ml, truth.parameters.max_rise)
    }

    pub(super) fn advance(
        &mut self,
        yeast: &Yeast<'_>,
        segment: &Segment,
        from: f64,
        around: &impl Fn(&Segment, f64) -> f64,
    ) {
        let p = &yeast.truth.parameters;
        let tau250 = p.tau250 * segment.place.map_or(1.0, |i| p.place_tau[i]);
        let grams = REFERENCE_GRAMS * segment.tau_factor.powf(1.0 / MASS_EXPONENT);
        let n = self.shells;
        let thickness = 1.0 / n as f64;
        let per_hour = diffusivity() / radius(grams).powi(2);
        let film = 1.0 / (0.5 * thickness + 1.0 / biot(grams, tau250));
        // Explicit steps are stable while they are short against the exchange between two shells.
        let stiff = if self.lump { 0.0 } else { 4.0 * per_hour / (thickness * thickness) };
        let share = &self.share;
        let lump = self.lump;
        let slope = |t: f64, y: &[f64], dy: &mut [f64]| {
            let e = around(segment, t);
            let mut inward = 0.0;
            for i in 0..n {
                let (dln_q, dgas) = yeast.slopes(y[i], y[n + i], y[2 * n + i]);
                let outward = if i + 1 < n {
                    let r = (i + 1) as f64 * thickness;
                    r * r * (y[i + 1] - y[i]) / thickness
                } else {
                    (e - y[i]) * film
                };
                let flow = if lump {
                    (e - y[i]) / (tau250 * segment.tau_factor)
                } else {
                    3.0 * per_hour * (outward - inward) / share[i]
                };
                inward = outward;
                dy[i] = flow + yeast.truth.heat_per_ml * dgas;
                dy[n + i] = dln_q;
                dy[2 * n + i] = dgas;
            }
        };
        steps(&mut self.state, from, segment.hours, STEP_H.min(1.0 / stiff.max(1.0)), slope);
    }
}
