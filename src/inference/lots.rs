//! Lots whose effects on ln k share a spread.
//!
//! With rho the spread over its prior scale s0 and z a lot's number in x, the effect is N(0, s0 rho) either way:
//!
//! - told in units of the spread, e = s0 rho z with the prior z ~ N(0, 1): this has a mode, and the search uses it
//! - told by itself, e = s0 z with the prior z ~ N(0, rho): the likelihood does not hang on the spread ([`super::unbend`])
//!
//! Effects on ln k are without unit. Source: non-centred and centred telling as in Papaspiliopoulos, Roberts & Sköld
//! 2007 (see [`super::unbend`]). Limits: a lot's effect is the same in all its batches.

use std::ops::Range;

use super::priors::{Form, LOT_SPREAD, half_normal, standard_normal};

/// Lots of one kind in the vector x.
#[derive(Debug, Clone, PartialEq)]
pub struct Lots {
    /// Where their spread stands.
    pub spread: usize,
    /// Where their numbers stand.
    pub effects: Range<usize>,
    centring: Centring,
}

/// How lots are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Centring {
    /// In units of their spread.
    None,
    /// By themselves.
    Full,
}

/// A lot's effect on ln k with its derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effect {
    /// The effect on ln k.
    pub value: f64,
    /// By the lot's number in x.
    pub by_number: f64,
    /// By the spread's number in x.
    pub by_spread: f64,
}

/// The effect of one unit of a lot's number, with its derivative by the spread's number in x: the same for all lots.
#[derive(Debug, Clone, Copy)]
pub struct Unit {
    size: f64,
    by_spread: f64,
}

impl Lots {
    /// Lots whose spread and numbers stand there.
    pub fn new(spread: usize, effects: Range<usize>, centring: Centring) -> Self {
        Self { spread, effects, centring }
    }

    /// The same lots, told so.
    pub fn retold(&self, centring: Centring) -> Self {
        Self { centring, ..self.clone() }
    }

    /// What the effects of all lots share.
    pub fn unit(&self, x: &[f64]) -> Unit {
        let Form::HalfNormal { sd: scale } = LOT_SPREAD else {
            unreachable!("the spread of lots is half-normal")
        };
        match self.centring {
            Centring::None => {
                let (rho, slope) = half_normal(x[self.spread]);
                Unit { size: scale * rho, by_spread: scale * slope }
            }
            Centring::Full => Unit { size: scale, by_spread: 0.0 },
        }
    }

    /// The effect of a lot on ln k, `lot` counted from 0 among those of this kind.
    pub fn effect(&self, unit: &Unit, x: &[f64], lot: usize) -> Effect {
        let number = x[self.effects.start + lot];
        Effect { value: unit.size * number, by_number: unit.size, by_spread: unit.by_spread * number }
    }

    /// Log prior density of the lots' numbers given the spread, in nats, with derivatives added to `gradient`, which is as
    /// long as x.
    pub fn log_prior(&self, x: &[f64], gradient: &mut [f64]) -> f64 {
        let (rho, slope) = match self.centring {
            Centring::None => (1.0, 0.0),
            Centring::Full => half_normal(x[self.spread]),
        };
        let mut sum = 0.0;
        for at in self.effects.clone() {
            let z = x[at] / rho;
            sum += standard_normal(z) - rho.ln();
            gradient[at] -= z / rho;
            gradient[self.spread] += (z * z - 1.0) * slope / rho;
        }
        sum
    }

    /// Turns numbers in units of the spread, standing in x, into numbers told as these lots are.
    pub fn spread_out(&self, x: &mut [f64]) {
        self.scale(x, |rho| rho);
    }

    /// Turns numbers told as these lots are into numbers in units of the spread.
    pub fn gather(&self, x: &mut [f64]) {
        self.scale(x, f64::recip);
    }

    fn scale(&self, x: &mut [f64], by: fn(f64) -> f64) {
        if self.centring == Centring::Full {
            let factor = by(half_normal(x[self.spread]).0);
            x[self.effects.clone()].iter_mut().for_each(|z| *z *= factor);
        }
    }
}
