//! Which form r(T) takes, and how each is told by three numbers.
//!
//! All three are told by rho4 = r(4 °C)/r(25 °C); the others are Topt and Tmax in °C for the cardinal and the square root
//! form, Th in °C and Eh in kJ/mol of the switch for Arrhenius. So the forms differ in their shape alone.
//!
//! Sources and limits: those of [`super::rate`] and [`super::other_rate`].

use serde::{Deserialize, Serialize};

use super::other_rate::OtherRate;
use super::rate::{Rate, RateSlopes};

/// A form of r(T).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RateForm {
    /// Cardinal temperatures ([`super::rate`]).
    #[default]
    Cardinal,
    /// Square root ([`super::other_rate`]).
    SquareRoot,
    /// Arrhenius with a switch at high temperature ([`super::other_rate`]).
    Arrhenius,
}

/// Relative step of the differences below: their error is then some 1e-10.
const STEP: f64 = 1e-5;

impl RateForm {
    /// The rate told by rho4 and two more numbers, in the units of the head of this file; `None` where there is none.
    pub fn rate(self, rho4: f64, second: f64, third: f64) -> Option<Rate> {
        match self {
            Self::Cardinal => Rate::from_rho4(rho4, second, third),
            Self::SquareRoot => OtherRate::square_root(rho4, second, third).map(Rate::other),
            Self::Arrhenius => OtherRate::arrhenius(rho4, second, third).map(Rate::other),
        }
    }

    /// How the coefficients of a rate so told hang on the three numbers (`rate` as [`RateForm::rate`] made it); exact
    /// for the cardinal form, by central differences for the others.
    pub fn slopes(self, rate: &Rate, rho4: f64, second: f64, third: f64) -> RateSlopes {
        if self == Self::Cardinal {
            return RateSlopes::new(rate, rho4, second, third);
        }
        let told = [rho4, second, third];
        let coefficients = |moved: [f64; 3]| {
            let other = self.rate(moved[0], moved[1], moved[2]).and_then(|r| r.other)?;
            Some(other.coefficients())
        };
        RateSlopes(std::array::from_fn(|along| {
            let h = STEP * told[along];
            let at = |by: f64| {
                let mut moved = told;
                moved[along] += by;
                coefficients(moved)
            };
            // At the very edge of the support one side is missing; the density beyond is zero anyway.
            let (Some(up), Some(down)) = (at(h), at(-h)) else { return [0.0; 4] };
            std::array::from_fn(|i| if i < 3 { (up[i] - down[i]) / (2.0 * h) } else { 0.0 })
        }))
    }
}
