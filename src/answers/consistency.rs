//! How steady a kitchen is: the study of its batches, its chart, and what is said of it.

use std::collections::{HashMap, HashSet};

use crate::charts::{self, ChartError, ConsistencyChart, Figure, WatchedBatch};
use crate::consistency::capability::OwnLimits;
use crate::consistency::followed::is_followed;
use crate::consistency::measure::LeftOut;
use crate::consistency::{ConsistencyError, Measure, Options, Phase, Study, Summary, study};
use crate::dough::Batch;
use crate::dough::units::UnitSystem;
use crate::inference::fit::Fit;
use crate::inference::late::hours_late;
use crate::logbook::PlanRecord;
use crate::report::say::{counted, temperature_change};

use super::words;

/// A rise within this share of the target is one to be content with, unless the baker says otherwise.
const CONTENT: f64 = 0.10;
/// Signals named in the text; the JSON has all.
const NAMED: usize = 5;

/// What a baker is content with who has not said.
pub fn usual_content(measure: Measure) -> Option<OwnLimits> {
    let ln = |share: f64| Some(share.ln_1p());
    (measure == Measure::Miss).then(|| OwnLimits { lower: ln(-CONTENT), upper: ln(CONTENT) })
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
pub fn figure(
    study: &Study,
    own: Option<OwnLimits>,
    units: UnitSystem,
    width_px: u32,
) -> Result<Figure, ChartError> {
    let measure = match study.series.measure() {
        Measure::Miss => charts::Measure::Miss,
        Measure::DoughTemp => charts::Measure::DoughTemp(units),
        Measure::CrustScore => charts::Measure::CrustScore,
        Measure::HoursLate => charts::Measure::HoursLate,
    };
    let shown = |v: f64| match study.series.measure() {
        Measure::DoughTemp => units.temperature_difference(v),
        _ => v,
    };
    let mut signals: HashMap<&str, Vec<String>> = HashMap::new();
    for s in &study.signals {
        signals.entry(&s.batch_id).or_default().push(s.rule.says().into());
    }
    let batches = study.series.points().iter().map(|p| WatchedBatch {
        batch_id: p.batch_id.clone(),
        when_days: p.when.days(),
        value: shown(p.value),
        signals: signals.get(p.batch_id.as_str()).cloned().unwrap_or_default(),
    });
    let phases = study.stretches.iter().filter_map(|s| {
        let limits = s.limits.as_ref()?;
        Some(charts::Phase {
            name: s.name.clone(),
            first: s.batches.start,
            last: s.batches.end.checked_sub(1)?,
            center: shown(limits.center),
            lower: shown(limits.lower),
            upper: shown(limits.upper),
        })
    });
    let chart = ConsistencyChart {
        measure,
        batches: batches.collect(),
        phases: phases.collect(),
        target_band: own
            .and_then(|o| o.lower.zip(o.upper))
            .map(|(lower, upper)| (shown(lower), shown(upper))),
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
            "{}: the middle of {} is {}, chance alone keeps a batch between {} and {}.",
            counted(s.batches, "batch", "batches"),
            s.measure.title(),
            say(s.center),
            say(b.lower),
            say(b.upper)
        ),
        None => format!("{}: too few, or too alike, for limits.", counted(s.batches, "batch", "batches")),
    });
    if let Some(u) = &s.usual {
        said.push(format!("9 of 10 batches land between {} and {}.", say(u.lower), say(u.upper)));
    }
    if let Some(c) = &s.capability {
        let cp = c.cp.map(|cp| format!("Cp {cp:.2}, ")).unwrap_or_default();
        said.push(format!(
            "{} of {} lay within what you would be content with ({cp}Cpk {:.2}: {}).",
            c.inside,
            counted(c.batches, "batch", "batches"),
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
    said.extend(days.rev().filter_map(|g| Some((g, g.beyond()?))).take(NAMED).map(|(g, why)| {
        format!("Look at the {} of {}: {why}.", counted(g.batches, "batch", "batches"), g.name)
    }));
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
