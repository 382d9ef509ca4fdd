//! What if: the rise along one column of a plan, and the chance to land, dashed where the records have never been.

use super::axis::{Axis, Scale};
use super::bands::{Curve, inner, outer};
use super::error::ChartError;
use super::figure::{Figure, Table, file_name, number};
use super::marks::{Dash, Key, Stroke};
use super::panel::Panel;
use super::sheet::{Words, draw};
use super::theme::Ink;
use super::ticks::plain;

/// The rise along one column.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct VaryChart {
    /// What is varied, with its unit.
    pub column: String,
    /// What else is set, such as "room temp c 22"; empty when nothing is.
    pub at: String,
    /// Its values by rising order, and the rise there.
    pub rise: Curve,
    /// For each value the chance to land in the window, 0 to 1; empty without a target.
    pub chance: Vec<f64>,
    /// For each value whether records lie there.
    pub reached: Vec<bool>,
    /// The rise wanted.
    pub target_rise: Option<f64>,
}

/// The rise with its bands over the chance to land.
///
/// # Errors
/// [`ChartError::NothingToDraw`] with fewer than two values.
pub fn varied(chart: &VaryChart, width_px: u32) -> Result<Figure, ChartError> {
    let at = if chart.at.is_empty() { String::new() } else { format!(" at {}", chart.at) };
    let title = format!("Rise along {}{at}", chart.column);
    let (Some(first), Some(last)) = (chart.rise.first(), chart.rise.last().filter(|_| chart.rise.len() > 1))
    else {
        return Err(ChartError::NothingToDraw { chart: title, needs: "two values" });
    };
    let name = file_name("rise-along", &format!("{}{at}", chart.column));
    let words = Words { name: &name, title: &title, description: describe(chart), table: table(chart) };
    draw(words, width_px, |sheet| {
        let line = Stroke::new(Ink::Model, sheet.sizes.line, Dash::Solid);
        let target = Stroke::new(Ink::Target, 2.0, Dash::Dotted);
        let mut legend = vec![
            (Key::Line(line), "rise, middle"),
            (Key::Inner(Ink::Model), "50 % band"),
            (Key::Outer(Ink::Model), "90 % band"),
            (Key::Line(Stroke { dash: Dash::Dashed, ..line }), "no records here"),
        ];
        legend.extend(chart.target_rise.map(|_| (Key::Line(target), "target")));
        sheet.legend(&legend)?;
        let x = |name: &str| Axis::between(name, Scale::Linear, first.0, last.0);
        let alone = chart.chance.is_empty();
        let ends = chart.rise.iter().flat_map(|p| [p.1.p05, p.1.p95]);
        let y = Axis::over("rise, times", Scale::Linear, ends.chain(chart.target_rise).chain([1.0]));
        let panel =
            Panel::below(sheet, x(if alone { &chart.column } else { "" }), y, sheet.sizes.plot_height())?;
        panel.outer_band(&outer(&chart.rise), Ink::Model)?;
        panel.inner_band(&inner(&chart.rise), Ink::Model)?;
        if let Some(rise) = chart.target_rise {
            panel.level(rise, target)?;
        }
        let reached = |i: usize| chart.reached.get(i).copied().unwrap_or(true);
        let middle: Vec<_> =
            chart.rise.iter().enumerate().map(|(i, (v, q))| (*v, q.p50, reached(i))).collect();
        panel.line_reached(&middle, line)?;
        if alone {
            return Ok(());
        }
        sheet.skip(0.8);
        let y = Axis::between("chance to land, %", Scale::Linear, 0.0, 100.0);
        let panel = Panel::below(sheet, x(&chart.column), y, sheet.sizes.plot_height() * 0.55)?;
        let chance = chart.rise.iter().zip(&chart.chance).enumerate();
        let chance: Vec<_> = chance.map(|(i, ((v, _), c))| (*v, 100.0 * c, reached(i))).collect();
        panel.line_reached(&chance, Stroke { ink: Ink::Target, ..line })
    })
}

fn describe(chart: &VaryChart) -> String {
    let (Some((from, a)), Some((to, b))) = (chart.rise.first(), chart.rise.last()) else {
        return String::new();
    };
    let mut text = format!(
        "From {} to {} the middle rise goes from {} to {}.",
        plain(*from, 2),
        plain(*to, 2),
        number(a.p50, 2),
        number(b.p50, 2)
    );
    let best = chart.chance.iter().zip(&chart.rise).max_by(|a, b| a.0.total_cmp(b.0));
    if let Some((chance, (value, _))) = best {
        text += &format!(
            " The chance to land is highest, {} %, at {}.",
            number(100.0 * chance, 0),
            plain(*value, 2)
        );
    }
    if chart.reached.contains(&false) {
        text += " Dashed: no record lies there.";
    }
    text
}

fn table(chart: &VaryChart) -> Table {
    let rows = chart.rise.iter().enumerate().map(|(i, (value, q))| {
        let chance = chart.chance.get(i).map_or_else(|| "–".to_owned(), |c| number(100.0 * c, 0));
        let records = if chart.reached.get(i) == Some(&false) { "none" } else { "yes" };
        [plain(*value, 3), number(q.p50, 2), number(q.p05, 2), number(q.p95, 2), chance, records.to_owned()]
    });
    Table::new([chart.column.as_str(), "rise", "5 %", "95 %", "lands, %", "records"], rows)
}
