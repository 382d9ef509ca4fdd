//! The one table of columns.
//!
//! Each row of the `columns!` call below names a column, its kind, its unit, the range that a sane
//! entry keeps, and its meaning. [`Batch`] (one optional field a column), [`Column`] (the names) and
//! the getters and setters by name are made from it, so that a new column is one new line here.
//!
//! Ranges are wide on purpose: they catch a slipped decimal or a wrong unit, not an unusual recipe.

use std::fmt;
use std::str::FromStr;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::batch::StageKind;
use super::nearest::NoColumn;
use super::when::When;
use super::words::word_enum;
use super::yeast::YeastType;

/// The value of one cell, in the unit of its column.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Value {
    /// A number in the column's unit.
    Number(f64),
    /// Free text, or one of the column's allowed words.
    Text(String),
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(x) => write!(f, "{x}"),
            Self::Text(t) => f.write_str(t),
        }
    }
}

/// What may stand in a column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// Free text.
    Text,
    /// A local date or date-time, ISO 8601.
    When,
    /// A number with its unit and the closed range a sane entry keeps.
    Number {
        /// The unit, as shown to a baker.
        unit: &'static str,
        /// The least sane value.
        min: f64,
        /// The greatest sane value.
        max: f64,
    },
    /// One of a few words.
    Choice(&'static [&'static str]),
}

/// A cell that a column cannot hold, with what it could.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{column} cannot be '{value}': {expected}")]
pub struct SetError {
    /// The column that refused.
    pub column: Column,
    /// The value as given.
    pub value: String,
    /// What would be right.
    pub expected: String,
}

/// The baker's verdict at the oven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Ripeness {
    /// Not risen enough.
    Under,
    /// As wanted.
    Ready,
    /// Past its best.
    Over,
    /// Fallen.
    Collapsed,
}

word_enum!(Ripeness { Under = "under", Ready = "ready", Over = "over", Collapsed = "collapsed" });

macro_rules! field_type {
    (text) => { Option<String> };
    (when) => { Option<When> };
    (number $unit:literal $min:literal $max:literal) => { Option<f64> };
    (choice $ty:ty) => { Option<$ty> };
}

macro_rules! kind {
    (text) => {
        Kind::Text
    };
    (when) => {
        Kind::When
    };
    (number $unit:literal $min:literal $max:literal) => {
        Kind::Number { unit: $unit, min: $min, max: $max }
    };
    (choice $ty:ty) => {
        Kind::Choice(<$ty>::WORDS)
    };
}

macro_rules! get_value {
    ($field:expr, number $($rest:tt)*) => {
        $field.map(Value::Number)
    };
    ($field:expr, $($rest:tt)*) => {
        $field.as_ref().map(|v| Value::Text(v.to_string()))
    };
}

macro_rules! set_value {
    ($field:expr, $column:expr, $value:expr, number $unit:literal $min:literal $max:literal) => {{
        let x = number($column, $value)?;
        if !($min..=$max).contains(&x) {
            return Err(SetError {
                column: $column,
                value: x.to_string(),
                expected: format!("it must lie between {} and {} {}", $min, $max, $unit)
                    .trim_end()
                    .to_string(),
            });
        }
        $field = Some(x);
    }};
    ($field:expr, $column:expr, $value:expr, $($rest:tt)*) => {
        $field = Some(parsed($column, $value)?)
    };
}

