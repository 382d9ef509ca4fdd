//! Observed against predicted rise: points near the line were predicted well.

use super::axis::{Axis, Scale};
use super::error::ChartError;
use super::figure::{Figure, Table, count, number};
use super::marks::{Dash, Key, Shape, Stroke};
use super::panel::Panel;
use super::plotting::Edges;
use super::residuals::{Observation, ObservationKind};
use super::residuals_over::median;
use super::sheet::{Words, draw};
use super::theme::Ink;
use super::thin::{MOST_POINTS, thin};
use super::ticks::date_text;

const TITLE: &str = "Observed against predicted rise";
/// More intervals than this are drawn as one band.
const MOST_INTERVALS: usize = 60;
const INTERVAL_GROUPS: usize = 20;
const KINDS: [ObservationKind; 3] =
    [ObservationKind::Reading, ObservationKind::Preferment, ObservationKind::End];

/// Shape and colour of a kind of observation.
pub(super) fn look(kind: ObservationKind) -> (Shape, Ink) {
    match kind {
        ObservationKind::End => (Shape::Dot, Ink::Text),
        ObservationKind::Preferment => (Shape::Triangle, Ink::Fourth),
        ObservationKind::Reading => (Shape::Ring, Ink::Quiet),
    }
}

/// The legend's entries for the kinds that occur.
pub(super) fn kinds_in(observations: &[Observation]) -> Vec<(Key, &'static str)> {
    let there = |kind: &ObservationKind| observations.iter().any(|o| o.kind == *kind);
    let key = |kind: ObservationKind| {
        let (shape, ink) = look(kind);
        (Key::Point(shape, ink), kind.words())
    };
    KINDS.into_iter().rev().filter(there).map(key).collect()
}

/// What is said under a chart that shows only some of its points.
pub(super) fn thinned_note(shown: usize, of: usize) -> Option<String> {
    (shown < of)
        .then(|| format!("{} of {} points drawn, the largest misses among them.", count(shown), count(of)))
}

/// Observed against predicted rise with the 90 % interval of each prediction and the line where both are equal.
///
/// # Errors
/// [`ChartError::NothingToDraw`] without observations.
pub fn observed_against_predicted(observations: &[Observation], width_px: u32) -> Result<Figure, ChartError> {
    if observations.is_empty() {
        return Err(ChartError::NothingToDraw { chart: TITLE.to_owned(), needs: "a batch with its rise" });
    }
    let words = Words {
        name: "observed-against-predicted",
        title: TITLE,
        description: describe(observations),
        table: table(observations),
    };
    draw(words, width_px, |sheet| {
        let shown = thin(observations.len(), MOST_POINTS, |i| observations[i].residual_log.abs());
        let each = observations.len() <= MOST_INTERVALS;
        let bar = Stroke::new(Ink::Model, 1.2, Dash::Solid);
        let mut legend = kinds_in(observations);
        legend.push((
            if each { Key::Line(bar) } else { Key::Outer(Ink::Model) },
            "90 % interval of the prediction",
        ));
        legend.push((Key::Line(equal()), "as predicted"));
        sheet.legend(&legend)?;
        let predicted = observations.iter().map(|o| o.predicted_rise_p50);
        let x = Axis::over("predicted rise, times the volume after mixing", Scale::Linear, predicted);
        let (low, high) = (x.low, x.high);
        let y = Axis::over("observed rise, times", Scale::Linear, heights(observations).chain([low, high]));
        let panel = Panel::below(sheet, x, y, sheet.sizes.plot_height())?;
        if each {
            for o in observations {
                let at = o.predicted_rise_p50;
                panel.line(&[(at, o.predicted_rise_p05), (at, o.predicted_rise_p95)], bar)?;
            }
        } else {
            panel.outer_band(&middle_intervals(observations), Ink::Model)?;
        }
        panel.line(&[(low, low), (high, high)], equal())?;
        for kind in KINDS {
            let (shape, ink) = look(kind);
            for o in shown.iter().map(|&i| &observations[i]).filter(|o| o.kind == kind) {
                panel.mark((o.predicted_rise_p50, o.observed_rise), shape, ink)?;
            }
        }
        thinned_note(shown.len(), observations.len()).map_or(Ok(()), |note| sheet.note(&note))
    })
}

/// What the y axis has to reach: all that was observed, and intervals unless they are much wider.
fn heights(observations: &[Observation]) -> impl Iterator<Item = f64> {
    let highest = observations.iter().map(|o| o.observed_rise).fold(0.0, f64::max);
    let intervals = observations.iter().flat_map(|o| [o.predicted_rise_p05, o.predicted_rise_p95]);
    observations.iter().map(|o| o.observed_rise).chain(intervals.filter(move |v| *v < 1.4 * highest))
}

/// The middle interval of groups of observations with similar predictions, at the middle prediction of each.
fn middle_intervals(observations: &[Observation]) -> Edges {
    let mut sorted: Vec<&Observation> = observations.iter().collect();
    sorted.sort_by(|a, b| a.predicted_rise_p50.total_cmp(&b.predicted_rise_p50));
    sorted
        .chunks(sorted.len().div_ceil(INTERVAL_GROUPS))
        .map(|group| {
            let middle = |of: fn(&Observation) -> f64| median(group.iter().map(|o| of(o)));
            (
                middle(|o| o.predicted_rise_p50),
                middle(|o| o.predicted_rise_p05),
                middle(|o| o.predicted_rise_p95),
            )
        })
        .collect()
}

fn equal() -> Stroke {
    Stroke::new(Ink::Alert, 1.8, Dash::Dashed)
}

fn describe(observations: &[Observation]) -> String {
    let all = observations.len();
    let inside = observations.iter().filter(|o| o.inside_90()).count();
    let squares = || observations.iter().map(|o| o.residual_log.powi(2)).filter(|square| square.is_finite());
    let mean_square = squares().sum::<f64>() / squares().count() as f64;
    format!(
        "{} results; {} of them ({} %) lie inside the 90 % interval of their prediction. A typical miss is {} %. \
         Points on the dashed line rose as predicted, points above it rose more.",
        count(all),
        count(inside),
        number(100.0 * inside as f64 / all as f64, 0),
        number(100.0 * mean_square.sqrt().exp_m1(), 1),
    )
}

fn table(observations: &[Observation]) -> Table {
    let headings =
        ["batch", "date", "what", "observed", "predicted", "from (5 %)", "to (95 %)", "residual, %"];
    let row = |o: &Observation| {
        [
            o.batch_id.clone(),
            date_text(o.when_days),
            o.kind.words().to_owned(),
            number(o.observed_rise, 2),
            number(o.predicted_rise_p50, 2),
            number(o.predicted_rise_p05, 2),
            number(o.predicted_rise_p95, 2),
            number(100.0 * o.residual_log.exp_m1(), 1),
        ]
    };
    Table::new(headings, observations.iter().map(row))
}
