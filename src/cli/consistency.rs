//! `consistency`: is it getting steadier; control limits, signals and a chart.

use std::fmt::Write;
use std::path::PathBuf;

use schemars::JsonSchema;
use serde::Serialize;

use crate::answers::consistency::{figure, sentences, study_of, usual_content};
use crate::answers::spread_sources::Behind;
use crate::consistency::capability::OwnLimits;
use crate::consistency::measure::LeftOut;
use crate::consistency::{Base, Measure, Options, Rule, Summary};
use crate::dough::units::UnitSystem;

use super::args::ConsistencyArgs;
use super::context::Context;
use super::drawn;
use super::failure::{Done, Failure, Outcome};
use super::kitchen::Kitchen;
use super::output::answer;
use super::progress::while_doing;
use super::residuals::{CHART_PX, write_figures};
use super::text::bullets;

#[derive(Serialize, JsonSchema)]
pub struct Answer {
    #[serde(flatten)]
    summary: Summary,
    #[serde(flatten)]
    behind: Behind,
    left_out: Vec<LeftOut>,
    chart: PathBuf,
    charts: Vec<PathBuf>,
}

/// Runs the command.
pub fn run(context: &Context, args: &ConsistencyArgs) -> Outcome {
    let measure: Measure = args.of.parse()?;
    let own_limits = match &args.content {
        Some(text) => Some(content(measure, text)?),
        None => usual_content(measure),
    };
    let options = Options {
        phases: args.phase.iter().map(|p| p.parse()).collect::<Result<_, _>>()?,
        base: args.base.as_deref().map_or(Ok(Base::EachPhase), base)?,
        rules: Rule::set(&args.rules)?,
        own_limits,
    };
    let mut kitchen = Kitchen::open(context)?;
    let plans = kitchen.logbook.plans(&kitchen.name)?;
    let (records, fit) = match measure {
        Measure::HoursLate => kitchen.fit(context).map(|(r, f)| (r, Some(f)))?,
        // The miss needs no fit; where its spread comes from does.
        Measure::Miss => match kitchen.fit(context) {
            Ok((records, fit)) => (records, Some(fit)),
            Err(why) => {
                context.note(&format!("where the spread comes from cannot be told: {why}"));
                (context.records(&kitchen.logbook, &kitchen.name)?, None)
            }
        },
        Measure::DoughTemp | Measure::CrustScore => (context.records(&kitchen.logbook, &kitchen.name)?, None),
    };
    let (study, left_out) = study_of(measure, &records.batches, &plans, options, fit.as_ref())?;
    let behind = match (&fit, measure) {
        (Some(fit), Measure::Miss) => {
            while_doing("asking where the spread comes from", || Behind::of(&records, &plans, fit))
        }
        _ => Behind::default(),
    };
    let mut figures = vec![figure(&study, own_limits, context.units, CHART_PX)?];
    figures.extend(behind.figure(CHART_PX).transpose()?);
    let charts = write_figures(&figures, &args.out)?;
    let chart = charts.first().cloned().unwrap_or_else(|| args.out.clone());
    let told = Answer { summary: study.summary(), behind, left_out, chart, charts };
    let picture = context.columns.map(|c| drawn::run_chart(&study, c)).unwrap_or_default();
    answer(context, &told, || text(&told, &picture, context.units))?;
    Ok(Done::All)
}

/// FROM..TO as days.
fn base(text: &str) -> Result<Base, Failure> {
    let wrong =
        || Failure::Call(format!("--base '{text}': two days are wanted, such as 2026-01-01..2026-03-31"));
    let (from, to) = text.split_once("..").ok_or_else(wrong)?;
    let day = |text: &str| text.parse().map_err(|_| wrong());
    Ok(Base::Period { from: day(from)?, to: day(to)? })
}

/// LOW..HIGH in percent of the target for the miss, else in the measure's unit; one side may be left blank.
fn content(measure: Measure, text: &str) -> Result<OwnLimits, Failure> {
    let wrong = || Failure::Call(format!("--content '{text}': two numbers are wanted, such as -10..10"));
    let (low, high) = text.split_once("..").ok_or_else(wrong)?;
    let side = |text: &str| match text.trim() {
        "" => Ok(None),
        number => number.parse::<f64>().map(Some).map_err(|_| wrong()),
    };
    let unit = |x: f64| if measure == Measure::Miss { (x / 100.0).ln_1p() } else { x };
    Ok(OwnLimits::new(side(low)?.map(unit), side(high)?.map(unit))?)
}

/// The answer as text, with its small chart.
fn text(told: &Answer, picture: &str, units: UnitSystem) -> String {
    let mut out = String::new();
    for sentence in sentences(&told.summary, units).into_iter().chain(told.behind.sentences()) {
        let _ = writeln!(out, "{sentence}");
    }
    let cautions: Vec<String> = told.summary.cautions.iter().map(ToString::to_string).collect();
    bullets(&mut out, "Mind:", &cautions);
    if !told.left_out.is_empty() {
        let reason = told.left_out[0].reason;
        let _ = match told.left_out.len() {
            1 => writeln!(out, "1 batch left out: {reason}"),
            n => writeln!(out, "{n} batches left out, the first: {reason}"),
        };
    }
    out.push_str(picture);
    for chart in &told.charts {
        let _ = writeln!(out, "chart: {}", chart.display());
    }
    out
}