macro_rules! columns {
    ($($name:ident ( $($kind:tt)+ ) $meaning:literal;)+) => {
        /// The columns of the batch table.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
        #[allow(non_camel_case_types)]
        pub enum Column {
            $(#[doc = $meaning] $name,)+
        }

        impl Column {
            /// All columns, in the order of the table.
            pub const ALL: &'static [Column] = &[$(Column::$name,)+];

            /// The name, as it stands in a heading.
            pub const fn name(self) -> &'static str {
                match self { $(Column::$name => stringify!($name),)+ }
            }

            /// What the column means, for help texts.
            pub const fn meaning(self) -> &'static str {
                match self { $(Column::$name => $meaning,)+ }
            }

            /// What may stand in it.
            pub const fn kind(self) -> Kind {
                match self { $(Column::$name => kind!($($kind)+),)+ }
            }
        }

        /// One batch of dough, or (with blanks) a plan for one. One optional field a column.
        #[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
        #[serde(default, deny_unknown_fields)]
        pub struct Batch {
            $(#[doc = $meaning]
            #[serde(skip_serializing_if = "Option::is_none")]
            pub $name: field_type!($($kind)+),)+
        }

        impl Batch {
            /// The value in a column, `None` where it is blank.
            pub fn get(&self, column: Column) -> Option<Value> {
                match column { $(Column::$name => get_value!(self.$name, $($kind)+),)+ }
            }

            /// Puts a value into a column.
            ///
            /// # Errors
            /// When the column cannot hold it: text where a number belongs, a number outside the
            /// column's range, or a word that is not among the allowed ones.
            pub fn set(&mut self, column: Column, value: &Value) -> Result<(), SetError> {
                match column {
                    $(Column::$name => set_value!(self.$name, column, value, $($kind)+),)+
                }
                Ok(())
            }

            /// Makes a column blank.
            pub fn clear(&mut self, column: Column) {
                match column { $(Column::$name => self.$name = None,)+ }
            }
        }
    };
}

columns! {
    batch_id (text) "Unique in a kitchen; made from the date and a counter when absent";
    date (when) "The start of mixing: a local date, or a date-time when the hour is known";
    flour_g (number "g" 10.0 1e6) "All flour, that of a preferment included";
    water_g (number "g" 1.0 1e6) "All water, that of a preferment included, ice too";
    salt_g (number "g" 0.0 1e5) "Salt";
    yeast_g (number "g" 0.0 1e5) "Yeast added to the final dough, as weighed; the preferment's is apart";
    yeast_type (choice YeastType) "instant, active_dry or fresh";
    rise (number "times" 0.8 12.0) "Volume at the end of the last stage over volume just after mixing";
    kitchen (text) "Which kitchen; one fit per kitchen";
    recipe (text) "Which recipe";
    flour_name (text) "The flour";
    flour_lot (text) "The flour's lot";
    yeast_lot (text) "The yeast's lot or packet";
    flour_protein_pct (number "%" 3.0 25.0) "Protein, as on the bag";
    baker (text) "Who mixed (a role or initial will do)";
    oil_g (number "g" 0.0 1e5) "Oil or fat";
    sugar_g (number "g" 0.0 1e5) "Added sugar";
    malt_g (number "g" 0.0 1e5) "Malt";
    preferment_flour_g (number "g" 0.0 1e6) "Flour in the preferment, part of flour_g";
    preferment_water_g (number "g" 0.0 1e6) "Water in the preferment, part of water_g";
    preferment_yeast_g (number "g" 0.0 1e5) "Yeast in the preferment, beside yeast_g";
    preferment_hours (number "h" 0.0 120.0) "How long the preferment stood";
    preferment_temp_c (number "°C" -2.0 45.0) "Where the preferment stood";
    preferment_rise (number "times" 0.8 12.0) "The preferment's rise at its use";
    flour_temp_c (number "°C" -25.0 50.0) "Flour at mixing";
    room_temp_c (number "°C" -10.0 50.0) "Room at mixing";
    water_temp_c (number "°C" 0.0 60.0) "Water added at mixing (the liquid part, when ice is weighed apart)";
    tap_temp_c (number "°C" 0.0 40.0) "Water as the tap gives it";
    ice_g (number "g" 0.0 1e6) "Ice, part of water_g";
    mix_method (text) "hand, stand_mixer, spiral, processor, or a name of your own";
    mix_minutes (number "min" 0.0 180.0) "How long it was mixed";
    dough_temp_c (number "°C" 0.0 45.0) "Dough measured just after mixing";
    bulk_hours (number "h" 0.0 96.0) "Whole dough: how long";
    bulk_temp_c (number "°C" -5.0 50.0) "Whole dough: temperature around it";
    cold_hours (number "h" 0.0 240.0) "Pieces in the fridge: how long";
    cold_temp_c (number "°C" -5.0 20.0) "Pieces in the fridge: temperature around them";
    temper_hours (number "h" 0.0 48.0) "Pieces back in the room: how long";
    temper_temp_c (number "°C" -5.0 50.0) "Pieces back in the room: temperature around them";
    piece_g (number "g" 5.0 20000.0) "Mass of one piece from the division on";
    container (text) "What the pieces stand in";
    cold_place (text) "Which fridge or shelf";
    rise_at (choice StageKind) "The stage at whose end the rise was read: bulk, cold or temper; the last when blank";
    rise_sample_g (number "g" 5.0 20000.0) "Mass of the sample jar the rise was read on; blank when read on the pieces";
    target_rise (number "times" 1.05 8.0) "The rise wanted at the oven";
    ripeness (choice Ripeness) "The verdict at the oven: under, ready, over or collapsed";
    bake_temp_c (number "°C" 100.0 600.0) "Oven or stone temperature";
    bake_minutes (number "min" 0.2 240.0) "Time in the oven";
    crust_score (number "of 10" 1.0 10.0) "Your score of the crust";
    plan_id (text) "The plan it was baked by, as `recommend` named it";
    notes (text) "Anything else";
}

