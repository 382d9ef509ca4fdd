//! Rank histograms of simulation-based calibration: is the fit right about kitchens whose truth is known?
//!
//! For each simulated kitchen, the rank of the true value among draws of the fit is uniform when the fit is right. Of
//! N kitchens, the number in one of B bins is Binomial(N, 1/B); the band holds it 99 times in 100, each bin by itself
//! (Talts, Betancourt, Simpson, Vehtari and Gelman, "Validating Bayesian inference algorithms with simulation-based
//! calibration", arXiv:1804.06788, 2018, §4).

use statrs::distribution::{Binomial, DiscreteCDF};

use super::axis::{Axis, Scale};
use super::error::ChartError;
use super::figure::{Figure, Table, count};
use super::lettering;
use super::marks::{Dash, Key, Stroke};
use super::panel::Panel;
use super::plotting::Edges;
use super::sheet::{Rect, Sheet, Words, draw};
use super::theme::{Ink, OUTER_BAND};

/// The ranks of one parameter's true values, counted in bins of equal width.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RankHistogram {
    /// The parameter.
    pub parameter: String,
    /// How many simulated kitchens fell into each bin, lowest ranks first.
    pub counts: Vec<u64>,
}

const TITLE: &str = "Does the fit find what was put in?";
/// A histogram is at least so wide, in text sizes.
const NARROWEST_CELL: f64 = 11.5;
/// At most so many histograms are drawn.
const MOST_CELLS: usize = 24;
const BAR: f64 = 0.3;

/// From how many to how many of `kitchens` are expected in one of `bins` bins, at 0.5 % and 99.5 %.
pub fn expected_in_bin(kitchens: u64, bins: usize) -> (u64, u64) {
    let share = 1.0 / bins.max(1) as f64;
    Binomial::new(share, kitchens).map_or((0, kitchens), |b| (b.inverse_cdf(0.005), b.inverse_cdf(0.995)))
}

/// A grid of rank histograms with the band that uniform ranks would keep to.
///
/// # Errors
/// [`ChartError::NothingToDraw`] without a histogram that counts anything.
pub fn rank_histograms(histograms: &[RankHistogram], width_px: u32) -> Result<Figure, ChartError> {
    let counted = |h: &&RankHistogram| h.counts.iter().sum::<u64>() > 0;
    let known: Vec<&RankHistogram> = histograms.iter().filter(counted).collect();
    if known.is_empty() {
        return Err(ChartError::NothingToDraw { chart: TITLE.to_owned(), needs: "simulated kitchens" });
    }
    let table = Table::new(
        ["parameter", "kitchens", "bins", "fewest in a bin", "most in a bin", "expected", "bins outside"],
        known.iter().map(|h| {
            let kitchens: u64 = h.counts.iter().sum();
            let (low, high) = expected_in_bin(kitchens, h.counts.len());
            let (fewest, most) = (h.counts.iter().min(), h.counts.iter().max());
            let [fewest, most] = [fewest, most].map(|v| v.map_or(String::new(), u64::to_string));
            let bins = h.counts.len().to_string();
            let expected = format!("{low} to {high}");
            [h.parameter.clone(), kitchens.to_string(), bins, fewest, most, expected, outside(h).to_string()]
        }),
    );
    let words = Words { name: "rank-histograms", title: TITLE, description: describe(&known), table };
    let shown = &known[..known.len().min(MOST_CELLS)];
    draw(words, width_px, |sheet| {
        sheet.legend(&[
            (Key::Fill(Ink::Model, BAR), "kitchens by the true value's rank, low to high"),
            (Key::Fill(Ink::Quiet, OUTER_BAND), "99 % band for each bin by itself"),
        ])?;
        grid(sheet, shown)?;
        match known.len() - shown.len() {
            0 => Ok(()),
            _ => sheet.note(&format!("{} of {} parameters drawn.", count(shown.len()), count(known.len()))),
        }
    })
}

fn grid(sheet: &mut Sheet<'_>, histograms: &[&RankHistogram]) -> Result<(), ChartError> {
    let (left, right) = sheet.room();
    let (size, gap) = (sheet.sizes.text, sheet.sizes.text * 1.2);
    let fitting = ((right - left + gap) / (size * NARROWEST_CELL + gap)).floor() as usize;
    let columns = fitting.clamp(1, histograms.len().max(1));
    let width = (right - left + gap) / columns as f64 - gap;
    let tallest = histograms.iter().flat_map(|h| &h.counts).max().copied().unwrap_or(1);
    for row in histograms.chunks(columns) {
        let top = sheet.cursor;
        for (i, histogram) in row.iter().enumerate() {
            let left = left + (width + gap) * i as f64;
            let room = Rect { left, top, right: left + width, bottom: top + size * 8.5 };
            sheet.cursor = sheet.cursor.max(cell(sheet, histogram, room, tallest)?);
        }
        sheet.skip(0.9);
    }
    Ok(())
}

/// One histogram; all share the height of the axis unless one has another number of bins.
fn cell(
    sheet: &mut Sheet<'_>,
    histogram: &RankHistogram,
    room: Rect,
    tallest: u64,
) -> Result<f64, ChartError> {
    let bins = histogram.counts.len();
    let kitchens: u64 = histogram.counts.iter().sum();
    let (low, high) = expected_in_bin(kitchens, bins);
    let name =
        lettering::shorten(&lettering::clean(&histogram.parameter), sheet.sizes.text, room.right - room.left);
    let x = Axis::between("", Scale::Bare, 0.0, bins as f64);
    let y = Axis::between(&name, Scale::Linear, 0.0, 1.05 * tallest.max(high) as f64);
    let (panel, bottom) = Panel::within(sheet, x, y, room)?;
    let steps: Edges = (0..bins)
        .flat_map(|i| [i as f64, i as f64 + 1.0].map(|x| (x, 0.0, histogram.counts[i] as f64)))
        .collect();
    let (low, high) = (low as f64, high as f64);
    panel.fill(&vec![(0.0, low, high), (bins as f64, low, high)], Ink::Quiet, OUTER_BAND)?;
    panel.fill(&steps, Ink::Model, BAR)?;
    let outline: Vec<(f64, f64)> = steps.iter().map(|(x, _, count)| (*x, *count)).collect();
    panel.line(&outline, Stroke::new(Ink::Model, 1.5, Dash::Solid))?;
    panel.level(kitchens as f64 / bins as f64, Stroke::new(Ink::Text, 1.4, Dash::Dashed))?;
    Ok(bottom)
}

/// How many bins lie outside their band.
fn outside(histogram: &RankHistogram) -> usize {
    let (low, high) = expected_in_bin(histogram.counts.iter().sum(), histogram.counts.len());
    histogram.counts.iter().filter(|c| !(low..=high).contains(c)).count()
}

fn describe(known: &[&RankHistogram]) -> String {
    let bins: usize = known.iter().map(|h| h.counts.len()).sum();
    let out: usize = known.iter().map(|h| outside(h)).sum();
    format!(
        "{} parameters. Flat histograms mean that the fit is as sure as it should be; a hump that it is too unsure, a \
         hollow that it is too sure, a slope that it is off to one side. {} of {} bins lie outside their 99 % band.",
        count(known.len()),
        count(out),
        count(bins)
    )
}
