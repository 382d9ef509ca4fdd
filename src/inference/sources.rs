//! Where the misses of a kitchen come from, draw by draw of its posterior.
//!
//! The miss of batch b, ln(rise/target), is a sum in each draw of the posterior:
//!
//! - temperatures: f(batch) - f(the same batch at usual temperatures), f the foretold ln rise; usual is the median of the
//!   nearest batches of the recipe in time ([`usual`]), so a slow change with the season is not in it
//! - flour lot, yeast lot: D e, with D = df/d ln k and e the lot's effect on ln k
//! - amounts and hours: f(at usual temperatures, lots apart) - ln target: yeast and hours chosen for another rise
//! - what is left, ln rise - f, is shared out by `effects` between time of year, person or mixer, and unexplained: the
//!   batch's own vigour and the reading of the rise. Of that, weighing is D² (step²/12)/yeast², step being the finest
//!   step in which the yeast was written down (a rounding error spread evenly, common practice, no source).
//!
//! Each source's variance is that of its values over the batches at hand, one a draw (the finite-population variances of
//! Gelman 2005, *Ann Stat* 33:1-53). Adding them up leaves covariances out. Limits: lots, seasons and persons that came
//! and went together cannot be told apart; weighing is only what the scale's step tells.

mod effects;

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::dough::Batch;
use crate::physics::course::{Output, Workspace};

use super::diagnostics::variance;
use super::fit::Fit;
use super::forecast::Forecaster;
use super::prepare::{self, Prepared, Records};
use effects::{Design, Effects};

/// The fewest batches worth taking apart.
pub const FEWEST: usize = 12;
/// Draws of the posterior that are looked at; of very many batches fewer, but some.
const DRAWS: usize = 400;
const FEW_DRAWS: usize = 50;
const EVALUATIONS: usize = 400_000;
/// Usual temperatures are the medians of so many batches on each side.
const NEIGHBOURS: usize = 8;
/// A year is looked for when the records span more than half of it, in days.
const SPAN_DAYS: f64 = 183.0;
const YEAR_DAYS: f64 = 365.25;

/// A source's name and its variance in each draw, on ln rise squared.
pub type Source = (String, Vec<f64>);

/// A batch taken apart.
struct Row {
    actual: Prepared,
    /// Which of its outputs is the rise at the oven.
    rise: usize,
    usual: Prepared,
    ln_rise: f64,
    ln_target: f64,
    /// Variance of ln yeast by the scale's step.
    weighing: f64,
}

/// The sources of the misses of these batches (places in the records, each with `rise` at the oven and `target_rise`);
/// `None` with fewer than [`FEWEST`], or when the fit has no draws.
pub fn sources(fit: &Fit, records: &Records, batches: &[usize]) -> Option<Vec<Source>> {
    let draws = (EVALUATIONS / batches.len().max(1)).clamp(FEW_DRAWS, DRAWS);
    let forecaster = fit.forecaster()?.thinned(draws);
    let mut ready = prepare::prepare(records);
    let step = finest_step(records.batches.iter().filter_map(|b| b.yeast_g));
    let rows: Vec<Row> = batches.iter().filter_map(|&b| row(b, records, batches, &mut ready, step)).collect();
    if rows.len() < FEWEST {
        return None;
    }
    let told: Vec<&Batch> = rows.iter().map(|r| &records.batches[r.actual.batch]).collect();
    let design = design(&told);
    let mut effects = Effects::new(&design, rows.len());
    let mut found: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for draw in 0..forecaster.draws.len() {
        let parts = Parts::of(&forecaster, draw, &rows);
        let shared = effects.sweep(&design, &parts.left);
        let mut add = |name, variance: f64| found.entry(name).or_default().push(variance);
        add("temperatures of the day", variance(&parts.temperatures));
        add("amounts and hours chosen", variance(&parts.chosen));
        if fit.index.flour_lots.len() > 1 {
            add("flour lot", variance(&parts.flour));
        }
        if fit.index.yeast_lots.len() > 1 {
            add("yeast lot", variance(&parts.yeast));
        }
        if !design.season.is_empty() {
            add("time of year", variance(&shared.season));
        }
        if let Some((name, _)) = &design.groups {
            add(*name, variance(&shared.group));
        }
        let weighing = parts.weighing.iter().sum::<f64>() / rows.len() as f64;
        add("weighing", weighing);
        add("unexplained", (variance(&shared.rest) - weighing).max(0.0));
    }
    Some(found.into_iter().map(|(name, v)| (name.to_string(), v)).collect())
}

