//! How far a fit's forecasts are from what was observed.
//!
//! For each rise that was read, the posterior predictive distribution of that reading (all draws, the batch's own
//! vigour not known) against the reading: the residual is ln(observed/median), the standardised residual the normal
//! quantile of the distribution function at the reading. Coverage counts readings inside the central intervals.
//!
//! Source: quantile residuals as in Dunn & Smyth 1996, *J Comput Graph Stat* 5:236-244 (from memory).
//! Limits: these batches took part in the fit, so the figures flatter it a little; leave-one-out does not.
//! Readings of dough that had collapsed are left out: they are no rises.

use serde::Serialize;
use statrs::distribution::{ContinuousCDF, Normal};

use crate::physics::course::Output;

use super::forecast::{Forecaster, Mixture};
use super::prepare::Prepared;

/// What kind of reading it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Reading {
    /// At the end of a stage.
    End,
    /// Of the preferment.
    Preferment,
    /// On the way.
    OnTheWay,
}

/// One reading against its forecast.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Residual {
    /// Which batch of the records.
    pub batch: usize,
    /// What kind.
    pub kind: Reading,
    /// Hours since mixing (of the preferment, for its rise).
    pub hours: f64,
    /// The rise as read; the points of the forecast are rises too.
    pub observed: f64,
    /// 5 % point of the forecast.
    pub p05: f64,
    /// Median of the forecast.
    pub p50: f64,
    /// 95 % point of the forecast.
    pub p95: f64,
    /// ln(observed/median).
    pub log: f64,
    /// Share of the forecast that lies below the reading, 0 to 1.
    pub below: f64,
    /// Normal quantile of that share.
    pub standardised: f64,
}

/// The residuals of prepared records under a fit.
pub fn residuals<'a>(
    forecaster: &Forecaster,
    batches: impl IntoIterator<Item = &'a Prepared>,
) -> Vec<Residual> {
    let mut found = Vec::new();
    for prepared in batches {
        if prepared.rises() == 0 {
            continue;
        }
        let by_draw = forecaster.rises(prepared);
        let outputs = prepared.course.outputs.iter().zip(&prepared.observed).enumerate();
        let end = prepared.course.segments.len();
        for (i, (output, seen)) in outputs {
            let (kind, hours) = match *output {
                _ if seen.collapsed => continue,
                Output::PrefermentRise(hours) => (Reading::Preferment, hours),
                Output::Rise(n) => {
                    let hours = prepared.course.segments[..n].iter().map(|s| s.hours).sum();
                    (if n == end { Reading::End } else { Reading::OnTheWay }, hours)
                }
                Output::MixedTemperature | Output::Temperature(_) => continue,
            };
            let forecast = Mixture(by_draw.iter().map(|d| d[i]).collect());
            let median = forecast.quantile(0.5);
            let below = forecast.below(seen.value);
            found.push(Residual {
                batch: prepared.batch,
                kind,
                hours,
                observed: seen.value.exp(),
                p05: forecast.quantile(0.05).exp(),
                p50: median.exp(),
                p95: forecast.quantile(0.95).exp(),
                log: seen.value - median,
                below,
                standardised: normal_quantile(below),
            });
        }
    }
    found
}

fn normal_quantile(p: f64) -> f64 {
    const EDGE: f64 = 1e-12;
    Normal::standard().inverse_cdf(p.clamp(EDGE, 1.0 - EDGE))
}

/// Root mean square of the residuals, on ln rise; `None` for none.
pub fn rms_log(residuals: &[Residual]) -> Option<f64> {
    let n = residuals.len();
    (n > 0).then(|| (residuals.iter().map(|r| r.log * r.log).sum::<f64>() / n as f64).sqrt())
}

/// How many readings lie inside the central interval of a nominal share, 0 to 1.
pub fn inside(residuals: &[Residual], nominal: f64) -> usize {
    let edge = 0.5 * (1.0 - nominal);
    residuals.iter().filter(|r| (edge..=1.0 - edge).contains(&r.below)).count()
}
