//! Units that a heading, a cell or a baker may name, and what one of them is in the unit of its column.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::headings::Target;
use crate::dough::units::{GRAMS_PER_OUNCE, GRAMS_PER_POUND};
use crate::dough::{Celsius, Column, Kind};

/// What a column measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Kept in grams.
    Mass,
    /// Kept in °C.
    Temperature,
    /// Kept in hours.
    Hours,
    /// Kept in minutes.
    Minutes,
    /// Volume over volume, kept as times.
    Ratio,
    /// Kept in percent.
    Percent,
    /// A score.
    Score,
}

impl Quantity {
    /// What a target measures; `None` for text, dates and words.
    pub fn of(target: Target) -> Option<Self> {
        match target {
            Target::Hours => Some(Self::Hours),
            Target::SurroundingsTemp => Some(Self::Temperature),
            Target::Vessel | Target::Clock => None,
            Target::Column(column) => match column.kind() {
                Kind::Number { unit, .. } => Some(match unit {
                    "g" => Self::Mass,
                    "°C" => Self::Temperature,
                    "h" => Self::Hours,
                    "min" => Self::Minutes,
                    "times" => Self::Ratio,
                    "%" => Self::Percent,
                    _ => Self::Score,
                }),
                _ => None,
            },
        }
    }

    /// The unit in which it is kept.
    pub fn kept_in(self) -> Unit {
        match self {
            Self::Mass => Unit::Gram,
            Self::Temperature => Unit::Celsius,
            Self::Hours => Unit::Hour,
            Self::Minutes => Unit::Minute,
            Self::Ratio => Unit::Times,
            Self::Percent => Unit::Percent,
            Self::Score => Unit::Points,
        }
    }
}

