//! The candidates side by side, and what the table means in words.
//!
//! elpd: sum over batches of the log density of the rise at the end, each foretold without its batch. A model's elpd less
//! the best one's is the sum of differences batch by batch, and its standard error sqrt(n) times their standard
//! deviation. Beyond two standard errors, and four nats, a difference is taken to be real.
//!
//! Source: Vehtari, Gelman & Gabry 2017 for the error; the four nats below which it cannot be trusted: Sivula,
//! Magnusson, Matamoros & Vehtari, *Uncertainty in Bayesian leave-one-out cross-validation based model comparison*,
//! arXiv 2008.10296. Limits: the regression is left out by twentieths, so it learns from 95 % of the batches at a time.

use schemars::JsonSchema;
use serde::Serialize;

use crate::dough::Batch;
use crate::inference::beliefs::Beliefs;
use crate::inference::drift::Periods;
use crate::inference::fit::{Fit, InferenceError, Settings};
use crate::inference::foretold::{Foretold, end_rise, foretold};
use crate::inference::prepare::{Records, prepare};
use crate::inference::psis::good_k;
use crate::physics::rate_form::RateForm;

use super::held_out::{Foretelling, LEAST_SEEN, all_by_physics, all_by_regression, last_weeks, lots_out};
use super::plain::Plain;

/// Standard errors from which on a difference is taken to be real.
const REAL_ERRORS: f64 = 2.0;
/// Nats below which a difference is small whatever its error.
const SMALL: f64 = 4.0;
/// Parts in which the regression leaves batches out.
const PARTS: usize = 20;

/// What is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Candidate {
    /// Cardinal temperatures, lots differ.
    Usual,
    /// Square root form of the rate.
    SquareRoot,
    /// Arrhenius form of the rate.
    Arrhenius,
    /// The usual model with all lots alike.
    LotsAlike,
    /// The usual model with drifting vigour.
    Drift,
    /// Elastic net without physics.
    Regression,
}

impl Candidate {
    /// In words.
    pub fn says(self) -> &'static str {
        match self {
            Self::Usual => "usual model (cardinal temperatures, lots differ)",
            Self::SquareRoot => "square-root temperatures",
            Self::Arrhenius => "Arrhenius temperatures",
            Self::LotsAlike => "all lots alike",
            Self::Drift => "drifting vigour",
            Self::Regression => "plain regression, no physics",
        }
    }

    /// What the physics' candidates believe of these records; `None` where the candidate would be the usual model.
    fn beliefs(self, records: &Records, usual: &Beliefs) -> Option<Beliefs> {
        let usual = usual.clone();
        match self {
            Self::Usual => Some(usual),
            Self::SquareRoot => Some(Beliefs { warmth: RateForm::SquareRoot, ..usual }),
            Self::Arrhenius => Some(Beliefs { warmth: RateForm::Arrhenius, ..usual }),
            Self::LotsAlike => {
                let index = prepare(records).index;
                let told = index.flour_lots.len() > 1 || index.yeast_lots.len() > 1;
                told.then_some(Beliefs { lots_alike: true, ..usual })
            }
            Self::Drift => {
                Periods::over(&records.batches).map(|periods| Beliefs { drift: Some(periods), ..usual })
            }
            Self::Regression => None,
        }
    }
}

/// One candidate in the table.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Row {
    /// Which.
    pub model: Candidate,
    /// elpd of the rises at the end, each without its batch, nats.
    pub elpd: f64,
    /// Its standard error.
    pub elpd_se: f64,
    /// elpd less that of the best.
    pub difference: f64,
    /// Standard error of the difference.
    pub difference_se: f64,
    /// Batches whose k-hat is too large for weights to leave them out.
    pub influential: usize,
    /// Root mean square of ln(observed/foretold), each without its batch.
    pub rms_log: f64,
    /// The same for the last weeks, foretold from what was before.
    pub last_weeks_rms_log: Option<f64>,
    /// elpd of the last weeks.
    pub last_weeks_elpd: Option<f64>,
    /// The same for flour lots that the fit had not met.
    pub lots_out_rms_log: Option<f64>,
    /// elpd of those.
    pub lots_out_elpd: Option<f64>,
    #[serde(skip)]
    pointwise: Vec<f64>,
}

/// The table and what it means.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Comparison {
    /// Rises compared.
    pub rises: usize,
    /// Batches of the last weeks left out.
    pub last_weeks: usize,
    /// Flour lots left out in turn.
    pub lots_out: usize,
    /// The candidates, best first.
    pub rows: Vec<Row>,
    /// What it means, a sentence each.
    pub verdicts: Vec<String>,
    /// Whether drifting vigour foretells better.
    pub drift_favoured: bool,
}

