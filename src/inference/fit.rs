//! A fit: draws of one kitchen's posterior, how they were got, and how far to trust them.

use std::time::Duration;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::dough::Batch;

use super::forecast::Forecaster;
use super::layout::Layout;
use super::left_out::LeftOut;
use super::lots::Centring;
use super::prepare::{Assumption, Index};
use super::verdict::Thresholds;

/// How a posterior is turned into draws.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// The mode, a normal around it, and importance weights.
    #[default]
    Quick,
    /// Hamiltonian sampling.
    Full,
    /// No records: the prior itself.
    Prior,
}

impl std::fmt::Display for Method {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Quick => "quick",
            Self::Full => "full",
            Self::Prior => "prior",
        })
    }
}

/// What a fit hangs on beside the records.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Settings {
    /// Seed of all random numbers.
    pub seed: u64,
    /// Draws kept (a chain, for the full method).
    pub draws: usize,
    /// Chains of the full method.
    pub chains: usize,
    /// Draws of each chain that are thrown away while it adapts.
    pub warmup: usize,
    /// Starts of the search for the mode beside the medians of the priors.
    pub further_starts: usize,
}

impl Default for Settings {
    fn default() -> Self {
        Self { seed: 1, draws: 1000, chains: 4, warmup: 400, further_starts: 3 }
    }
}

impl Settings {
    /// For very many kitchens at once: one search each (more only where it fails), and fewer draws.
    pub fn brief() -> Self {
        Self { draws: 200, further_starts: 0, ..Self::default() }
    }

    /// Checks the settings.
    ///
    /// # Errors
    /// Names the setting that is out of range, and the range.
    pub fn validate(&self) -> Result<(), InferenceError> {
        let within = [
            ("draws", self.draws, 100..=100_000),
            ("chains", self.chains, 1..=64),
            ("warmup", self.warmup, 50..=100_000),
            ("further-starts", self.further_starts, 0..=64),
        ];
        for (name, value, range) in within {
            if !range.contains(&value) {
                let (least, most) = range.into_inner();
                return Err(InferenceError::Setting { name, value, least, most });
            }
        }
        Ok(())
    }
}

/// Why there is no fit.
#[derive(Debug, Clone, thiserror::Error)]
pub enum InferenceError {
    /// A setting out of range.
    #[error("--{name} {value} is not between {least} and {most}")]
    Setting {
        /// The setting.
        name: &'static str,
        /// Its value.
        value: usize,
        /// The least it can be.
        least: usize,
        /// The most it can be.
        most: usize,
    },
    /// No mode was found.
    #[error(
        "no start led to a best fit ({0}): look at the records with `residuals`, or for rows that contradict each other with `list`"
    )]
    NoMode(String),
    /// No chain could begin or go on.
    #[error(
        "the sampler could not run ({0}): run `fit --method quick`, and look at the records with `residuals`"
    )]
    NoStart(String),
    /// Stopped by the user.
    #[error("stopped: the logbook is as it was")]
    Stopped,
}

/// How the draws were got and how good they are.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Diagnostics {
    /// How.
    pub method: Method,
    /// Wall time in s.
    pub seconds: f64,
    /// Gradients evaluated.
    pub gradient_evaluations: usize,
    /// k-hat of the importance weights (quick method): below 0.7 the draws can be trusted.
    pub k_hat: Option<f64>,
    /// Effective number of draws behind the importance weights.
    pub effective_draws: Option<f64>,
    /// Divergent transitions (full method).
    pub divergences: Option<usize>,
    /// The least bulk effective sample size of any parameter (full method).
    pub min_ess_bulk: Option<f64>,
    /// Transitions cut short at the deepest tree (full method).
    pub deep_trees: Option<usize>,
    /// The least E-BFMI of any chain (full method): above 0.3 the chains reach the tails.
    pub ebfmi: Option<f64>,
    /// Expected log predictive density by leaving each batch out.
    pub elpd_loo: Option<f64>,
    /// Its standard error.
    pub elpd_loo_se: Option<f64>,
    /// The largest k-hat of a batch left out.
    pub worst_pareto_k: Option<f64>,
}

/// Something to know about a fit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Warning {
    /// No batch with a rise: answers come from what is believed before any record.
    NoRises,
    /// No measured rise, but so many verdicts of ripeness.
    VerdictsOnly(usize),
    /// So few rises that the prior still says most.
    FewRises(usize),
    /// All batches were made to one schedule: hours and temperatures cannot be told apart from vigour.
    OneSchedule,
    /// The weights of the quick method are too uneven.
    UnevenWeights(f64),
    /// Chains that should tell the same tell different things; the largest R-hat.
    ChainsDisagree(f64),
    /// The least effective number of draws of any parameter.
    FewEffectiveDraws(f64),
    /// Transitions that went astray.
    Divergences(usize),
    /// Transitions cut short.
    DeepTrees(usize),
    /// The least E-BFMI: the chains do not reach the tails.
    StuckEnergy(f64),
    /// A batch that rose so much that the fit finds it incredible.
    FarOff {
        /// Which.
        batch: String,
        /// Its rise as read.
        rose: f64,
        /// The middle of the forecast.
        expected: f64,
    },
    /// Batches without which the answer would be another one.
    Influential(Vec<String>),
    /// Two batches made alike whose rises lie too far apart: their names and rises.
    Contradiction([(String, f64); 2]),
    /// Lots of which one batch was made: their effect cannot be told from that batch's own luck.
    LotsOnce(Vec<String>),
    /// Vigour was to drift, but the records span too little time.
    NoDrift,
    /// Something blank was assumed, for so many batches.
    Assumed(Assumption, usize),
}

