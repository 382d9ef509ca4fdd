//! Everything about the crust of one kitchen: the ordered regression of the score and of the verdict, what goes with
//! them, how well they are foretold, and the plainer models beside them.

use schemars::JsonSchema;
use serde::Serialize;

use super::baselines::{elastic_net, logistic};
use super::dependence::{Best, Dependence, Effect, Optimum, Posterior, Ready};
use super::draws::{Draws, PROPOSALS};
use super::foretell::Foreteller;
use super::ordered::Ordered;
use super::oven::AtOven;
use super::score::{Compared, Skill, expected, middle, others, ranked_probability};
use super::table::Table;
use crate::dough::counted::counted;
use crate::dough::{Batch, Ripeness};
use crate::inference::forecast::Forecaster;
use crate::inference::minimise::MinimiseError;
use crate::inference::psis::good_k;

/// The fewest batches with a score or verdict.
pub const FEWEST: usize = 12;
/// The latest so many batches are looked at: memory grows with batches times draws.
pub const MOST: usize = 2_000;
/// A score given to fewer batches is pooled with the next.
const FEWEST_A_CLASS: usize = 3;

/// Why nothing can be said.
#[derive(Debug, thiserror::Error)]
pub enum CrustError {
    /// Too few batches.
    #[error(
        "only {found} {} {what}: {FEWEST} are needed; write down {column} when you bake (the more it differs, the more can be learned)",
        if *found == 1 { "batch has" } else { "batches have" }
    )]
    TooFew {
        /// How many there are.
        found: usize,
        /// What they should have.
        what: &'static str,
        /// The column.
        column: &'static str,
    },
    /// All the same.
    #[error("all {found} batches, or nearly all, have the same {column}, so nothing can go with it")]
    AllAlike {
        /// How many there are.
        found: usize,
        /// The column.
        column: &'static str,
    },
    /// Nothing differs between the batches.
    #[error("the batches do not differ in anything that may go with the crust: bake some of them otherwise")]
    NothingVaries,
    /// The regression could not be fitted.
    #[error("the regression of the crust could not be fitted ({0}): look for contradicting rows with `list`")]
    NotFitted(#[from] MinimiseError),
}

/// What is followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Of {
    /// The score of the crust.
    Score,
    /// The verdict under, ready or over; a collapsed dough is over.
    Verdict,
}

/// What the records say.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Crust {
    /// How many batches.
    pub batches: usize,
    /// What one more step of each predictor goes with.
    pub effects: Vec<Effect>,
    /// How much better than always saying how the scores usually spread.
    pub skill: f64,
    /// The same with its standard error.
    pub skill_of: Skill,
    /// How much better than always saying the usual score.
    pub skill_over_usual_score: f64,
    /// Whether the records explain it: the skill is more than chance.
    pub explained: bool,
    /// This model and the plainer ones.
    pub models: Vec<Compared>,
    /// Where ripeness is best.
    pub best_ripeness: Option<Optimum>,
    /// The best that was tried.
    pub best_tried: Best,
    /// Of a verdict: between which ripeness a dough is called ready, all else as usual.
    pub called_ready: Option<Ready>,
    /// What to mind.
    pub cautions: Vec<String>,
}

impl Of {
    fn what(self) -> (&'static str, &'static str) {
        match self {
            Self::Score => ("a score of the crust", "crust_score"),
            Self::Verdict => ("a verdict of their ripeness", "ripeness"),
        }
    }

    fn unit(self) -> &'static str {
        match self {
            Self::Score => "points",
            Self::Verdict => "steps from under to over",
        }
    }

    /// The score of a batch; a verdict counts -1, 0 or 1.
    pub fn value(self, batch: &Batch) -> Option<f64> {
        match self {
            Self::Score => batch.crust_score,
            Self::Verdict => batch.ripeness.map(|r| match r {
                Ripeness::Under => -1.0,
                Ripeness::Ready => 0.0,
                Ripeness::Over | Ripeness::Collapsed => 1.0,
            }),
        }
    }
}

/// A regression fitted to the scored batches of a kitchen.
#[derive(Debug, Clone)]
pub struct Fitted {
    of: Of,
    table: Table,
    /// The score of each class, rising.
    scores: Vec<f64>,
    /// The score of each batch.
    seen: Vec<f64>,
    model: Ordered,
    draws: Draws,
}

