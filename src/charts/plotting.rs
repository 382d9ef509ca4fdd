//! What can be drawn on a plot: lines, bands, points, shaded and named stretches.

use plotters::prelude::{Color, DashedLineSeries, LineSeries, Polygon};

use super::bands::Quantiles;
use super::error::ChartError;
use super::lettering;
use super::marks::{Dash, Shape, Stroke, draw_line, draw_shape};
use super::panel::Panel;
use super::sheet::{Sheet, Side, units};
use super::theme::{INNER_BAND, Ink, OUTER_BAND, Scheme};
use super::thin::corners;

/// A lower and an upper value at each place along the x axis.
pub(super) type Edges = Vec<(f64, f64, f64)>;

/// A point this near to the straight line between its neighbours is left out, in tenths of a pixel.
const STRAIGHT_TENTHS: f64 = 1.5;
/// A cut name of fewer letters tells nobody anything.
const SHORTEST_STUMP: usize = 8;

impl<'a> Panel<'a> {
    /// The points of a line without those that nobody would miss in the picture.
    fn straightened(&self, placed: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
        let tenths: Vec<_> = placed.iter().map(|at| self.plot.map_coordinate(at)).collect();
        let tenths: Vec<_> = tenths.iter().map(|&(x, y)| (f64::from(x), f64::from(y))).collect();
        corners(&tenths, STRAIGHT_TENTHS).into_iter().map(|i| placed[i]).collect()
    }

    /// A line through the points.
    pub fn line(&self, points: &[(f64, f64)], stroke: Stroke) -> Result<(), ChartError> {
        let known = points.iter().filter(|(x, y)| x.is_finite() && y.is_finite());
        let placed = self.straightened(known.map(|&(x, y)| self.placed(x, y)).collect());
        if placed.len() < 2 {
            return Ok(());
        }
        match stroke.dash.lengths() {
            None => {
                for element in LineSeries::new(placed, stroke) {
                    self.plot.draw(&element)?;
                }
            }
            Some((dash, gap)) => {
                for element in DashedLineSeries::new(placed, units(dash), units(gap), stroke.into()) {
                    self.plot.draw(&element)?;
                }
            }
        }
        Ok(())
    }

    /// A line through points `(x, y, reached)`: unbroken where records reach, dashed beyond them.
    pub fn line_reached(&self, points: &[(f64, f64, bool)], stroke: Stroke) -> Result<(), ChartError> {
        let reached = |i: usize| points[i].2 && points[i + 1].2;
        let mut from = 0;
        for step in 0..points.len().saturating_sub(1) {
            // Whole runs are drawn at once, so that dashes do not start anew at every point.
            if step + 2 == points.len() || reached(step + 1) != reached(step) {
                let run: Vec<_> = points[from..=step + 1].iter().map(|p| (p.0, p.1)).collect();
                self.line(
                    &run,
                    Stroke { dash: if reached(step) { Dash::Solid } else { Dash::Dashed }, ..stroke },
                )?;
                from = step + 1;
            }
        }
        Ok(())
    }

    /// A level line over the whole width.
    pub fn level(&self, y: f64, stroke: Stroke) -> Result<(), ChartError> {
        self.line(&[(self.x.low, y), (self.x.high, y)], stroke)
    }

    /// An upright line over the whole height.
    pub fn upright(&self, x: f64, stroke: Stroke) -> Result<(), ChartError> {
        self.line(&[(x, self.y.low), (x, self.y.high)], stroke)
    }

    /// The space between lower and upper edges `(x, lower, upper)`, filled.
    pub fn fill(&self, edges: &Edges, ink: Ink, strength: f64) -> Result<(), ChartError> {
        let known = || edges.iter().filter(|(x, low, high)| x.is_finite() && !low.is_nan() && !high.is_nan());
        let there = self.straightened(known().map(|&(x, low, _)| self.placed(x, low)).collect());
        let back = self.straightened(known().rev().map(|&(x, _, high)| self.placed(x, high)).collect());
        let outline = [there, back].concat();
        if outline.len() >= 4 {
            self.plot.draw(&Polygon::new(outline, ink.colour(Scheme::Light).mix(strength).filled()))?;
        }
        Ok(())
    }

    /// The stretch between two places of the x axis over the whole height, with its edges.
    pub fn shade(&self, from: f64, to: f64, ink: Ink) -> Result<(), ChartError> {
        self.fill(&vec![(from, self.y.low, self.y.high), (to, self.y.low, self.y.high)], ink, OUTER_BAND)?;
        for edge in [from, to].into_iter().filter(|v| (self.x.low..=self.x.high).contains(v)) {
            self.upright(edge, Stroke::new(ink, 1.5, Dash::Solid))?;
        }
        Ok(())
    }

    /// A value with its 50 and 90 % intervals along the x axis: a thick and a thin line, and its middle.
    pub fn interval(&self, q: &Quantiles, y: f64, shape: Shape, ink: Ink) -> Result<(), ChartError> {
        self.line(&[(q.p05, y), (q.p95, y)], Stroke::new(ink, 1.6, Dash::Solid))?;
        self.line(&[(q.p25, y), (q.p75, y)], Stroke::new(ink, 5.0, Dash::Solid))?;
        self.mark((q.p50, y), shape, Ink::Text)
    }

    /// The outer (90 %) band.
    pub fn outer_band(&self, edges: &Edges, ink: Ink) -> Result<(), ChartError> {
        self.fill(edges, ink, OUTER_BAND)
    }

    /// The inner (50 %) band, which lies over the outer one.
    pub fn inner_band(&self, edges: &Edges, ink: Ink) -> Result<(), ChartError> {
        self.fill(edges, ink, INNER_BAND)
    }

    /// A point.
    pub fn mark(&self, at: (f64, f64), shape: Shape, ink: Ink) -> Result<(), ChartError> {
        if at.0.is_finite() && at.1.is_finite() {
            draw_shape(&self.surface, shape, ink, self.pixels(at.0, at.1), self.sizes.mark)?;
        }
        Ok(())
    }

    /// Short strokes along the foot of the plot: where the records lie.
    pub fn rug(&self, values: impl IntoIterator<Item = f64>) -> Result<(), ChartError> {
        let mut places: Vec<i32> = values
            .into_iter()
            .filter(|v| (self.x.low..=self.x.high).contains(v))
            .map(|v| self.pixels(v, self.y.low).0.round() as i32)
            .collect();
        places.sort_unstable();
        places.dedup();
        for x in places.into_iter().map(f64::from) {
            let ends = [(x, self.area.bottom), (x, self.area.bottom - self.sizes.text * 0.7)];
            draw_line(&self.surface, ends, Stroke::new(Ink::Text, 1.2, Dash::Solid))?;
        }
        Ok(())
    }

    /// Writes the name of a stretch of the x axis at its top, cut to fit; leaves it out where only a stump would fit.
    pub fn name_stretch(
        &self,
        sheet: &mut Sheet<'a>,
        name: &str,
        from: f64,
        to: f64,
    ) -> Result<(), ChartError> {
        let (size, name) = (self.sizes.text, lettering::clean(name));
        let left = self.across(from) + size * 0.3;
        let short = lettering::shorten(&name, size, self.across(to) - left - size * 0.3);
        if short == name || short.chars().count() >= SHORTEST_STUMP {
            sheet.label(&short, (left, self.area.top + size * 0.8), Side::Left, true)?;
        }
        Ok(())
    }
}
