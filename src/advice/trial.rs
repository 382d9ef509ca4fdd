//! The next batch that teaches the most about what the baker makes, and still makes good bread.
//!
//! Candidates are the usual batches with other hours, their yeast and water filled by [`recommend`]; those whose chance
//! to land is at least [`GOOD`] stand for choice. With draws s of the posterior, f_s the candidate's ln rise, v_s its
//! squared scale, g_js what draw s foretells of usual batch j:
//!
//! - a rise y of the candidate gives draw s the weight t4(y; f_s, v_s); under these weights the variance of g_j is V_j(y)
//! - gain = mean over j of ½ ln(V_j / E[V_j(y)]) in nats, y over the forecast's own quantiles
//!
//! For a normal posterior and normal noise this is the expected information (mutual information) about g_j.
//! Source: Lindley 1956, Ann. Math. Statist. 27:986-1005 (information of an experiment); from memory.
//! Limits: one rise a batch; of lots not seen before nothing is learned but their spread.

use schemars::JsonSchema;
use serde::Serialize;

use super::AdviceError;
use super::limits::Limits;
use super::plan::complete;
use super::recommend::{Recommendation, asked, recommend};
use crate::dough::Batch;
use crate::inference::forecast::{Component, Forecaster, Mixture};
use crate::inference::prepare::Prepared;
use crate::inference::student::density;

/// The chance of landing that a trial must have.
pub const GOOD: f64 = 0.70;
/// Where no plan has that chance, those within this part of the best stand for choice.
const NEARLY: f64 = 0.9;
/// Latest batches among which the usual ones are sought, and kinds of them at most.
const LATEST: usize = 30;
const KINDS: usize = 6;
/// Draws that candidates are filled on, and that the gain is worked out on.
const FILL_DRAWS: usize = 80;
const GAIN_DRAWS: usize = 400;
/// Outcomes of a candidate that are looked at, as quantiles of its forecast.
const OUTCOMES: usize = 40;
/// Hours in the fridge that are tried, and hours added to those of the whole dough.
const COLD_H: [f64; 6] = [12.0, 18.0, 24.0, 36.0, 48.0, 60.0];
const MORE_BULK_H: [f64; 3] = [0.0, 1.5, 3.0];

/// A usual batch and how often it was baked.
#[derive(Debug, Clone)]
struct Usual {
    batch: Batch,
    times: f64,
}

/// A batch that could be baked, and what it would teach.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Candidate {
    /// The batch, filled.
    pub plan: Batch,
    /// Expected gain in nats a usual batch.
    pub expected_gain: f64,
    /// The chance that its rise lands in its window.
    pub chance_in_window: f64,
}

/// What to bake to learn.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Trial {
    /// The batch to bake, filled.
    pub plan: Batch,
    /// Its expected gain in nats a usual batch.
    pub expected_gain: f64,
    /// Its chance to land.
    pub chance_in_window: f64,
    /// Spread of ln rise that not knowing the kitchen gives the usual batches, now and as expected after the trial.
    pub spread_now: f64,
    /// The same, as expected after the trial.
    pub spread_after: f64,
    /// Just repeating the latest batch.
    pub repeat: Candidate,
    /// All that were looked at, those that teach most first.
    pub candidates: Vec<Candidate>,
    /// What to know.
    pub notes: Vec<String>,
    /// How to bake it.
    #[serde(skip)]
    pub advice: Recommendation,
}

