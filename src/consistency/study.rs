//! Everything about one series: what a chart draws, and from which [`super::summary::Summary`] takes what is said.

use schemars::JsonSchema;
use serde::Serialize;

use super::capability::{Capability, OwnLimits};
use super::caution::Caution;
use super::change::Change;
use super::error::ConsistencyError;
use super::false_alarms::FalseAlarms;
use super::improvement::{Basis, Improvement, spreads};
use super::limits::Shape;
use super::phase::Phase;
use super::reshuffle::Reshuffled;
use super::rules::{Rule, Signal};
use super::sample::{mean, sd};
use super::segments::{Segment, segments, standardised};
use super::series::Series;
use super::spread::SpreadRatio;
use super::stretch::Stretch;
use super::subgroups::XbarS;
use super::usual::Usual;
use crate::dough::When;

/// An unmarked change surer than this gets a caution, whose text says so.
const SURE_CHANGE: f64 = 0.9;

/// Which batches the limits come from.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Base {
    /// Each phase has its own.
    #[default]
    EachPhase,
    /// The batches from one day to another, both included; their limits hold for all batches.
    Period {
        /// First day.
        from: When,
        /// Last day.
        to: When,
    },
}

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Phases, in any order.
    pub phases: Vec<Phase>,
    /// Where limits come from.
    pub base: Base,
    /// The rules that signal.
    pub rules: Vec<Rule>,
    /// The baker's own limits, for capability.
    pub own_limits: Option<OwnLimits>,
}

impl Default for Options {
    fn default() -> Self {
        Self { phases: Vec::new(), base: Base::default(), rules: Rule::DEFAULT.to_vec(), own_limits: None }
    }
}

/// A phase beside the one before it.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PhaseSpread {
    /// Its name.
    pub name: String,
    /// How many batches.
    pub batches: usize,
    /// Their mean.
    pub mean: f64,
    /// Their standard deviation; `None` for a single batch.
    pub sd: Option<f64>,
    /// Spread over that of the phase before; `None` for the first, and with fewer than three batches.
    pub ratio: Option<SpreadRatio>,
}

/// The whole answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Study {
    /// The points.
    pub series: Series,
    /// Batches that share limits, in time order; at least one.
    pub stretches: Vec<Stretch>,
    /// The phases; at least one.
    pub phases: Vec<PhaseSpread>,
    /// What the values are like, phases taken out.
    pub shape: Shape,
    /// Several batches a day; `None` unless two days have two batches or more.
    pub subgroups: Option<XbarS>,
    /// Level or spread changed once; `None` with fewer than six batches.
    pub change: Option<Change>,
    /// All signals, in time order.
    pub signals: Vec<Signal>,
    /// How often the rules cry wolf on so many batches.
    pub false_alarms: FalseAlarms,
    /// The latest phase against the baker's own limits.
    pub capability: Option<Capability>,
    /// Where 9 of 10 batches of the latest phase land.
    pub usual: Option<Usual>,
    /// Steadier or not.
    pub improvement: Improvement,
    /// What to beware of.
    pub cautions: Vec<Caution>,
}

/// Studies a series.
///
/// # Errors
/// When no batch lies in the base period.
pub fn study(series: Series, options: &Options) -> Result<Study, ConsistencyError> {
    let values = series.values();
    let (segments, empty) = segments(&series, &options.phases);
    let shape = Shape::of(&standardised(&values, &segments));
    let stretches = stretches(&series, &values, &segments, options.base, &shape)?;
    let signals: Vec<Signal> =
        stretches.iter().flat_map(|s| s.signals(series.points(), &options.rules)).collect();
    let change = Change::of(series.points());
    let latest = segments.last().map_or(&values[..], |s| &values[s.batches.clone()]);
    let mut study = Study {
        phases: phases(&values, &segments, &shape),
        subgroups: XbarS::of(series.points()),
        false_alarms: FalseAlarms::of(&options.rules, values.len()),
        capability: options.own_limits.and_then(|own| Capability::of(latest, &own)),
        usual: Usual::of(latest, shape.is_normal()),
        improvement: improvement(&series, &values, &segments, &shape, change.as_ref()),
        cautions: empty.into_iter().map(|name| Caution::EmptyPhase { name }).collect(),
        series,
        stretches,
        shape,
        change,
        signals,
    };
    study.cautions.extend(cautions(&study));
    Ok(study)
}

fn stretches(
    series: &Series,
    values: &[f64],
    segments: &[Segment],
    base: Base,
    shape: &Shape,
) -> Result<Vec<Stretch>, ConsistencyError> {
    let Base::Period { from, to } = base else {
        return Ok(segments.iter().map(|s| Stretch::of(values, s, 0..s.batches.len(), shape)).collect());
    };
    let points = series.points();
    let first = points.partition_point(|p| p.when.date() < from.date());
    let end = points.partition_point(|p| p.when.date() <= to.date());
    if first >= end {
        let (first, last) = (points[0].when, points[points.len() - 1].when);
        return Err(ConsistencyError::BaseWithoutBatches { from, to, first, last });
    }
    let all = Segment { name: "all batches".into(), batches: 0..values.len() };
    Ok(vec![Stretch::of(values, &all, first..end, shape)])
}

