//! The sheet of paper that a chart is drawn on: it grows downward, block by block (title, legend, plots, notes), and
//! knows where text already stands, so that no label is set over another or outside the picture.
//!
//! Lengths are pixels. The drawing library takes whole numbers, so it is given tenths of pixels, and the picture's
//! view box is in tenths.

use plotters::coord::Shift;
use plotters::prelude::{
    Color, DrawingArea, FontDesc, FontFamily, FontStyle, IntoDrawingArea, Polygon, SVGBackend,
};
use plotters::style::TextStyle;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::document::document;
use super::error::ChartError;
use super::figure::{Figure, Table};
use super::lettering::{self, ABOVE_MIDDLE, BELOW_MIDDLE, LINE_STEP};
use super::marks::Key;
use super::theme::{FONT_FAMILY, Ink, Scheme, Sizes};

/// Tenths of pixels in a pixel.
const UNIT: f64 = 10.0;
/// More than any chart is high, in pixels; the picture is cut where the drawing ends.
const TALLEST: f64 = 20_000.0;

/// A drawing library's surface of tenths of pixels.
pub(super) type Surface<'a> = DrawingArea<SVGBackend<'a>, Shift>;

/// A rectangle in pixels, y downward.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Rect {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Rect {
    fn touches(&self, other: &Rect) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }
}

/// Which part of a text stands at the given x.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    Left,
    Middle,
    Right,
}

/// The words that go with a picture.
pub(super) struct Words<'a> {
    pub name: &'a str,
    pub title: &'a str,
    pub description: String,
    pub table: Table,
}

/// A sheet being drawn on.
pub(super) struct Sheet<'a> {
    surface: Surface<'a>,
    pub sizes: Sizes,
    /// Where the next block begins.
    pub cursor: f64,
    /// At least so much room is kept for the labels of y axes, so that plots above one another line up.
    pub least_label_width: f64,
    written: Vec<Rect>,
}

