//! What really goes on in an invented kitchen's dough.
//!
//! [`Truth::of_model`] is the model's own physics. Each of its parts can be exchanged for another:
//!
//! - [`Warmth`] r(T), the rate at T °C over the rate at 25 °C, without unit:
//!   cardinal temperatures (Rosso, Lobry & Flandrois 1993, J. Theor. Biol. 162:447-463);
//!   the square root model sqrt(r) = b (T - Tmin) {1 - exp[c (T - Tmax)]} (Ratkowsky et al. 1983, J. Bacteriol.
//!   154:1222-1226); an Arrhenius rate with a switch at high temperature, r = (T/T25) exp[E/R (1/T25 - 1/T)] /
//!   {1 + exp[Eh/R (1/Th - 1/T)]}, T in K (Schoolfield, Sharpe & Magnuson 1981, J. Theor. Biol. 88:719-731).
//! - [`Slowing`] how gas making slows as the sugars go: linear in what is left, or logarithmic in the manner
//!   of Gompertz curves, ln[(1+e)/(G/M+e)]/ln[(1+e)/e], one at the start and zero at M.
//! - [`Cooling`] a lump of one temperature, or a ball of shells with conduction between them.
//! - heat of fermentation, K per mL of gas per 100 g flour.
//!
//! Limits: a ball keeps its size and conductivity while it rises; its shells are mixed when it is divided.

use crate::physics::course::Parameters;
use crate::physics::rate::{REFERENCE_C, gamma};
use crate::physics::solubility::{GAS_CONSTANT, T25, ZERO_C};

/// r(T), up to a factor that [`Truth`] takes out at 25 °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Warmth {
    /// Cardinal temperatures in °C.
    Cardinal {
        /// Notional zero of gas making.
        t_min: f64,
        /// Where it is fastest.
        t_opt: f64,
        /// Where it stops.
        t_max: f64,
    },
    /// The square root model.
    SquareRoot {
        /// Notional zero in °C.
        t_min: f64,
        /// Where it stops, in °C.
        t_max: f64,
        /// Steepness at the hot end, per °C.
        c: f64,
    },
    /// Arrhenius with a switch at high temperature.
    Arrhenius {
        /// E of the rate, J/mol.
        energy: f64,
        /// Eh of the switch, J/mol.
        switch_energy: f64,
        /// Th where half is switched off, in °C.
        switch_c: f64,
    },
}

impl Warmth {
    fn unscaled(self, t: f64) -> f64 {
        match self {
            Self::Cardinal { t_min, t_opt, t_max } => gamma(t, t_min, t_opt, t_max),
            Self::SquareRoot { t_min, t_max, c } if t > t_min && t < t_max => {
                let root = (t - t_min) * -(c * (t - t_max)).exp_m1();
                root * root
            }
            Self::SquareRoot { .. } => 0.0,
            Self::Arrhenius { energy, switch_energy, switch_c } => {
                let kelvin = t + ZERO_C;
                let rate = kelvin / T25 * (energy / GAS_CONSTANT * (1.0 / T25 - 1.0 / kelvin)).exp();
                let switch = switch_energy / GAS_CONSTANT * (1.0 / (switch_c + ZERO_C) - 1.0 / kelvin);
                rate / (1.0 + switch.exp())
            }
        }
    }

    /// r at `t` °C, one at 25 °C.
    pub fn at(self, t: f64) -> f64 {
        self.unscaled(t) / self.unscaled(REFERENCE_C)
    }
}

/// How gas making slows as the sugars go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Slowing {
    /// 1 - G/M, as in the model.
    Linear,
    /// Logarithmic, with the given e > 0: the smaller, the sooner it slows.
    Logarithmic(f64),
}

impl Slowing {
    /// The factor at a share G/M of the sugars used.
    pub fn at(self, used: f64) -> f64 {
        match self {
            Self::Linear => 1.0 - used,
            Self::Logarithmic(e) => ((1.0 + e) / (used + e)).ln() / ((1.0 + e) / e).ln(),
        }
    }
}

/// How a piece takes the temperature around it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cooling {
    /// One temperature for the whole piece.
    Lump,
    /// A ball of so many shells of equal thickness, with the lump's film coefficient at its skin.
    Shells(usize),
}

/// Heat of fermentation in K per mL of gas per 100 g flour when none is lost: 0.44 K per 100 mL (from the
/// enthalpy of alcoholic fermentation, from memory).
pub const HEAT_PER_ML: f64 = 0.0044;

/// What really goes on in the dough of one kitchen.
#[derive(Debug, Clone, PartialEq)]
pub struct Truth {
    /// Numbers shared with the model; `rate` is not read, [`Truth::warmth`] stands in its place.
    pub parameters: Parameters,
    /// r(T).
    pub warmth: Warmth,
    /// How gas making slows.
    pub slowing: Slowing,
    /// How a piece cools.
    pub cooling: Cooling,
    /// Heat of fermentation in K per mL of gas per 100 g flour.
    pub heat_per_ml: f64,
}

impl Truth {
    /// The model's own physics; `t_opt` in °C is the optimum that `parameters.rate` was made with.
    pub fn of_model(parameters: Parameters, t_opt: f64) -> Self {
        let warmth = Warmth::Cardinal { t_min: parameters.rate.t_min, t_opt, t_max: parameters.rate.t_max };
        Self { parameters, warmth, slowing: Slowing::Linear, cooling: Cooling::Lump, heat_per_ml: 0.0 }
    }
}