fn phases(values: &[f64], segments: &[Segment], shape: &Shape) -> Vec<PhaseSpread> {
    let of = |s: &Segment| &values[s.batches.clone()];
    let before = [None].into_iter().chain(segments.iter().map(|s| Some(of(s))));
    segments
        .iter()
        .zip(before)
        .map(|(s, before)| PhaseSpread {
            name: s.name.clone(),
            batches: s.batches.len(),
            mean: mean(of(s)),
            sd: sd(of(s)),
            ratio: before.and_then(|before| SpreadRatio::of(before, of(s), shape.coefficient())),
        })
        .collect()
}

fn improvement(
    series: &Series,
    values: &[f64],
    segments: &[Segment],
    shape: &Shape,
    change: Option<&Change>,
) -> Improvement {
    let basis = match segments {
        [first, .., last] => Basis::Phases {
            phase: last.name.clone(),
            from: series.points()[last.batches.start].when,
            comparison: SpreadRatio::of(
                &values[first.batches.clone()],
                &values[last.batches.clone()],
                shape.coefficient(),
            ),
        },
        _ => Basis::ChangePoint {
            change: change.cloned(),
            chance: Reshuffled::of(values),
            spreads: change.and_then(|c| spreads(values, c)),
        },
    };
    Improvement { measure: series.measure(), batches: values.len(), basis }
}