/// Proposes a trial: `given` holds what the plan fixes, `history` the batches of the kitchen by date.
///
/// # Errors
/// When there is no batch to begin from, or nothing that can be recommended for.
pub fn trial(
    forecaster: &mut Forecaster,
    given: &Batch,
    history: &[Batch],
    limits: &Limits,
) -> Result<Trial, AdviceError> {
    limits.validate()?;
    let usual = usual(history, given.recipe.as_deref());
    let latest = usual.first().map(|u| u.batch.clone());
    let base = complete(
        &Batch {
            target_rise: given.target_rise.or(latest.as_ref().and_then(|l| l.target_rise)),
            ..given.clone()
        },
        latest.as_ref(),
    );
    asked(&base)?;
    let mut few = forecaster.thinned(FILL_DRAWS);
    let mut many = forecaster.thinned(GAIN_DRAWS);
    let targets: Vec<(Vec<f64>, f64)> = match usual.is_empty() {
        true => {
            let filled = recommend(&mut few, &base, None, limits)?.plan;
            vec![(foretold(&mut many, &filled), 1.0)]
        }
        false => usual.iter().map(|u| (foretold(&mut many, &u.batch), u.times)).collect(),
    };
    let mut measured = |plan: &Batch| -> Result<Candidate, AdviceError> {
        let filled = recommend(&mut few, plan, latest.as_ref(), limits)?;
        let (prepared, _) = many.ready(&filled.plan);
        let gain = gain(&many.rise(&prepared).0, &targets);
        Ok(Candidate { chance_in_window: filled.chance_in_window, expected_gain: gain, plan: filled.plan })
    };
    let repeat = measured(&base)?;
    let mut candidates = Vec::new();
    for plan in variations(&base, given) {
        // A variation that cannot be filled is no candidate.
        candidates.extend(measured(&plan));
    }
    candidates.push(repeat.clone());
    candidates.sort_by(|a, b| b.expected_gain.total_cmp(&a.expected_gain));
    let surest = candidates.iter().map(|c| c.chance_in_window).fold(0.0, f64::max);
    let mut notes = Vec::new();
    let needed = if surest >= GOOD { GOOD } else { NEARLY * surest };
    if surest < GOOD {
        notes.push(format!(
            "no plan is {:.0} % sure to land yet: the choice is among the surest ({:.0} %), and any batch teaches",
            100.0 * GOOD,
            100.0 * surest
        ));
    }
    let best = candidates.iter().find(|c| c.chance_in_window >= needed).unwrap_or(&repeat);
    let blank = Batch {
        yeast_g: base.yeast_g,
        water_temp_c: base.water_temp_c,
        ice_g: base.ice_g,
        ..best.plan.clone()
    };
    let advice = recommend(forecaster, &blank, latest.as_ref(), limits)?;
    let weight: f64 = targets.iter().map(|t| t.1).sum();
    let spread = targets.iter().map(|(g, w)| w * variance(g, None)).sum::<f64>() / weight;
    Ok(Trial {
        plan: advice.plan.clone(),
        expected_gain: best.expected_gain,
        chance_in_window: advice.chance_in_window,
        spread_now: spread.sqrt(),
        spread_after: spread.sqrt() * (-best.expected_gain).exp(),
        repeat,
        candidates,
        notes,
        advice,
    })
}

/// Kinds of batches that the kitchen bakes: the same recipe and hours count as one kind, the latest first.
fn usual(history: &[Batch], recipe: Option<&str>) -> Vec<Usual> {
    let same = |a: &Batch, b: &Batch| {
        a.recipe == b.recipe && a.cold_hours == b.cold_hours && a.cold_place == b.cold_place
    };
    let mut kinds: Vec<Usual> = Vec::new();
    let sound = |b: &&Batch| b.stages().next().is_some() && b.yeast_g.is_some();
    let wanted = |b: &&Batch| recipe.is_none() || b.recipe.as_deref() == recipe;
    for batch in history.iter().rev().filter(sound).filter(wanted).take(LATEST) {
        match kinds.iter_mut().find(|k| same(&k.batch, batch)) {
            Some(kind) => kind.times += 1.0,
            None => kinds.push(Usual { batch: batch.clone(), times: 1.0 }),
        }
    }
    kinds.truncate(KINDS);
    kinds
}

/// Other hours for the plan, where the baker did not fix them.
fn variations(base: &Batch, given: &Batch) -> Vec<Batch> {
    let cold = match (given.cold_hours, base.cold_hours) {
        (None, Some(h)) if h > 0.0 => COLD_H.to_vec(),
        (_, h) => vec![h.unwrap_or(0.0)],
    };
    let bulk = match (given.bulk_hours, base.bulk_hours) {
        (None, Some(h)) => MORE_BULK_H.map(|more| h + more).to_vec(),
        (_, h) => vec![h.unwrap_or(0.0)],
    };
    let with = |cold: f64, bulk: f64| Batch {
        cold_hours: Some(cold).filter(|h| *h > 0.0),
        bulk_hours: Some(bulk).filter(|h| *h > 0.0),
        ..base.clone()
    };
    cold.iter().flat_map(|c| bulk.iter().map(|b| with(*c, *b)).collect::<Vec<_>>()).collect()
}

