//! What makes batches differ: the share of each source in the spread of the results.

use super::axis::{Axis, Scale};
use super::bands::Quantiles;
use super::error::ChartError;
use super::figure::{Figure, Table, number};
use super::lettering;
use super::marks::{Dash, Key, Shape, Stroke};
use super::rows::{MOST_ROWS, rows};
use super::sheet::{Words, draw};
use super::theme::Ink;

/// One source of differences.
#[derive(Debug, Clone, PartialEq)]
pub struct VarianceShare {
    /// What it is, such as "flour lot".
    pub source: String,
    /// Its share in the variance of ln(rise), 0 to 1.
    pub share: Quantiles,
}

const TITLE: &str = "What makes batches differ";
const BAR: f64 = 0.45;

/// Bars of variance shares with 90 % intervals, the largest first.
///
/// # Errors
/// [`ChartError::NothingToDraw`] without shares.
pub fn variance_shares(shares: &[VarianceShare], width_px: u32) -> Result<Figure, ChartError> {
    if shares.is_empty() {
        return Err(ChartError::NothingToDraw { chart: TITLE.to_owned(), needs: "a fit to this kitchen" });
    }
    let mut sorted: Vec<&VarianceShare> = shares.iter().collect();
    sorted.sort_by(|a, b| b.share.p50.total_cmp(&a.share.p50));
    let table = Table::new(
        ["source", "share, %", "5 %", "95 %"],
        sorted.iter().map(|s| {
            let [middle, low, high] = [s.share.p50, s.share.p05, s.share.p95].map(|v| number(100.0 * v, 0));
            [s.source.clone(), middle, low, high]
        }),
    );
    let shown = &sorted[..sorted.len().min(MOST_ROWS)];
    let words =
        Words { name: "variance-shares", title: TITLE, description: describe(shown[0], shown.len()), table };
    draw(words, width_px, |sheet| {
        let interval = Stroke::new(Ink::Text, 1.8, Dash::Solid);
        sheet.legend(&[
            (Key::Fill(Ink::Model, BAR), "share, middle"),
            (Key::Linked(interval, Shape::Dot), "its 90 % interval"),
        ])?;
        let names: Vec<String> = shown.iter().map(|s| s.source.clone()).collect();
        let highest = shown.iter().map(|s| 100.0 * s.share.p95).fold(1.0, f64::max);
        let x =
            Axis::between("share of the differences between batches, %", Scale::Linear, 0.0, highest * 1.03);
        let height = sheet.sizes.text * 2.0;
        let rows = rows(sheet, &names, x, height, None)?;
        for (s, &middle) in shown.iter().zip(&rows.middles) {
            let (below, above) = (middle - height * 0.32, middle + height * 0.32);
            rows.panel.fill(
                &vec![(0.0, below, above), (100.0 * s.share.p50, below, above)],
                Ink::Model,
                BAR,
            )?;
            rows.panel.line(&[(100.0 * s.share.p05, middle), (100.0 * s.share.p95, middle)], interval)?;
            rows.panel.mark((100.0 * s.share.p50, middle), Shape::Dot, Ink::Text)?;
        }
        match sorted.len() - shown.len() {
            0 => Ok(()),
            more => sheet.note(&format!("{more} smaller sources are in the table.")),
        }
    })
}

fn describe(largest: &VarianceShare, sources: usize) -> String {
    format!(
        "{sources} sources of differences between batches. The largest is {} with {} % (90 % interval {} to {} %).",
        lettering::clean(&largest.source),
        number(100.0 * largest.share.p50, 0),
        number(100.0 * largest.share.p05, 0),
        number(100.0 * largest.share.p95, 0)
    )
}
