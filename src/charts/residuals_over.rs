//! Residuals against date, room temperature, yeast or hours: if a pattern shows, the model has not understood that
//! quantity yet.

use super::axis::{Axis, Scale};
use super::error::ChartError;
use super::figure::{Figure, Table, count, number};
use super::marks::{Dash, Key, Shape, Stroke};
use super::panel::Panel;
use super::predicted::{kinds_in, look, thinned_note};
use super::residuals::Observation;
use super::sheet::{Words, draw};
use super::theme::Ink;
use super::thin::{MOST_POINTS, thin};
use super::ticks::{date_text, signed};
use crate::dough::units::UnitSystem;

/// What the residuals are drawn against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over {
    /// The day of mixing.
    Date,
    /// Temperature of the room at mixing, shown in these units.
    RoomTemp(UnitSystem),
    /// Yeast as a part of the flour.
    Yeast,
    /// Time from mixing to the measurement.
    Hours,
}

impl Over {
    fn name(self) -> &'static str {
        match self {
            Self::Date => "residuals-against-date",
            Self::RoomTemp(_) => "residuals-against-room-temperature",
            Self::Yeast => "residuals-against-yeast",
            Self::Hours => "residuals-against-hours",
        }
    }

    fn title(self) -> &'static str {
        match self {
            Self::Date => "Residuals over time",
            Self::RoomTemp(_) => "Residuals against room temperature",
            Self::Yeast => "Residuals against yeast",
            Self::Hours => "Residuals against hours",
        }
    }

    fn axis_name(self) -> &'static str {
        match self {
            Self::Date => "date of mixing",
            Self::RoomTemp(UnitSystem::Metric) => "room temperature at mixing, °C",
            Self::RoomTemp(UnitSystem::Us) => "room temperature at mixing, °F",
            Self::Yeast => "yeast as instant dry, % of flour",
            Self::Hours => "hours from mixing",
        }
    }

    fn scale(self) -> Scale {
        match self {
            Self::Date => Scale::Dates,
            Self::RoomTemp(_) => Scale::Linear,
            Self::Yeast => Scale::Log,
            Self::Hours => Scale::Hours,
        }
    }

    fn of(self, o: &Observation) -> Option<f64> {
        match self {
            Self::Date => Some(o.when_days),
            Self::RoomTemp(units) => o.room_temp_c.map(|c| units.temperature(c)),
            Self::Yeast => (o.yeast_pct > 0.0).then_some(o.yeast_pct),
            Self::Hours => Some(o.total_hours),
        }
    }

    fn text(self, value: f64) -> String {
        match self {
            Self::Date => date_text(value),
            Self::RoomTemp(_) | Self::Hours => number(value, 1),
            Self::Yeast => number(value, 3),
        }
    }
}

/// Name of the axis of residuals.
pub(super) const RESIDUAL_AXIS: &str = "observed against predicted rise, %";
/// Fewer points than this get no line of group middles.
const FEWEST_FOR_MIDDLES: usize = 12;

/// Residuals against one quantity, with the middle of each of a few groups as a line.
///
/// # Errors
/// [`ChartError::NothingToDraw`] when no observation has the quantity.
pub fn residuals_over(observations: &[Observation], over: Over, width_px: u32) -> Result<Figure, ChartError> {
    let usable = |o: &Observation| over.of(o).filter(|v| v.is_finite() && o.residual_log.is_finite());
    let known: Vec<(f64, &Observation)> = observations.iter().filter_map(|o| Some((usable(o)?, o))).collect();
    if known.is_empty() {
        let needs = "a batch with its rise and this quantity";
        return Err(ChartError::NothingToDraw { chart: over.title().to_owned(), needs });
    }
    let middles = middles(&known);
    let table = Table::new(
        ["batch", "what", over.axis_name(), "residual, %"],
        known.iter().map(|(value, o)| {
            let residual = signed(100.0 * o.residual_log.exp_m1(), 1);
            [o.batch_id.clone(), o.kind.words().to_owned(), over.text(*value), residual]
        }),
    );
    let words = Words {
        name: over.name(),
        title: over.title(),
        description: describe(known.len(), &middles, over),
        table,
    };
    draw(words, width_px, |sheet| {
        let mut legend = kinds_in(observations);
        legend.push((Key::Line(nought()), "as predicted"));
        let stroke = Stroke::new(Ink::Model, sheet.sizes.line, Dash::Solid);
        if !middles.is_empty() {
            legend.push((Key::Linked(stroke, Shape::Square), "middle of each group"));
        }
        sheet.legend(&legend)?;
        let x = Axis::over(over.axis_name(), over.scale(), known.iter().map(|(value, _)| *value));
        let residuals = known.iter().map(|(_, o)| o.residual_log);
        let y = Axis::over(RESIDUAL_AXIS, Scale::Change, residuals.chain([0.0]));
        let panel = Panel::below(sheet, x, y, sheet.sizes.plot_height())?;
        panel.level(0.0, nought())?;
        let shown = thin(known.len(), MOST_POINTS, |i| known[i].1.residual_log.abs());
        for (value, o) in shown.iter().map(|&i| known[i]) {
            let (shape, ink) = look(o.kind);
            panel.mark((value, o.residual_log), shape, ink)?;
        }
        panel.line(&middles, stroke)?;
        for &middle in &middles {
            panel.mark(middle, Shape::Square, Ink::Model)?;
        }
        thinned_note(shown.len(), known.len()).map_or(Ok(()), |note| sheet.note(&note))
    })
}

/// The line of no residual.
pub(super) fn nought() -> Stroke {
    Stroke::new(Ink::Alert, 1.8, Dash::Dashed)
}

/// Median place and median residual of groups of equal size, along the quantity.
fn middles(known: &[(f64, &Observation)]) -> Vec<(f64, f64)> {
    if known.len() < FEWEST_FOR_MIDDLES {
        return Vec::new();
    }
    let mut sorted: Vec<(f64, f64)> = known.iter().map(|(value, o)| (*value, o.residual_log)).collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let groups = (sorted.len() / 8).clamp(3, 8);
    (0..groups)
        .map(|g| {
            let group = &sorted[g * sorted.len() / groups..(g + 1) * sorted.len() / groups];
            (median(group.iter().map(|p| p.0)), median(group.iter().map(|p| p.1)))
        })
        .collect()
}

/// The middle value; not a number when there is none.
pub(super) fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_by(f64::total_cmp);
    match sorted.len() {
        0 => f64::NAN,
        n => (sorted[(n - 1) / 2] + sorted[n / 2]) / 2.0,
    }
}

fn describe(known: usize, middles: &[(f64, f64)], over: Over) -> String {
    let start = format!(
        "{} residuals against {}: above the dashed line the dough rose more than predicted.",
        count(known),
        over.axis_name()
    );
    let farthest = middles.iter().copied().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
    farthest.map_or(start.clone(), |(at, middle)| {
        let percent = signed(100.0 * middle.exp_m1(), 1);
        format!(
            "{start} The group farthest from it lies around {} with a middle of {percent} %.",
            over.text(at)
        )
    })
}