/// What each draw foretells of a batch's ln rise.
fn foretold(forecaster: &mut Forecaster, batch: &Batch) -> Vec<f64> {
    let (prepared, _): (Prepared, _) = forecaster.ready(batch);
    forecaster.rise(&prepared).0.iter().map(|c| c.centre).collect()
}

/// Expected gain in nats about numbers foretold by draws (each list with its weight) from seeing one rise, of which
/// `seen` is the forecast on ln rise, a component a draw; each list has one number a draw.
pub fn gain(seen: &[Component], about: &[(Vec<f64>, f64)]) -> f64 {
    let forecast = Mixture(seen.to_vec());
    let outcomes: Vec<f64> =
        (0..OUTCOMES).map(|i| forecast.quantile((i as f64 + 0.5) / OUTCOMES as f64)).collect();
    let weights: Vec<Vec<f64>> = outcomes
        .iter()
        .map(|y| seen.iter().map(|c| density((y - c.centre) / c.scale) / c.scale).collect())
        .collect();
    let mut sum = 0.0;
    let mut total = 0.0;
    for (g, times) in about {
        let before = variance(g, None);
        let after = weights.iter().map(|w| variance(g, Some(w))).sum::<f64>() / OUTCOMES as f64;
        if before > 0.0 && after > 0.0 {
            sum += times * 0.5 * (before / after).ln();
        }
        total += times;
    }
    if total > 0.0 { sum / total } else { 0.0 }
}

fn variance(values: &[f64], weights: Option<&[f64]>) -> f64 {
    let weight = |i: usize| weights.map_or(1.0, |w| w[i]);
    let total: f64 = (0..values.len()).map(weight).sum();
    let mean = values.iter().enumerate().map(|(i, v)| weight(i) * v).sum::<f64>() / total;
    values.iter().enumerate().map(|(i, v)| weight(i) * (v - mean).powi(2)).sum::<f64>() / total
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_chacha::ChaCha8Rng;
    use rand_chacha::rand_core::SeedableRng;
    use rand_distr::{Distribution, StandardNormal};

    /// Draws of (f, g), jointly normal with correlation r, f of unit spread.
    fn draws(r: f64) -> (Vec<f64>, Vec<f64>) {
        let mut rng = ChaCha8Rng::seed_from_u64(7);
        let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
        (0..4000)
            .map(|_| {
                let f = normal();
                (f, r * f + (1.0 - r * r).sqrt() * normal())
            })
            .unzip()
    }

    #[test]
    fn the_gain_of_normal_draws_is_their_mutual_information() {
        // I = -½ ln(1 - rho²) with rho² = r²/(1 + noise variance) for normal noise (Cover & Thomas, Elements of
        // Information Theory, 2nd ed., example 8.5.1). A t4 of squared scale s² tells less than normal noise of
        // variance s² and more than one of its own variance, 2 s².
        for (r, scale) in [(0.9, 0.3), (0.6, 0.5), (0.9, 1.0)] {
            let (f, g) = draws(r);
            let seen: Vec<Component> = f.iter().map(|f| Component { centre: *f, scale }).collect();
            let found = gain(&seen, &[(g, 1.0)]);
            let normal = |noise: f64| -0.5 * (1.0 - r * r / (1.0 + noise)).ln();
            let (most, least) = (normal(scale * scale), normal(2.0 * scale * scale));
            assert!(
                (0.93 * least..1.05 * most).contains(&found),
                "{r} {scale}: {found} not in {least}..{most}"
            );
        }
    }

    #[test]
    fn what_has_nothing_to_do_with_it_teaches_nothing() {
        let (f, g) = draws(0.0);
        let seen: Vec<Component> = f.iter().map(|f| Component { centre: *f, scale: 0.5 }).collect();
        assert!(gain(&seen, &[(g, 1.0)]) < 0.01);
    }
}
