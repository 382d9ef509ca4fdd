//! When a dough is under, ready and over: the chances along the hours, for a chart.

use crate::inference::forecast::{Forecaster, Mixture};
use crate::inference::prepare::Prepared;
use crate::physics::course::Output;

/// Hours looked at beyond the plan's end, the last stage going on.
const BEYOND_H: f64 = 12.0;
const POINTS: usize = 60;

/// The chances at one time; they sum to one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chances {
    /// Hours after mixing.
    pub hours: f64,
    /// Rise below the window.
    pub under: f64,
    /// Rise within it.
    pub ready: f64,
    /// Rise above it.
    pub over: f64,
}

/// The chances of a filled plan about its end, from 12 h before (a twentieth of its hours, if that is later) to 12 h
/// after, for a window (from, to) on ln rise.
pub fn chances(forecaster: &Forecaster, plan: &Prepared, near: (f64, f64)) -> Vec<Chances> {
    let mut longer = plan.clone();
    let end = longer.course.hours();
    let from = (end - BEYOND_H).max(0.05 * end);
    if let Some(last) = longer.course.segments.last_mut() {
        last.hours += BEYOND_H;
    }
    let step = (end + BEYOND_H - from) / (POINTS - 1) as f64;
    let hours: Vec<f64> = (0..POINTS).map(|i| from + i as f64 * step).collect();
    longer.course.outputs.clear();
    longer.course.outputs = longer.course.marks(&hours).into_iter().flatten().map(Output::Rise).collect();
    let by_draw = forecaster.rises(&longer);
    let at = |(i, hours): (usize, &f64)| {
        let rise = Mixture(by_draw.iter().filter_map(|d| d.get(i).copied()).collect());
        let (under, within) = (rise.below(near.0), rise.below(near.1));
        Chances { hours: *hours, under, ready: within - under, over: 1.0 - within }
    };
    hours.iter().enumerate().map(at).collect()
}
