//! Residuals by flour lot: a lot whose points all lie to one side behaves unlike what the model made of it.

use super::axis::{Axis, Scale};
use super::error::ChartError;
use super::figure::{Figure, Table, count};
use super::marks::{Key, Shape};
use super::residuals::Observation;
use super::residuals_over::{RESIDUAL_AXIS, median, nought};
use super::rows::{MOST_ROWS, rows};
use super::sheet::{Words, draw};
use super::theme::Ink;
use super::thin::thin;
use super::ticks::signed;

const TITLE: &str = "Residuals by flour lot";
/// At most so many points are drawn in one row.
const MOST_IN_ROW: usize = 40;

/// Residuals by flour lot, one row a lot in the order of first use, with each lot's middle.
///
/// # Errors
/// [`ChartError::NothingToDraw`] when no observation names its lot.
pub fn residuals_by_lot(observations: &[Observation], width_px: u32) -> Result<Figure, ChartError> {
    let lots = by_lot(observations);
    if lots.is_empty() {
        let needs = "a batch with its rise and its flour lot";
        return Err(ChartError::NothingToDraw { chart: TITLE.to_owned(), needs });
    }
    let percent = |log: f64| signed(100.0 * log.exp_m1(), 1);
    let table = Table::new(
        ["flour lot", "results", "middle residual, %", "lowest, %", "highest, %"],
        lots.iter().map(|(lot, residuals)| {
            let (low, high) = (
                residuals.iter().copied().fold(f64::INFINITY, f64::min),
                residuals.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            );
            let middle = median(residuals.iter().copied());
            [(*lot).to_owned(), count(residuals.len()), percent(middle), percent(low), percent(high)]
        }),
    );
    let shown = &lots[lots.len().saturating_sub(MOST_ROWS)..];
    let description = format!(
        "{} flour lots. Points right of the dashed line rose more than predicted; the square is the middle of a lot.",
        count(lots.len())
    );
    let words = Words { name: "residuals-by-flour-lot", title: TITLE, description, table };
    draw(words, width_px, |sheet| {
        sheet.legend(&[
            (Key::Point(Shape::Ring, Ink::Text), "one result"),
            (Key::Point(Shape::Square, Ink::Model), "middle of the lot"),
            (Key::Line(nought()), "as predicted"),
        ])?;
        let names: Vec<String> = shown.iter().map(|(lot, _)| (*lot).to_owned()).collect();
        let all = shown.iter().flat_map(|(_, residuals)| residuals.iter().copied());
        let x = Axis::over(RESIDUAL_AXIS, Scale::Change, all.chain([0.0]));
        let height = sheet.sizes.text * 1.7;
        let rows = rows(sheet, &names, x, height, Some((0.0, nought())))?;
        for ((_, residuals), &middle) in shown.iter().zip(&rows.middles) {
            for i in thin(residuals.len(), MOST_IN_ROW, |i| residuals[i].abs()) {
                rows.panel.mark((residuals[i], middle), Shape::Ring, Ink::Text)?;
            }
            rows.panel.mark((median(residuals.iter().copied()), middle), Shape::Square, Ink::Model)?;
        }
        match lots.len() - shown.len() {
            0 => Ok(()),
            _ => sheet.note(&format!("The latest {} of {} lots.", count(shown.len()), count(lots.len()))),
        }
    })
}

/// Residuals of each lot, lots in the order in which they first occur.
fn by_lot(observations: &[Observation]) -> Vec<(&str, Vec<f64>)> {
    let mut lots: Vec<(&str, Vec<f64>)> = Vec::new();
    let mut place = std::collections::HashMap::new();
    for o in observations.iter().filter(|o| o.residual_log.is_finite()) {
        let Some(lot) = o.flour_lot.as_deref() else { continue };
        let i = *place.entry(lot).or_insert_with(|| {
            lots.push((lot, Vec::new()));
            lots.len() - 1
        });
        lots[i].1.push(o.residual_log);
    }
    lots
}
