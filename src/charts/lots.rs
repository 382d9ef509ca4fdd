//! Flour lots beside one another: how much faster or slower each works than the usual flour.

use super::axis::{Axis, Scale};
use super::bands::Quantiles;
use super::error::ChartError;
use super::figure::{Figure, Table, count};
use super::lettering;
use super::marks::{Dash, Key, Shape, Stroke};
use super::rows::{MOST_ROWS, rows};
use super::sheet::{Words, draw};
use super::theme::Ink;
use super::ticks::signed;

/// One lot of flour.
#[derive(Debug, Clone, PartialEq)]
pub struct FlourLot {
    /// Its name.
    pub name: String,
    /// How many batches were made of it.
    pub batches: usize,
    /// ln(pace with this lot / pace with the usual flour).
    pub pace_log: Quantiles,
}

const TITLE: &str = "How fast each flour lot works";

/// Flour lots with their intervals, in the order given.
///
/// # Errors
/// [`ChartError::NothingToDraw`] without lots.
pub fn flour_lots(lots: &[FlourLot], width_px: u32) -> Result<Figure, ChartError> {
    if lots.is_empty() {
        return Err(ChartError::NothingToDraw {
            chart: TITLE.to_owned(),
            needs: "batches with their flour lot",
        });
    }
    let percent = |log: f64| signed(100.0 * log.exp_m1(), 1);
    let table = Table::new(
        ["flour lot", "batches", "pace, %", "5 %", "25 %", "75 %", "95 %"],
        lots.iter().map(|lot| {
            let q = &lot.pace_log;
            let [middle, p05, p25, p75, p95] = [q.p50, q.p05, q.p25, q.p75, q.p95].map(percent);
            [lot.name.clone(), count(lot.batches), middle, p05, p25, p75, p95]
        }),
    );
    let shown = &lots[lots.len().saturating_sub(MOST_ROWS)..];
    let words = Words { name: "flour-lots", title: TITLE, description: describe(lots), table };
    draw(words, width_px, |sheet| {
        let usual = Stroke::new(Ink::Alert, 1.8, Dash::Dashed);
        sheet.legend(&[
            (Key::Interval(Shape::Dot, Ink::Model), "middle, 50 % (thick) and 90 % (thin) interval"),
            (Key::Line(usual), "the usual flour"),
        ])?;
        let names: Vec<String> = shown.iter().map(|lot| lot.name.clone()).collect();
        let ends = shown.iter().flat_map(|lot| [lot.pace_log.p05, lot.pace_log.p95]);
        let x = Axis::over("pace against the usual flour, %", Scale::Change, ends.chain([0.0]));
        let height = sheet.sizes.text * 1.8;
        let rows = rows(sheet, &names, x, height, Some((0.0, usual)))?;
        for (lot, &middle) in shown.iter().zip(&rows.middles) {
            rows.panel.interval(&lot.pace_log, middle, Shape::Dot, Ink::Model)?;
        }
        match lots.len() - shown.len() {
            0 => Ok(()),
            _ => sheet.note(&format!("The last {} of {} lots.", count(shown.len()), count(lots.len()))),
        }
    })
}

fn describe(lots: &[FlourLot]) -> String {
    let told_apart = lots.iter().filter(|lot| lot.pace_log.p05 > 0.0 || lot.pace_log.p95 < 0.0);
    let named: Vec<String> = told_apart
        .map(|lot| {
            format!("{} ({} %)", lettering::clean(&lot.name), signed(100.0 * lot.pace_log.p50.exp_m1(), 0))
        })
        .collect();
    let start = format!("{} flour lots against the usual flour.", count(lots.len()));
    match named.len() {
        0 => format!("{start} None differs from it by more than chance: every 90 % interval holds 0."),
        1 => format!("{start} One differs from it with 90 % certainty: {}.", named[0]),
        n => format!("{start} {} differ from it with 90 % certainty: {}.", count(n), first_few(&named)),
    }
}

/// The first few, and how many more there are.
fn first_few(names: &[String]) -> String {
    const FEW: usize = 5;
    match names.len().checked_sub(FEW).filter(|more| *more > 0) {
        None => names.join(", "),
        Some(more) => format!("{} and {} more", names[..FEW].join(", "), count(more)),
    }
}