/// What one draw says of each batch.
struct Parts {
    temperatures: Vec<f64>,
    chosen: Vec<f64>,
    flour: Vec<f64>,
    yeast: Vec<f64>,
    left: Vec<f64>,
    weighing: Vec<f64>,
}

impl Parts {
    fn of(forecaster: &Forecaster, draw: usize, rows: &[Row]) -> Self {
        let draw = &forecaster.draws[draw];
        let (mut made, mut as_usual) = (Workspace::default(), Workspace::default());
        let mut parts = Self {
            temperatures: vec![],
            chosen: vec![],
            flour: vec![],
            yeast: vec![],
            left: vec![],
            weighing: vec![],
        };
        for row in rows {
            let (flour, yeast) = draw.lots(&row.actual);
            let k = draw.parameters.k * (flour + yeast).exp();
            row.actual.course.forward(&draw.parameters, k, &mut made);
            row.usual.course.forward(&draw.parameters, k, &mut as_usual);
            let (foretold, slope) = (made.answers[row.rise].value, made.answers[row.rise].by_ln_k());
            let usual = as_usual.answers[0].value;
            parts.temperatures.push(foretold - usual);
            parts.flour.push(slope * flour);
            parts.yeast.push(slope * yeast);
            parts.chosen.push(usual - slope * (flour + yeast) - row.ln_target);
            parts.left.push(row.ln_rise - foretold);
            parts.weighing.push(slope * slope * row.weighing);
        }
        parts
    }
}

fn row(
    batch: usize,
    records: &Records,
    others: &[usize],
    ready: &mut prepare::Ready,
    step: f64,
) -> Option<Row> {
    let told = &records.batches[batch];
    let (ln_rise, ln_target) = (told.rise?.ln(), told.target_rise?.ln());
    let actual = ready.batches[batch].clone();
    let rise = actual.course.outputs.iter().rposition(|o| matches!(o, Output::Rise(_)))?;
    let neighbours = neighbours(batch, records, others);
    let mut usual = prepare::course(&usual(told, &neighbours), &mut ready.index, &mut Vec::new());
    usual.course.outputs = vec![Output::Rise(usual.course.segments.len())];
    let yeast = told.yeast_g.filter(|g| *g > 0.0).or(told.preferment_yeast_g)?;
    let weighing = step * step / 12.0 / (yeast * yeast);
    Some(Row { actual, rise, usual, ln_rise, ln_target, weighing })
}

/// The nearest batches of the same recipe, on both sides in time.
fn neighbours<'a>(batch: usize, records: &'a Records, others: &[usize]) -> Vec<&'a Batch> {
    let all = &records.batches;
    let same = |b: &&usize| all[**b].recipe == all[batch].recipe;
    let before = others.iter().filter(same).filter(|b| **b < batch).rev().take(NEIGHBOURS);
    let after = others.iter().filter(same).filter(|b| **b > batch).take(NEIGHBOURS);
    before.chain(after).map(|b| &all[*b]).collect()
}

