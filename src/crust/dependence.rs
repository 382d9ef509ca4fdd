//! What the posterior says of the expected score along one predictor, of one more step of it, and of the best that was
//! tried.
//!
//! With the expected score E of [`Coefficients::expected`]: partial dependence at v: the mean of E
//! over the batches with the predictor set to v (Friedman 2001, *Ann Stat* 29:1189-1232); effect of a step: the mean of
//! E(x + step/2) - E(x - step/2) over the batches as they were. E in points of score.
//!
//! Limits: what goes with what, not what causes what; with one predictor set and the others left, some batches so made are
//! such as nobody bakes.

use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;

use super::ordered::Coefficients;
use super::table::{Predictor, RIPENESS, Table};
use crate::inference::fit::quantile;

/// Batches that means are taken over, at most.
const MOST_BATCHES: usize = 60;
/// Points of a curve.
const POINTS: usize = 21;
/// How far a curve goes beyond what was tried, over the range tried.
const BEYOND: f64 = 0.15;
/// Share of draws in which a riper dough must be called riper.
const SURE: f64 = 0.95;
/// The best part of the batches tried.
const BEST: f64 = 0.10;

/// What one more step of a predictor goes with.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Effect {
    /// The predictor.
    pub name: &'static str,
    /// "points per 10 °C", for example.
    pub unit: String,
    /// Mean of the posterior.
    pub mean: f64,
    /// 5 % lie below.
    pub q05: f64,
    /// 95 % lie below.
    pub q95: f64,
    /// The least that was tried, in the predictor's unit; below it the model extrapolates.
    pub tried_from: f64,
    /// The most that was tried; above it the model extrapolates.
    pub tried_to: f64,
}

/// The expected score along a predictor.
#[derive(Debug, Clone, PartialEq)]
pub struct Dependence {
    /// The predictor's name.
    pub name: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// Values, and the 5, 25, 50, 75 and 95 % points of the expected score there; a little beyond what was tried on both
    /// sides.
    pub curve: Vec<(f64, [f64; 5])>,
    /// Between these it was tried.
    pub tried: (f64, f64),
    /// Value and score of each batch that has the value.
    pub batches: Vec<(f64, f64)>,
}

/// The best that was tried: the tenth of the batches (three at least) with the highest expected scores.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Best {
    /// How many batches.
    pub batches: usize,
    /// Their expected score: median and central 90 %.
    pub score: [f64; 3],
    /// The range of each predictor among them.
    pub ranges: Vec<Range>,
}

/// A range of a predictor.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Range {
    /// The predictor.
    pub name: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// From here.
    pub from: f64,
    /// To here.
    pub to: f64,
}

/// Where ripeness is best.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Optimum {
    /// The unit of ripeness.
    pub unit: &'static str,
    /// Chance that there is an optimum inside what was tried.
    pub chance: f64,
    /// If there is: 5 % lie below, in the unit of ripeness.
    pub p05: f64,
    /// Half lie below.
    pub p50: f64,
    /// 95 % lie below.
    pub p95: f64,
}

/// Between which ripeness a dough is called ready: medians and central 90 % of both ends, in the unit of ripeness.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Ready {
    /// The unit of ripeness.
    pub unit: &'static str,
    /// As often called under as not.
    pub from: [f64; 3],
    /// As often called over as not.
    pub to: [f64; 3],
}

/// The posterior over the predictors of a table.
pub struct Posterior<'a> {
    /// The predictors.
    pub table: &'a Table,
    /// Draws of the regression.
    pub draws: &'a [Coefficients],
    /// Score of each class, rising.
    pub scores: &'a [f64],
}

