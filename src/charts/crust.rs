//! What goes with a better crust or with being called ready: the expected score or verdict along one quantity, all others
//! as they usually are.

use super::axis::{Axis, Scale};
use super::bands::{Curve, Quantiles, inner, middle, outer};
use super::error::ChartError;
use super::figure::{Figure, Table, count, file_name, number};
use super::marks::{Dash, Key, Shape, Stroke};
use super::panel::Panel;
use super::sheet::{Words, draw};
use super::theme::Ink;
use super::thin::{MOST_POINTS, thin};
use super::ticks::plain;

/// What is followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scored {
    /// The score of the crust, 1 to 10.
    Crust,
    /// The verdict at the oven: -1 under, 0 ready, 1 over.
    Verdict,
}

/// The crust's score, or the verdict, along one quantity (a partial dependence).
#[derive(Debug, Clone, PartialEq)]
pub struct CrustChart {
    /// What is followed.
    pub of: Scored,
    /// The quantity, such as "bake temperature".
    pub name: String,
    /// Its unit, such as "°C".
    pub unit: String,
    /// The quantity by rising values, and the expected score.
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
    let title = format!("{} and {}", chart.of.title(), chart.name);
    if chart.score.len() < 2 {
        return Err(ChartError::NothingToDraw { chart: title, needs: chart.of.needs() });
    }
    let axis =
        if chart.unit.is_empty() { chart.name.clone() } else { format!("{}, {}", chart.name, chart.unit) };
    let table = Table::new(
        [axis.as_str(), chart.of.heading(), "5 %", "25 %", "75 %", "95 %"],
        chart.score.iter().map(|(at, q)| {
            let [middle, p05, p25, p75, p95] = [q.p50, q.p05, q.p25, q.p75, q.p95].map(|v| number(v, 2));
            [plain(*at, 2), middle, p05, p25, p75, p95]
        }),
    );
    let name = file_name(chart.of.file(), &chart.name);
    let words = Words { name: &name, title: &title, description: describe(chart), table };
    draw(words, width_px, |sheet| {
        let line = Stroke::new(Ink::Model, sheet.sizes.line, Dash::Solid);
        let mut legend = vec![
            (Key::Line(line), chart.of.expected()),
            (Key::Inner(Ink::Model), "50 % band"),
            (Key::Outer(Ink::Model), "90 % band"),
        ];
        if !chart.batches.is_empty() {
            legend.push((Key::Point(Shape::Ring, Ink::Text), chart.of.of_a_batch()));
        }
        let edge = Stroke::new(Ink::Quiet, 1.4, Dash::Dotted);
        if chart.tried.is_some() {
            legend.push((Key::Line(edge), "tried so far up to here; beyond is a guess"));
        }
        sheet.legend(&legend)?;
        let all = chart.score.iter().map(|p| p.0).chain(chart.batches.iter().map(|b| b.0));
        let x = Axis::over(&axis, Scale::Linear, all);
        let y = chart.of.axis();
        let height = |value: f64| value + chart.of.raised();
        let panel = Panel::below(sheet, x, y, sheet.sizes.plot_height())?;
        let raised = |q: Quantiles| {
            let [p05, p25, p50, p75, p95] = [q.p05, q.p25, q.p50, q.p75, q.p95].map(height);
            Quantiles { p05, p25, p50, p75, p95 }
        };
        let score: Curve = chart.score.iter().map(|(at, q)| (*at, raised(*q))).collect();
        panel.outer_band(&outer(&score), Ink::Model)?;
        panel.inner_band(&inner(&score), Ink::Model)?;
        for at in chart.tried.iter().flat_map(|(from, to)| [*from, *to]) {
            panel.upright(at, edge)?;
        }
        let shown = thin(chart.batches.len(), MOST_POINTS, |_| 0.0);
        for &i in &shown {
            let (at, value) = chart.batches[i];
            panel.mark((at, height(value)), Shape::Ring, Ink::Text)?;
        }
        panel.line(&middle(&score), line)?;
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

impl Scored {
    fn title(self) -> &'static str {
        match self {
            Self::Crust => "Crust",
            Self::Verdict => "Verdict",
        }
    }

    fn file(self) -> &'static str {
        match self {
            Self::Crust => "crust",
            Self::Verdict => "verdict",
        }
    }

    fn needs(self) -> &'static str {
        match self {
            Self::Crust => "batches with a score for the crust",
            Self::Verdict => "batches with a verdict of their ripeness",
        }
    }

    fn heading(self) -> &'static str {
        match self {
            Self::Crust => "score",
            Self::Verdict => "verdict, −1 under to 1 over",
        }
    }

    fn expected(self) -> &'static str {
        match self {
            Self::Crust => "expected score",
            Self::Verdict => "expected verdict",
        }
    }

    fn of_a_batch(self) -> &'static str {
        match self {
            Self::Crust => "a batch's score",
            Self::Verdict => "a batch's verdict",
        }
    }

    fn axis(self) -> Axis {
        match self {
            Self::Crust => Axis::between("score of the crust, 1 to 10", Scale::Linear, 0.7, 10.3),
            Self::Verdict => {
                let words = ["under", "ready", "over"].map(str::to_owned).to_vec();
                Axis::between("verdict at the oven", Scale::Listed(words), -0.2, 2.2)
            }
        }
    }

    /// What is added to a value to place it: words are listed from 0 on.
    fn raised(self) -> f64 {
        match self {
            Self::Crust => 0.0,
            Self::Verdict => 1.0,
        }
    }
}

fn describe(chart: &CrustChart) -> String {
    let inside = |at: f64| chart.tried.is_none_or(|(from, to)| (from..=to).contains(&at));
    let off = |q: &Quantiles| match chart.of {
        Scored::Crust => -q.p50,
        Scored::Verdict => q.p50.abs(),
    };
    let best = chart.score.iter().filter(|p| inside(p.0)).min_by(|a, b| off(&a.1).total_cmp(&off(&b.1)));
    let what = match chart.of {
        Scored::Crust => "The expected score is highest",
        Scored::Verdict => "The expected verdict (−1 under, 0 ready, 1 over) is nearest to ready",
    };
    let found = best.map_or(String::new(), |(at, q)| {
        format!(
            "{what}, {} (90 % band {} to {}), at {} {}.",
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
        "{found}{tried} {} batches. What goes together need not be cause and effect.",
        count(chart.batches.len())
    )
}