fn cautions(study: &Study) -> Vec<Caution> {
    let mut found: Vec<Caution> = study.stretches.iter().filter_map(Stretch::caution).collect();
    if let Some(a) = study.shape.autocorrelation.filter(|a| a.matters()) {
        let (lag1, bound) = (a.lag1, a.bound);
        found.push(match lag1 > 0.0 {
            true => Caution::NeighboursAlike { lag1, bound },
            false => Caution::NeighboursOpposed { lag1, bound },
        });
    }
    if let Some(n) = study.shape.normality.filter(|_| !study.shape.is_normal()) {
        found.push(Caution::NotNormal { p: n.p });
    }
    if let (Some(c), 1) = (study.change.as_ref().filter(|c| c.probability > SURE_CHANGE), study.phases.len())
    {
        found.push(Caution::UnmarkedChange { when: c.most_likely.when });
    }
    if study.subgroups.as_ref().is_some_and(|s| s.from_means) {
        found.push(Caution::DaysDiffer);
    }
    let latest = study.stretches.last().map_or(0, |s| s.batches.start);
    let since = study.series.points()[latest].when;
    let recent = study.signals.iter().filter(|s| s.when >= since).count();
    if study.capability.is_some() && recent > 0 {
        found.push(Caution::CapabilityOfUnsteady { signals: recent });
    }
    found.extend(study.series.gaps().into_iter().map(Caution::LongGap));
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::consistency::{Measure, Point};

    fn halved() -> Series {
        let value = |i: usize| 0.1 * ((i * 7) as f64 % 5.0 - 2.0) * if i < 20 { 1.0 } else { 0.4 };
        let point = |i: usize| Point {
            batch_id: format!("b{i}"),
            when: format!("2026-{:02}-{:02}", 1 + i / 20, 1 + i % 20).parse().unwrap(),
            value: value(i),
            subgroup: None,
        };
        Series::new(Measure::Miss, (0..40).map(point).collect()).unwrap()
    }

    #[test]
    fn each_phase_has_its_own_limits_and_the_last_is_compared_with_the_first() {
        let phases = vec!["new fridge=2026-02-01".parse().unwrap()];
        let study = study(halved(), &Options { phases, ..Options::default() }).unwrap();
        let widths: Vec<f64> =
            study.stretches.iter().filter_map(|s| s.limits.as_ref().map(|l| l.upper - l.lower)).collect();
        assert!((widths[1] / widths[0] - 0.4).abs() < 1e-9);
        assert_eq!(study.phases[1].name, "new fridge");
        let said = study.summary().improvement;
        assert!(
            said.starts_with(
                "Steadier since 'new fridge' (2026-02-01): the spread of the miss of the rise is 0.4"
            ),
            "{said}"
        );
        assert!(said.ends_with("±6 % where it was ±16 %."), "{said}");
    }

    #[test]
    fn the_summary_has_the_keys_that_scripts_rely_on() {
        let own_limits = Some(OwnLimits::of_rise(Some(2.0), Some(2.4), 2.2).unwrap());
        let period = Base::Period { from: "2026-02-01".parse().unwrap(), to: "2026-02-20".parse().unwrap() };
        let options = Options { own_limits, base: period, ..Options::default() };
        let json = serde_json::to_value(study(halved(), &options).unwrap().summary()).unwrap();
        for path in [
            "/center",
            "/sigma",
            "/limits/lower",
            "/limits/upper",
            "/capability/cp",
            "/capability/cpk",
            "/spread_ratio/p05",
            "/spread_ratio/p50",
            "/spread_ratio/p95",
        ] {
            assert!(json.pointer(path).is_some_and(serde_json::Value::is_f64), "{path}");
        }
        let wild = Options { rules: Rule::ALL.to_vec(), ..options };
        let json = serde_json::to_value(study(halved(), &wild).unwrap().summary()).unwrap();
        assert!(json.pointer("/signals/0/batch_id").is_some_and(serde_json::Value::is_string));
        assert!(json.pointer("/signals/0/rule").is_some_and(serde_json::Value::is_string));
    }

    /// Batches a day apart, two of a day where `twice`, and what is said to beware of.
    fn beware(values: &[f64], twice: bool, options: &Options) -> Vec<Caution> {
        let day = |i: usize| if twice { i / 2 } else { i };
        let point = |(i, value): (usize, &f64)| Point {
            batch_id: format!("b{i}"),
            when: format!("2026-{:02}-{:02}", 1 + day(i) / 28, 1 + day(i) % 28).parse().unwrap(),
            value: *value,
            subgroup: Some(day(i).to_string()),
        };
        let points = values.iter().enumerate().map(point).collect();
        study(Series::new(Measure::Miss, points).unwrap(), options).unwrap().cautions
    }

    /// Forty values without order or outlier: quantiles of a normal distribution, far and near in turn.
    fn even() -> Vec<f64> {
        use statrs::distribution::{ContinuousCDF, Normal};
        let at = |i: usize| Normal::standard().inverse_cdf(((i * 33) % 40) as f64 / 40.0 + 0.0125);
        (0..40).map(at).collect()
    }

    #[test]
    fn steady_values_need_no_caution() {
        assert_eq!(beware(&even(), false, &Options::default()), []);
    }

    #[test]
    fn neighbours_that_resemble_or_oppose_each_other_are_named() {
        let mut alike = even();
        for i in 1..40 {
            alike[i] = 0.6 * alike[i - 1] + 0.8 * alike[i];
        }
        let alike = beware(&alike, false, &Options::default());
        assert!(matches!(alike[0], Caution::NeighboursAlike { lag1, bound } if lag1 > bound), "{alike:?}");
        let mut opposed = even();
        for i in 1..40 {
            opposed[i] = 0.8 * opposed[i] - 0.6 * opposed[i - 1];
        }
        let opposed = beware(&opposed, false, &Options::default());
        assert!(
            matches!(opposed[0], Caution::NeighboursOpposed { lag1, bound } if lag1 < -bound),
            "{opposed:?}"
        );
    }

    #[test]
    fn lopsided_values_and_days_that_differ_are_named() {
        let lopsided: Vec<f64> = even().iter().map(|x| (1.5 * x).exp()).collect();
        let found = beware(&lopsided, false, &Options::default());
        assert!(found.iter().any(|c| matches!(c, Caution::NotNormal { p } if *p < 0.01)), "{found:?}");
        let days: Vec<f64> = (0..40).map(|i| even()[i / 2] + 0.01 * (i % 2) as f64).collect();
        assert!(beware(&days, true, &Options::default()).contains(&Caution::DaysDiffer));
        assert!(!beware(&even(), true, &Options::default()).contains(&Caution::DaysDiffer));
    }

    #[test]
    fn a_level_that_changed_is_named_until_it_is_marked() {
        let shifted: Vec<f64> =
            even().iter().enumerate().map(|(i, x)| if i < 20 { *x } else { x + 4.0 }).collect();
        let when = "2026-01-21".parse().unwrap();
        assert!(beware(&shifted, false, &Options::default()).contains(&Caution::UnmarkedChange { when }));
        let phases = vec!["new flour=2026-01-21".parse().unwrap()];
        assert_eq!(beware(&shifted, false, &Options { phases, ..Options::default() }), []);
    }

    #[test]
    fn capability_with_signals_since_the_latest_phase_is_named() {
        let own_limits = Some(OwnLimits::new(Some(-3.0), Some(3.0)).unwrap());
        let phases = vec!["new flour=2026-01-21".parse().unwrap()];
        let options = Options { phases, own_limits, ..Options::default() };
        let said = |at: usize| {
            let mut values = even();
            values[at] = 4.0;
            beware(&values, false, &options)
        };
        assert!(said(20).contains(&Caution::CapabilityOfUnsteady { signals: 1 }), "{:?}", said(20));
        assert!(!said(5).iter().any(|c| matches!(c, Caution::CapabilityOfUnsteady { .. })));
        let without = Options { own_limits: None, ..options.clone() };
        let mut values = even();
        values[30] = 4.0;
        let found = beware(&values, false, &without);
        assert!(!found.iter().any(|c| matches!(c, Caution::CapabilityOfUnsteady { .. })));
    }
}