/// Draws a figure: `draw` fills the sheet below the title.
pub(super) fn draw(
    words: Words<'_>,
    width_px: u32,
    draw: impl FnOnce(&mut Sheet<'_>) -> Result<(), ChartError>,
) -> Result<Figure, ChartError> {
    let sizes = Sizes::for_width(width_px);
    let mut drawn = String::new();
    let height = {
        let size = (units(sizes.width).unsigned_abs(), units(TALLEST).unsigned_abs());
        let surface = SVGBackend::with_string(&mut drawn, size).into_drawing_area();
        let mut sheet =
            Sheet { surface, sizes, cursor: sizes.border, least_label_width: 0.0, written: Vec::new() };
        sheet.paragraph(words.title, sizes.title, Ink::Text)?;
        draw(&mut sheet)?;
        sheet.surface.present()?;
        (sheet.cursor + sizes.border).ceil()
    };
    let svg = document(&drawn, &words, (units(sizes.width), units(height)));
    let Words { name, title, description, table } = words;
    Ok(Figure { name: name.to_owned(), title: title.to_owned(), description, svg, table })
}

/// Pixels to the tenths that the drawing library is given.
pub(super) fn units(pixels: f64) -> i32 {
    (pixels * UNIT).round() as i32
}

impl<'a> Sheet<'a> {
    /// The surface, for marks placed in pixels.
    pub fn surface(&self) -> &Surface<'a> {
        &self.surface
    }

    /// Left and right end of the room between the borders.
    pub fn room(&self) -> (f64, f64) {
        (self.sizes.border, self.sizes.width - self.sizes.border)
    }

    /// Leaves so many lines of ordinary text free.
    pub fn skip(&mut self, lines: f64) {
        self.cursor += lines * self.sizes.text;
    }

    /// The room that a line of text takes when its middle is at `at`.
    pub fn text_box(&self, text: &str, size: f64, at: (f64, f64), side: Side) -> Rect {
        let wide = lettering::width(text, size);
        let left = match side {
            Side::Left => at.0,
            Side::Middle => at.0 - wide / 2.0,
            Side::Right => at.0 - wide,
        };
        Rect { left, top: at.1 - size * ABOVE_MIDDLE, right: left + wide, bottom: at.1 + size * BELOW_MIDDLE }
    }

    /// Writes a line of text whatever stands there; the caller has made room for it.
    pub fn text(
        &mut self,
        text: &str,
        size: f64,
        at: (f64, f64),
        side: Side,
        ink: Ink,
    ) -> Result<(), ChartError> {
        let text = lettering::clean(text);
        if text.is_empty() {
            return Ok(());
        }
        self.written.push(self.text_box(&text, size, at, side));
        // The SVG writer divides the size by this.
        const WRITERS_DIVISOR: f64 = 1.24;
        let size = f64::from(units(size)) * WRITERS_DIVISOR;
        let font = FontDesc::new(FontFamily::Name(FONT_FAMILY), size, FontStyle::Normal);
        let h_pos = match side {
            Side::Left => HPos::Left,
            Side::Middle => HPos::Center,
            Side::Right => HPos::Right,
        };
        let colour = ink.colour(Scheme::Light);
        let style = TextStyle::from(font).color(&colour).pos(Pos { h_pos, v_pos: VPos::Center });
        self.surface.draw_text(&text, &style, (units(at.0), units(at.1)))?;
        Ok(())
    }

    /// Writes a label of ordinary size if it stays inside the picture and clear of all text so far; says whether it
    /// did. A label on top of a plot gets a ground of its own.
    pub fn label(
        &mut self,
        text: &str,
        at: (f64, f64),
        side: Side,
        grounded: bool,
    ) -> Result<bool, ChartError> {
        let text = lettering::clean(text);
        let size = self.sizes.text;
        let rect = self.text_box(&text, size, at, side);
        let (left, right) = (1.0, self.sizes.width - 1.0);
        if rect.left < left || rect.right > right || self.written.iter().any(|other| rect.touches(other)) {
            return Ok(false);
        }
        if grounded && !text.is_empty() {
            let around = Rect { left: rect.left - 3.0, right: rect.right + 3.0, ..rect };
            self.fill(around, Ink::Paper, 0.8)?;
        }
        self.text(&text, size, at, side, Ink::Text)?;
        Ok(true)
    }

    /// Fills a rectangle.
    pub fn fill(&self, rect: Rect, ink: Ink, strength: f64) -> Result<(), ChartError> {
        let corners = [
            (rect.left, rect.top),
            (rect.right, rect.top),
            (rect.right, rect.bottom),
            (rect.left, rect.bottom),
        ];
        let style = ink.colour(Scheme::Light).mix(strength).filled();
        self.surface.draw(&Polygon::new(corners.map(|(x, y)| (units(x), units(y))), style))?;
        Ok(())
    }

    /// Text over the whole width, wrapped; the block ends below it.
    pub fn paragraph(&mut self, text: &str, size: f64, ink: Ink) -> Result<(), ChartError> {
        let (left, right) = self.room();
        for line in lettering::wrap(&lettering::clean(text), size, right - left) {
            self.text(&line, size, (left, self.cursor + size * ABOVE_MIDDLE), Side::Left, ink)?;
            self.cursor += size * LINE_STEP;
        }
        Ok(())
    }

    /// A remark below a plot.
    pub fn note(&mut self, text: &str) -> Result<(), ChartError> {
        self.skip(0.4);
        self.paragraph(text, self.sizes.text, Ink::Quiet)
    }

    /// What each mark in the picture means, in as many rows as it takes.
    pub fn legend(&mut self, entries: &[(Key, &str)]) -> Result<(), ChartError> {
        let (left, right) = self.room();
        let (size, key) = (self.sizes.text, self.sizes.text * 2.2);
        let gap = size * 0.6;
        self.skip(0.35);
        let mut x = left;
        for (mark, text) in entries {
            let lines = lettering::wrap(&lettering::clean(text), size, right - left - key - gap);
            let wide = lines.iter().map(|line| lettering::width(line, size)).fold(0.0, f64::max);
            if x > left && x + key + gap + wide > right {
                x = left;
                self.cursor += size * LINE_STEP;
            }
            let middle = self.cursor + size * ABOVE_MIDDLE;
            mark.draw(
                self,
                Rect { left: x, top: middle - size * 0.5, right: x + key, bottom: middle + size * 0.5 },
            )?;
            for (i, line) in lines.iter().enumerate() {
                self.cursor += if i > 0 { size * LINE_STEP } else { 0.0 };
                let at = (x + key + gap, self.cursor + size * ABOVE_MIDDLE);
                self.text(line, size, at, Side::Left, Ink::Text)?;
            }
            x += key + gap + wide + size * 1.4;
        }
        self.cursor += size * (LINE_STEP + 0.35);
        Ok(())
    }
}
