//! What the crust of a batch not yet baked is likely to score.
//!
//! For each draw of the regression the expected score E(ln rise, x) is averaged over the forecast of ln rise at the
//! oven, taken at [`RISES`] equally likely places; sugar left and age are those at the mean of the fermentation's
//! posterior. The spread over draws is that of the expected score, not of a single score, which chance scatters
//! further.
//!
//! Limits: as the regression's; what a plan leaves blank counts as the mean of the batches that were scored.

use serde::{Deserialize, Serialize};

use super::ordered::Coefficients;
use super::oven::AtOven;
use super::score::Skill;
use super::table::{Scale, Table, quantities};
use crate::dough::Batch;
use crate::inference::forecast::Forecaster;

/// Places that a forecast of ln rise is taken at.
const RISES: u32 = 9;

/// A regression of the crust as it is kept, ready to foretell.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Foreteller {
    /// How many batches had a score.
    pub batches: usize,
    /// How much nearer they were foretold, each by the others, than by how scores usually spread.
    pub skill: f64,
    /// Whether that is more than chance.
    pub explained: bool,
    by_target: bool,
    predictors: Vec<Kept>,
    scores: Vec<f64>,
    draws: Vec<Coefficients>,
}

/// A predictor without the batches it came from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Kept {
    name: String,
    scale: Scale,
    tried: (f64, f64),
}

impl Foreteller {
    pub(super) fn new(table: &Table, scores: &[f64], draws: &[Coefficients], skill: &Skill) -> Self {
        let kept =
            table.predictors.iter().map(|p| Kept { name: p.name.into(), scale: p.scale, tried: p.tried() });
        Self {
            batches: table.batches,
            skill: skill.skill,
            explained: skill.more_than_chance,
            by_target: table.by_target,
            predictors: kept.collect(),
            scores: scores.to_vec(),
            draws: draws.to_vec(),
        }
    }

    /// The expected score, one a draw of the regression; `None` for a batch without any stage.
    pub fn scores(&self, forecaster: &mut Forecaster, batch: &Batch) -> Option<Vec<f64>> {
        let at_mean = AtOven::of(forecaster, batch)?;
        let (prepared, _) = forecaster.ready(&Batch { rise_at: None, ..batch.clone() });
        let forecast = forecaster.rise(&prepared);
        let place =
            |i| AtOven { ln_rise: forecast.quantile((f64::from(i) + 0.5) / f64::from(RISES)), ..at_mean };
        Some(self.expected(batch, &(0..RISES).map(place).collect::<Vec<_>>()))
    }

    /// The expected score over equally likely states at the oven, one a draw.
    pub(super) fn expected(&self, batch: &Batch, ovens: &[AtOven]) -> Vec<f64> {
        let columns: Vec<Vec<f64>> = ovens.iter().map(|oven| self.columns(batch, oven)).collect();
        let score = |draw: &Coefficients| {
            columns.iter().map(|x| draw.expected(x, &self.scores)).sum::<f64>() / columns.len() as f64
        };
        self.draws.iter().map(score).collect()
    }

    fn columns(&self, batch: &Batch, oven: &AtOven) -> Vec<f64> {
        let mut columns = Vec::with_capacity(self.predictors.len() + 1);
        for p in &self.predictors {
            p.scale.columns(self.value(p, batch, oven).unwrap_or(p.scale.mean), &mut columns);
        }
        columns
    }

    fn value(&self, predictor: &Kept, batch: &Batch, oven: &AtOven) -> Option<f64> {
        let all = quantities(self.by_target);
        all.iter().find(|q| q.name == predictor.name).and_then(|q| (q.of)(batch, oven))
    }

    /// What of a batch lies beyond all that was scored, by name.
    pub fn beyond(&self, forecaster: &Forecaster, batch: &Batch) -> Vec<String> {
        let Some(oven) = AtOven::of(forecaster, batch) else { return vec![] };
        let beyond = |p: &&Kept| {
            self.value(p, batch, &oven).is_some_and(|v| v < p.tried.0 - 1e-9 || v > p.tried.1 + 1e-9)
        };
        self.predictors.iter().filter(beyond).map(|p| p.name.clone()).collect()
    }
}
