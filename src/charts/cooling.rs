//! How a piece of dough cools or warms to its surroundings, with what a probe has read.

use super::axis::{Axis, Scale};
use super::bands::{Curve, Quantiles, inner, middle, outer};
use super::error::ChartError;
use super::figure::{Figure, Table, count, file_name, number};
use super::marks::{Dash, Key, Shape, Stroke};
use super::panel::Panel;
use super::sheet::{Words, draw};
use super::theme::Ink;
use super::thin::{MOST_POINTS, thin};
use super::ticks::plain;
use crate::dough::units::UnitSystem;

/// One piece on its way to the temperature around it.
#[derive(Debug, Clone, PartialEq)]
pub struct CoolingChart {
    /// What cools where, such as "a ball of 250 g in the lower fridge".
    pub name: String,
    /// Hours by rising values, and the temperature in the piece's middle, °C.
    pub temp_c: Curve,
    /// Hours, and the temperature around it, °C.
    pub surroundings_temp_c: Vec<(f64, f64)>,
    /// Hours, and the temperature read in the piece, °C.
    pub readings: Vec<(f64, f64)>,
    /// Units of the temperatures drawn.
    pub units: UnitSystem,
}

/// The cooling curve with its bands.
///
/// # Errors
/// [`ChartError::NothingToDraw`] when the curve has fewer than two points.
pub fn cooling(chart: &CoolingChart, width_px: u32) -> Result<Figure, ChartError> {
    let title = format!("How {} cools", if chart.name.is_empty() { "the dough" } else { &chart.name });
    if chart.temp_c.len() < 2 {
        return Err(ChartError::NothingToDraw { chart: title, needs: "a piece's mass and a fridge" });
    }
    let degrees = chart.units.degrees();
    let shown = |celsius: f64| chart.units.temperature(celsius);
    let line =
        |points: &[(f64, f64)]| -> Vec<(f64, f64)> { points.iter().map(|p| (p.0, shown(p.1))).collect() };
    let temp: Curve = chart.temp_c.iter().map(|(hours, q)| (*hours, in_units(q, chart.units))).collect();
    let (around_temp, read) = (line(&chart.surroundings_temp_c), line(&chart.readings));
    let table = Table::new(
        ["hours", format!("dough, {degrees}").as_str(), "5 %", "25 %", "75 %", "95 %"],
        temp.iter().map(|(hours, q)| {
            let [middle, p05, p25, p75, p95] = [q.p50, q.p05, q.p25, q.p75, q.p95].map(|v| number(v, 1));
            [plain(*hours, 2), middle, p05, p25, p75, p95]
        }),
    );
    let name = file_name("cooling", &chart.name);
    let words =
        Words { name: &name, title: &title, description: describe(&temp, read.len(), degrees), table };
    draw(words, width_px, |sheet| {
        let line = Stroke::new(Ink::Model, sheet.sizes.line, Dash::Solid);
        let around = Stroke::new(Ink::Quiet, 1.8, Dash::Dashed);
        let entries = [
            (true, Key::Line(line), "dough, middle"),
            (true, Key::Inner(Ink::Model), "50 % band"),
            (true, Key::Outer(Ink::Model), "90 % band"),
            (!chart.surroundings_temp_c.is_empty(), Key::Line(around), "around it"),
            (!chart.readings.is_empty(), Key::Point(Shape::Ring, Ink::Text), "reading"),
        ];
        let there: Vec<_> = entries.into_iter().filter(|e| e.0).map(|(_, key, text)| (key, text)).collect();
        sheet.legend(&there)?;
        let hours = || chart.temp_c.iter().map(|p| p.0).chain(chart.readings.iter().map(|p| p.0));
        let (low, high) = hours().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        let x = Axis::between("hours", Scale::Hours, low, high);
        let seen = read.iter().chain(&around_temp).map(|p| p.1);
        let temps = temp.iter().flat_map(|(_, q)| [q.p05, q.p95]).chain(seen);
        let y = Axis::over(&format!("temperature, {degrees}"), Scale::Linear, temps);
        let panel = Panel::below(sheet, x, y, sheet.sizes.plot_height())?;
        panel.outer_band(&outer(&temp), Ink::Model)?;
        panel.inner_band(&inner(&temp), Ink::Model)?;
        panel.line(&around_temp, around)?;
        panel.line(&middle(&temp), line)?;
        for i in thin(read.len(), MOST_POINTS, |_| 0.0) {
            panel.mark(read[i], Shape::Ring, Ink::Text)?;
        }
        Ok(())
    })
}

fn in_units(q: &Quantiles, units: UnitSystem) -> Quantiles {
    let [p05, p25, p50, p75, p95] = [q.p05, q.p25, q.p50, q.p75, q.p95].map(|c| units.temperature(c));
    Quantiles { p05, p25, p50, p75, p95 }
}

fn describe(temp: &Curve, readings: usize, degrees: &str) -> String {
    match (temp.first(), temp.last()) {
        (Some((_, first)), Some((hours, last))) => format!(
            "From {} {degrees} to {} {degrees} in {} hours, with 90 % chance between {} and {} {degrees} then. {}.",
            number(first.p50, 1),
            number(last.p50, 1),
            plain(*hours, 1),
            number(last.p05, 1),
            number(last.p95, 1),
            match readings {
                1 => "1 reading".to_owned(),
                n => format!("{} readings", count(n)),
            }
        ),
        _ => String::new(),
    }
}