/// The batch at the usual temperatures: each that it has becomes the median of those of its neighbours that have it.
pub fn usual(batch: &Batch, neighbours: &[&Batch]) -> Batch {
    type Of = fn(&mut Batch) -> &mut Option<f64>;
    let temperatures: [Of; 8] = [
        |b| &mut b.dough_temp_c,
        |b| &mut b.flour_temp_c,
        |b| &mut b.room_temp_c,
        |b| &mut b.water_temp_c,
        |b| &mut b.bulk_temp_c,
        |b| &mut b.cold_temp_c,
        |b| &mut b.temper_temp_c,
        |b| &mut b.preferment_temp_c,
    ];
    let mut usual = batch.clone();
    let mut neighbours: Vec<Batch> = neighbours.iter().map(|b| (*b).clone()).collect();
    for of in temperatures {
        let mut known: Vec<f64> = neighbours.iter_mut().filter_map(|b| *of(b)).collect();
        known.sort_by(f64::total_cmp);
        if of(&mut usual).is_some() && !known.is_empty() {
            *of(&mut usual) = Some(super::fit::quantile(&known, 0.5));
        }
    }
    usual
}

/// The coarsest of the steps of common scales that all amounts are multiples of, in g; 0.001 when they are of none.
pub fn finest_step(grams: impl Iterator<Item = f64> + Clone) -> f64 {
    const STEPS: [f64; 6] = [1.0, 0.5, 0.1, 0.05, 0.01, 0.005];
    let multiple = |step: f64| grams.clone().all(|g| ((g / step).round() * step - g).abs() < 1e-6);
    STEPS.into_iter().find(|s| multiple(*s)).unwrap_or(0.001)
}

/// Time of year and who mixed, where the records can tell.
fn design(batches: &[&Batch]) -> Design {
    let dates: Vec<Option<Date>> = batches.iter().map(|b| b.date.map(|d| d.date())).collect();
    let days: Option<Vec<f64>> = batches.iter().map(|b| b.date.map(|d| d.days())).collect();
    let spans = days.as_ref().is_some_and(|d| {
        let (first, last) = d.iter().fold((f64::MAX, f64::MIN), |(a, b), x| (a.min(*x), b.max(*x)));
        last - first > SPAN_DAYS
    });
    let season = match spans {
        false => Vec::new(),
        true => {
            let turn = |d: &Option<Date>| {
                let day = d.map_or(0.0, |d| f64::from(d.day_of_year()));
                (std::f64::consts::TAU * day / YEAR_DAYS).sin_cos()
            };
            dates.iter().map(turn).collect()
        }
    };
    let persons = groups(batches.iter().map(|b| b.baker.as_deref()));
    let mixers = || groups(batches.iter().map(|b| b.mix_method.as_deref()));
    let named = |name: &'static str| move |of: Vec<Option<usize>>| (name, of);
    Design { season, groups: persons.map(named("person")).or_else(|| mixers().map(named("mixer"))) }
}

/// The group of each batch; `None` unless there are two.
fn groups<'a>(names: impl Iterator<Item = Option<&'a str>>) -> Option<Vec<Option<usize>>> {
    let mut known: Vec<&str> = Vec::new();
    let mut place = |name: &'a str| {
        known.iter().position(|k| *k == name).unwrap_or_else(|| {
            known.push(name);
            known.len() - 1
        })
    };
    let of: Vec<Option<usize>> = names.map(|n| n.map(&mut place)).collect();
    (known.len() > 1).then_some(of)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_step_of_the_scale_shows_in_what_was_written_down() {
        assert_eq!(finest_step([4.5, 3.2, 6.0].into_iter()), 0.1);
        assert_eq!(finest_step([4.5, 3.0].into_iter()), 0.5);
        assert_eq!(finest_step([4.25, 3.1].into_iter()), 0.05);
    }

    #[test]
    fn usual_temperatures_are_medians_and_blanks_stay_blank() {
        let at = |t: f64| Batch { room_temp_c: Some(t), cold_temp_c: Some(4.0), ..Batch::default() };
        let batch = Batch { room_temp_c: Some(30.0), ..Batch::default() };
        let neighbours = [at(20.0), at(22.0), at(21.0)];
        let usual = usual(&batch, &neighbours.iter().collect::<Vec<_>>());
        assert_eq!((usual.room_temp_c, usual.cold_temp_c), (Some(21.0), None));
    }
}
