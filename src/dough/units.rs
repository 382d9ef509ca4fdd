//! Newtypes for the borders of the program, where a number meets a person or a file. Inside the
//! physics plain `f64` in °C, g and h are used, as named in each file's head.

use std::fmt;

use serde::{Deserialize, Serialize};

macro_rules! unit {
    ($(#[$doc:meta])* $name:ident, $suffix:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub f64);

        impl fmt::Display for $name {
            /// Writes the number with the precision asked for, and its unit.
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                match f.precision() {
                    Some(p) => write!(f, "{:.*} {}", p, self.0, $suffix),
                    None => write!(f, "{} {}", self.0, $suffix),
                }
            }
        }
    };
}

unit!(
    /// A temperature in degrees Celsius.
    Celsius, "°C"
);
unit!(
    /// A mass in grams.
    Grams, "g"
);
unit!(
    /// A duration in hours.
    Hours, "h"
);

/// Grams in one ounce (avoirdupois, exact: NIST Handbook 44, appendix C).
pub const GRAMS_PER_OUNCE: f64 = 28.349_523_125;
/// Grams in one pound (avoirdupois, exact: NIST Handbook 44, appendix C).
pub const GRAMS_PER_POUND: f64 = 453.592_37;

impl Celsius {
    /// From degrees Fahrenheit.
    pub fn from_fahrenheit(f: f64) -> Self {
        Self((f - 32.0) / 1.8)
    }

    /// In degrees Fahrenheit.
    pub fn fahrenheit(self) -> f64 {
        self.0 * 1.8 + 32.0
    }
}

/// A temperature in both scales, "24 °C (75 °F)", for sentences that are kept and read in either.
pub fn both_scales(celsius: f64, digits: usize) -> String {
    format!("{celsius:.digits$} °C ({:.0} °F)", Celsius(celsius).fahrenheit())
}

/// A difference of temperatures in both scales, "1.5 °C (2.7 °F)".
pub fn both_differences(celsius: f64) -> String {
    format!("{celsius:.1} °C ({:.1} °F)", 1.8 * celsius)
}

impl Grams {
    /// In ounces.
    pub fn ounces(self) -> f64 {
        self.0 / GRAMS_PER_OUNCE
    }
}

/// In which units answers are shown; records are always kept in metric.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum UnitSystem {
    /// Grams and degrees Celsius.
    #[default]
    Metric,
    /// Ounces and degrees Fahrenheit.
    Us,
}

impl UnitSystem {
    /// The unit of temperatures.
    pub fn degrees(self) -> &'static str {
        match self {
            Self::Metric => "°C",
            Self::Us => "°F",
        }
    }

    /// A temperature in that unit.
    pub fn temperature(self, celsius: f64) -> f64 {
        match self {
            Self::Metric => celsius,
            Self::Us => Celsius(celsius).fahrenheit(),
        }
    }

    /// A difference of temperatures in that unit.
    pub fn temperature_difference(self, celsius: f64) -> f64 {
        match self {
            Self::Metric => celsius,
            Self::Us => 1.8 * celsius,
        }
    }

    /// The unit of small masses.
    pub fn small_mass(self) -> &'static str {
        match self {
            Self::Metric => "g",
            Self::Us => "oz",
        }
    }

    /// A mass in that unit.
    pub fn mass(self, grams: f64) -> f64 {
        match self {
            Self::Metric => grams,
            Self::Us => Grams(grams).ounces(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn conversions_meet_at_fixed_points() {
        assert_eq!(Celsius::from_fahrenheit(212.0).0, 100.0);
        assert_eq!(Celsius(-40.0).fahrenheit(), -40.0);
        assert_eq!(both_scales(24.0, 0), "24 °C (75 °F)");
        assert_eq!(both_differences(-1.5), "-1.5 °C (-2.7 °F)");
        assert_eq!(
            (UnitSystem::Us.temperature(100.0), UnitSystem::Us.temperature_difference(-10.0)),
            (212.0, -18.0)
        );
        assert_eq!(UnitSystem::Us.mass(GRAMS_PER_OUNCE), 1.0);
        assert!((Grams(GRAMS_PER_POUND).ounces() - 16.0).abs() < 1e-12);
        assert_eq!(format!("{:.1}", Celsius(23.04)), "23.0 °C");
    }
}
