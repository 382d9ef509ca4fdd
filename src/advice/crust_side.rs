//! The crust beside the rise: the score a plan can expect, and what more or less yeast would trade for it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::crust::foretell::Foreteller;
use crate::dough::Batch;
use crate::inference::fit::quantile;
use crate::inference::forecast::Forecaster;

use super::Interval;
use super::recommend::Recommendation;

/// Yeast beside the recommended one, as parts of it.
const YEASTS: [f64; 5] = [0.6, 0.8, 1.0, 1.25, 1.6];
/// Draws of the fermentation that a row of the table is worked out on.
const DRAWS: usize = 100;

/// What a plan's crust is likely to be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CrustSide {
    /// How many batches had a score.
    pub batches: usize,
    /// How much nearer they were foretold, each by the others, than by how scores usually spread.
    pub skill: f64,
    /// Whether that is more than chance; if not, the scores below mean little.
    pub explained: bool,
    /// The expected score.
    pub score: Interval,
    /// Less and more yeast, the recommended one among them, from less to more.
    pub trade_off: Vec<OtherYeast>,
    /// What of the plan lies beyond all that was scored.
    pub beyond: Vec<String>,
}

/// The same plan with another yeast.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OtherYeast {
    /// Yeast to weigh, in g.
    pub yeast_g: f64,
    /// Median rise.
    pub rise: f64,
    /// Probability that the rise lies in the window about the target.
    pub chance_in_window: f64,
    /// The expected score.
    pub score: Interval,
    /// Probability that it is above that of the recommended yeast.
    pub better: f64,
}

/// The crust beside a recommendation; `None` for a plan without any stage.
pub fn crust_side(
    foreteller: &Foreteller,
    forecaster: &Forecaster,
    recommended: &Recommendation,
) -> Option<CrustSide> {
    let mut thinned = forecaster.thinned(DRAWS);
    let plan = &recommended.plan;
    let scores = foreteller.scores(&mut thinned, plan)?;
    let (low, high) = recommended.near();
    // As the scale of the kitchen shows it.
    let step = recommended.weighing.as_ref().map_or(0.1, |w| w.step_g);
    let weighed = |g: f64| (1e6 * step * (g / step).round().max(1.0)).round() / 1e6;
    let mut other = |part: f64| {
        let yeast_g = weighed(part * recommended.yeast_g);
        let batch = Batch { yeast_g: Some(yeast_g), ..plan.clone() };
        let (prepared, _) = thinned.ready(&batch);
        let rise = thinned.rise(&prepared);
        let others = foreteller.scores(&mut thinned, &batch)?;
        let above = others.iter().zip(&scores).filter(|(a, b)| a > b).count();
        Some(OtherYeast {
            yeast_g,
            rise: rise.quantile(0.5).exp(),
            chance_in_window: rise.between(low, high),
            score: interval(others),
            better: above as f64 / scores.len() as f64,
        })
    };
    let trade_off = YEASTS.iter().filter_map(|part| other(*part)).collect();
    Some(CrustSide {
        batches: foreteller.batches,
        skill: foreteller.skill,
        explained: foreteller.explained,
        score: interval(scores),
        trade_off,
        beyond: foreteller.beyond(forecaster, plan),
    })
}

fn interval(mut values: Vec<f64>) -> Interval {
    values.sort_by(f64::total_cmp);
    let q = |p| quantile(&values, p);
    Interval { p05: q(0.05), p50: q(0.50), p95: q(0.95) }
}
