//! What a form says, and the fields of a form: one a column, labelled with its meaning and unit, filled with what is known.

use std::collections::BTreeMap;

use maud::{Markup, html};

use crate::dough::units::{Celsius, Grams, UnitSystem};
use crate::dough::{Batch, Column, Kind, Value};
use crate::intake::typed;
use crate::report::say::{mass, temperature, trimmed};

use super::refused::Refused;

/// Names and values as a browser sends them.
#[derive(Debug, Clone, Default)]
pub struct Form(pub Vec<(String, String)>);

impl Form {
    /// The value of a name, trimmed; empty without one.
    pub fn get(&self, name: &str) -> &str {
        self.0.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v.trim())
    }

    /// The columns that it says something of, in the order of the table; nothing said makes a column blank.
    pub fn said(&self, units: UnitSystem) -> Result<BTreeMap<Column, Option<Value>>, Refused> {
        let mut said = BTreeMap::new();
        for (name, text) in &self.0 {
            let Ok(column) = name.parse::<Column>() else { continue };
            let value = match text.trim() {
                "" => None,
                text => Some(read(column, text, units)?),
            };
            said.insert(column, value);
        }
        Ok(said)
    }

    /// What it says otherwise than its fields said when the page was made, so that what others wrote since stays.
    pub fn changed(&self, units: UnitSystem) -> Result<BTreeMap<Column, Option<Value>>, Refused> {
        let differs = |(name, text): &&(String, String)| text.trim() != self.get(&format!("{WAS}{name}"));
        Self(self.0.iter().filter(differs).cloned().collect()).said(units)
    }
}

/// Before the name of a field: what it said when the page was made.
const WAS: &str = "was-";

/// What fields say now, hidden, for [`Form::changed`].
pub fn as_they_are(columns: &[Column], batch: &Batch, units: UnitSystem) -> Markup {
    html! {
        @for c in columns {
            input type="hidden" name=(format!("{WAS}{c}")) value=(shown(*c, batch.get(*c).as_ref(), units));
        }
    }
}

/// What was typed for a column: a bare number is in the unit that the field names.
fn read(column: Column, text: &str, units: UnitSystem) -> Result<Value, Refused> {
    let bare = text.parse::<f64>().is_ok();
    let text = match (units, column.unit()) {
        (UnitSystem::Us, unit) if bare && ["g", "°C"].contains(&unit) => {
            format!("{text} {}", unit_name(unit, units))
        }
        _ => text.to_string(),
    };
    typed(column, &text).map_err(|why| Refused::Form(format!("{} ('{text}'): {why}.", label(column, units))))
}

fn unit_name(unit: &'static str, units: UnitSystem) -> &'static str {
    match (units, unit) {
        (UnitSystem::Us, "g") => "oz",
        (UnitSystem::Us, "°C") => "°F",
        _ => unit,
    }
}

/// A value as a field holds it, in the unit that the field names.
fn shown(column: Column, value: Option<&Value>, units: UnitSystem) -> String {
    match (value, units, column.unit()) {
        (None, ..) => String::new(),
        (Some(Value::Number(g)), UnitSystem::Us, "g") => trimmed(Grams(*g).ounces(), 3),
        (Some(Value::Number(c)), UnitSystem::Us, "°C") => trimmed(Celsius(*c).fahrenheit(), 1),
        (Some(Value::Number(x)), ..) => trimmed(*x, 4),
        (Some(Value::Text(text)), ..) => text.clone(),
    }
}

/// A value as it is told, with its unit.
pub fn told(column: Column, value: &Value, units: UnitSystem) -> String {
    match (value, column.unit()) {
        (Value::Number(g), "g") => mass(*g, units),
        (Value::Number(c), "°C") => temperature(*c, units),
        (Value::Number(x), "") => trimmed(*x, 3),
        (Value::Number(x), unit) => format!("{} {unit}", trimmed(*x, 3)),
        (Value::Text(text), _) if column.kind() == Kind::When => text.replace('T', " "),
        (Value::Text(text), _) => text.replace('_', " "),
    }
}

/// What a column is, in words.
pub fn meaning(column: Column) -> &'static str {
    match column {
        // The table's own words are those of a sheet.
        Column::yeast_type => "Kind of yeast",
        column => column.meaning(),
    }
}

fn label(column: Column, units: UnitSystem) -> String {
    match unit_name(column.unit(), units) {
        "" => meaning(column).into(),
        unit => format!("{} ({unit})", meaning(column)),
    }
}

/// The fields of columns, filled with what `batch` says; `last` is told beside those that it leaves blank.
pub fn fields(columns: &[Column], batch: &Batch, last: Option<&Batch>, units: UnitSystem) -> Markup {
    html! {
        div.fields {
            @for column in columns {
                (field(*column, &shown(*column, batch.get(*column).as_ref(), units), last, units, None))
            }
        }
    }
}

/// The same filled with what was typed; what cannot be read is marked, with the reason beside it.
pub fn fields_as_typed(columns: &[Column], form: &Form, last: Option<&Batch>, units: UnitSystem) -> Markup {
    let wrong = |column: Column, text: &str| match text {
        "" => None,
        text => read(column, text, units).err().map(|why| match why {
            Refused::Form(why) => why,
            why => why.to_string(),
        }),
    };
    html! {
        div.fields {
            @for column in columns {
                @let text = form.get(column.name());
                (field(*column, text, last, units, wrong(*column, text)))
            }
        }
    }
}

fn field(
    column: Column,
    value: &str,
    last: Option<&Batch>,
    units: UnitSystem,
    wrong: Option<String>,
) -> Markup {
    let name = column.name();
    let invalid = wrong.is_some().then_some("true");
    let hint = wrong.or_else(|| {
        let last = last.and_then(|l| l.get(column)).filter(|_| column.kind() != Kind::When)?;
        value.is_empty().then(|| format!("last time {}", told(column, &last, units)))
    });
    let hint_id = format!("{name}-hint");
    let described = hint.is_some().then_some(hint_id.as_str());
    html! {
        div.field {
            label for=(name) { (label(column, units)) }
            @match column.kind() {
                Kind::Choice(words) => {
                    select id=(name) name=(name) aria-describedby=[described] aria-invalid=[invalid] {
                        option value="" {}
                        @for word in words {
                            option value=(word) selected[*word == value] { (word.replace('_', " ")) }
                        }
                    }
                }
                Kind::When => {
                    input type="datetime-local" id=(name) name=(name) value=(value) aria-describedby=[described]
                        aria-invalid=[invalid];
                }
                Kind::Number { .. } => {
                    input type="text" inputmode="decimal" autocomplete="off" id=(name) name=(name) value=(value)
                        aria-describedby=[described] aria-invalid=[invalid];
                }
                Kind::Text => {
                    input type="text" autocomplete="off" id=(name) name=(name) value=(value) aria-describedby=[described]
                        aria-invalid=[invalid];
                }
            }
            @if let Some(hint) = hint { span.hint id=(hint_id) { (hint) } }
        }
    }
}
