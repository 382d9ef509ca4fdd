//! Leaving batches out and fitting again: how well the others foretell them.
//!
//! Two ways: each flour lot in turn (a lot that the kitchen has not met), and the last weeks (what tomorrow is like).
//! Plans are foretold as a baker would see them: with what was measured before the oven, without readings of their own
//! rise.

use crate::dough::Batch;
use crate::inference::beliefs::Beliefs;
use crate::inference::drift::Periods;
use crate::inference::fit::{InferenceError, Settings};
use crate::inference::prepare::{Records, flour_lot, prepare};
use crate::inference::quick;

use super::plain::Plain;

/// Weeks left out at the end.
const LAST_WEEKS: f64 = 8.0;
/// At least so many rises are left out at the end, and at most this share of all.
const LEAST_LAST: usize = 5;
const MOST_LAST: f64 = 0.34;
/// A lot is left out when it has so many rises.
const LEAST_OF_LOT: usize = 3;
/// At most so many lots are left out, those of most batches.
const MOST_LOTS: usize = 6;
/// Draws of each fit: a mean of forecasts needs no more.
const DRAWS: usize = 300;
/// At least so many rises must be left to learn from.
pub const LEAST_SEEN: usize = 10;

/// Batches to foretell, and those to learn from; numbers of batches in the records.
#[derive(Debug, Clone, PartialEq)]
pub struct Split {
    /// To learn from.
    pub seen: Vec<usize>,
    /// To foretell; their rise at the end was read.
    pub left_out: Vec<usize>,
}

/// How batches left out were foretold.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Foretelling {
    /// ln(observed/foretold) of each.
    pub misses: Vec<f64>,
    /// Log density of each reading, nats.
    pub elpd: Vec<f64>,
}

impl Foretelling {
    /// Root mean square of the misses, on ln rise; `None` for none.
    pub fn rms(&self) -> Option<f64> {
        let n = self.misses.len();
        (n > 0).then(|| (self.misses.iter().map(|m| m * m).sum::<f64>() / n as f64).sqrt())
    }

    fn extend(&mut self, other: Self) {
        self.misses.extend(other.misses);
        self.elpd.extend(other.elpd);
    }
}

/// The last weeks out; `with_rise` are the places of the batches whose rise at the end was read. `None` when too few
/// rises would be left.
pub fn last_weeks(records: &Records, with_rise: &[usize]) -> Option<Split> {
    let mut dated: Vec<(f64, usize)> =
        with_rise.iter().filter_map(|i| records.batches[*i].date.map(|d| (d.days(), *i))).collect();
    dated.sort_by(|a, b| a.0.total_cmp(&b.0));
    let end = dated.last()?.0;
    let late = dated.iter().filter(|(day, _)| *day > end - 7.0 * LAST_WEEKS).count();
    let most = (MOST_LAST * dated.len() as f64) as usize;
    let count = late.max(LEAST_LAST).min(most);
    let left_out: Vec<usize> = dated[dated.len() - count..].iter().map(|(_, i)| *i).collect();
    split(records, with_rise, left_out)
}

/// Each flour lot of some batches out in turn; `with_rise` as in [`last_weeks`]. Empty with fewer than two lots.
pub fn lots_out(records: &Records, with_rise: &[usize]) -> Vec<Split> {
    let mut lots: Vec<(&str, Vec<usize>)> = Vec::new();
    for &i in with_rise {
        let Some(name) = flour_lot(&records.batches[i]) else { continue };
        match lots.iter_mut().find(|(n, _)| *n == name) {
            Some((_, batches)) => batches.push(i),
            None => lots.push((name, vec![i])),
        }
    }
    if lots.len() < 2 {
        return Vec::new();
    }
    lots.retain(|(_, batches)| batches.len() >= LEAST_OF_LOT);
    lots.sort_by_key(|(_, batches)| std::cmp::Reverse(batches.len()));
    lots.truncate(MOST_LOTS);
    lots.into_iter().filter_map(|(_, batches)| split(records, with_rise, batches)).collect()
}

