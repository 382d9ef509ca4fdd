//! How one dough rises: the predicted curve with its bands, readings, target and window, and the temperatures below.

use jiff::{SignedDuration, ZonedDateTime};

use super::axis::{Axis, Scale};
use super::bands::{Curve, inner, middle, outer};
use super::error::ChartError;
use super::figure::{Figure, Table, file_name, number};
use super::lettering;
use super::marks::{Dash, Key, Shape, Stroke};
use super::panel::Panel;
use super::readiness::oven;
use super::sheet::{Sheet, Words, draw};
use super::theme::{Ink, OUTER_BAND};
use super::ticks::plain;
use crate::dough::units::UnitSystem;

/// One dough from mixing to the oven.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RiseChart {
    /// The batch or the plan.
    pub name: String,
    /// When mixing ended, if the curve is wanted on the clock.
    pub mixed_at: Option<ZonedDateTime>,
    /// Hours after mixing, and the rise there (volume over the volume after mixing).
    pub rise: Curve,
    /// Hours after mixing, and the dough's temperature, °C.
    pub dough_temp_c: Vec<(f64, f64)>,
    /// Hours after mixing, and the temperature around it, °C.
    pub surroundings_temp_c: Vec<(f64, f64)>,
    /// What was read on the way.
    pub readings: Vec<RiseReading>,
    /// The stages in order.
    pub stages: Vec<StageSpan>,
    /// The rise wanted at the oven.
    pub target_rise: Option<f64>,
    /// Units of the temperatures drawn.
    pub units: UnitSystem,
    /// From when to when the dough is ready, hours after mixing.
    pub window_hours: Option<(f64, f64)>,
    /// The rise at the oven; without it the end of the curve is told.
    pub oven: Option<AtOven>,
}

/// What is expected of the dough when it goes into the oven.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtOven {
    /// Hours after mixing.
    pub hours: f64,
    /// Volume over the volume after mixing: 5 % lie below.
    pub p05: f64,
    /// Half lie below.
    pub p50: f64,
    /// 95 % lie below.
    pub p95: f64,
}

/// A reading while the dough rises.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RiseReading {
    /// Hours after mixing.
    pub hours: f64,
    /// Volume over the volume after mixing.
    pub rise: Option<f64>,
    /// Temperature of the dough, °C.
    pub dough_temp_c: Option<f64>,
}

/// Where the dough stands for how long.
#[derive(Debug, Clone, PartialEq)]
pub struct StageSpan {
    /// A short name, such as "fridge".
    pub name: String,
    /// Hours after mixing.
    pub from_hours: f64,
    /// Hours after mixing.
    pub to_hours: f64,
}

/// Bands much higher than everything else are cut at so many times the highest middle, reading or target.
const HIGHEST_BAND: f64 = 1.5;

/// The rise curve with 50 and 90 % bands over the temperatures.
///
/// # Errors
/// [`ChartError::NothingToDraw`] when the curve has fewer than two points.
pub fn rise_curve(chart: &RiseChart, width_px: u32) -> Result<Figure, ChartError> {
    let title = format!("How {} rises", if chart.name.is_empty() { "the dough" } else { &chart.name });
    if chart.rise.len() < 2 {
        return Err(ChartError::NothingToDraw { chart: title, needs: "a plan with its stages" });
    }
    let name = file_name("rise-curve", &chart.name);
    let words = Words { name: &name, title: &title, description: describe(chart), table: table(chart) };
    draw(words, width_px, |sheet| {
        sheet.legend(&legend(chart, sheet.sizes.line))?;
        sheet.least_label_width = lettering::width("00.0", sheet.sizes.text);
        rise_panel(chart, sheet)?;
        if chart.dough_temp_c.is_empty() && chart.surroundings_temp_c.is_empty() {
            return Ok(());
        }
        sheet.skip(0.8);
        temperature_panel(chart, sheet)
    })
}

fn legend(chart: &RiseChart, line: f64) -> Vec<(Key, &'static str)> {
    let readings = chart.readings.iter().any(|r| r.rise.is_some() || r.dough_temp_c.is_some());
    let entries = [
        (true, Key::Line(model(line)), "predicted, middle"),
        (true, Key::Inner(Ink::Model), "50 % band"),
        (true, Key::Outer(Ink::Model), "90 % band"),
        (readings, Key::Point(Shape::Ring, Ink::Text), "reading"),
        (chart.target_rise.is_some(), Key::Line(target()), "target"),
        (chart.window_hours.is_some(), Key::Fill(Ink::Target, OUTER_BAND), "ready"),
        (chart.oven.is_some(), Key::Line(oven()), "oven"),
    ];
    entries.into_iter().filter(|(there, ..)| *there).map(|(_, key, text)| (key, text)).collect()
}

fn model(line: f64) -> Stroke {
    Stroke::new(Ink::Model, line, Dash::Solid)
}

fn target() -> Stroke {
    Stroke::new(Ink::Target, 2.0, Dash::Dashed)
}

fn hours_axis(chart: &RiseChart, name: &str) -> Axis {
    let hours = || chart.rise.iter().map(|p| p.0).chain(chart.readings.iter().map(|r| r.hours));
    let (low, high) = hours().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    match &chart.mixed_at {
        Some(at) => Axis::between(&clock_name(name, at, low), Scale::Clock(Box::new(at.clone())), low, high),
        None => Axis::between(name, Scale::Hours, low, high),
    }
}

