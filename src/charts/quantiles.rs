//! A normal quantile chart: sorted residuals against what a normal distribution would give.
//!
//! Of n residuals in order, the i-th stands at the normal quantile of (i - 1/2) / n (Hazen's plotting position). Its
//! 90 % band comes from the distribution of the i-th of n uniform values, Beta(i, n + 1 - i), taken to normal
//! quantiles (David and Nagaraja, *Order Statistics*, 3rd ed., 2003, §2.1). The band holds for each point by itself.

use statrs::distribution::{Beta, ContinuousCDF, Normal};

use super::axis::{Axis, Scale};
use super::error::ChartError;
use super::figure::{Figure, Table, count, number};
use super::marks::{Dash, Key, Shape, Stroke};
use super::panel::Panel;
use super::plotting::Edges;
use super::residuals::Observation;
use super::sheet::{Words, draw};
use super::theme::Ink;
use super::thin::{MOST_POINTS, thin};

const TITLE: &str = "Are the residuals normal?";
/// The band is worked out at so many places at most.
const MOST_BAND_PLACES: usize = 60;

/// The expected normal quantile of the `i`-th (from 1) of `n` values, with its 90 % band.
pub fn order_statistic(i: usize, n: usize) -> (f64, (f64, f64)) {
    let normal = Normal::standard();
    let expected = normal.inverse_cdf((i as f64 - 0.5) / n as f64);
    let band = Beta::new(i as f64, (n + 1 - i) as f64).map_or((f64::NAN, f64::NAN), |beta| {
        let at = |share: f64| normal.inverse_cdf(beta.inverse_cdf(share));
        (at(0.05), at(0.95))
    });
    (expected, band)
}

/// Sorted standardised residuals against normal quantiles.
///
/// # Errors
/// [`ChartError::NothingToDraw`] with fewer than three observations.
pub fn normal_quantiles(observations: &[Observation], width_px: u32) -> Result<Figure, ChartError> {
    let mut sorted: Vec<f64> =
        observations.iter().map(|o| o.residual_standardised).filter(|z| z.is_finite()).collect();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len();
    if n < 3 {
        return Err(ChartError::NothingToDraw {
            chart: TITLE.to_owned(),
            needs: "three batches with their rise",
        });
    }
    let shown = thin(n, MOST_POINTS, |i| sorted[i].abs());
    let expected = |i: usize| Normal::standard().inverse_cdf((i as f64 + 0.5) / n as f64);
    let points: Vec<(f64, f64)> = shown.iter().map(|&i| (expected(i), sorted[i])).collect();
    let band: Edges = thin(n, MOST_BAND_PLACES, |i| expected(i).abs())
        .into_iter()
        .map(|i| {
            let (x, (low, high)) = order_statistic(i + 1, n);
            (x, low, high)
        })
        .collect();
    let words = Words {
        name: "normal-quantiles",
        title: TITLE,
        description: describe(&sorted),
        table: table(&sorted),
    };
    draw(words, width_px, |sheet| {
        sheet.legend(&[
            (Key::Point(Shape::Dot, Ink::Text), "residual"),
            (Key::Line(normal_line()), "normal"),
            (Key::Outer(Ink::Model), "90 % band for each point by itself"),
        ])?;
        let xs = points.iter().map(|p| p.0);
        let x = Axis::over("normal distribution, standard deviations", Scale::Linear, xs);
        let ys = points.iter().map(|p| p.1).chain([x.low, x.high]);
        let y = Axis::over("residual, standard deviations", Scale::Linear, ys);
        let (low, high) = (x.low, x.high);
        let panel = Panel::below(sheet, x, y, sheet.sizes.plot_height())?;
        panel.outer_band(&band, Ink::Model)?;
        panel.line(&[(low, low), (high, high)], normal_line())?;
        for &point in &points {
            panel.mark(point, Shape::Dot, Ink::Text)?;
        }
        match n - shown.len() {
            0 => Ok(()),
            _ => sheet.note(&format!(
                "{} of {} points drawn, both ends among them.",
                count(shown.len()),
                count(n)
            )),
        }
    })
}

fn normal_line() -> Stroke {
    Stroke::new(Ink::Alert, 1.8, Dash::Dashed)
}

fn describe(sorted: &[f64]) -> String {
    let n = sorted.len();
    let outside = (0..n).filter(|&i| {
        let (_, (low, high)) = order_statistic(i + 1, n);
        sorted[i] < low || sorted[i] > high
    });
    let share = 100.0 * outside.count() as f64 / n as f64;
    format!(
        "{} residuals in order of size, the smallest {} and the largest {} standard deviations; {} % of them lie \
         outside their own 90 % band. Points along the dashed line are as a normal distribution gives them; ends \
         that bend away are misses larger than chance.",
        count(n),
        number(sorted[0], 1),
        number(sorted[n - 1], 1),
        number(share, 0)
    )
}

fn table(sorted: &[f64]) -> Table {
    let n = sorted.len();
    let rows = sorted.iter().enumerate().map(|(i, z)| {
        let (expected, (low, high)) = order_statistic(i + 1, n);
        [count(i + 1), number(*z, 2), number(expected, 2), number(low, 2), number(high, 2)]
    });
    Table::new(["rank", "residual, sd", "normal, sd", "from (5 %)", "to (95 %)"], rows)
}
