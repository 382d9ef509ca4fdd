//! LOO-PIT: where each batch's rise fell in the forecast made without it.
//!
//! When forecasts are right the places are uniform: of n batches, the number in one of B bins is Binomial(n, 1/B); the band
//! holds it 99 times in 100, each bin by itself.

use super::axis::{Axis, Scale};
use super::error::ChartError;
use super::figure::{Figure, Table, number};
use super::marks::{Dash, Key, Stroke};
use super::panel::Panel;
use super::plotting::Edges;
use super::ranks::expected_in_bin;
use super::sheet::{Words, draw};
use super::theme::{Ink, OUTER_BAND};

const TITLE: &str = "Where the rises fell in their forecasts";
const BAR: f64 = 0.3;

/// Batches counted by the place, 0 to 1, of their rise in the forecast made without them; bins of equal width.
///
/// # Errors
/// [`ChartError::NothingToDraw`] without batches.
pub fn loo_pit(bins: &[usize], width_px: u32) -> Result<Figure, ChartError> {
    let n: usize = bins.iter().sum();
    if n == 0 {
        return Err(ChartError::NothingToDraw { chart: TITLE.to_owned(), needs: "a batch with its rise" });
    }
    let count = bins.len();
    let (low, high) = expected_in_bin(n as u64, count);
    let edge = |i: usize| 100.0 * i as f64 / count as f64;
    let table = Table::new(
        ["from, %", "to, %", "batches", "expected from", "expected to"],
        bins.iter().enumerate().map(|(i, found)| {
            let [from, to] = [i, i + 1].map(|i| number(edge(i), 0));
            [from, to, found.to_string(), low.to_string(), high.to_string()]
        }),
    );
    let outside = bins.iter().filter(|b| !(low..=high).contains(&(**b as u64))).count();
    let description = format!(
        "{n} batches, each foretold without itself, by the share of the forecast below its rise. Flat bars mean \
         forecasts as sure as they should be; a hollow that they are too sure, a hump that they are too unsure, a \
         slope that they are off to one side. {outside} of {count} bars lie outside their 99 % band."
    );
    let words = Words { name: "loo-pit", title: TITLE, description, table };
    draw(words, width_px, |sheet| {
        sheet.legend(&[
            (Key::Fill(Ink::Model, BAR), "batches"),
            (Key::Fill(Ink::Quiet, OUTER_BAND), "99 % band for each bar by itself"),
        ])?;
        let tallest = bins.iter().map(|b| *b as u64).max().unwrap_or(1).max(high) as f64;
        let x = Axis::between("share of the forecast below the rise, %", Scale::Linear, 0.0, 100.0);
        let y = Axis::between("batches", Scale::Linear, 0.0, 1.05 * tallest);
        let panel = Panel::below(sheet, x, y, sheet.sizes.plot_height())?;
        let steps: Edges =
            (0..count).flat_map(|i| [edge(i), edge(i + 1)].map(|x| (x, 0.0, bins[i] as f64))).collect();
        let (low, high) = (low as f64, high as f64);
        panel.fill(&vec![(0.0, low, high), (100.0, low, high)], Ink::Quiet, OUTER_BAND)?;
        panel.fill(&steps, Ink::Model, BAR)?;
        let outline: Vec<(f64, f64)> = steps.iter().map(|(x, _, count)| (*x, *count)).collect();
        panel.line(&outline, Stroke::new(Ink::Model, 1.5, Dash::Solid))?;
        panel.level(n as f64 / count as f64, Stroke::new(Ink::Text, 1.4, Dash::Dashed))
    })
}
