//! Calibration: how many observations fell inside their intervals, against how many should have.
//!
//! Of n observations, each inside with probability p, the number inside is Binomial(n, p); the band runs from its 5 %
//! to its 95 % quantile. It takes observations as independent, which readings of one batch are not: the true band is
//! then wider.

use statrs::distribution::{Binomial, DiscreteCDF};

use super::axis::{Axis, Scale};
use super::error::ChartError;
use super::figure::{Figure, Table, count, number};
use super::marks::{Dash, Key, Shape, Stroke};
use super::residuals::Coverage;
use super::rows::rows;
use super::sheet::{Words, draw};
use super::theme::{Ink, OUTER_BAND};

const TITLE: &str = "How often the intervals hold";

/// From how many to how many of `n` are expected inside, at 5 % and 95 % of Binomial(n, `nominal`).
pub fn expected_inside(nominal: f64, n: u64) -> (u64, u64) {
    Binomial::new(nominal.clamp(0.0, 1.0), n).map_or((0, n), |b| (b.inverse_cdf(0.05), b.inverse_cdf(0.95)))
}

/// The share of observations inside intervals of each level.
///
/// # Errors
/// [`ChartError::NothingToDraw`] without observations.
pub fn calibration(coverage: &[Coverage], width_px: u32) -> Result<Figure, ChartError> {
    let known: Vec<&Coverage> = coverage.iter().filter(|c| c.of > 0).collect();
    if known.is_empty() {
        return Err(ChartError::NothingToDraw { chart: TITLE.to_owned(), needs: "a batch with its rise" });
    }
    let percent = |part: u64, of: u64| 100.0 * part as f64 / of as f64;
    let table = Table::new(
        ["interval, %", "inside", "of", "inside, %", "expected from, %", "expected to, %"],
        known.iter().map(|c| {
            let (low, high) = expected_inside(c.nominal, c.of);
            [
                number(100.0 * c.nominal, 0),
                c.inside.to_string(),
                c.of.to_string(),
                number(percent(c.inside, c.of), 0),
                number(percent(low, c.of), 0),
                number(percent(high, c.of), 0),
            ]
        }),
    );
    let words = Words { name: "calibration", title: TITLE, description: describe(&known), table };
    draw(words, width_px, |sheet| {
        sheet.legend(&[
            (Key::Point(Shape::Dot, Ink::Text), "share found inside"),
            (Key::Line(should()), "share that should be"),
            (Key::Outer(Ink::Model), "found by chance 9 times in 10"),
        ])?;
        let name = |c: &&Coverage| format!("{} % interval", number(100.0 * c.nominal, 0));
        let names: Vec<String> = known.iter().map(name).collect();
        let x = Axis::between("share of results inside, %", Scale::Linear, 0.0, 100.0);
        let height = sheet.sizes.text * 2.6;
        let rows = rows(sheet, &names, x, height, None)?;
        for (c, &middle) in known.iter().zip(&rows.middles) {
            let (low, high) = expected_inside(c.nominal, c.of);
            let (below, above) = (middle - height * 0.3, middle + height * 0.3);
            let edges = vec![(percent(low, c.of), below, above), (percent(high, c.of), below, above)];
            rows.panel.fill(&edges, Ink::Model, OUTER_BAND * 1.5)?;
            rows.panel.line(&[(100.0 * c.nominal, below), (100.0 * c.nominal, above)], should())?;
            rows.panel.mark((percent(c.inside, c.of), middle), Shape::Dot, Ink::Text)?;
        }
        Ok(())
    })
}

fn should() -> Stroke {
    Stroke::new(Ink::Alert, 2.2, Dash::Solid)
}

fn describe(known: &[&Coverage]) -> String {
    let one = |c: &&Coverage| {
        let (low, high) = expected_inside(c.nominal, c.of);
        let verdict = match c.inside {
            inside if inside < low => "fewer than chance allows: the intervals are too narrow",
            inside if inside > high => "more than chance allows: the intervals are too wide",
            _ => "as expected",
        };
        let level = number(100.0 * c.nominal, 0);
        format!(
            "{level} % interval: {} of {} inside, {low} to {high} expected, {verdict}.",
            c.inside,
            count(c.of as usize)
        )
    };
    known.iter().map(one).collect::<Vec<_>>().join(" ")
}
