//! Why, in figures: what differs from the last batch and what each difference does, and what a slip would cost.
//!
//! Each figure is the change of the rise when one thing changes and all else stays, at the mean of the posterior.

use crate::dough::Batch;
use crate::inference::forecast::Forecaster;

/// Differences from the last batch smaller than this part of the rise are not told.
const WORTH_TELLING: f64 = 0.02;
/// How many reasons are given at most.
const REASONS: usize = 3;

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
pub fn why(central: &Forecaster, plan: &Batch, last: Option<&Batch>) -> Vec<String> {
    let mut forecaster = central.clone();
    let mut rise = |batch: &Batch| {
        let (prepared, _) = forecaster.ready(batch);
        forecaster.draws[0].ln_rise(&prepared)
    };
    let here = rise(plan);
    let mut said = Vec::new();
    if let Some(last) = last {
        let mut told: Vec<(f64, String)> = Vec::new();
        for Difference { name, unit, get, apply } in DIFFERENCES {
            let (Some(now), Some(then)) = (get(plan), get(last)) else { continue };
            if (now - then).abs() < 1e-9 {
                continue;
            }
            let mut as_last = plan.clone();
            apply(&mut as_last, last);
            let effect = here - rise(&as_last);
            told.push((
                effect,
                format!("{name} {} {unit} instead of {}: {} rise", short(now), short(then), percent(effect)),
            ));
        }
        if plan.flour_lot.is_some() && plan.flour_lot != last.flour_lot {
            let effect = here - rise(&Batch { flour_lot: last.flour_lot.clone(), ..plan.clone() });
            let lot = plan.flour_lot.as_deref().unwrap_or_default();
            told.push((
                effect,
                format!(
                    "flour lot {lot} instead of {}: {} rise",
                    last.flour_lot.as_deref().unwrap_or("none"),
                    percent(effect)
                ),
            ));
        }
        told.retain(|(effect, _)| effect.abs() >= WORTH_TELLING);
        told.sort_by(|a, b| b.0.abs().total_cmp(&a.0.abs()));
        said.extend(told.into_iter().map(|(_, text)| text).take(REASONS - 1));
    }
    if let Some(t) = plan.cold_temp_c
        && plan.cold_hours.unwrap_or(0.0) > 0.0
    {
        let effect = rise(&Batch { cold_temp_c: Some(t + 1.0), ..plan.clone() }) - here;
        said.push(format!("a degree more in the fridge is {} rise", percent(effect)));
    } else {
        let warmer = Batch {
            bulk_temp_c: plan.bulk_temp_c.or(plan.room_temp_c).map(|t| t + 1.0),
            temper_temp_c: plan.temper_temp_c.or(plan.room_temp_c).map(|t| t + 1.0),
            ..plan.clone()
        };
        said.push(format!("a degree more around the dough is {} rise", percent(rise(&warmer) - here)));
    }
    if said.len() < REASONS
        && let Some(yeast) = plan.yeast_g
    {
        let effect = rise(&Batch { yeast_g: Some(yeast * 1.1), ..plan.clone() }) - here;
        said.push(format!("10 % more yeast is {} rise", percent(effect)));
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
