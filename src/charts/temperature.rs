//! How temperature sets the pace: the fitted response with its bands, and where the records behind it lie.

use super::axis::{Axis, Scale};
use super::bands::{Curve, inner, outer};
use super::error::ChartError;
use super::figure::{Figure, Table, count, number};
use super::marks::{Dash, Key, Stroke};
use super::panel::Panel;
use super::sheet::{Words, draw};
use super::theme::Ink;
use super::ticks::plain;
use crate::dough::units::UnitSystem;

/// The response of the yeast's pace to temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct TemperatureChart {
    /// The temperature at which the pace counts as 1, °C.
    pub reference_temp_c: f64,
    /// Temperature, °C, by rising values, and the pace there as a multiple of that at the reference.
    pub pace: Curve,
    /// Temperatures at which doughs of the records stood, °C.
    pub record_temps_c: Vec<f64>,
    /// Units of the temperatures drawn.
    pub units: UnitSystem,
}

const TITLE: &str = "How temperature sets the pace";

/// The temperature response, dashed where no record lies, with a stroke at its foot for each record.
///
/// # Errors
/// [`ChartError::NothingToDraw`] when the curve has fewer than two points.
pub fn temperature_response(chart: &TemperatureChart, width_px: u32) -> Result<Figure, ChartError> {
    if chart.pace.len() < 2 {
        return Err(ChartError::NothingToDraw { chart: TITLE.to_owned(), needs: "a fit to this kitchen" });
    }
    let degrees = chart.units.degrees();
    let shown = |celsius: f64| chart.units.temperature(celsius);
    let reach = reach(&chart.record_temps_c);
    let table = Table::new(
        [format!("temperature, {degrees}").as_str(), "pace", "5 %", "25 %", "75 %", "95 %"],
        chart.pace.iter().map(|(temp, q)| {
            let [middle, p05, p25, p75, p95] = [q.p50, q.p05, q.p25, q.p75, q.p95].map(|v| number(v, 3));
            [plain(shown(*temp), 1), middle, p05, p25, p75, p95]
        }),
    );
    let words =
        Words { name: "temperature-response", title: TITLE, description: describe(chart, reach), table };
    draw(words, width_px, |sheet| {
        let line = Stroke::new(Ink::Model, sheet.sizes.line, Dash::Solid);
        sheet.legend(&[
            (Key::Line(line), "pace, middle"),
            (Key::Inner(Ink::Model), "50 % band"),
            (Key::Outer(Ink::Model), "90 % band"),
            (Key::Line(Stroke { dash: Dash::Dashed, ..line }), "no records here"),
            (Key::Rug, "records"),
        ])?;
        let temps = chart.pace.iter().map(|p| shown(p.0));
        let (low, high) = temps.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        let x = Axis::between(&format!("temperature of the dough, {degrees}"), Scale::Linear, low, high);
        let name = format!("pace, times that at {} {degrees}", plain(shown(chart.reference_temp_c), 1));
        // A band far above every middle would flatten the curve; it is cut there.
        let highest = 1.5 * chart.pace.iter().map(|p| p.1.p50).fold(0.0, f64::max);
        let y =
            Axis::over(&name, Scale::Linear, chart.pace.iter().map(|p| p.1.p95.min(highest)).chain([0.0]));
        let panel = Panel::below(sheet, x, y.not_below(0.0), sheet.sizes.plot_height())?;
        let pace: Curve = chart.pace.iter().map(|(temp, q)| (shown(*temp), *q)).collect();
        panel.outer_band(&outer(&pace), Ink::Model)?;
        panel.inner_band(&inner(&pace), Ink::Model)?;
        let reached = |temp: f64| reach.is_some_and(|(from, to)| (from..=to).contains(&temp));
        let middle: Vec<_> =
            chart.pace.iter().map(|(temp, q)| (shown(*temp), q.p50, reached(*temp))).collect();
        panel.line_reached(&middle, line)?;
        panel.rug(chart.record_temps_c.iter().map(|temp| shown(*temp)))
    })
}

/// The coldest and the warmest record.
fn reach(temps: &[f64]) -> Option<(f64, f64)> {
    let ends = temps.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
    (ends.0 <= ends.1).then_some(ends)
}

fn describe(chart: &TemperatureChart, reach: Option<(f64, f64)>) -> String {
    let degrees = chart.units.degrees();
    let shown = |celsius: f64| chart.units.temperature(celsius);
    let fastest = chart.pace.iter().max_by(|a, b| a.1.p50.total_cmp(&b.1.p50));
    let mut text = fastest.map_or(String::new(), |(temp, q)| {
        let (temp, times) = (plain(shown(*temp), 1), number(q.p50, 2));
        let reference = plain(shown(chart.reference_temp_c), 1);
        format!(
            "The yeast is fastest at {temp} {degrees}, {times} times as fast as at {reference} {degrees}."
        )
    });
    match reach {
        Some((from, to)) => {
            let (from, to) = (number(shown(from), 1), number(shown(to), 1));
            let records = count(chart.record_temps_c.len());
            text += &format!(
                " {records} records lie from {from} to {to} {degrees}; beyond them the curve is dashed."
            );
        }
        None => text += " No record stands behind the curve yet.",
    }
    text
}