/// Compares the candidates on a kitchen's records; `fit` fits the records under beliefs, by whichever method. `None`
/// when fewer than ten batches have a rise at their end.
///
/// # Errors
/// When a fit fails.
pub fn compare(
    records: &Records,
    usual: &Beliefs,
    settings: &Settings,
    fit: &mut dyn FnMut(Candidate, Beliefs) -> Result<Fit, InferenceError>,
) -> Result<Option<Comparison>, InferenceError> {
    let ready = prepare(records);
    let with_rise: Vec<usize> =
        ready.batches.iter().filter(|p| end_rise(records, p).is_some()).map(|p| p.batch).collect();
    if with_rise.len() < LEAST_SEEN {
        return Ok(None);
    }
    let late = last_weeks(records, &with_rise);
    let lots = lots_out(records, &with_rise);
    let mut rows = Vec::new();
    for candidate in [
        Candidate::Usual,
        Candidate::SquareRoot,
        Candidate::Arrhenius,
        Candidate::LotsAlike,
        Candidate::Drift,
    ] {
        let Some(beliefs) = candidate.beliefs(records, usual) else { continue };
        let told = foretold(&fit(candidate, beliefs.clone())?, records);
        let before = late.iter().cloned().collect::<Vec<_>>();
        let of_late = all_by_physics(&before, records, &beliefs, settings)?;
        let of_lots = all_by_physics(&lots, records, &beliefs, settings)?;
        rows.push(row(candidate, &told, &of_late, &of_lots));
    }
    if let Some(told) = regression(records, &with_rise) {
        let before = late.iter().cloned().collect::<Vec<_>>();
        let of_late = all_by_regression(&before, records, &with_rise);
        let of_lots = all_by_regression(&lots, records, &with_rise);
        rows.push(row(Candidate::Regression, &told, &of_late, &of_lots));
    }
    rows.retain(|r: &Row| r.pointwise.len() == with_rise.len() && r.elpd.is_finite());
    rank(&mut rows);
    let drift_favoured = drift_favoured(&rows);
    let last_weeks = late.map_or(0, |s| s.left_out.len());
    Ok(Some(Comparison {
        rises: with_rise.len(),
        last_weeks,
        lots_out: lots.len(),
        verdicts: verdicts(&rows, drift_favoured),
        rows,
        drift_favoured,
    }))
}

/// The regression, each twentieth left out.
fn regression(records: &Records, with_rise: &[usize]) -> Option<Vec<Foretold>> {
    let mut told = Vec::new();
    for part in 0..PARTS.min(with_rise.len()) {
        let inside = |place: usize| place % PARTS == part;
        let seen: Vec<&Batch> =
            (0..with_rise.len()).filter(|p| !inside(*p)).map(|p| &records.batches[with_rise[p]]).collect();
        let rises: Vec<f64> = seen.iter().filter_map(|b| b.rise).map(f64::ln).collect();
        let plain = Plain::learn(&seen, &rises)?;
        for place in (0..with_rise.len()).filter(|p| inside(*p)) {
            let batch = with_rise[place];
            let observed = records.batches[batch].rise?.ln();
            let forecast = plain.forecast(&records.batches[batch], observed);
            let below = crate::inference::student::below((observed - forecast.centre) / plain.scale);
            told.push(Foretold {
                batch,
                observed,
                elpd: forecast.elpd,
                below,
                mean: forecast.centre,
                k_hat: f64::NEG_INFINITY,
            });
        }
    }
    told.sort_by_key(|f| f.batch);
    Some(told)
}

fn row(model: Candidate, told: &[Foretold], late: &Foretelling, lots: &Foretelling) -> Row {
    let pointwise: Vec<f64> = told.iter().map(|f| f.elpd).collect();
    let n = told.len() as f64;
    let square: f64 = told.iter().map(|f| f.miss().powi(2)).sum();
    let sum = |of: &Foretelling| (!of.elpd.is_empty()).then(|| of.elpd.iter().sum());
    Row {
        model,
        elpd: pointwise.iter().sum(),
        elpd_se: standard_error(&pointwise),
        difference: 0.0,
        difference_se: 0.0,
        influential: told.iter().filter(|f| f.k_hat > good_k(1000)).count(),
        rms_log: (square / n).sqrt(),
        last_weeks_rms_log: late.rms(),
        last_weeks_elpd: sum(late),
        lots_out_rms_log: lots.rms(),
        lots_out_elpd: sum(lots),
        pointwise,
    }
}

/// Standard error of a sum of values that hang together by chance alone.
fn standard_error(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    values.iter().map(|v| (v - mean).powi(2)).sum::<f64>().sqrt()
}

/// Of two rows, elpd of the first less that of the second, with its standard error.
fn difference(a: &Row, b: &Row) -> (f64, f64) {
    let by_batch: Vec<f64> = a.pointwise.iter().zip(&b.pointwise).map(|(a, b)| a - b).collect();
    (by_batch.iter().sum(), standard_error(&by_batch))
}

