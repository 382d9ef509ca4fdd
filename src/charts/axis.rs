//! An axis: its name with the unit, and how values are placed along it.

use jiff::ZonedDateTime;

/// How values are placed along an axis, and how they are written.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Scale {
    /// Evenly.
    Linear,
    /// By ratio; values are positive.
    Log,
    /// Natural logarithms of ratios, written as a change in percent: ln 1.1 is "+10".
    Change,
    /// Hours, in steps that people count in.
    Hours,
    /// Hours after this moment, written as times of day.
    Clock(Box<ZonedDateTime>),
    /// Days since 1970-01-01, written as dates.
    Dates,
    /// Whole numbers from 0, each with its own label.
    Listed(Vec<String>),
    /// Evenly, without ticks.
    Bare,
}

/// An axis from `low` to `high`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Axis {
    /// What is measured, and its unit.
    pub name: String,
    /// How values are placed.
    pub scale: Scale,
    /// The value at the left or the bottom.
    pub low: f64,
    /// The value at the right or the top.
    pub high: f64,
}

/// Room left beyond the outermost values, as a part of the whole.
const PADDING: f64 = 0.04;

impl Axis {
    /// An axis that has room for all of the values that can be placed on its scale.
    pub fn over(name: &str, scale: Scale, values: impl IntoIterator<Item = f64>) -> Self {
        let mut axis = Self { name: name.to_owned(), scale, low: 0.0, high: 1.0 };
        let placed = values.into_iter().map(|v| axis.place(v)).filter(|v| v.is_finite());
        let (mut low, mut high) =
            placed.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        if low > high {
            (low, high) = (axis.place(1.0), axis.place(2.0));
        }
        let pad = match high - low {
            span if span > 0.0 => span * PADDING,
            _ if matches!(axis.scale, Scale::Log | Scale::Change) => 0.1,
            _ => (low.abs() * 0.05).max(0.5),
        };
        (axis.low, axis.high) = (axis.unplace(low - pad), axis.unplace(high + pad));
        axis
    }

    /// An axis with these ends.
    pub fn between(name: &str, scale: Scale, low: f64, high: f64) -> Self {
        Self { name: name.to_owned(), scale, low, high }
    }

    /// The same axis, ending at `low` when its values would go below.
    pub fn not_below(mut self, low: f64) -> Self {
        self.low = self.low.max(low);
        self
    }

    /// Where a value lies: equal steps of the result are equal steps in the picture.
    pub fn place(&self, value: f64) -> f64 {
        if self.scale == Scale::Log { value.ln() } else { value }
    }

    fn unplace(&self, place: f64) -> f64 {
        if self.scale == Scale::Log { place.exp() } else { place }
    }

    /// Where a value lies, 0 at the low end and 1 at the high end; values beyond an end lie at that end.
    pub fn fraction(&self, value: f64) -> f64 {
        let (low, high) = (self.place(self.low), self.place(self.high));
        ((self.place(value) - low) / (high - low)).clamp(0.0, 1.0)
    }
}