fn split(records: &Records, with_rise: &[usize], left_out: Vec<usize>) -> Option<Split> {
    let seen: Vec<usize> = (0..records.batches.len()).filter(|i| !left_out.contains(i)).collect();
    let rises = with_rise.iter().filter(|i| !left_out.contains(i)).count();
    (rises >= LEAST_SEEN && !left_out.is_empty()).then_some(Split { seen, left_out })
}

impl Split {
    /// What the model under these beliefs foretells.
    ///
    /// # Errors
    /// When the fit to the batches seen fails.
    pub fn by_physics(
        &self,
        records: &Records,
        beliefs: &Beliefs,
        settings: &Settings,
    ) -> Result<Foretelling, InferenceError> {
        let seen = only(records, &self.seen);
        let mut beliefs = beliefs.clone();
        if beliefs.drift.is_some() {
            beliefs.drift = Periods::over(&seen.batches);
        }
        let settings = Settings { draws: DRAWS, ..*settings };
        let fit = quick::fit_ready(prepare(&seen).believing(beliefs), &seen.batches, &settings)?;
        let Some(mut forecaster) = fit.forecaster() else { return Ok(Foretelling::default()) };
        let mut told = Foretelling::default();
        for batch in self.batches(records) {
            let (prepared, _) = forecaster.ready(batch);
            let forecast = forecaster.rise(&prepared);
            let observed = batch.rise.map_or(f64::NAN, f64::ln);
            told.misses.push(observed - forecast.mean());
            told.elpd.push(forecast.ln_density(observed));
        }
        Ok(told)
    }

    /// What the plain regression foretells; empty when it cannot learn.
    pub fn by_regression(&self, records: &Records, with_rise: &[usize]) -> Foretelling {
        let seen: Vec<&Batch> =
            with_rise.iter().filter(|i| !self.left_out.contains(i)).map(|i| &records.batches[*i]).collect();
        let rises: Vec<f64> = seen.iter().filter_map(|b| b.rise).map(f64::ln).collect();
        let Some(plain) = Plain::learn(&seen, &rises) else { return Foretelling::default() };
        let mut told = Foretelling::default();
        for batch in self.batches(records) {
            let observed = batch.rise.map_or(f64::NAN, f64::ln);
            let forecast = plain.forecast(batch, observed);
            told.misses.push(observed - forecast.centre);
            told.elpd.push(forecast.elpd);
        }
        told
    }

    fn batches<'a>(&'a self, records: &'a Records) -> impl Iterator<Item = &'a Batch> {
        self.left_out.iter().map(|i| &records.batches[*i])
    }
}

/// All that several splits foretell under these beliefs.
///
/// # Errors
/// When a fit fails.
pub fn all_by_physics(
    splits: &[Split],
    records: &Records,
    beliefs: &Beliefs,
    settings: &Settings,
) -> Result<Foretelling, InferenceError> {
    let mut told = Foretelling::default();
    for split in splits {
        told.extend(split.by_physics(records, beliefs, settings)?);
    }
    Ok(told)
}

/// All that several splits foretell by the plain regression.
pub fn all_by_regression(splits: &[Split], records: &Records, with_rise: &[usize]) -> Foretelling {
    let mut told = Foretelling::default();
    for split in splits {
        told.extend(split.by_regression(records, with_rise));
    }
    told
}

/// The records of some batches, with their readings.
fn only(records: &Records, which: &[usize]) -> Records {
    let batches: Vec<Batch> = which.iter().map(|i| records.batches[*i].clone()).collect();
    let ids: std::collections::BTreeSet<&str> =
        batches.iter().filter_map(|b| b.batch_id.as_deref()).collect();
    let readings = records.readings.iter().filter(|r| ids.contains(r.batch_id.as_str())).cloned().collect();
    let surroundings =
        records.surroundings.iter().filter(|p| ids.contains(p.batch_id.as_str())).cloned().collect();
    Records { readings, surroundings, batches: batches.clone() }
}