/// The name of an axis of the clock: the day on which it begins, so many hours after `start`.
pub(super) fn clock_name(name: &str, start: &ZonedDateTime, hours: f64) -> String {
    if name.is_empty() {
        String::new()
    } else {
        format!("time of day, from {}", after(start, hours).strftime("%A %-d %B %Y"))
    }
}

fn after(start: &ZonedDateTime, hours: f64) -> ZonedDateTime {
    start.saturating_add(SignedDuration::from_mins((hours * 60.0).round() as i64))
}

/// A time so many hours later, with its day of the week.
pub(super) fn clock_time(start: &ZonedDateTime, hours: f64) -> String {
    after(start, hours).strftime("%A %-H:%M").to_string()
}

fn rise_panel(chart: &RiseChart, sheet: &mut Sheet<'_>) -> Result<(), ChartError> {
    let marked = chart.readings.iter().filter_map(|r| r.rise).chain(chart.target_rise);
    let known: Vec<f64> = chart.rise.iter().map(|p| p.1.p50).chain(marked).chain([1.0]).collect();
    let highest = known.iter().copied().fold(1.0, f64::max) * HIGHEST_BAND;
    let bands = chart.rise.iter().flat_map(|p| [p.1.p05, p.1.p95]).map(|v| v.min(highest));
    let y = Axis::over("rise, times the volume after mixing", Scale::Linear, bands.chain(known));
    let below = chart.dough_temp_c.is_empty() && chart.surroundings_temp_c.is_empty();
    let x = hours_axis(chart, if below { "hours after mixing" } else { "" });
    let panel = Panel::below(sheet, x, y, sheet.sizes.plot_height())?;
    if let Some((from, to)) = chart.window_hours {
        panel.shade(from, to, Ink::Target)?;
    }
    panel.outer_band(&outer(&chart.rise), Ink::Model)?;
    panel.inner_band(&inner(&chart.rise), Ink::Model)?;
    panel.line(&middle(&chart.rise), model(sheet.sizes.line))?;
    if let Some(rise) = chart.target_rise {
        panel.level(rise, target())?;
    }
    if let Some(at) = &chart.oven {
        panel.upright(at.hours, oven())?;
    }
    for stage in &chart.stages {
        panel.upright(stage.from_hours, Stroke::new(Ink::Quiet, 1.2, Dash::Dotted))?;
        panel.name_stretch(sheet, &stage.name, stage.from_hours, stage.to_hours)?;
    }
    for reading in &chart.readings {
        if let Some(rise) = reading.rise {
            panel.mark((reading.hours, rise), Shape::Ring, Ink::Text)?;
        }
    }
    Ok(())
}

fn temperature_panel(chart: &RiseChart, sheet: &mut Sheet<'_>) -> Result<(), ChartError> {
    let (dough, around) =
        (Stroke::new(Ink::Alert, 2.0, Dash::Solid), Stroke::new(Ink::Quiet, 1.8, Dash::Dashed));
    sheet.legend(&[(Key::Line(dough), "dough"), (Key::Line(around), "around it")])?;
    let shown = |celsius: f64| chart.units.temperature(celsius);
    let axis = format!("temperature, {}", chart.units.degrees());
    let line =
        |points: &[(f64, f64)]| -> Vec<(f64, f64)> { points.iter().map(|p| (p.0, shown(p.1))).collect() };
    let (dough_temp, around_temp) = (line(&chart.dough_temp_c), line(&chart.surroundings_temp_c));
    let read = chart.readings.iter().filter_map(|r| r.dough_temp_c.map(shown));
    let lines = dough_temp.iter().chain(&around_temp).map(|p| p.1);
    let y = Axis::over(&axis, Scale::Linear, read.chain(lines));
    let x = hours_axis(chart, "hours after mixing");
    let panel = Panel::below(sheet, x, y, sheet.sizes.plot_height() * 0.55)?;
    panel.line(&around_temp, around)?;
    panel.line(&dough_temp, dough)?;
    for reading in &chart.readings {
        if let Some(temp) = reading.dough_temp_c {
            panel.mark((reading.hours, shown(temp)), Shape::Ring, Ink::Text)?;
        }
    }
    Ok(())
}

fn describe(chart: &RiseChart) -> String {
    let mut text = String::new();
    let end =
        chart.rise.last().map(|(hours, q)| AtOven { hours: *hours, p05: q.p05, p50: q.p50, p95: q.p95 });
    if let Some(at) = chart.oven.or(end) {
        text += &format!(
            "After {} hours the dough is expected to stand at {} times its volume after mixing, with 90 % chance \
             between {} and {}.",
            plain(at.hours, 1),
            number(at.p50, 2),
            number(at.p05, 2),
            number(at.p95, 2)
        );
    }
    if let Some(target) = chart.target_rise {
        text += &format!(" The target is {}.", number(target, 2));
    }
    if let Some((from, to)) = chart.window_hours {
        text += &format!(" It is ready from {} to {} hours.", number(from, 1), number(to, 1));
    }
    text
}

/// The curve at some twenty places.
fn table(chart: &RiseChart) -> Table {
    let step = chart.rise.len().div_ceil(20).max(1);
    let last = chart.rise.len() - 1;
    let rows = chart.rise.iter().enumerate().filter(|(i, _)| i % step == 0 || *i == last);
    Table::new(
        ["hours", "rise", "5 %", "25 %", "75 %", "95 %"],
        rows.map(|(_, (hours, q))| {
            let [middle, p05, p25, p75, p95] = [q.p50, q.p05, q.p25, q.p75, q.p95].map(|v| number(v, 2));
            [number(*hours, 1), middle, p05, p25, p75, p95]
        }),
    )
}
