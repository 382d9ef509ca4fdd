//! The predictors of the crust, one column each, as a regression takes them.
//!
//! Columns are standardised: less their mean, over their standard deviation. Ripeness stands twice, by itself and squared,
//! so that an optimum is allowed. A predictor is used when two thirds of the batches have it and it varies; a blank gets
//! the mean.

use serde::{Deserialize, Serialize};

use super::oven::AtOven;
use crate::dough::Batch;

/// Share of batches that must have a predictor.
const KNOWN: f64 = 2.0 / 3.0;
/// Spread below which a predictor does not vary, over its size.
const ROUNDING: f64 = 1e-9;
/// Two predictors this much alike cannot be told apart (a choice of this project).
pub const ALIKE: f64 = 0.9;

/// A quantity that may go with the crust, of a batch and what is known of it at the oven.
pub struct Quantity {
    /// Its name in running text.
    pub name: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// A change worth speaking of, in its unit.
    pub step: f64,
    /// Its value; `None` where it was not written down.
    pub of: fn(&Batch, &AtOven) -> Option<f64>,
}

/// All that may go with the crust. Ripeness is the rise over the target, in percent; or, not `by_target`, ln rise over
/// the ln of the most that the flour bears, in percent.
pub fn quantities(by_target: bool) -> [Quantity; 8] {
    let ripeness = match by_target {
        true => Quantity {
            name: RIPENESS,
            unit: "% over the target rise",
            step: 10.0,
            of: |b, o| Some(100.0 * (o.ln_rise - b.target_rise?.ln())),
        },
        false => Quantity {
            name: RIPENESS,
            unit: "% of the most the flour bears",
            step: 10.0,
            of: |_, o| Some(100.0 * o.ln_rise / o.ln_most),
        },
    };
    let other = |name, unit, step, of| Quantity { name, unit, step, of };
    [
        ripeness,
        other("sugar left", "% of the usable", 10.0, |_, o| Some(100.0 * o.sugar_left)),
        other("age of the dough", "h", 12.0, |_, o| Some(o.hours)),
        other("hydration", "% of flour", 5.0, |b, _| b.hydration_pct()),
        other("oil", "% of flour", 1.0, |b, _| b.percent_of_flour(Some(b.oil_g.unwrap_or(0.0)))),
        other("sugar", "% of flour", 1.0, |b, _| b.percent_of_flour(Some(b.sugar_g.unwrap_or(0.0)))),
        other("bake temperature", "°C", 10.0, |b, _| b.bake_temp_c),
        other("bake minutes", "min", 1.0, |b, _| b.bake_minutes),
    ]
}

/// How a predictor's values become columns of a regression.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Scale {
    /// Mean of those known, in the predictor's unit.
    pub mean: f64,
    /// Standard deviation of those known, in the predictor's unit.
    pub sd: f64,
    /// Whether its square stands beside it.
    pub squared: bool,
}

impl Scale {
    /// Adds the columns of a value in the predictor's unit: standardised, and its square less one where that stands beside
    /// it.
    pub fn columns(&self, value: f64, columns: &mut Vec<f64>) {
        let z = (value - self.mean) / self.sd;
        columns.push(z);
        if self.squared {
            columns.push(z * z - 1.0);
        }
    }
}

/// A quantity that varies among some batches.
#[derive(Debug, Clone, PartialEq)]
pub struct Predictor {
    /// Its name in running text.
    pub name: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// A change worth speaking of, in its unit.
    pub step: f64,
    /// One a batch; `None` where it was not written down.
    pub values: Vec<Option<f64>>,
    /// How it is standardised.
    pub scale: Scale,
}

/// The name of ripeness, which alone may have an optimum.
pub const RIPENESS: &str = "ripeness";

impl Predictor {
    /// `None` when too few batches have it, or when it does not vary.
    fn new(quantity: &Quantity, values: Vec<Option<f64>>, squared: bool) -> Option<Self> {
        let known: Vec<f64> = values.iter().flatten().copied().collect();
        let n = known.len() as f64;
        if n < 2.0 || n < KNOWN * values.len() as f64 {
            return None;
        }
        let mean = known.iter().sum::<f64>() / n;
        let sd = (known.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        (sd > ROUNDING * mean.abs().max(1.0)).then_some(Self {
            name: quantity.name,
            unit: quantity.unit,
            step: quantity.step,
            values,
            scale: Scale { mean, sd, squared },
        })
    }

    /// The value of a batch in the predictor's unit, the mean where it was not written down.
    pub fn value(&self, batch: usize) -> f64 {
        self.values[batch].unwrap_or(self.scale.mean)
    }

    /// The least and the greatest that were tried, in the predictor's unit.
    pub fn tried(&self) -> (f64, f64) {
        let known = self.values.iter().flatten();
        known.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(*v), b.max(*v)))
    }

    /// How many batches lack it.
    pub fn blanks(&self) -> usize {
        self.values.iter().filter(|v| v.is_none()).count()
    }
}

/// The predictors of some batches.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// The predictors.
    pub predictors: Vec<Predictor>,
    /// Whether ripeness counts from the target rise.
    pub by_target: bool,
    /// How many batches.
    pub batches: usize,
    /// Of how many the rise at the oven is foretold, not measured.
    pub foretold: usize,
}

impl Table {
    /// From batches and what is known of them at the oven. Ripeness counts from the target where every batch has one;
    /// `optimum` squares it.
    pub fn new(batches: &[(&Batch, AtOven)], optimum: bool) -> Self {
        let by_target = batches.iter().all(|(b, _)| b.target_rise.is_some());
        let predictor = |q: &Quantity| {
            let values = batches.iter().map(|(b, o)| (q.of)(b, o)).collect();
            Predictor::new(q, values, optimum && q.name == RIPENESS)
        };
        Self {
            predictors: quantities(by_target).iter().filter_map(predictor).collect(),
            by_target,
            batches: batches.len(),
            foretold: batches.iter().filter(|(_, oven)| !oven.measured).count(),
        }
    }

    /// The standardised columns of a row of values, one value a predictor in its unit; one more with a square.
    pub fn columns(&self, values: &[f64]) -> Vec<f64> {
        let mut columns = Vec::with_capacity(values.len() + 1);
        self.predictors.iter().zip(values).for_each(|(p, v)| p.scale.columns(*v, &mut columns));
        columns
    }

    /// A batch's values, one a predictor in its unit.
    pub fn values(&self, batch: usize) -> Vec<f64> {
        self.predictors.iter().map(|p| p.value(batch)).collect()
    }

    /// `[batch][column]`: all batches as standardised columns.
    pub fn rows(&self) -> Vec<Vec<f64>> {
        (0..self.batches).map(|b| self.columns(&self.values(b))).collect()
    }

    /// Pairs of predictors whose correlation is stronger than [`ALIKE`], with it.
    pub fn alike(&self) -> Vec<(&'static str, &'static str, f64)> {
        let z = |p: &Predictor, b: usize| (p.value(b) - p.scale.mean) / p.scale.sd;
        let mut pairs = Vec::new();
        for (i, a) in self.predictors.iter().enumerate() {
            for b in &self.predictors[i + 1..] {
                let sum: f64 = (0..self.batches).map(|k| z(a, k) * z(b, k)).sum();
                let r = sum / (self.batches as f64 - 1.0);
                if r.abs() > ALIKE {
                    pairs.push((a.name, b.name, r));
                }
            }
        }
        pairs
    }
}
