//! A plot with its two axes: room for the labels is measured first, the data get what is left.

use plotters::coord::types::RangedCoordf64;
use plotters::prelude::{Cartesian2d, DrawingArea, SVGBackend};

use super::axis::{Axis, Scale};
use super::error::ChartError;
use super::lettering;
use super::marks::{Dash, Stroke, draw_line};
use super::sheet::{Rect, Sheet, Side, Surface, units};
use super::theme::{Ink, Sizes};
use super::ticks::Tick;

type Plot<'a> = DrawingArea<SVGBackend<'a>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

/// A plot that data can be drawn on; values beyond an axis are drawn at its end.
pub(super) struct Panel<'a> {
    pub(super) surface: Surface<'a>,
    pub(super) plot: Plot<'a>,
    pub(super) x: Axis,
    pub(super) y: Axis,
    pub(super) sizes: Sizes,
    /// Where the data lie, in pixels.
    pub area: Rect,
}

/// Labels of the x axis stand at least so far apart, in text sizes, even when shorter.
const CALM_STEP: f64 = 3.6;
impl<'a> Panel<'a> {
    /// Draws the axes over the whole width of the sheet; the sheet's cursor moves below them.
    pub fn below(sheet: &mut Sheet<'a>, x: Axis, y: Axis, plot_height: f64) -> Result<Self, ChartError> {
        let (left, right) = sheet.room();
        let top = sheet.cursor;
        let (panel, bottom) =
            Self::within(sheet, x, y, Rect { left, top, right, bottom: top + plot_height })?;
        sheet.cursor = bottom;
        Ok(panel)
    }

    /// Draws the axes so that the plot, with the name of the y axis above it and its labels at the left, fills `room`;
    /// gives the panel and the lower end of the x axis's labels, which lie below `room`.
    pub fn within(sheet: &mut Sheet<'a>, x: Axis, y: Axis, room: Rect) -> Result<(Self, f64), ChartError> {
        let size = sheet.sizes.text;
        let mut top = room.top;
        for line in lettering::wrap(&y.name, size, room.right - room.left) {
            sheet.text(&line, size, (room.left, top + size * 0.7), Side::Left, Ink::Text)?;
            top += size * lettering::LINE_STEP;
        }
        top += size * 0.3;
        let fits_upright = |ticks: &[Tick]| {
            let steps =
                ticks.windows(2).map(|t| (y.fraction(t[1].at) - y.fraction(t[0].at)) * (room.bottom - top));
            steps.fold(f64::INFINITY, f64::min) >= size * if y.scale == Scale::Log { 1.3 } else { 2.2 }
        };
        let y_ticks = y.ticks(fits_upright);
        let widest =
            y_ticks.iter().map(|t| lettering::width(&t.label, size)).fold(sheet.least_label_width, f64::max);
        let margin = if widest > 0.0 { widest + size * 0.6 } else { 0.0 };
        let area =
            Rect { left: room.left + margin, top, right: room.right - size * 0.4, bottom: room.bottom };
        let panel = Self::over(sheet, x, y, area);
        for tick in &y_ticks {
            let at = panel.pixels(panel.x.low, tick.at).1;
            panel.grid([(area.left, at), (area.right, at)])?;
            sheet.label(&tick.label, (area.left - size * 0.5, at), Side::Right, false)?;
        }
        let bottom = panel.draw_x_axis(sheet)?;
        Ok((panel, bottom))
    }

    fn over(sheet: &Sheet<'a>, x: Axis, y: Axis, area: Rect) -> Self {
        let ends = |axis: &Axis| axis.place(axis.low)..axis.place(axis.high);
        let spec = Cartesian2d::new(
            ends(&x),
            ends(&y),
            (units(area.left)..units(area.right), units(area.bottom)..units(area.top)),
        );
        let surface = sheet.surface().clone();
        let plot = surface.apply_coord_spec(spec);
        Self { surface, plot, x, y, sizes: sheet.sizes, area }
    }

    /// Grid, labels and name of the x axis; gives where they end.
    fn draw_x_axis(&self, sheet: &mut Sheet<'a>) -> Result<f64, ChartError> {
        let (size, area) = (self.sizes.text, self.area);
        let across = |value: f64| area.left + self.x.fraction(value) * (area.right - area.left);
        let middle = area.bottom + size * 1.05;
        // A label at an end may hang over the plot, though not out of the picture.
        let hung = |tick: &Tick| {
            let half = lettering::width(&tick.label, size) / 2.0;
            across(tick.at).clamp(1.5 + half, (self.sizes.width - 1.5 - half).max(1.5 + half))
        };
        let fits = |ticks: &[Tick]| {
            ticks.windows(2).all(|t| {
                let halves = t.iter().map(|t| lettering::width(&t.label, size) / 2.0).sum::<f64>();
                let apart = hung(&t[1]) - hung(&t[0]);
                apart >= halves + size * 1.1 && apart >= size * CALM_STEP
            })
        };
        let ticks = self.x.ticks(fits);
        for tick in &ticks {
            self.grid([(across(tick.at), area.top), (across(tick.at), area.bottom)])?;
            sheet.label(&tick.label, (hung(tick), middle), Side::Middle, false)?;
        }
        let line = Stroke::new(Ink::Quiet, 1.0, Dash::Solid);
        draw_line(&self.surface, [(area.left, area.bottom), (area.right, area.bottom)], line)?;
        let mut bottom = if ticks.is_empty() { area.bottom } else { middle + size * 0.55 };
        for text in lettering::wrap(&self.x.name, size, area.right - area.left) {
            bottom += size * 0.2;
            sheet.text(
                &text,
                size,
                ((area.left + area.right) / 2.0, bottom + size * 0.7),
                Side::Middle,
                Ink::Text,
            )?;
            bottom += size * 1.2;
        }
        Ok(bottom)
    }

    fn grid(&self, ends: [(f64, f64); 2]) -> Result<(), ChartError> {
        draw_line(&self.surface, ends, Stroke::new(Ink::Grid, 1.0, Dash::Solid))
    }

    /// Where a value lies in the picture, in pixels.
    pub fn pixels(&self, x: f64, y: f64) -> (f64, f64) {
        let (x, y) = self.plot.map_coordinate(&self.placed(x, y));
        (f64::from(x) / 10.0, f64::from(y) / 10.0)
    }

    /// Where a value lies along the x axis, in pixels.
    pub fn across(&self, x: f64) -> f64 {
        self.pixels(x, self.y.low).0
    }

    pub(super) fn placed(&self, x: f64, y: f64) -> (f64, f64) {
        let place = |axis: &Axis, v: f64| axis.place(v.clamp(axis.low, axis.high));
        (place(&self.x, x), place(&self.y, y))
    }
}
