//! Where the fit misses: residuals as the charts and the page take them.

use crate::advice::AdviceError;
use crate::charts::{Coverage, Observation, ObservationKind};
use crate::dough::Batch;
use crate::inference::fit::Fit;
use crate::inference::prepare::{Records, flour_lot, prepare};
use crate::inference::residuals::{Reading, Residual, inside, residuals, rms_log};
use crate::report::say::counted;

use super::failure::Failure;
use super::words;

/// Shares of the intervals that coverage is told for.
const NOMINAL: [f64; 3] = [0.50, 0.80, 0.90];

/// The residuals of a kitchen's records under its fit.
pub fn find(fit: &Fit, records: &Records) -> Result<Vec<Residual>, Failure> {
    let forecaster = fit.forecaster().ok_or(AdviceError::NoForecast)?;
    Ok(residuals(&forecaster, &prepare(records).batches))
}

/// Residuals as the charts take them.
pub fn observations(found: &[Residual], batches: &[Batch]) -> Vec<Observation> {
    let one = |r: &Residual| {
        let batch = &batches[r.batch];
        let instant = batch.yeast_type.map_or(1.0, |t| t.instant_equivalent());
        Observation {
            batch_id: batch.batch_id.clone().unwrap_or_default(),
            when_days: batch.date.map_or(0.0, |d| d.days()),
            kind: match r.kind {
                Reading::End => ObservationKind::End,
                Reading::Preferment => ObservationKind::Preferment,
                Reading::OnTheWay => ObservationKind::Reading,
            },
            observed_rise: r.observed,
            predicted_rise_p05: r.p05,
            predicted_rise_p50: r.p50,
            predicted_rise_p95: r.p95,
            residual_log: r.log,
            residual_standardised: r.standardised,
            room_temp_c: batch.room_temp_c,
            yeast_pct: batch.yeast_pct().unwrap_or(0.0) * instant,
            total_hours: r.hours,
            flour_lot: flour_lot(batch).map(str::to_string),
        }
    };
    found.iter().map(one).collect()
}

/// Coverage as the chart takes it.
pub fn coverage(found: &[Residual]) -> Vec<Coverage> {
    let one = |nominal| Coverage { nominal, inside: inside(found, nominal) as u64, of: found.len() as u64 };
    NOMINAL.map(one).to_vec()
}

/// How well the fit does, a sentence each.
pub fn fit_in_words(found: &[Residual]) -> Vec<String> {
    let Some(rms) = rms_log(found) else {
        return vec!["No measured rise yet, so nothing can be compared.".into()];
    };
    let n = found.len();
    let share = |nominal| format!("{:.0} %", 100.0 * inside(found, nominal) as f64 / n as f64);
    vec![
        format!(
            "{}; the fit misses by {:.1} % ({}).",
            counted(n, "reading", "readings"),
            100.0 * rms.exp_m1(),
            words::RMS
        ),
        format!(
            "Inside the 50 % intervals lie {}, inside the 80 % intervals {}, inside the 90 % intervals {}: {}.",
            share(0.50),
            share(0.80),
            share(0.90),
            words::INTERVALS
        ),
    ]
}
