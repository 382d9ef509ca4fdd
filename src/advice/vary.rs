//! What if: the rise of a plan along one or two of its columns, and where the records have never been.

use schemars::JsonSchema;
use serde::Serialize;

use super::cautions::unseen;
use super::predict::asked;
use super::{AdviceError, Interval};
use crate::dough::{Batch, Column, Kind, NoColumn, Value};
use crate::inference::forecast::Forecaster;
use crate::inference::prepare::Records;
use crate::intake::typed;

/// Values along a column when nobody says how many, and the most of them.
const USUAL_STEPS: usize = 9;
const MOST_STEPS: usize = 60;

/// A column and the values it goes through.
#[derive(Debug, Clone, PartialEq)]
pub struct Along {
    /// Which.
    pub column: Column,
    /// Its values in the column's unit, rising.
    pub values: Vec<f64>,
}

impl Along {
    /// From "cold_hours=18..48" or "cold_hours=18..48/7" for seven values.
    ///
    /// # Errors
    /// When it is not of that form, or the column holds no number or not these.
    pub fn parse(text: &str) -> Result<Self, AdviceError> {
        let wrong = |why: &str| {
            AdviceError::Limits(format!(
                "--vary '{text}': {why}; say it like cold_hours=18..48, or cold_hours=18..48/7"
            ))
        };
        let (name, range) = text.split_once('=').ok_or_else(|| wrong("there is no = in it"))?;
        let column: Column = name
            .trim()
            .replace('-', "_")
            .parse()
            .map_err(|none: NoColumn| wrong(&format!("there is no such column: {none}")))?;
        let Kind::Number { min: low, max: high, .. } = column.kind() else {
            return Err(wrong("that column holds no number"));
        };
        let (range, count) = range.split_once('/').map_or((range, None), |(r, n)| (r, Some(n)));
        let count = match count {
            None => USUAL_STEPS,
            Some(n) => n
                .trim()
                .parse()
                .ok()
                .filter(|n| (2..=MOST_STEPS).contains(n))
                .ok_or_else(|| wrong("2 to 60 values are possible"))?,
        };
        let (from, to) = range.split_once("..").ok_or_else(|| wrong("a range FROM..TO is wanted"))?;
        let number = |t: &str| match typed(column, t) {
            Ok(Value::Number(x)) => Ok(x),
            _ => Err(wrong(&format!("values between {low} and {high} are possible"))),
        };
        let (from, to) = (number(from)?, number(to)?);
        if from >= to {
            return Err(wrong("the range must rise"));
        }
        let at = |i: usize| from + (to - from) * i as f64 / (count - 1) as f64;
        Ok(Self { column, values: (0..count).map(|i| (at(i) * 1e6).round() / 1e6).collect() })
    }
}

/// One point.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Point {
    /// The values of the columns, in their order.
    pub values: Vec<f64>,
    /// Rise at the moment of reading.
    pub rise: Interval,
    /// A quarter of batches rise less.
    pub rise_p25: f64,
    /// A quarter of batches rise more.
    pub rise_p75: f64,
    /// The chance that it lands in the window; `None` without a target.
    pub chance_in_window: Option<f64>,
    /// Whether the records have never been there.
    pub extrapolated: bool,
}

/// The rise along one or two columns. `plan_of` completes a plan in which they are set; `window` is the share of the
/// target that counts as near.
///
/// # Errors
/// When a plan along the way has no yeast or does not hold together.
pub fn vary(
    forecaster: &mut Forecaster,
    records: &Records,
    along: &[Along],
    window: f64,
    plan_of: impl Fn(&[(Column, f64)]) -> Batch,
) -> Result<Vec<Point>, AdviceError> {
    let mut settings: Vec<Vec<(Column, f64)>> = vec![vec![]];
    // The last column is the outer one, so that the first runs through its values in each of its.
    for a in along.iter().rev() {
        let with = |v: f64, s: &Vec<(Column, f64)>| [&[(a.column, v)], s.as_slice()].concat();
        settings =
            settings.iter().flat_map(|s| a.values.iter().map(|v| with(*v, s)).collect::<Vec<_>>()).collect();
    }
    let mut points = Vec::new();
    for setting in settings {
        let plan = plan_of(&setting);
        asked(&plan)?;
        let (prepared, _) = forecaster.ready(&plan);
        let rise = forecaster.rise(&prepared);
        let near = |target: f64| rise.between((target * (1.0 - window)).ln(), (target * (1.0 + window)).ln());
        points.push(Point {
            rise: Interval::of_log(&rise),
            rise_p25: rise.quantile(0.25).exp(),
            rise_p75: rise.quantile(0.75).exp(),
            chance_in_window: plan.target_rise.map(near),
            extrapolated: !unseen(&plan, records).is_empty()
                || setting.iter().any(|(c, v)| outside(records, *c, *v)),
            values: setting.into_iter().map(|(_, v)| v).collect(),
        });
    }
    Ok(points)
}

/// Whether no batch of the records lies as far out in a column.
fn outside(records: &Records, column: Column, value: f64) -> bool {
    let number = |b: &Batch| match b.get(column) {
        Some(Value::Number(x)) => Some(x),
        _ => None,
    };
    let seen = records.batches.iter().filter_map(number);
    let (low, high) = seen.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    !(low..=high).contains(&value)
}
