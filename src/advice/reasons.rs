//! Why, in figures: what differs from the last batch and what each difference does, and what a slip would cost.
//!
//! Each figure is the change of the rise when one thing changes and all else stays, at the mean of the posterior.
//! Limits: such changes do not simply add up, so the reasons need not make the whole difference.

use serde::de::IgnoredAny;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::dough::Batch;
use crate::dough::units::{Celsius, UnitSystem};
use crate::inference::forecast::Forecaster;

/// Differences from the last batch smaller than this part of the rise are not told.
const WORTH_TELLING: f64 = 0.02;
/// How many reasons are given at most.
const REASONS: usize = 3;

/// Reasons are kept as sentences, from which their figures do not come back.
pub(super) fn forgotten<'de, D: Deserializer<'de>>(d: D) -> Result<Vec<Reason>, D::Error> {
    IgnoredAny::deserialize(d).map(|_| vec![])
}

/// One reason: a difference from the last batch or a slip, and the change of ln rise with it.
#[derive(Debug, Clone, PartialEq)]
pub enum Reason {
    /// A number that is not the last batch's.
    Differs {
        /// What.
        name: &'static str,
        /// Its unit.
        unit: &'static str,
        /// As planned.
        now: f64,
        /// The last batch's.
        then: f64,
        /// Change of ln rise.
        effect: f64,
    },
    /// Another lot of flour.
    Lot {
        /// As planned.
        now: String,
        /// The last batch's.
        then: String,
        /// Change of ln rise.
        effect: f64,
    },
    /// One °C more somewhere.
    Degree {
        /// Where.
        place: &'static str,
        /// Change of ln rise.
        effect: f64,
    },
    /// A tenth more yeast.
    Yeast {
        /// Change of ln rise.
        effect: f64,
    },
}

impl Reason {
    /// In words, in the units asked for.
    pub fn says(&self, units: UnitSystem) -> String {
        let us = units == UnitSystem::Us;
        match self {
            Self::Differs { name, unit: "°C", now, then, effect } if us => {
                let f = |c: f64| format!("{:.0}", Celsius(c).fahrenheit());
                format!("{name} {} °F instead of {}: {} rise", f(*now), f(*then), percent(*effect))
            }
            Self::Differs { name, unit, now, then, effect } => {
                format!(
                    "{name} {} {unit} instead of {}: {} rise",
                    short(*now),
                    short(*then),
                    percent(*effect)
                )
            }
            Self::Lot { now, then, effect } => {
                format!("flour lot {now} instead of {then}: {} rise", percent(*effect))
            }
            Self::Degree { place, effect } if us => {
                format!("1 °F more {place} is {} rise", percent(effect / 1.8))
            }
            Self::Degree { place, effect } => format!("a degree more {place} is {} rise", percent(*effect)),
            Self::Yeast { effect } => format!("10 % more yeast is {} rise", percent(*effect)),
        }
    }

    fn effect(&self) -> f64 {
        match self {
            Self::Differs { effect, .. }
            | Self::Lot { effect, .. }
            | Self::Degree { effect, .. }
            | Self::Yeast { effect } => *effect,
        }
    }
}

impl Serialize for Reason {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(&self.says(UnitSystem::Metric))
    }
}

crate::dough::words::text_schema!(Reason);

/// Something that may differ from the last batch: how it is told, and how the last batch's is put into a plan.
struct Difference {
    name: &'static str,
    unit: &'static str,
    get: fn(&Batch) -> Option<f64>,
    apply: fn(&mut Batch, &Batch),
}

