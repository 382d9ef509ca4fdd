//! Hours that may move, and the ways to set them.

use crate::advice::AdviceError;
use crate::dough::{Batch, Column, Value};
use crate::intake::typed;

/// Hours that a plan may have free.
const MAY_BE_FREE: [Column; 4] =
    [Column::preferment_hours, Column::bulk_hours, Column::cold_hours, Column::temper_hours];
/// Steps in h in which free hours are tried.
const STEP_H: f64 = 0.5;
/// Ways tried at most: several free hours are then tried in longer steps.
const MOST_WAYS: usize = 4000;

/// Hours that may be anything within a range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Free {
    /// Which.
    pub column: Column,
    /// At least, in h.
    pub least: f64,
    /// At most, in h.
    pub most: f64,
}

impl Free {
    /// From "cold_hours=18..48".
    ///
    /// # Errors
    /// When it is not of that form, or those hours cannot be free.
    pub fn parse(text: &str) -> Result<Self, AdviceError> {
        let wrong = || {
            let names = MAY_BE_FREE.map(Column::name).join(", ");
            AdviceError::Clock(format!(
                "--free '{text}': hours and their range are wanted, such as cold_hours=18..48; {names} may be free"
            ))
        };
        let (name, range) = text.split_once('=').ok_or_else(wrong)?;
        let column: Column = name.trim().replace('-', "_").parse().map_err(|_| wrong())?;
        let (least, most) = range.split_once("..").ok_or_else(wrong)?;
        let number = |t: &str| match typed(column, t) {
            Ok(Value::Number(h)) => Ok(h),
            _ => Err(wrong()),
        };
        let (least, most) = (number(least)?, number(most)?);
        if least > most || !MAY_BE_FREE.contains(&column) {
            return Err(wrong());
        }
        Ok(Self { column, least, most })
    }

    fn values(&self, step: f64) -> Vec<f64> {
        let mut all: Vec<f64> =
            (0..).map(|i| self.least + f64::from(i) * step).take_while(|h| *h < self.most - 1e-9).collect();
        all.push(self.most);
        all
    }
}

/// All ways to set the free hours of a plan, the nearest to the plan's own first; the plan itself without any.
pub fn ways(plan: &Batch, free: &[Free]) -> Vec<Batch> {
    let mut step = STEP_H;
    let count = |step: f64| free.iter().map(|f| f.values(step).len()).product::<usize>();
    while count(step) > MOST_WAYS {
        step *= 2.0;
    }
    let mut all = vec![plan.clone()];
    for f in free {
        let set = |b: &Batch, hours: f64| {
            let mut b = b.clone();
            // Hours within the column's range can always be set.
            let _ = b.set(f.column, &Value::Number(hours));
            b
        };
        all = all
            .iter()
            .flat_map(|b| f.values(step).into_iter().map(|h| set(b, h)).collect::<Vec<_>>())
            .collect();
    }
    all.sort_by(|a, b| distance(plan, a, free).total_cmp(&distance(plan, b, free)));
    all
}

/// How far the free hours of `way` are from those of the plan, in h.
pub fn distance(plan: &Batch, way: &Batch, free: &[Free]) -> f64 {
    free.iter().map(|f| (hours(way, f.column) - hours(plan, f.column)).abs()).sum()
}

fn hours(b: &Batch, column: Column) -> f64 {
    match b.get(column) {
        Some(Value::Number(h)) => h,
        _ => 0.0,
    }
}

/// The free hours of a way in words: "cold_hours 24, bulk_hours 1.5".
pub fn says(way: &Batch, free: &[Free]) -> String {
    let one = |f: &Free| {
        format!("{} {}", f.column.name().replace('_', " "), (hours(way, f.column) * 100.0).round() / 100.0)
    };
    free.iter().map(one).collect::<Vec<_>>().join(", ")
}