impl Posterior<'_> {
    fn expected(&self, draw: &Coefficients, values: &[f64]) -> f64 {
        draw.expected(&self.table.columns(values), self.scores)
    }

    /// Some of the batches, evenly.
    fn some(&self) -> Vec<Vec<f64>> {
        let step = self.table.batches.div_ceil(MOST_BATCHES).max(1);
        (0..self.table.batches).step_by(step).map(|b| self.table.values(b)).collect()
    }

    /// Sorted over the draws: the mean over batches of what `of` says.
    fn over_draws(&self, of: impl Fn(&Coefficients, &[f64]) -> f64 + Sync) -> Vec<f64> {
        let some = self.some();
        let mean = |d: &Coefficients| some.iter().map(|v| of(d, v)).sum::<f64>() / some.len() as f64;
        let mut values: Vec<f64> = self.draws.par_iter().map(mean).collect();
        values.sort_by(f64::total_cmp);
        values
    }

    /// What one step of each predictor goes with; `points` is what scores are counted in.
    pub fn effects(&self, points: &str) -> Vec<Effect> {
        let of = |(i, p): (usize, &Predictor)| {
            let values = self.over_draws(|draw, values| {
                let at = |v: f64| {
                    let mut moved = values.to_vec();
                    moved[i] += v;
                    self.expected(draw, &moved)
                };
                at(0.5 * p.step) - at(-0.5 * p.step)
            });
            let (tried_from, tried_to) = p.tried();
            Effect {
                name: p.name,
                unit: format!("{points} per {} {}", p.step, p.unit),
                mean: values.iter().sum::<f64>() / values.len() as f64,
                q05: quantile(&values, 0.05),
                q95: quantile(&values, 0.95),
                tried_from,
                tried_to,
            }
        };
        self.table.predictors.iter().enumerate().map(of).collect()
    }

    /// The expected score along each predictor; `seen` is each batch's score.
    pub fn dependences(&self, seen: &[f64]) -> Vec<Dependence> {
        let of = |(i, p): (usize, &Predictor)| {
            let tried = p.tried();
            let beyond = BEYOND * (tried.1 - tried.0);
            let (from, to) = (tried.0 - beyond, tried.1 + beyond);
            let curve = (0..POINTS).map(|k| {
                let at = from + (to - from) * k as f64 / (POINTS - 1) as f64;
                let values = self.over_draws(|draw, values| {
                    let mut moved = values.to_vec();
                    moved[i] = at;
                    self.expected(draw, &moved)
                });
                (at, [0.05, 0.25, 0.5, 0.75, 0.95].map(|q| quantile(&values, q)))
            });
            let batches = p.values.iter().zip(seen).filter_map(|(v, s)| Some(((*v)?, *s)));
            Dependence {
                name: p.name,
                unit: p.unit,
                curve: curve.collect(),
                tried,
                batches: batches.collect(),
            }
        };
        self.table.predictors.iter().enumerate().map(of).collect()
    }

    /// The best that was tried.
    pub fn best(&self) -> Best {
        let of = |b: usize| {
            let values = self.table.values(b);
            let mean = self.draws.iter().map(|d| self.expected(d, &values)).sum::<f64>();
            (mean / self.draws.len() as f64, values)
        };
        let mut all: Vec<(f64, Vec<f64>)> = (0..self.table.batches).map(of).collect();
        all.sort_by(|a, b| b.0.total_cmp(&a.0));
        let batches = ((BEST * all.len() as f64).ceil() as usize).max(3).min(all.len());
        all.truncate(batches);
        let mean =
            |d: &Coefficients| all.iter().map(|(_, v)| self.expected(d, v)).sum::<f64>() / all.len() as f64;
        let mut scores: Vec<f64> = self.draws.iter().map(mean).collect();
        scores.sort_by(f64::total_cmp);
        let range = |(i, p): (usize, &Predictor)| {
            let values = all.iter().map(|(_, v)| v[i]);
            let (from, to) =
                values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
            Range { name: p.name, unit: p.unit, from, to }
        };
        Best {
            batches,
            score: [0.5, 0.05, 0.95].map(|q| quantile(&scores, q)),
            ranges: self.table.predictors.iter().enumerate().map(range).collect(),
        }
    }

    /// Between which ripeness a dough is called ready, the other predictors at their means; `None` when ripeness is no
    /// predictor, or hardly tells.
    pub fn ready(&self) -> Option<Ready> {
        let place = self.table.predictors.iter().position(|p| p.name == RIPENESS)?;
        let p = &self.table.predictors[place];
        let end = |k: usize| {
            let at = |d: &Coefficients| {
                let slope = d.slopes[place];
                (slope > 0.0).then(|| p.scale.mean + p.scale.sd * d.thresholds[k] / slope)
            };
            let mut ends: Vec<f64> = self.draws.iter().filter_map(at).collect();
            ends.sort_by(f64::total_cmp);
            (ends.len() as f64 > SURE * self.draws.len() as f64)
                .then(|| [0.5, 0.05, 0.95].map(|q| quantile(&ends, q)))
        };
        Some(Ready { unit: p.unit, from: end(0)?, to: end(1)? })
    }

    /// Where ripeness is best; `None` when it has no square.
    pub fn optimum(&self) -> Option<Optimum> {
        let place = self.table.predictors.iter().position(|p| p.scale.squared)?;
        let p = &self.table.predictors[place];
        // Columns before a squared predictor are one each: only ripeness is squared.
        let (low, high) = p.tried();
        let top = |d: &Coefficients| {
            let (slope, curve) = (d.slopes[place], d.slopes[place + 1]);
            let at = p.scale.mean - p.scale.sd * slope / (2.0 * curve);
            (curve < 0.0 && (low..=high).contains(&at)).then_some(at)
        };
        let mut tops: Vec<f64> = self.draws.iter().filter_map(top).collect();
        tops.sort_by(f64::total_cmp);
        let at = |q| if tops.is_empty() { p.scale.mean } else { quantile(&tops, q) };
        let chance = tops.len() as f64 / self.draws.len() as f64;
        Some(Optimum { unit: p.unit, chance, p05: at(0.05), p50: at(0.5), p95: at(0.95) })
    }
}
