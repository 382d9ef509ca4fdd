//! What goes with a better crust: the expected score along one quantity, all others as they usually are.

use super::axis::{Axis, Scale};
use super::bands::{Curve, inner, outer};
use super::error::ChartError;
use super::figure::{Figure, Table, count, file_name, number};
use super::marks::{Dash, Key, Shape, Stroke};
use super::panel::Panel;
use super::sheet::{Words, draw};
use super::theme::Ink;
use super::thin::{MOST_POINTS, thin};
use super::ticks::plain;

/// The crust's score along one quantity (a partial dependence).
#[derive(Debug, Clone, PartialEq)]
pub struct CrustChart {
    /// The quantity, such as "bake temperature".
    pub name: String,
    /// Its unit, such as "°C".
    pub unit: String,
    /// The quantity by rising values, and the expected score, 1 to 10.
    pub score: Curve,
    /// The quantity and the score of each batch.
    pub batches: Vec<(f64, f64)>,
    /// Between these it was tried; beyond them the curve is a guess.
    pub tried: Option<(f64, f64)>,
}

/// The expected score with its bands over the batches' own scores.
///
/// # Errors
/// [`ChartError::NothingToDraw`] when the curve has fewer than two points.
pub fn crust_score(chart: &CrustChart, width_px: u32) -> Result<Figure, ChartError> {
    let title = format!("Crust and {}", chart.name);
    if chart.score.len() < 2 {
        return Err(ChartError::NothingToDraw { chart: title, needs: "batches with a score for the crust" });
    }
    let axis =
        if chart.unit.is_empty() { chart.name.clone() } else { format!("{}, {}", chart.name, chart.unit) };
    let table = Table::new(
        [axis.as_str(), "score", "5 %", "25 %", "75 %", "95 %"],
        chart.score.iter().map(|(at, q)| {
            let [middle, p05, p25, p75, p95] = [q.p50, q.p05, q.p25, q.p75, q.p95].map(|v| number(v, 2));
            [plain(*at, 2), middle, p05, p25, p75, p95]
        }),
    );
    let name = file_name("crust", &chart.name);
    let words = Words { name: &name, title: &title, description: describe(chart), table };
    draw(words, width_px, |sheet| {
        let line = Stroke::new(Ink::Model, sheet.sizes.line, Dash::Solid);
        let mut legend = vec![
            (Key::Line(line), "expected score"),
            (Key::Inner(Ink::Model), "50 % band"),
            (Key::Outer(Ink::Model), "90 % band"),
        ];
        if !chart.batches.is_empty() {
            legend.push((Key::Point(Shape::Ring, Ink::Text), "a batch's score"));
        }
        let edge = Stroke::new(Ink::Quiet, 1.4, Dash::Dotted);
        if chart.tried.is_some() {
            legend.push((Key::Line(edge), "tried so far up to here; beyond is a guess"));
        }
        sheet.legend(&legend)?;
        let all = chart.score.iter().map(|p| p.0).chain(chart.batches.iter().map(|b| b.0));
        let x = Axis::over(&axis, Scale::Linear, all);
        let y = Axis::between("score of the crust, 1 to 10", Scale::Linear, 0.7, 10.3);
        let panel = Panel::below(sheet, x, y, sheet.sizes.plot_height())?;
        panel.outer_band(&outer(&chart.score), Ink::Model)?;
        panel.inner_band(&inner(&chart.score), Ink::Model)?;
        for at in chart.tried.iter().flat_map(|(from, to)| [*from, *to]) {
            panel.upright(at, edge)?;
        }
        let shown = thin(chart.batches.len(), MOST_POINTS, |_| 0.0);
        for &i in &shown {
            panel.mark(chart.batches[i], Shape::Ring, Ink::Text)?;
        }
        let middle: Vec<(f64, f64)> = chart.score.iter().map(|(at, q)| (*at, q.p50)).collect();
        panel.line(&middle, line)?;
        match chart.batches.len() - shown.len() {
            0 => Ok(()),
            _ => sheet.note(&format!(
                "{} of {} batches drawn.",
                count(shown.len()),
                count(chart.batches.len())
            )),
        }
    })
}

fn describe(chart: &CrustChart) -> String {
    let inside = |at: f64| chart.tried.is_none_or(|(from, to)| (from..=to).contains(&at));
    let best = chart.score.iter().filter(|p| inside(p.0)).max_by(|a, b| a.1.p50.total_cmp(&b.1.p50));
    let found = best.map_or(String::new(), |(at, q)| {
        format!(
            "The expected score is highest, {} (90 % band {} to {}), at {} {}.",
            number(q.p50, 1),
            number(q.p05, 1),
            number(q.p95, 1),
            plain(*at, 1),
            chart.unit
        )
    });
    let tried = chart.tried.map_or(String::new(), |(from, to)| {
        format!(
            " Tried from {} to {} {}; beyond that the curve is a guess.",
            plain(from, 1),
            plain(to, 1),
            chart.unit
        )
    });
    format!(
        "{found}{tried} {} batches with a score. What goes together need not be cause and effect.",
        count(chart.batches.len())
    )
}
