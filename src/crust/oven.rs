//! What the fermentation model knows of a batch at the oven.
//!
//! ln rise as read at the end of the last stage, or else as foretold at the mean of the posterior; the share of the usable
//! sugar that is left; the hours since mixing. The uncertainty of what was foretold is not carried further.

use crate::dough::{Batch, Ripeness};
use crate::inference::forecast::Forecaster;
use crate::physics::sugar;

/// A dough at the oven.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtOven {
    /// ln rise.
    pub ln_rise: f64,
    /// ln rise over that of the most the flour bears, 0 to 1 and a little more.
    pub ln_most: f64,
    /// Share of the usable sugar left, 0 to 1.
    pub sugar_left: f64,
    /// Hours since the end of mixing.
    pub hours: f64,
}

impl AtOven {
    /// Of a batch; `None` without any stage.
    pub fn of(forecaster: &Forecaster, batch: &Batch) -> Option<Self> {
        let mut one = forecaster.central();
        let (plan, _) = one.ready(&Batch { rise_at: None, ..batch.clone() });
        let foretold = *one.values(&plan).first()?.first()?;
        let draw = one.draws.first()?;
        let last = batch.stages().last()?.kind;
        let read = batch.rise.filter(|_| {
            batch.rise_at.is_none_or(|at| at == last) && batch.ripeness != Some(Ripeness::Collapsed)
        });
        let (flour, yeast) = draw.lots(&plan);
        Some(Self {
            ln_rise: read.map_or(foretold, f64::ln),
            ln_most: draw.parameters.max_rise.ln(),
            sugar_left: sugar::left(
                &plan.course,
                &draw.parameters,
                draw.parameters.k * (flour + yeast).exp(),
            ),
            hours: batch.total_hours(),
        })
    }
}