/// Up to this many rises the prior still says most.
pub const FEW_RISES: usize = 8;

impl Warning {
    /// What it means and what to do.
    pub fn says(&self) -> String {
        match self {
            Self::NoRises => "no batch with a measured rise yet: the answers come from what holds for most kitchens, so they are wide; \
                 measure the rise of the next batches in a straight-sided jar"
                .into(),
            Self::VerdictsOnly(n) => format!(
                "no measured rise: the fit rests on {n} verdict{} of ripeness, which tell what this kitchen calls ready but hardly how far a \
                 dough rises; measure the rise of some batches, and `recommend --target ready` meanwhile",
                if *n == 1 { "" } else { "s" }
            ),
            Self::FewRises(n) => format!(
                "only {n} measured rise{}: the answers still lean on what holds for most kitchens",
                if *n == 1 { "" } else { "s" }
            ),
            Self::OneSchedule => "all batches kept the same hours and temperatures: what another schedule would do is mostly a guess; \
                 bake one with other hours"
                .into(),
            Self::UnevenWeights(k) => format!(
                "the quick fit is not to be trusted here (k-hat {k:.2}, good below 0.7): run `fit --method full`"
            ),
            Self::ChainsDisagree(r) => format!(
                "the chains do not agree yet (R-hat {r:.3}, good below 1.01): run `fit --method full` with a larger --warmup and --draws"
            ),
            Self::FewEffectiveDraws(n) => format!(
                "only {n:.0} effective draws of some parameter (400 are good): run `fit --method full` with more --draws"
            ),
            Self::Divergences(n) => format!(
                "{n} step{} of the sampler went astray: corners of the answer may be missing; look with `residuals` for rows that contradict each other",
                if *n == 1 { "" } else { "s" }
            ),
            Self::DeepTrees(n) => format!("{n} steps of the sampler were cut short: run it with a larger --warmup"),
            Self::StuckEnergy(b) => format!(
                "the chains hardly reach the tails of the answer (E-BFMI {b:.2}, good above 0.3): intervals may be too narrow; run `fit --method full` with a larger --warmup and --draws"
            ),
            Self::FarOff { batch, rose, expected } => format!(
                "batch {batch} rose {rose:.2} times where {expected:.2} was to be expected: look at it with `show {batch}`, its yeast and hours above \
                 all, and correct the row if something was written down wrongly"
            ),
            Self::Influential(batches) => format!(
                "the answer leans on {}: look at {} with `show`, and correct the row if something was read or written wrongly",
                listed(batches),
                if batches.len() == 1 { "it" } else { "them" }
            ),
            Self::Contradiction([(low, least), (high, most)]) => format!(
                "batches {low} and {high} were made alike, yet rose {least:.2} and {most:.2} times: look at both with `show`; until one is corrected the answers stay wide"
            ),
            Self::LotsOnce(lots) => format!(
                "made once of {}: what such a lot does cannot be told from that batch's own luck yet",
                lots.join(", ")
            ),
            Self::NoDrift => {
                "your records span too few weeks to tell a drift of vigour: it is taken to hold still".into()
            }
            Self::Assumed(what, batches) => what.says_of(*batches),
        }
    }
}

/// Names in a sentence, the first few of them.
fn listed(names: &[String]) -> String {
    const MOST: usize = 3;
    let kind = if names.len() == 1 { "batch" } else { "batches" };
    let shown = names.iter().take(MOST).cloned().collect::<Vec<_>>().join(", ");
    match names.len().saturating_sub(MOST) {
        0 => format!("{kind} {shown}"),
        more => format!("{kind} {shown} and {more} more"),
    }
}

/// Draws of one kitchen's posterior.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Names that the parameters are indexed by.
    pub index: Index,
    /// Whether any fridge temperature was blank.
    pub unmeasured_fridge: bool,
    /// Batches read.
    pub batches: usize,
    /// Rises among them.
    pub rises: usize,
    /// Shared parameters as standard numbers, one draw after the other.
    pub draws: Vec<f64>,
    /// How they were got.
    pub diagnostics: Diagnostics,
    /// What to know.
    pub warnings: Vec<Warning>,
    /// Per parameter R-hat, bulk and tail effective sample size; empty unless sampled.
    pub mixing: Vec<Mixing>,
}

/// How well the chains of one parameter mixed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Mixing {
    /// Rank-normalised split R-hat.
    pub rhat: f64,
    /// Bulk effective sample size.
    pub ess_bulk: f64,
    /// Tail effective sample size.
    pub ess_tail: f64,
    /// Monte Carlo standard error of the mean, in the parameter's unit.
    pub mcse_mean: f64,
}

