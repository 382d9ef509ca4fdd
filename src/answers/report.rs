//! What goes on the report page of a kitchen.

use jiff::tz::TimeZone;

use crate::advice::AdviceError;
use crate::advice::recommend::Recommendation;
use crate::charts::residual_panel;
use crate::consistency::{Measure, Options};
use crate::dough::units::UnitSystem;
use crate::inference::fit::Fit;
use crate::inference::prepare::Records;
use crate::logbook::PlanRecord;
use crate::report::{CHART_PX, NextBatch, Report, Steady};

use super::consistency::{figure, sentences, study_of, usual_content};
use super::failure::Failure;
use super::gaps::gaps;
use super::habits::habits;
use super::pictures::rise_of;
use super::residuals::{coverage, find, fit_in_words, observations};
use super::spread_sources::Behind;

/// Chance behind what a measurement is worth, the same on every page.
const SEED: u64 = 1;

/// What is known of a kitchen when its report is made.
pub struct Known<'a> {
    /// Its name.
    pub kitchen: &'a str,
    /// Its records.
    pub records: &'a Records,
    /// Plans kept.
    pub plans: &'a [PlanRecord],
    /// The fit.
    pub fit: &'a Fit,
    /// Said beneath the title.
    pub note: Option<&'a str>,
}

/// The report of a kitchen; `next` holds the batches to come, or why there is none.
pub fn report_of(
    known: &Known,
    next: Result<Vec<Recommendation>, String>,
    units: UnitSystem,
) -> Result<Report, Failure> {
    let found = find(known.fit, known.records)?;
    let habits = habits(known.fit, known.records, units, CHART_PX)?;
    let gaps = gaps(known.fit, known.records, SEED);
    Ok(Report {
        kitchen: known.kitchen.into(),
        made_on: jiff::Timestamp::now().strftime("%Y-%m-%d").to_string(),
        note: known.note.map(str::to_string),
        units,
        batches: known.fit.batches,
        rises: known.fit.rises,
        next: match next {
            Ok(plans) => Ok(plans
                .into_iter()
                .map(|r| with_chart(known.fit, r, units, usize::MAX))
                .collect::<Result<_, _>>()?),
            Err(why) => Err(why),
        },
        steady: steady(known, units)?,
        changed: (habits.latest_lot.into_iter().collect(), habits.lots.into_iter().collect()),
        measure: (gaps.best(), gaps.measure),
        wall: habits.wall,
        fit: fit_in_words(&found),
        charts: residual_panel(
            &observations(&found, &known.records.batches),
            &coverage(&found),
            units,
            CHART_PX,
        )?,
        warnings: known.fit.warnings.iter().map(|w| w.says()).collect(),
        parameters: known.fit.parameters(),
    })
}

/// A batch to come with its rise drawn, from at most so many draws.
pub fn with_chart(
    fit: &Fit,
    advice: Recommendation,
    units: UnitSystem,
    most_draws: usize,
) -> Result<NextBatch, Failure> {
    let mut forecaster = fit.forecaster().ok_or(AdviceError::NoForecast)?.thinned(most_draws);
    Ok(NextBatch {
        chart: Some(rise_of(&mut forecaster, &advice, &TimeZone::system(), units, CHART_PX)?),
        advice,
    })
}

/// How steady, or why that cannot be told.
fn steady(known: &Known, units: UnitSystem) -> Result<Result<Steady, String>, Failure> {
    let own = usual_content(Measure::Miss);
    let options = Options { own_limits: own, ..Options::default() };
    let study = match study_of(Measure::Miss, &known.records.batches, known.plans, options, None) {
        Ok((study, _)) => study,
        Err(why) => return Ok(Err(why.to_string())),
    };
    let summary = study.summary();
    let behind = Behind::of(known.records, known.plans, known.fit);
    let mut charts = vec![figure(&study, own, units, CHART_PX)?];
    charts.extend(behind.figure(CHART_PX).transpose()?);
    Ok(Ok(Steady {
        sentences: sentences(&summary, units).into_iter().chain(behind.sentences()).collect(),
        cautions: summary.cautions.iter().map(ToString::to_string).collect(),
        charts,
    }))
}
