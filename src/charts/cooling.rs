//! How a piece of dough cools or warms to its surroundings, with what a probe has read.

use super::axis::{Axis, Scale};
use super::bands::{Curve, inner, middle, outer};
use super::error::ChartError;
use super::figure::{Figure, Table, file_name, number};
use super::marks::{Dash, Key, Shape, Stroke};
use super::panel::Panel;
use super::sheet::{Words, draw};
use super::theme::Ink;
use super::thin::{MOST_POINTS, thin};
use super::ticks::plain;

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
    let table = Table::new(
        ["hours", "dough, °C", "5 %", "25 %", "75 %", "95 %"],
        chart.temp_c.iter().map(|(hours, q)| {
            let [middle, p05, p25, p75, p95] = [q.p50, q.p05, q.p25, q.p75, q.p95].map(|v| number(v, 1));
            [plain(*hours, 2), middle, p05, p25, p75, p95]
        }),
    );
    let name = file_name("cooling", &chart.name);
    let words = Words { name: &name, title: &title, description: describe(chart), table };
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
        let seen = chart.readings.iter().chain(&chart.surroundings_temp_c).map(|p| p.1);
        let temps = chart.temp_c.iter().flat_map(|(_, q)| [q.p05, q.p95]).chain(seen);
        let y = Axis::over("temperature, °C", Scale::Linear, temps);
        let panel = Panel::below(sheet, x, y, sheet.sizes.plot_height())?;
        panel.outer_band(&outer(&chart.temp_c), Ink::Model)?;
        panel.inner_band(&inner(&chart.temp_c), Ink::Model)?;
        panel.line(&chart.surroundings_temp_c, around)?;
        panel.line(&middle(&chart.temp_c), line)?;
        for i in thin(chart.readings.len(), MOST_POINTS, |_| 0.0) {
            panel.mark(chart.readings[i], Shape::Ring, Ink::Text)?;
        }
        Ok(())
    })
}

fn describe(chart: &CoolingChart) -> String {
    match (chart.temp_c.first(), chart.temp_c.last()) {
        (Some((_, first)), Some((hours, last))) => format!(
            "From {} °C to {} °C in {} hours, with 90 % chance between {} and {} °C then. {} readings.",
            number(first.p50, 1),
            number(last.p50, 1),
            plain(*hours, 1),
            number(last.p05, 1),
            number(last.p95, 1),
            chart.readings.len()
        ),
        _ => String::new(),
    }
}
