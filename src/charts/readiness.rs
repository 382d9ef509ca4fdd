//! When the dough is ready: at each time of day, the chance that it is still under, ready, or over.

use jiff::ZonedDateTime;

use super::axis::{Axis, Scale};
use super::error::ChartError;
use super::figure::{Figure, Table, file_name, number};
use super::marks::{Dash, Key, Stroke};
use super::panel::Panel;
use super::rise::{clock_name, clock_time};
use super::sheet::{Sheet, Side, Words, draw};
use super::theme::Ink;

/// The chances at one time; they sum to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadyChance {
    /// Hours after mixing.
    pub hours: f64,
    /// Chance that the dough has not reached its window.
    pub under: f64,
    /// Chance that it is in its window.
    pub ready: f64,
    /// Chance that it has left its window.
    pub over: f64,
}

/// The readiness of one dough over time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ReadinessChart {
    /// The batch or the plan.
    pub name: String,
    /// When mixing ended, if the chart is wanted on the clock.
    pub mixed_at: Option<ZonedDateTime>,
    /// The chances by rising hours.
    pub chances: Vec<ReadyChance>,
    /// From when to when the dough is ready, hours after mixing.
    pub window_hours: Option<(f64, f64)>,
    /// When the oven is planned, hours after mixing.
    pub oven_hours: Option<f64>,
}

/// Under, ready and over: colour, and what they are called.
const PARTS: [(Ink, &str); 3] = [(Ink::Model, "under"), (Ink::Target, "ready"), (Ink::Alert, "over")];
const FILL: f64 = 0.45;

/// The chance of under, ready and over against time, one upon another.
///
/// # Errors
/// [`ChartError::NothingToDraw`] with fewer than two times.
pub fn readiness(chart: &ReadinessChart, width_px: u32) -> Result<Figure, ChartError> {
    let title = format!("When {} is ready", if chart.name.is_empty() { "the dough" } else { &chart.name });
    let (Some(first), Some(last)) = (chart.chances.first(), chart.chances.last()) else {
        return Err(ChartError::NothingToDraw { chart: title, needs: "a plan with its stages" });
    };
    if last.hours <= first.hours {
        return Err(ChartError::NothingToDraw { chart: title, needs: "a plan that takes time" });
    }
    let name = file_name("readiness", &chart.name);
    let words = Words { name: &name, title: &title, description: describe(chart), table: table(chart) };
    draw(words, width_px, |sheet| {
        let mut legend: Vec<(Key, &str)> =
            PARTS.iter().map(|&(ink, name)| (Key::Fill(ink, FILL), name)).collect();
        if chart.window_hours.is_some() {
            legend.push((Key::Line(window_edge()), "ready from, to"));
        }
        if chart.oven_hours.is_some() {
            legend.push((Key::Line(oven()), "oven planned"));
        }
        sheet.legend(&legend)?;
        let name = "hours after mixing";
        let x = match &chart.mixed_at {
            Some(at) => {
                let clock = Scale::Clock(Box::new(at.clone()));
                Axis::between(&clock_name(name, at, first.hours), clock, first.hours, last.hours)
            }
            None => Axis::between(name, Scale::Hours, first.hours, last.hours),
        };
        let y = Axis::between("chance, %", Scale::Linear, 0.0, 100.0);
        let panel = Panel::below(sheet, x, y, sheet.sizes.plot_height() * 0.85)?;
        for (part, &(ink, _)) in PARTS.iter().enumerate() {
            let edges = chart.chances.iter().map(|c| {
                let (low, high) = stack(c, part);
                (c.hours, low, high)
            });
            panel.fill(&edges.collect(), ink, FILL)?;
        }
        for edge in chart.window_hours.into_iter().flat_map(|(from, to)| [from, to]) {
            panel.upright(edge, window_edge())?;
        }
        if let Some(hours) = chart.oven_hours {
            panel.upright(hours, oven())?;
        }
        name_parts(chart, &panel, sheet)
    })
}

fn window_edge() -> Stroke {
    Stroke::new(Ink::Text, 1.8, Dash::Dashed)
}

/// How the hour of the oven is drawn, in every chart.
pub(super) fn oven() -> Stroke {
    Stroke::new(Ink::Text, 2.4, Dash::Solid)
}

/// Lower and upper edge of a part in percent: ready at the foot, under and over above it, so that the chance of
/// being ready is read off the axis.
fn stack(c: &ReadyChance, part: usize) -> (f64, f64) {
    let (ready, under) = (100.0 * c.ready, 100.0 * c.under);
    match part {
        0 => (ready, ready + under),
        1 => (0.0, ready),
        _ => (ready + under, 100.0),
    }
}

/// Writes each part's name where the part is thickest.
fn name_parts<'a>(
    chart: &ReadinessChart,
    panel: &Panel<'a>,
    sheet: &mut Sheet<'a>,
) -> Result<(), ChartError> {
    for (part, (_, name)) in PARTS.iter().enumerate() {
        let height = |c: &ReadyChance| stack(c, part).1 - stack(c, part).0;
        let thickest = chart.chances.iter().map(height).fold(0.0, f64::max);
        let wide: Vec<&ReadyChance> = chart.chances.iter().filter(|c| height(c) >= 0.9 * thickest).collect();
        let Some(c) = wide.get(wide.len() / 2).filter(|_| thickest > 15.0) else { continue };
        let (low, high) = stack(c, part);
        let at = panel.pixels(c.hours, (low + high) / 2.0);
        let half = sheet.sizes.text * 2.0;
        let x = at.0.clamp(panel.area.left + half, panel.area.right - half);
        sheet.label(name, (x, at.1), Side::Middle, true)?;
    }
    Ok(())
}

fn describe(chart: &ReadinessChart) -> String {
    let time = |hours: f64| match &chart.mixed_at {
        Some(at) => clock_time(at, hours),
        None => format!("{} hours", number(hours, 1)),
    };
    let mut text = String::new();
    if let Some(best) = chart.chances.iter().max_by(|a, b| a.ready.total_cmp(&b.ready)) {
        text += &format!(
            "The chance of being ready is highest, {} %, at {}.",
            number(100.0 * best.ready, 0),
            time(best.hours)
        );
    }
    if let Some((from, to)) = chart.window_hours {
        text += &format!(" The dough is ready from {} to {}.", time(from), time(to));
    }
    if let Some(hours) = chart.oven_hours {
        text += &format!(" The oven is planned for {}.", time(hours));
    }
    text
}

fn table(chart: &ReadinessChart) -> Table {
    let step = chart.chances.len().div_ceil(24).max(1);
    let row = |c: &ReadyChance| {
        let [under, ready, over] = [c.under, c.ready, c.over].map(|v| number(100.0 * v, 0));
        let clock = chart.mixed_at.as_ref().map_or_else(|| "–".to_owned(), |at| clock_time(at, c.hours));
        [number(c.hours, 1), clock, under, ready, over]
    };
    let headings = ["hours after mixing", "time", "under, %", "ready, %", "over, %"];
    Table::new(headings, chart.chances.iter().step_by(step).map(row))
}
