//! What is drawn in the terminal: a rise curve, misses by date, batches between their limits.

use crate::advice::predict::Curve;
use crate::charts::Observation;
use crate::consistency::{Measure, Study};

use super::drawing::Drawing;
use super::text::{hours, trimmed};

/// A terminal narrower than this gets no charts, in columns.
pub const NARROWEST: usize = 60;

/// Dots of a line, of the edge of a band, and of a level.
const LINE: usize = 1;
const EDGE: usize = 3;
const LEVEL: usize = 6;

/// How a dough rises; empty where there is nothing to draw.
pub fn rise(curve: &Curve, target: Option<f64>, columns: usize) -> String {
    let along =
        |rise: &[f64]| -> Vec<(f64, f64)> { curve.hours.iter().copied().zip(rise.iter().copied()).collect() };
    let ends = curve.rise_p95.iter().copied().chain(target);
    let x = (0.0, curve.hours.last().copied().unwrap_or(0.0));
    let Some(mut drawing) = Drawing::new(columns, x, (1.0, ends.fold(1.0, f64::max))) else {
        return String::new();
    };
    drawing.line(&along(&curve.rise_p05), EDGE);
    drawing.line(&along(&curve.rise_p95), EDGE);
    drawing.line(&along(&curve.rise_p50), LINE);
    if let Some(target) = target {
        drawing.level(x.0, x.1, target, LEVEL);
    }
    let wanted = if target.is_some() { "; level: wanted" } else { "" };
    let caption =
        format!("rise by hours after mixing (line: expected; dots: 9 of 10 batches between{wanted})");
    drawing.text(&caption, hours, |rise| format!("{rise:.2}"))
}

/// By how much the fit missed each reading, by date; empty where there is nothing to draw.
pub fn misses(observations: &[Observation], columns: usize) -> String {
    let percent = |o: &Observation| 100.0 * o.residual_log.exp_m1();
    let days = range(observations.iter().map(|o| o.when_days));
    let most = observations.iter().map(|o| percent(o).abs()).fold(0.0, f64::max);
    let Some(mut drawing) = Drawing::new(columns, days, (-most, most)) else { return String::new() };
    observations.iter().for_each(|o| drawing.point(o.when_days, percent(o)));
    drawing.level(days.0, days.1, 0.0, LEVEL);
    drawing.text("by how much each reading was missed, by date", date, |miss| format!("{miss:+.0} %"))
}

/// Batches in their order between their limits; empty where there is nothing to draw.
pub fn run_chart(study: &Study, columns: usize) -> String {
    let measure = study.series.measure();
    let shown = |v: f64| if measure == Measure::Miss { 100.0 * v.exp_m1() } else { v };
    let values: Vec<f64> = study.series.points().iter().map(|p| shown(p.value)).collect();
    let limits = || study.stretches.iter().filter_map(|s| Some((s.batches.clone(), s.limits.as_ref()?)));
    let all = values.iter().copied().chain(limits().flat_map(|(_, l)| [shown(l.lower), shown(l.upper)]));
    let x = (1.0, values.len() as f64);
    let Some(mut drawing) = Drawing::new(columns, x, range(all)) else { return String::new() };
    for (i, v) in values.iter().enumerate() {
        drawing.point((i + 1) as f64, *v);
    }
    for (batches, l) in limits() {
        let (from, to) = ((batches.start + 1) as f64, batches.end as f64);
        drawing.level(from, to, shown(l.center), LEVEL);
        drawing.level(from, to, shown(l.lower), EDGE);
        drawing.level(from, to, shown(l.upper), EDGE);
    }
    let unit = if measure == Measure::Miss { " %" } else { "" };
    let caption = format!("{} by batch (dots: batches; lines of dots: middle and limits)", measure.title());
    drawing.text(&caption, |i| trimmed(i, 0), |v| format!("{v:.1}{unit}"))
}

fn range(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
}

fn date(days: f64) -> String {
    let epoch = jiff::civil::date(1970, 1, 1);
    let days = jiff::SignedDuration::from_hours(24 * days.floor() as i64);
    epoch.checked_add(days).map(|d| d.to_string()).unwrap_or_default()
}
