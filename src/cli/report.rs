//! `report`: everything about a kitchen on one page.

use std::path::{Path, PathBuf};

use jiff::tz::TimeZone;
use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::limits::Limits;
use crate::advice::plan::complete;
use crate::advice::recommend::Recommendation;
use crate::charts::residual_panel;
use crate::consistency::{Measure, Options};
use crate::dough::units::UnitSystem;
use crate::inference::fit::Fit;
use crate::inference::prepare::Records;
use crate::logbook::PlanRecord;
use crate::report::{CHART_PX, NextBatch, Report, Steady, page};

use super::args::ReportArgs;
use super::consistency::{figure, sentences, study_of, usual_content};
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::kitchen::Kitchen;
use super::output::answer;
use super::pictures::rise_of;
use super::progress::while_doing;
use super::recommend::{answer_plans, plans};
use super::residuals::{coverage, find, observations};
use super::spread_sources::Behind;

#[derive(Serialize, JsonSchema)]
pub struct Answer {
    report: PathBuf,
}

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

/// Runs the command.
pub fn run(context: &Context, args: &ReportArgs) -> Outcome {
    let asked = plans(args.plan.as_deref(), &args.columns)?;
    let mut kitchen = Kitchen::open(context)?;
    let (records, fit) = kitchen.fit(context)?;
    let mut full = Vec::new();
    for plan in asked {
        let latest = kitchen.latest(&plan)?;
        full.push((complete(&plan, latest.as_ref()), latest));
    }
    let next = match answer_plans(&fit, &records, &full, &Limits::default()) {
        Ok(answered) => Ok(answered.plans),
        // Nobody asked for a plan, so a page without one is better than no page.
        Err(why) if args.plan.is_none() && args.columns.is_empty() => Err(why.to_string()),
        Err(why) => return Err(why),
    };
    let known = Known {
        kitchen: &kitchen.name,
        records: &records,
        plans: &kitchen.logbook.plans(&kitchen.name)?,
        fit: &fit,
        note: None,
    };
    while_doing("writing the report", || write(&known, next, context.units, &args.out))?;
    let told = Answer { report: args.out.clone() };
    answer(context, &told, || format!("report: {}\n", told.report.display()))?;
    Ok(Done::All)
}

/// Writes the report of a kitchen; `next` holds the batches to come, or why there is none.
pub fn write(
    known: &Known,
    next: Result<Vec<Recommendation>, String>,
    units: UnitSystem,
    out: &Path,
) -> Result<(), Failure> {
    let found = find(known.fit, known.records)?;
    let report = Report {
        kitchen: known.kitchen.into(),
        made_on: jiff::Timestamp::now().strftime("%Y-%m-%d").to_string(),
        note: known.note.map(str::to_string),
        units,
        batches: known.fit.batches,
        rises: known.fit.rises,
        next: match next {
            Ok(plans) => {
                Ok(plans.into_iter().map(|r| with_chart(known.fit, r, units)).collect::<Result<_, _>>()?)
            }
            Err(why) => Err(why),
        },
        steady: steady(known, units)?,
        fit: super::residuals::fit_in_words(&found),
        charts: residual_panel(&observations(&found, &known.records.batches), &coverage(&found), CHART_PX)?,
        warnings: known.fit.warnings.iter().map(|w| w.says()).collect(),
        parameters: known.fit.parameters(),
    };
    std::fs::write(out, page(&report)).map_err(|e| Failure::write(out, e))
}

fn with_chart(fit: &Fit, advice: Recommendation, units: UnitSystem) -> Result<NextBatch, Failure> {
    let mut forecaster = fit.forecaster().ok_or(crate::advice::AdviceError::NoForecast)?;
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
    let mut charts = vec![figure(&study, own, CHART_PX)?];
    charts.extend(behind.figure(CHART_PX).transpose()?);
    Ok(Ok(Steady {
        sentences: sentences(&summary, units).into_iter().chain(behind.sentences()).collect(),
        cautions: summary.cautions.iter().map(ToString::to_string).collect(),
        charts,
    }))
}