impl Column {
    /// The columns that every batch needs.
    pub const NEEDED: &'static [Column] =
        &[Column::date, Column::flour_g, Column::water_g, Column::yeast_g, Column::yeast_type];

    /// The unit as shown to a baker; empty for text, dates and choices.
    pub const fn unit(self) -> &'static str {
        match self.kind() {
            Kind::Number { unit, .. } => unit,
            _ => "",
        }
    }
}

impl fmt::Display for Column {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl FromStr for Column {
    type Err = NoColumn;

    /// Finds a column by its exact name; the error names the nearest known one.
    fn from_str(s: &str) -> Result<Self, NoColumn> {
        Self::ALL.iter().copied().find(|c| c.name() == s).ok_or_else(|| Self::none_named(s))
    }
}

fn number(column: Column, value: &Value) -> Result<f64, SetError> {
    let refused = |value: &dyn fmt::Display| SetError {
        column,
        value: value.to_string(),
        expected: format!("a number is wanted, in {}", column.unit()),
    };
    match value {
        Value::Number(x) if x.is_finite() => Ok(*x),
        Value::Number(x) => Err(refused(x)),
        Value::Text(t) => t.trim().parse().ok().filter(|x: &f64| x.is_finite()).ok_or_else(|| refused(t)),
    }
}

fn parsed<T: FromStr>(column: Column, value: &Value) -> Result<T, SetError> {
    let text = value.to_string();
    text.trim().parse().map_err(|_| SetError {
        column,
        value: text.clone(),
        expected: match column.kind() {
            Kind::Choice(words) => format!("one of {} is wanted", words.join(", ")),
            Kind::When => "a date such as 2026-03-01, or 2026-03-01T08:30, is wanted".into(),
            _ => "another value is wanted".into(),
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_goes_in_and_comes_out_by_name() {
        let mut batch = Batch::default();
        batch.set(Column::flour_g, &Value::Text(" 1000 ".into())).unwrap();
        batch.set(Column::yeast_type, &Value::Text("fresh".into())).unwrap();
        batch.set(Column::date, &Value::Text("2026-03-01T08:30".into())).unwrap();
        assert_eq!(batch.flour_g, Some(1000.0));
        assert_eq!(batch.get(Column::yeast_type), Some(Value::Text("fresh".into())));
        assert_eq!(batch.get(Column::date), Some(Value::Text("2026-03-01T08:30".into())));
        batch.clear(Column::flour_g);
        assert_eq!(batch.get(Column::flour_g), None);
    }

    #[test]
    fn a_refusal_says_what_would_be_right() {
        let mut batch = Batch::default();
        let said = |b: &mut Batch, c, v: &str| b.set(c, &Value::Text(v.into())).unwrap_err().to_string();
        assert_eq!(
            said(&mut batch, Column::cold_temp_c, "40"),
            "cold_temp_c cannot be '40': it must lie between -5 and 20 °C"
        );
        assert_eq!(
            said(&mut batch, Column::yeast_type, "wild"),
            "yeast_type cannot be 'wild': one of instant, active_dry, fresh is wanted"
        );
        assert!(said(&mut batch, Column::rise, "nan").contains("a number is wanted"));
    }

    #[test]
    fn a_column_is_found_by_its_name() {
        assert_eq!("cold_hrs".parse::<Column>(), Err(NoColumn { nearest: Some(Column::cold_hours) }));
        assert_eq!("bulk_hours".parse::<Column>(), Ok(Column::bulk_hours));
    }
}
