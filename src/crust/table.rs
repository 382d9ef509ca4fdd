//! The predictors of the crust, one column each, as a regression takes them.
//!
//! Columns are standardised: less their mean, over their standard deviation. Ripeness stands twice, by itself and squared,
//! so that an optimum is allowed. A predictor is used when two thirds of the batches have it and it varies; a blank gets
//! the mean.

use super::oven::AtOven;
use crate::dough::Batch;

/// Share of batches that must have a predictor.
const KNOWN: f64 = 2.0 / 3.0;
/// Spread below which a predictor does not vary, over its size.
const ROUNDING: f64 = 1e-9;
/// Two predictors this much alike cannot be told apart (a choice of this project).
pub const ALIKE: f64 = 0.9;

/// A quantity that may go with the crust.
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
    /// Mean of those known.
    pub mean: f64,
    /// Standard deviation of those known.
    pub sd: f64,
    /// Whether its square stands beside it.
    pub squared: bool,
}

/// The name of ripeness, which alone may have an optimum.
pub const RIPENESS: &str = "ripeness";

impl Predictor {
    /// `None` when too few batches have it, or when it does not vary.
    fn new(name: &'static str, unit: &'static str, step: f64, values: Vec<Option<f64>>) -> Option<Self> {
        let known: Vec<f64> = values.iter().flatten().copied().collect();
        let n = known.len() as f64;
        if n < 2.0 || n < KNOWN * values.len() as f64 {
            return None;
        }
        let mean = known.iter().sum::<f64>() / n;
        let sd = (known.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        (sd > ROUNDING * mean.abs().max(1.0)).then_some(Self {
            name,
            unit,
            step,
            values,
            mean,
            sd,
            squared: false,
        })
    }

    /// The value of a batch, the mean where it was not written down.
    pub fn value(&self, batch: usize) -> f64 {
        self.values[batch].unwrap_or(self.mean)
    }

    /// The least and the greatest that were tried.
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
    /// How many batches.
    pub batches: usize,
}

impl Table {
    /// From batches and what is known of them at the oven. Ripeness is the rise over the target, in percent; when any batch
    /// has no target, ln rise over the ln of the most that the flour bears, in percent. `optimum` squares it.
    pub fn new(batches: &[(&Batch, AtOven)], optimum: bool) -> Self {
        let of = |get: &dyn Fn(&Batch, &AtOven) -> Option<f64>| -> Vec<Option<f64>> {
            batches.iter().map(|(b, o)| get(b, o)).collect()
        };
        let targets = batches.iter().all(|(b, _)| b.target_rise.is_some());
        let ripeness: (&str, Vec<Option<f64>>) = match targets {
            true => ("% over the target rise", of(&|b, o| Some(100.0 * (o.ln_rise - b.target_rise?.ln())))),
            false => ("% of the most the flour bears", of(&|_, o| Some(100.0 * o.ln_rise / o.ln_most))),
        };
        let percent = |grams: fn(&Batch) -> Option<f64>| {
            of(&move |b, _| b.percent_of_flour(Some(grams(b).unwrap_or(0.0))))
        };
        let mut predictors: Vec<Predictor> = [
            Predictor::new(RIPENESS, ripeness.0, 10.0, ripeness.1),
            Predictor::new("sugar left", "% of the usable", 10.0, of(&|_, o| Some(100.0 * o.sugar_left))),
            Predictor::new("age of the dough", "h", 12.0, of(&|_, o| Some(o.hours))),
            Predictor::new("hydration", "% of flour", 5.0, of(&|b, _| b.hydration_pct())),
            Predictor::new("oil", "% of flour", 1.0, percent(|b| b.oil_g)),
            Predictor::new("sugar", "% of flour", 1.0, percent(|b| b.sugar_g)),
            Predictor::new("bake temperature", "°C", 10.0, of(&|b, _| b.bake_temp_c)),
            Predictor::new("bake minutes", "min", 1.0, of(&|b, _| b.bake_minutes)),
        ]
        .into_iter()
        .flatten()
        .collect();
        for p in predictors.iter_mut().filter(|p| p.name == RIPENESS) {
            p.squared = optimum;
        }
        Self { predictors, batches: batches.len() }
    }

    /// The columns of a row of values, one value a predictor.
    pub fn columns(&self, values: &[f64]) -> Vec<f64> {
        let mut columns = Vec::with_capacity(values.len() + 1);
        for (p, v) in self.predictors.iter().zip(values) {
            let z = (v - p.mean) / p.sd;
            columns.push(z);
            if p.squared {
                columns.push(z * z - 1.0);
            }
        }
        columns
    }

    /// A batch's values, one a predictor.
    pub fn values(&self, batch: usize) -> Vec<f64> {
        self.predictors.iter().map(|p| p.value(batch)).collect()
    }

    /// All batches as columns.
    pub fn rows(&self) -> Vec<Vec<f64>> {
        (0..self.batches).map(|b| self.columns(&self.values(b))).collect()
    }

    /// Pairs of predictors that went together, with their correlation.
    pub fn alike(&self) -> Vec<(&'static str, &'static str, f64)> {
        let z = |p: &Predictor, b: usize| (p.value(b) - p.mean) / p.sd;
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