const DIFFERENCES: [Difference; 7] = [
    Difference {
        name: "cold hours",
        unit: "h",
        get: |b| b.cold_hours,
        apply: |b, l| b.cold_hours = l.cold_hours,
    },
    Difference {
        name: "hours before the fridge",
        unit: "h",
        get: |b| b.bulk_hours,
        apply: |b, l| b.bulk_hours = l.bulk_hours,
    },
    Difference {
        name: "hours back in the room",
        unit: "h",
        get: |b| b.temper_hours,
        apply: |b, l| b.temper_hours = l.temper_hours,
    },
    Difference {
        name: "fridge",
        unit: "°C",
        get: |b| b.cold_temp_c,
        apply: |b, l| b.cold_temp_c = l.cold_temp_c,
    },
    Difference {
        name: "room",
        unit: "°C",
        get: |b| b.room_temp_c,
        apply: |b, l| {
            (b.room_temp_c, b.bulk_temp_c) = (l.room_temp_c, l.bulk_temp_c);
            (b.temper_temp_c, b.flour_temp_c) = (l.temper_temp_c, l.flour_temp_c);
        },
    },
    Difference { name: "piece", unit: "g", get: |b| b.piece_g, apply: |b, l| b.piece_g = l.piece_g },
    Difference {
        name: "salt",
        unit: "%",
        get: |b| b.percent_of_flour(b.salt_g),
        apply: |b, l| {
            b.salt_g = l.percent_of_flour(l.salt_g).zip(b.flour_g).map(|(pct, flour)| pct * flour / 100.0);
        },
    },
];

/// Two or three plain reasons for a filled plan.
pub fn why(central: &Forecaster, plan: &Batch, last: Option<&Batch>) -> Vec<Reason> {
    let mut forecaster = central.clone();
    let mut rise = |batch: &Batch| {
        let (prepared, _) = forecaster.ready(batch);
        forecaster.draws[0].ln_rise(&prepared)
    };
    let here = rise(plan);
    let mut said = Vec::new();
    if let Some(last) = last {
        let mut told = Vec::new();
        for Difference { name, unit, get, apply } in DIFFERENCES {
            let (Some(now), Some(then)) = (get(plan), get(last)) else { continue };
            if (now - then).abs() < 1e-9 {
                continue;
            }
            let mut as_last = plan.clone();
            apply(&mut as_last, last);
            told.push(Reason::Differs { name, unit, now, then, effect: here - rise(&as_last) });
        }
        if let Some(now) = plan.flour_lot.clone().filter(|_| plan.flour_lot != last.flour_lot) {
            let effect = here - rise(&Batch { flour_lot: last.flour_lot.clone(), ..plan.clone() });
            told.push(Reason::Lot { now, then: last.flour_lot.clone().unwrap_or("none".into()), effect });
        }
        told.retain(|r| r.effect().abs() >= WORTH_TELLING);
        told.sort_by(|a, b| b.effect().abs().total_cmp(&a.effect().abs()));
        said.extend(told.into_iter().take(REASONS - 1));
    }
    if let Some(t) = plan.cold_temp_c
        && plan.cold_hours.unwrap_or(0.0) > 0.0
    {
        let effect = rise(&Batch { cold_temp_c: Some(t + 1.0), ..plan.clone() }) - here;
        said.push(Reason::Degree { place: "in the fridge", effect });
    } else {
        let warmer = Batch {
            bulk_temp_c: plan.bulk_temp_c.or(plan.room_temp_c).map(|t| t + 1.0),
            temper_temp_c: plan.temper_temp_c.or(plan.room_temp_c).map(|t| t + 1.0),
            ..plan.clone()
        };
        said.push(Reason::Degree { place: "around the dough", effect: rise(&warmer) - here });
    }
    if said.len() < REASONS
        && let Some(yeast) = plan.yeast_g
    {
        let effect = rise(&Batch { yeast_g: Some(yeast * 1.1), ..plan.clone() }) - here;
        said.push(Reason::Yeast { effect });
    }
    said
}

/// A change of ln rise as "+13 %".
fn percent(effect: f64) -> String {
    format!("{:+.0} %", 100.0 * effect.exp_m1())
}

/// A number with as many digits as a baker wants.
fn short(x: f64) -> String {
    let text = format!("{x:.1}");
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}
