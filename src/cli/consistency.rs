//! `consistency`: is it getting steadier; control limits, signals and a chart.

use std::collections::{HashMap, HashSet};
use std::fmt::Write;
use std::path::PathBuf;

use schemars::JsonSchema;
use serde::Serialize;

use crate::charts::{self, ChartError, ConsistencyChart, Figure, WatchedBatch};
use crate::consistency::capability::OwnLimits;
use crate::consistency::followed::is_followed;
use crate::consistency::measure::LeftOut;
use crate::consistency::{Base, ConsistencyError, Measure, Options, Phase, Rule, Study, Summary, study};
use crate::dough::Batch;
use crate::dough::units::UnitSystem;
use crate::inference::fit::Fit;
use crate::inference::late::hours_late;
use crate::logbook::PlanRecord;

use super::args::ConsistencyArgs;
use super::context::Context;
use super::drawn;
use super::failure::{Done, Failure, Outcome};
use super::kitchen::Kitchen;
use super::output::answer;
use super::progress::while_doing;
use super::residuals::{CHART_PX, write_figures};
use super::spread_sources::Behind;
use super::text::{bullets, temperature_change};
use super::words;

/// A rise within this share of the target is one to be content with, unless the baker says otherwise.
const CONTENT: f64 = 0.10;
/// Signals named in the text; the JSON has all.
const NAMED: usize = 5;

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
    let mut figures = vec![figure(&study, own_limits, CHART_PX)?];
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

/// What a baker is content with who has not said.
pub fn usual_content(measure: Measure) -> Option<OwnLimits> {
    let ln = |share: f64| Some(share.ln_1p());
    (measure == Measure::Miss).then(|| OwnLimits { lower: ln(-CONTENT), upper: ln(CONTENT) })
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

/// The study of a kitchen's batches. Without phases of the baker's own, the first batch baked by a plan begins one. The hours
/// early or late need the fit.
pub fn study_of(
    measure: Measure,
    batches: &[Batch],
    plans: &[PlanRecord],
    options: Options,
    fit: Option<&Fit>,
) -> Result<(Study, Vec<LeftOut>), ConsistencyError> {
    let became = |p: &PlanRecord| p.became.as_ref()?.batch_id.clone();
    let aims: HashMap<String, Option<f64>> = plans
        .iter()
        .filter_map(|p| Some((became(p)?, p.predicted["dough_temp_c"]["p50"].as_f64())))
        .collect();
    let aim = |b: &Batch| b.batch_id.as_ref().and_then(|id| aims.get(id).copied().flatten());
    let forecaster = fit.and_then(Fit::forecaster);
    let (series, left_out) = measure.series(batches, |b| match measure {
        Measure::HoursLate => hours_late(forecaster.as_ref()?, b),
        _ => aim(b),
    })?;
    let followed: HashSet<String> = plans
        .iter()
        .filter(|p| p.became.as_ref().is_some_and(|baked| is_followed(&p.plan, baked)))
        .filter_map(became)
        .collect();
    let began = Phase::plans_began(&series, |id| followed.contains(id));
    let phases = if options.phases.is_empty() { began.into_iter().collect() } else { options.phases.clone() };
    Ok((study(series, &Options { phases, ..options })?, left_out))
}

/// Its chart.
pub fn figure(study: &Study, own: Option<OwnLimits>, width_px: u32) -> Result<Figure, ChartError> {
    let measure = match study.series.measure() {
        Measure::Miss => charts::Measure::Miss,
        Measure::DoughTemp => charts::Measure::DoughTemp,
        Measure::CrustScore => charts::Measure::CrustScore,
        Measure::HoursLate => charts::Measure::HoursLate,
    };
    let mut signals: HashMap<&str, Vec<String>> = HashMap::new();
    for s in &study.signals {
        signals.entry(&s.batch_id).or_default().push(s.rule.says().into());
    }
    let batches = study.series.points().iter().map(|p| WatchedBatch {
        batch_id: p.batch_id.clone(),
        when_days: p.when.days(),
        value: p.value,
        signals: signals.get(p.batch_id.as_str()).cloned().unwrap_or_default(),
    });
    let phases = study.stretches.iter().filter_map(|s| {
        let limits = s.limits.as_ref()?;
        Some(charts::Phase {
            name: s.name.clone(),
            first: s.batches.start,
            last: s.batches.end.checked_sub(1)?,
            center: limits.center,
            lower: limits.lower,
            upper: limits.upper,
        })
    });
    let chart = ConsistencyChart {
        measure,
        batches: batches.collect(),
        phases: phases.collect(),
        target_band: own.and_then(|o| o.lower.zip(o.upper)),
        said: study.improvement.to_string(),
    };
    charts::consistency(&chart, width_px)
}

/// What is said of it, a sentence each: the answer first.
pub fn sentences(s: &Summary, units: UnitSystem) -> Vec<String> {
    let say = |v: f64| value(s.measure, v, units);
    let mut said = vec![s.improvement.clone()];
    said.push(match &s.limits {
        Some(b) => format!(
            "{} batches: the middle of {} is {}, chance alone keeps a batch between {} and {}.",
            s.batches,
            s.measure.title(),
            say(s.center),
            say(b.lower),
            say(b.upper)
        ),
        None => format!("{} batches: too few, or too alike, for limits.", s.batches),
    });
    if let Some(u) = &s.usual {
        said.push(format!("9 of 10 batches land between {} and {}.", say(u.lower), say(u.upper)));
    }
    if let Some(c) = &s.capability {
        let cp = c.cp.map(|cp| format!("Cp {cp:.2}, ")).unwrap_or_default();
        said.push(format!(
            "{} of {} batches lay within what you would be content with ({cp}Cpk {:.2}: {}).",
            c.inside,
            c.batches,
            c.cpk,
            words::CPK
        ));
    }
    said.push(match s.signals.len() {
        0 => "No batch asks for attention.".into(),
        n => format!(
            "{n} signal{}; a perfectly steady kitchen shows one in {:.0} batches.",
            if n == 1 { "" } else { "s" },
            s.false_alarms.once_in
        ),
    });
    said.extend(
        s.signals
            .iter()
            .rev()
            .take(NAMED)
            .map(|x| format!("Look at batch {} ({}): {}.", x.batch_id, x.when.date(), x.rule.says())),
    );
    said.extend(s.drifts.last().map(|d| {
        format!(
            "A small lasting shift from batch {} ({}) on, too {}: {}.",
            d.batch_id,
            d.when.date(),
            if d.high { "high" } else { "low" },
            d.chart.says()
        )
    }));
    let days = s.subgroups.iter().flat_map(|x| &x.subgroups).filter(|g| g.batches > 1);
    said.extend(
        days.rev()
            .filter_map(|g| Some((g, g.beyond()?)))
            .take(NAMED)
            .map(|(g, why)| format!("Look at the {} batches of {}: {why}.", g.batches, g.name)),
    );
    said
}

/// A value as a baker reads it.
fn value(measure: Measure, v: f64, units: UnitSystem) -> String {
    match measure {
        Measure::Miss => format!("{:+.1} %", 100.0 * v.exp_m1()),
        Measure::DoughTemp => temperature_change(v, units),
        Measure::CrustScore => format!("{v:.1}"),
        Measure::HoursLate => format!("{v:+.1} h"),
    }
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