/// Fits the batches of a kitchen under its fit of the fermentation.
///
/// # Errors
/// When too few batches have a score or verdict, all have the same, or nothing differs between them.
pub fn study(of: Of, batches: &[Batch], forecaster: &Forecaster) -> Result<Fitted, CrustError> {
    let known: Vec<(&Batch, AtOven, f64)> = batches
        .iter()
        .filter_map(|b| {
            let value = of.value(b)?;
            Some((b, AtOven::of(forecaster, b)?, value))
        })
        .collect();
    let known = &known[known.len().saturating_sub(MOST)..];
    let rows: Vec<(&Batch, AtOven)> = known.iter().map(|k| (k.0, k.1)).collect();
    let seen: Vec<f64> = known.iter().map(|k| k.2).collect();
    Fitted::new(of, Table::new(&rows, of == Of::Score), seen)
}

impl Fitted {
    /// From predictors and the score of each batch.
    ///
    /// # Errors
    /// As [`study()`].
    pub fn new(of: Of, table: Table, seen: Vec<f64>) -> Result<Self, CrustError> {
        let (what, column) = of.what();
        if seen.len() < FEWEST {
            return Err(CrustError::TooFew { found: seen.len(), what, column });
        }
        let (scores, y) = classes(&seen);
        if scores.len() < 2 {
            return Err(CrustError::AllAlike { found: seen.len(), column });
        }
        if table.predictors.is_empty() {
            return Err(CrustError::NothingVaries);
        }
        let model = Ordered { x: table.rows(), y, classes: scores.len(), flat: false };
        let draws = Draws::of(&model)?;
        Ok(Self { of, table, scores, seen, model, draws })
    }

    fn posterior(&self) -> Posterior<'_> {
        Posterior { table: &self.table, draws: &self.draws.kept, scores: &self.scores }
    }

    /// What the records say.
    pub fn crust(&self) -> Crust {
        let posterior = self.posterior();
        let compared = Comparison::of(&self.model, &self.draws, &self.scores);
        Crust {
            batches: self.seen.len(),
            effects: posterior.effects(self.of.unit()),
            skill: compared.over_spread.skill,
            skill_of: compared.over_spread,
            skill_over_usual_score: compared.over_usual.skill,
            explained: compared.over_spread.more_than_chance,
            models: compared.models,
            best_ripeness: posterior.optimum(),
            best_tried: posterior.best(),
            called_ready: (self.of == Of::Verdict && self.scores.len() == 3)
                .then(|| posterior.ready())
                .flatten(),
            cautions: cautions(self.of, &self.table, &self.draws),
        }
    }

    /// What is needed to foretell other batches.
    pub fn foreteller(&self) -> Foreteller {
        let skill = Comparison::of(&self.model, &self.draws, &self.scores).over_spread;
        Foreteller::new(&self.table, &self.scores, &self.draws.kept, &skill)
    }

    /// The expected score along each predictor.
    pub fn dependences(&self) -> Vec<Dependence> {
        self.posterior().dependences(&self.seen)
    }
}

/// The score of each class and the class of each batch: scores given to fewer than [`FEWEST_A_CLASS`] batches are
/// pooled with the next, and count as their mean.
fn classes(seen: &[f64]) -> (Vec<f64>, Vec<usize>) {
    let mut order: Vec<usize> = (0..seen.len()).collect();
    order.sort_by(|a, b| seen[*a].total_cmp(&seen[*b]));
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for batches in order.chunk_by(|a, b| seen[*a] == seen[*b]) {
        match groups.last_mut().filter(|g| g.len() < FEWEST_A_CLASS) {
            Some(group) => group.extend(batches),
            None => groups.push(batches.to_vec()),
        }
    }
    if groups.len() > 1 && groups[groups.len() - 1].len() < FEWEST_A_CLASS {
        let last = groups.pop().unwrap_or_default();
        groups.last_mut().expect("there were two").extend(last);
    }
    let mut y = vec![0; seen.len()];
    for (class, group) in groups.iter().enumerate() {
        group.iter().for_each(|b| y[*b] = class);
    }
    let score = |g: &Vec<usize>| g.iter().map(|b| seen[*b]).sum::<f64>() / g.len() as f64;
    (groups.iter().map(score).collect(), y)
}

/// The models beside each other.
struct Comparison {
    models: Vec<Compared>,
    over_spread: Skill,
    over_usual: Skill,
}

