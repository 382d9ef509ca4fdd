//! Lots whose effects on ln k share a spread.
//!
//! With rho the spread over its prior scale s0 and z a lot's number in x, the effect is e = s0 rho^(1-w) z with the
//! prior z ~ N(0, rho^w): N(0, s0 rho) on the effect whatever w. At w = 0 a lot is told in units of the spread (right
//! for a lot of few batches), at w = 1 by itself (right for one of many). w = n/(n + 1) for a lot of n batches, as
//! noise and lots scatter alike.
//!
//! Source: partial non-centring, Papaspiliopoulos, Roberts & Sköld 2007, Statistical Science 22:59-73.

use std::ops::Range;

use super::priors::{Form, LOT_SPREAD, half_normal, standard_normal};

/// Lots of one kind in the vector x.
#[derive(Debug, Clone, PartialEq)]
pub struct Lots {
    /// Where their spread stands.
    pub spread: usize,
    /// Where their numbers stand.
    pub effects: Range<usize>,
    /// w of each lot.
    weights: Vec<f64>,
}

/// How lots are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Centring {
    /// All in units of the spread: for searching the mode.
    None,
    /// The more by itself, the more batches it has: for sampling.
    ByData,
}

/// A lot's effect on ln k with its derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effect {
    /// The effect.
    pub value: f64,
    /// By the lot's number in x.
    pub by_number: f64,
    /// By the spread's number in x.
    pub by_spread: f64,
}

impl Lots {
    /// Lots with so many batches each, whose spread and numbers stand there.
    pub fn new(spread: usize, effects: Range<usize>, batches: &[usize], centring: Centring) -> Self {
        let weight = |n: &usize| match centring {
            Centring::None => 0.0,
            Centring::ByData => *n as f64 / (*n as f64 + 1.0),
        };
        Self { spread, effects, weights: batches.iter().map(weight).collect() }
    }

    /// The effect of a lot.
    pub fn effect(&self, x: &[f64], lot: usize) -> Effect {
        let Form::HalfNormal { sd: scale } = LOT_SPREAD else {
            unreachable!("the spread of lots is half-normal")
        };
        let free = 1.0 - self.weights[lot];
        let (rho, slope) = half_normal(x[self.spread]);
        let by_number = scale * rho.powf(free);
        let value = by_number * x[self.effects.start + lot];
        Effect { value, by_number, by_spread: free * value * slope / rho }
    }

    /// Log prior density of the lots' numbers given the spread, with derivatives added to `gradient`.
    pub fn log_prior(&self, x: &[f64], gradient: &mut [f64]) -> f64 {
        let mut sum = 0.0;
        let (rho, slope) = half_normal(x[self.spread]);
        for (lot, w) in self.weights.iter().enumerate() {
            let at = self.effects.start + lot;
            let per_sd = rho.powf(-w);
            let z = x[at] * per_sd;
            sum += standard_normal(z) + per_sd.ln();
            gradient[at] -= z * per_sd;
            gradient[self.spread] += w * (z * z - 1.0) * slope / rho;
        }
        sum
    }

    /// Turns standard normal numbers standing in x into draws from the prior, given the spread.
    pub fn spread_out(&self, x: &mut [f64]) {
        let (rho, _) = half_normal(x[self.spread]);
        for (lot, w) in self.weights.iter().enumerate() {
            x[self.effects.start + lot] *= rho.powf(*w);
        }
    }
}