fn rank(rows: &mut [Row]) {
    rows.sort_by(|a, b| b.elpd.total_cmp(&a.elpd));
    let Some(best) = rows.first().cloned() else { return };
    for row in rows {
        (row.difference, row.difference_se) = difference(row, &best);
    }
}

fn real((nats, error): (f64, f64)) -> bool {
    nats > REAL_ERRORS * error && nats > SMALL
}

fn find(rows: &[Row], model: Candidate) -> Option<&Row> {
    rows.iter().find(|r| r.model == model)
}

/// Whether drift is really better, and foretells the last weeks no worse.
fn drift_favoured(rows: &[Row]) -> bool {
    let (Some(drift), Some(usual)) = (find(rows, Candidate::Drift), find(rows, Candidate::Usual)) else {
        return false;
    };
    let late = match (drift.last_weeks_elpd, usual.last_weeks_elpd) {
        (Some(a), Some(b)) => a >= b,
        _ => true,
    };
    real(difference(drift, usual)) && late
}

fn verdicts(rows: &[Row], drift_favoured: bool) -> Vec<String> {
    let Some(usual) = find(rows, Candidate::Usual) else { return Vec::new() };
    let mut said = Vec::new();
    let figure = |(nats, error): (f64, f64)| format!("{nats:+.1} ± {error:.1} nats");
    if let Some(plain) = find(rows, Candidate::Regression) {
        let d = difference(usual, plain);
        let behind = (-d.0, d.1);
        said.push(if real(d) {
            format!("the physics foretells your rises better than a plain regression ({})", figure(d))
        } else if real(behind) {
            format!(
                "a plain regression foretells your rises better than the physics ({}): look at the batches it misses with `residuals`, and for a temperature or time that was written down wrongly",
                figure(behind)
            )
        } else {
            format!(
                "the physics does not beat a plain regression on these records ({}): bake at other hours and temperatures, where a regression has nothing to go by",
                figure(d)
            )
        });
    }
    let forms = [Candidate::SquareRoot, Candidate::Arrhenius];
    let better: Vec<&Row> =
        forms.iter().filter_map(|m| find(rows, *m)).filter(|r| real(difference(r, usual))).collect();
    match better.first() {
        Some(row) => said.push(format!(
            "{} foretell your rises better than the usual ones ({}): forecasts at temperatures you have not baked at are less sure than told",
            row.model.says(),
            figure(difference(row, usual))
        )),
        None if forms.iter().any(|m| find(rows, *m).is_some()) => {
            said.push("no other form of temperature foretells your rises better than the usual one".into());
        }
        None => {}
    }
    if let Some(alike) = find(rows, Candidate::LotsAlike) {
        let d = difference(usual, alike);
        said.push(if real(d) {
            format!("lots differ ({}): write the flour's and yeast's lot down", figure(d))
        } else {
            format!("lots cannot be told from one another yet ({})", figure(d))
        });
    }
    if let Some(drift) = find(rows, Candidate::Drift) {
        let d = difference(drift, usual);
        said.push(if drift_favoured {
            format!("vigour drifts ({}): the fit kept allows for it", figure(d))
        } else {
            format!("no drift of vigour worth allowing for ({})", figure(d))
        });
    }
    let influential = usual.influential;
    if influential > 0 {
        said.push(format!(
            "{influential} batch{} so telling that leaving {} out is only roughly known",
            if influential == 1 { " is" } else { "es are" },
            if influential == 1 { "it" } else { "them" }
        ));
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(elpd: &[f64]) -> Vec<Foretold> {
        let one = |(batch, elpd): (usize, &f64)| Foretold {
            batch,
            observed: 0.7,
            elpd: *elpd,
            below: 0.5,
            mean: 0.7,
            k_hat: 0.1,
        };
        elpd.iter().enumerate().map(one).collect()
    }

    /// Sum and error as by hand: differences 1, 2, 3 have sum 6 and sqrt(n) sd = sqrt(2), n below.
    #[test]
    fn differences_are_told_against_the_best() {
        let empty = Foretelling::default();
        let mut rows = vec![
            row(Candidate::Usual, &told(&[1.0, 1.0, 1.0]), &empty, &empty),
            row(Candidate::Arrhenius, &told(&[2.0, 3.0, 4.0]), &empty, &empty),
        ];
        rank(&mut rows);
        assert_eq!(rows[0].model, Candidate::Arrhenius);
        assert_eq!((rows[0].difference, rows[0].difference_se), (0.0, 0.0));
        assert_eq!(rows[1].difference, -6.0);
        assert!((rows[1].difference_se - 2.0_f64.sqrt()).abs() < 1e-15);
    }
}