impl Comparison {
    fn of(model: &Ordered, draws: &Draws, scores: &[f64]) -> Self {
        let (y, n) = (&model.y, model.y.len());
        let seen: Vec<f64> = y.iter().map(|class| scores[*class]).collect();
        let spread: Vec<Vec<f64>> = (0..n).map(|b| others(y, scores.len(), b)).collect();
        let usual_of: Vec<usize> = spread.iter().map(|s| middle(s)).collect();
        let usual: Vec<Vec<f64>> = usual_of.iter().map(|m| certain(*m, scores.len())).collect();
        let median = scores[middle(&shares(y, scores.len()))];
        let better: Vec<bool> = seen.iter().map(|s| *s > median).collect();
        let rps = |chances: &[Vec<f64>]| -> Vec<f64> {
            chances.iter().zip(y).map(|(p, y)| ranked_probability(p, scores, *y)).collect()
        };
        let brier_of = |chances: &[f64]| {
            let one = |(p, b): (&f64, &bool)| (p - f64::from(u8::from(*b))).powi(2);
            mean(chances.iter().zip(&better).map(one))
        };
        let compared = |name, chances: &[Vec<f64>]| {
            let above =
                |p: &Vec<f64>| p.iter().zip(scores).filter(|(_, s)| **s > median).map(|(p, _)| p).sum();
            let off = |(p, s): (&Vec<f64>, &f64)| (expected(p, scores) - s).abs();
            Compared {
                model: name,
                rps: Some(mean(rps(chances).into_iter())),
                mean_error: Some(mean(chances.iter().zip(&seen).map(off))),
                brier: Some(brier_of(&chances.iter().map(above).collect::<Vec<f64>>())),
            }
        };
        let net = elastic_net(&model.x, &seen)
            .map(|all| all.iter().map(|n| n.chances(scores)).collect::<Vec<Vec<f64>>>());
        let chances = logistic(&model.x, &better);
        let models = [
            Some(compared("ordered regression", &draws.left_out)),
            net.map(|chances| compared("elastic net", &chances)),
            chances.map(|c| Compared {
                model: "logistic regression",
                rps: None,
                mean_error: None,
                brier: Some(brier_of(&c)),
            }),
            Some(compared("how the scores usually spread", &spread)),
            Some(compared("always the usual score", &usual)),
        ];
        let own = rps(&draws.left_out);
        Self {
            models: models.into_iter().flatten().collect(),
            over_spread: Skill::of(&own, &rps(&spread)),
            over_usual: Skill::of(&own, &rps(&usual)),
        }
    }
}

fn mean(values: impl ExactSizeIterator<Item = f64>) -> f64 {
    let n = values.len() as f64;
    values.sum::<f64>() / n
}

fn certain(class: usize, classes: usize) -> Vec<f64> {
    (0..classes).map(|k| if k == class { 1.0 } else { 0.0 }).collect()
}

fn shares(y: &[usize], classes: usize) -> Vec<f64> {
    let mut shares = vec![0.0; classes];
    y.iter().for_each(|class| shares[*class] += 1.0 / y.len() as f64);
    shares
}

fn cautions(of: Of, table: &Table, draws: &Draws) -> Vec<String> {
    let mut said: Vec<String> = table
        .alike()
        .iter()
        .map(|(a, b, r)| {
            format!("{a} and {b} went together (r = {r:.2}), so what goes with one may come from the other; bake a batch that breaks the pair")
        })
        .collect();
    said.extend(table.predictors.iter().filter(|p| p.blanks() > 0).map(|p| {
        format!(
            "{} no {}: the mean is taken there; write it down",
            counted(p.blanks(), "batch has", "batches have"),
            p.name
        )
    }));
    if table.foretold > 0 {
        let seen = match of {
            Of::Verdict => ", by a fit that has seen these verdicts, so the skill flatters",
            Of::Score => "",
        };
        said.push(format!(
            "{} no measured rise at the oven: it is foretold{seen}; measure it",
            counted(table.foretold, "batch has", "batches have")
        ));
    }
    if draws.k_hat > good_k(PROPOSALS) {
        said.push(format!(
            "the figures are rough (k-hat {:.2}, good below 0.7): more batches help",
            draws.k_hat
        ));
    }
    said.push(
        "what goes together need not be cause and effect: change one thing at a time to find out".into(),
    );
    said
}