/// What a fit says of one parameter.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Summary {
    /// Its name.
    pub name: String,
    /// Its unit.
    pub unit: &'static str,
    /// What it means.
    pub meaning: &'static str,
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
    /// 5 % lie below.
    pub q05: f64,
    /// Half lie below.
    pub q50: f64,
    /// 95 % lie below.
    pub q95: f64,
    /// Rank-normalised split R-hat; `None` unless sampled.
    pub rhat: Option<f64>,
    /// Bulk effective sample size; `None` unless sampled.
    pub ess_bulk: Option<f64>,
    /// Tail effective sample size; `None` unless sampled.
    pub ess_tail: Option<f64>,
    /// Monte Carlo standard error of the mean; `None` unless sampled.
    pub mcse_mean: Option<f64>,
}

impl Fit {
    /// Keeps what leaving each batch out says, and warns of batches that the answer leans on.
    pub(super) fn keep_left_out(&mut self, found: Option<LeftOut>, batches: &[Batch]) {
        let Some(found) = found else { return };
        self.diagnostics.elpd_loo = Some(found.elpd);
        self.diagnostics.elpd_loo_se = Some(found.standard_error);
        self.diagnostics.worst_pareto_k = Some(found.worst_k);
        if !found.influential.is_empty() {
            let name =
                |i: &usize| batches[*i].batch_id.clone().unwrap_or_else(|| format!("number {}", i + 1));
            self.warnings.push(Warning::Influential(found.influential.iter().map(name).collect()));
        }
    }

    /// Whether its weights were too uneven to be trusted.
    pub fn is_rough(&self) -> bool {
        self.warnings.iter().any(|w| matches!(w, Warning::UnevenWeights(_)))
    }

    /// Where each shared parameter stands in a draw.
    pub fn layout(&self) -> Layout {
        Layout::new(&self.index, self.unmeasured_fridge, Centring::None)
    }

    /// Able to forecast; `None` when no draw lies inside the support.
    pub fn forecaster(&self) -> Option<Forecaster> {
        self.forecaster_of(usize::MAX)
    }

    /// The same from every n-th draw alone, so that at most `most` are made ready.
    pub(super) fn forecaster_of(&self, most: usize) -> Option<Forecaster> {
        let layout = self.layout();
        let width = layout.shared.len();
        let step = (self.draws.len() / width).div_ceil(most).max(1);
        Forecaster::new(&layout, &self.index, self.draws.chunks_exact(width).step_by(step))
    }

    /// The rises (volume over that just after mixing) that this kitchen calls ready: medians of where they begin and end;
    /// `None` without verdicts.
    pub fn ready(&self) -> Option<(f64, f64)> {
        let layout = self.layout();
        let draws = || self.draws.chunks_exact(layout.shared.len());
        let median = |of: fn(&Thresholds) -> f64| {
            let mut values: Vec<f64> = draws().filter_map(|x| Some(of(&layout.thresholds(x)?))).collect();
            values.sort_by(f64::total_cmp);
            (!values.is_empty()).then(|| quantile(&values, 0.5).exp())
        };
        Some((median(|t| t.from)?, median(|t| t.to)?))
    }

    /// What the fit says of each shared parameter, on its own scale.
    pub fn parameters(&self) -> Vec<Summary> {
        let layout = self.layout();
        let width = layout.shared.len();
        let summary = |(i, prior): (usize, &super::priors::Prior)| {
            let mut values: Vec<f64> = self.draws.chunks_exact(width).map(|x| layout.value(x, i)).collect();
            values.sort_by(f64::total_cmp);
            let n = values.len() as f64;
            let mean = values.iter().sum::<f64>() / n;
            let square = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>();
            let mixing = self.mixing.get(i);
            Summary {
                name: prior.name.clone(),
                unit: prior.unit,
                meaning: prior.meaning,
                mean,
                sd: (square / (n - 1.0).max(1.0)).sqrt(),
                q05: quantile(&values, 0.05),
                q50: quantile(&values, 0.50),
                q95: quantile(&values, 0.95),
                rhat: mixing.map(|m| m.rhat),
                ess_bulk: mixing.map(|m| m.ess_bulk),
                ess_tail: mixing.map(|m| m.ess_tail),
                mcse_mean: mixing.map(|m| m.mcse_mean),
            }
        };
        layout.shared.iter().enumerate().map(summary).collect()
    }
}

/// The value below which a share `p` of sorted values lies, by linear interpolation (definition 7 of Hyndman &
/// Fan 1996, the default of R and NumPy); NaN for none.
pub fn quantile(sorted: &[f64], p: f64) -> f64 {
    if sorted.is_empty() {
        return f64::NAN;
    }
    let at = p * (sorted.len() - 1) as f64;
    let (below, share) = (at.floor() as usize, at.fract());
    let above = (below + 1).min(sorted.len() - 1);
    sorted[below] + share * (sorted[above] - sorted[below])
}

/// Seconds of a duration, as shown.
pub(crate) fn seconds(d: Duration) -> f64 {
    (d.as_secs_f64() * 1e6).round() / 1e6
}
