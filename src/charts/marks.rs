//! Shapes, strokes and legend keys. Each kind of point has a shape of its own, each kind of line a dash of its own,
//! so that nothing is told by colour alone.

use plotters::element::{Circle, DashedPathElement, PathElement, Polygon};
use plotters::style::{Color, ShapeStyle};

use super::error::ChartError;
use super::sheet::{Rect, Sheet, Surface, units};
use super::theme::{INNER_BAND, Ink, OUTER_BAND, Scheme};

/// The shape of a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    Dot,
    Ring,
    Square,
    Triangle,
    /// An open diamond, larger than the others: set around a point to single it out.
    Diamond,
}

/// A line's colour, width in pixels, and dashes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stroke {
    pub ink: Ink,
    pub width: f64,
    pub dash: Dash,
}

/// Whether a line is broken, and how finely.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Dash {
    Solid,
    Dashed,
    Dotted,
}

impl Dash {
    /// Length of dash and gap in pixels; `None` for an unbroken line.
    pub fn lengths(self) -> Option<(f64, f64)> {
        match self {
            Dash::Solid => None,
            Dash::Dashed => Some((7.0, 5.0)),
            Dash::Dotted => Some((2.0, 3.5)),
        }
    }
}

impl Stroke {
    pub fn new(ink: Ink, width: f64, dash: Dash) -> Self {
        Self { ink, width, dash }
    }
}

impl From<Stroke> for ShapeStyle {
    fn from(stroke: Stroke) -> Self {
        stroke.ink.colour(Scheme::Light).stroke_width(units(stroke.width).unsigned_abs())
    }
}

/// A sample of a mark, for the legend.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Key {
    Point(Shape, Ink),
    Line(Stroke),
    /// A line with points on it.
    Linked(Stroke, Shape),
    /// A band of the outer kind.
    Outer(Ink),
    /// A band of the inner kind, which lies on an outer one.
    Inner(Ink),
    /// A fill of some strength, with an edge.
    Fill(Ink, f64),
    /// Strokes at the foot of a plot.
    Rug,
    /// A point with its 50 and 90 % intervals.
    Interval(Shape, Ink),
}

/// Draws a point's shape at a place in pixels.
pub(super) fn draw_shape(
    surface: &Surface<'_>,
    shape: Shape,
    ink: Ink,
    at: (f64, f64),
    radius: f64,
) -> Result<(), ChartError> {
    let (colour, paper) = (ink.colour(Scheme::Light), Ink::Paper.colour(Scheme::Light));
    let centre = (units(at.0), units(at.1));
    let corners = |offsets: &[(f64, f64)]| -> Vec<(i32, i32)> {
        offsets.iter().map(|(x, y)| (units(at.0 + x * radius), units(at.1 + y * radius))).collect()
    };
    match shape {
        Shape::Dot => surface.draw(&Circle::new(centre, units(radius), colour.filled()))?,
        Shape::Ring => {
            surface.draw(&Circle::new(centre, units(radius), paper.filled()))?;
            surface.draw(&Circle::new(
                centre,
                units(radius),
                colour.stroke_width(units(1.4).unsigned_abs()),
            ))?;
        }
        Shape::Square => {
            let square = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
            surface.draw(&Polygon::new(corners(&square), colour.filled()))?;
        }
        Shape::Triangle => {
            let triangle = [(0.0, -1.25), (1.15, 0.8), (-1.15, 0.8)];
            surface.draw(&Polygon::new(corners(&triangle), colour.filled()))?;
        }
        Shape::Diamond => {
            let diamond = [(0.0, -2.1), (2.1, 0.0), (0.0, 2.1), (-2.1, 0.0), (0.0, -2.1), (2.1, 0.0)];
            surface
                .draw(&PathElement::new(corners(&diamond), colour.stroke_width(units(2.0).unsigned_abs())))?;
        }
    }
    Ok(())
}

/// Draws a straight line between two places in pixels.
pub(super) fn draw_line(
    surface: &Surface<'_>,
    ends: [(f64, f64); 2],
    stroke: Stroke,
) -> Result<(), ChartError> {
    let ends = ends.map(|(x, y)| (units(x), units(y)));
    match stroke.dash.lengths() {
        None => surface.draw(&PathElement::new(ends, stroke))?,
        Some((dash, gap)) => surface.draw(&DashedPathElement::new(ends, units(dash), units(gap), stroke))?,
    }
    Ok(())
}

impl Key {
    /// Draws the sample into a box.
    pub fn draw(self, sheet: &Sheet<'_>, room: Rect) -> Result<(), ChartError> {
        let (x, y) = ((room.left + room.right) / 2.0, (room.top + room.bottom) / 2.0);
        let point = |shape, ink| draw_shape(sheet.surface(), shape, ink, (x, y), sheet.sizes.mark);
        let line = |stroke| draw_line(sheet.surface(), [(room.left, y), (room.right, y)], stroke);
        match self {
            Key::Point(shape, ink) => point(shape, ink),
            Key::Line(stroke) => line(stroke),
            Key::Linked(stroke, shape) => line(stroke).and_then(|()| point(shape, stroke.ink)),
            Key::Outer(ink) => sheet.fill(room, ink, OUTER_BAND),
            Key::Inner(ink) => {
                sheet.fill(room, ink, OUTER_BAND)?;
                sheet.fill(room, ink, INNER_BAND)
            }
            Key::Fill(ink, strength) => sheet.fill(room, ink, strength),
            Key::Rug => [0.25, 0.35, 0.55, 0.75].iter().try_for_each(|part| {
                let x = room.left + (room.right - room.left) * part;
                draw_line(
                    sheet.surface(),
                    [(x, room.bottom), (x, y)],
                    Stroke::new(Ink::Text, 1.2, Dash::Solid),
                )
            }),
            Key::Interval(shape, ink) => {
                line(Stroke::new(ink, 1.6, Dash::Solid))?;
                let quarter = (room.right - room.left) / 4.0;
                let inner = [(room.left + quarter, y), (room.right - quarter, y)];
                draw_line(sheet.surface(), inner, Stroke::new(ink, 5.0, Dash::Solid))?;
                point(shape, Ink::Text)
            }
        }
    }
}