macro_rules! units {
    ($($(#[$doc:meta])* $unit:ident = $name:literal;)+) => {
        /// A unit.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Unit {
            $($(#[$doc])* $unit,)+
        }

        impl Unit {
            /// All units.
            pub const ALL: &'static [Unit] = &[$(Unit::$unit,)+];

            /// Its name, as it is shown and as a mapping file gives it.
            pub const fn name(self) -> &'static str {
                match self { $(Unit::$unit => $name,)+ }
            }
        }
    };
}

units! {
    /// Milligram.
    Milligram = "mg";
    /// Gram.
    Gram = "g";
    /// Kilogram.
    Kilogram = "kg";
    /// Avoirdupois ounce.
    Ounce = "oz";
    /// Avoirdupois pound.
    Pound = "lb";
    /// Millilitre, of water only.
    Millilitre = "ml";
    /// Litre, of water only.
    Litre = "l";
    /// Degree Celsius.
    Celsius = "°C";
    /// Degree Fahrenheit.
    Fahrenheit = "°F";
    /// Second.
    Second = "s";
    /// Minute.
    Minute = "min";
    /// Hour.
    Hour = "h";
    /// Day.
    Day = "d";
    /// Times the volume at first.
    Times = "times";
    /// Percent, of what the column says.
    Percent = "%";
    /// Hundredth parts written as a fraction of one, of what the column says.
    Part = "part";
    /// Percent of all flour: the baker's percentage.
    PercentOfFlour = "% of flour";
    /// The baker's percentage as a fraction of one.
    PartOfFlour = "part of flour";
    /// Percent of the preferment's flour.
    PercentOfPreferment = "% of preferment flour";
    /// Part of the preferment's flour, as a fraction of one.
    PartOfPreferment = "part of preferment flour";
    /// Percent of the volume at first: 220 % is 2.2 times.
    PercentOfVolume = "% of volume";
    /// Percent gained on the volume at first: 120 % is 2.2 times.
    PercentGained = "% gained";
    /// Points of a score.
    Points = "points";
}

/// Of what an amount is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Share {
    /// By itself.
    Own,
    /// As a share of all flour.
    OfFlour,
    /// As a share of the preferment's flour.
    OfPreferment,
}

impl Unit {
    /// Of what an amount in this unit is told.
    pub fn share(self) -> Share {
        match self {
            Self::PercentOfFlour | Self::PartOfFlour => Share::OfFlour,
            Self::PercentOfPreferment | Self::PartOfPreferment => Share::OfPreferment,
            _ => Share::Own,
        }
    }

    /// `x` of this unit in the unit in which `quantity` is kept; for a share of flour, the fraction.
    /// `None` when the unit does not measure that quantity.
    pub fn convert(self, x: f64, quantity: Quantity) -> Option<f64> {
        if self == quantity.kept_in() {
            return Some(x);
        }
        let converted = match (quantity, self) {
            (Quantity::Mass, Self::Milligram) => x / 1000.0,
            (Quantity::Mass, Self::Kilogram | Self::Litre) => x * 1000.0,
            (Quantity::Mass, Self::Millilitre) => x,
            (Quantity::Mass, Self::Ounce) => x * GRAMS_PER_OUNCE,
            (Quantity::Mass, Self::Pound) => x * GRAMS_PER_POUND,
            (Quantity::Mass, Self::PercentOfFlour | Self::PercentOfPreferment) => x / 100.0,
            (Quantity::Mass, Self::PartOfFlour | Self::PartOfPreferment) => x,
            (Quantity::Temperature, Self::Fahrenheit) => Celsius::from_fahrenheit(x).0,
            (Quantity::Hours, Self::Second) => x / 3600.0,
            (Quantity::Hours, Self::Minute) | (Quantity::Minutes, Self::Second) => x / 60.0,
            (Quantity::Hours, Self::Day) => x * 24.0,
            (Quantity::Minutes, Self::Hour) => x * 60.0,
            (Quantity::Minutes, Self::Day) => x * 1440.0,
            (Quantity::Ratio, Self::PercentOfVolume) => x / 100.0,
            (Quantity::Ratio, Self::PercentGained) => 1.0 + x / 100.0,
            (Quantity::Percent, Self::Part) => x * 100.0,
            _ => return None,
        };
        Some(tidy(converted))
    }

    /// What a unit may stand for in a column: a bare percent sign is of the flour, of a volume, or plain.
    pub fn meanings(self, target: Target) -> Vec<Unit> {
        use Unit as U;
        let Some(quantity) = Quantity::of(target) else { return Vec::new() };
        let in_preferment =
            matches!(target, Target::Column(Column::preferment_water_g | Column::preferment_yeast_g));
        let of_water = matches!(target, Target::Column(Column::water_g | Column::preferment_water_g));
        match (self, quantity) {
            (U::Percent | U::Part, Quantity::Mass) if target == Target::Column(Column::flour_g) => vec![],
            (U::Percent, Quantity::Mass) if in_preferment => vec![U::PercentOfPreferment, U::PercentOfFlour],
            (U::Percent, Quantity::Mass) => vec![U::PercentOfFlour],
            (U::Part, Quantity::Mass) if in_preferment => vec![U::PartOfPreferment, U::PartOfFlour],
            (U::Part, Quantity::Mass) => vec![U::PartOfFlour],
            (U::Percent, Quantity::Ratio) => vec![U::PercentOfVolume, U::PercentGained],
            (U::Millilitre | U::Litre, Quantity::Mass) if !of_water => vec![],
            _ => self.convert(1.0, quantity).map(|_| self).into_iter().collect(),
        }
    }
}

/// A converted number without the last-digit noise of the conversion: 12 significant digits.
pub fn tidy(x: f64) -> f64 {
    format!("{x:.11e}").parse().unwrap_or(x)
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A name that is no unit's.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("'{0}' is no unit: one of {wanted} is wanted", wanted = Unit::ALL.iter().map(|u| u.name()).collect::<Vec<_>>().join(", "))]
pub struct NoUnit(pub String);

impl FromStr for Unit {
    type Err = NoUnit;

    fn from_str(text: &str) -> Result<Self, NoUnit> {
        Self::ALL.iter().copied().find(|u| u.name() == text).ok_or_else(|| NoUnit(text.to_string()))
    }
}

impl Serialize for Unit {
    fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.serialize_str(self.name())
    }
}

impl<'de> Deserialize<'de> for Unit {
    fn deserialize<D: serde::Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        String::deserialize(d)?.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn conversions_meet_the_handbook() {
        // NIST Handbook 44, appendix C: 1 lb = 453.59237 g, 1 oz = 28.349523125 g, exact.
        assert_eq!(Unit::Pound.convert(2.0, Quantity::Mass), Some(907.18474));
        assert_eq!(Unit::Ounce.convert(16.0, Quantity::Mass), Some(453.59237));
        assert_eq!(Unit::Fahrenheit.convert(72.0, Quantity::Temperature), Some(22.2222222222));
        assert_eq!(Unit::PercentGained.convert(120.0, Quantity::Ratio), Some(2.2));
        assert_eq!(Unit::Day.convert(1.5, Quantity::Hours), Some(36.0));
        assert_eq!(Unit::Pound.convert(1.0, Quantity::Hours), None);
    }

    #[test]
    fn names_are_read_back() {
        for &unit in Unit::ALL {
            assert_eq!(unit.name().parse(), Ok(unit));
        }
    }

    #[test]
    fn a_percent_sign_is_of_what_the_column_says() {
        let of = |column| Unit::Percent.meanings(Target::Column(column));
        assert_eq!(of(Column::salt_g), [Unit::PercentOfFlour]);
        assert_eq!(of(Column::flour_protein_pct), [Unit::Percent]);
        assert_eq!(of(Column::rise), [Unit::PercentOfVolume, Unit::PercentGained]);
        assert_eq!(of(Column::flour_g), []);
        assert_eq!(of(Column::cold_hours), []);
    }
}
