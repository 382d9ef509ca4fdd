//! A plot of rows, each with a name: names stand at the left where they are short, else each above its own row, so
//! that a long name is read whole even on a phone.

use super::axis::{Axis, Scale};
use super::error::ChartError;
use super::lettering;
use super::marks::Stroke;
use super::panel::Panel;
use super::sheet::{Rect, Sheet, Side};
use super::theme::Ink;

/// At most so many rows are drawn in one plot.
pub(super) const MOST_ROWS: usize = 30;
/// Names at the left take at most this part of the width.
const NAMES_SHARE: f64 = 0.36;

/// The plot, and where each row's middle lies on its y axis, whose unit is the pixel.
pub(super) struct Rows<'a> {
    pub panel: Panel<'a>,
    pub middles: Vec<f64>,
}

/// Lays out one row of `height` pixels for each name, over an x axis; names written above rows stand over the
/// upright line `reference`.
pub(super) fn rows<'a>(
    sheet: &mut Sheet<'a>,
    names: &[String],
    x: Axis,
    height: f64,
    reference: Option<(f64, Stroke)>,
) -> Result<Rows<'a>, ChartError> {
    let size = sheet.sizes.text;
    let names: Vec<String> = names.iter().map(|name| lettering::clean(name)).collect();
    let (left, right) = sheet.room();
    let widest = names.iter().map(|name| lettering::width(name, size)).fold(0.0, f64::max);
    let beside = widest <= (right - left) * NAMES_SHARE;
    let (names_width, above) = if beside { (widest + size * 0.8, 0.0) } else { (0.0, size * 1.2) };
    let step = height + above;
    let total = step * names.len() as f64;
    let room = Rect {
        left: left + names_width,
        top: sheet.cursor,
        right,
        bottom: sheet.cursor + total + size * 0.3,
    };
    let y = Axis::between("", Scale::Bare, 0.0, total);
    let (panel, bottom) = Panel::within(sheet, x, y, room)?;
    sheet.cursor = bottom;
    if let Some((at, stroke)) = reference {
        panel.upright(at, stroke)?;
    }
    let middles: Vec<f64> =
        (0..names.len()).map(|i| total - step * i as f64 - above - height / 2.0).collect();
    for (name, middle) in names.iter().zip(&middles) {
        let at = panel.area.bottom - middle;
        if beside {
            sheet.text(name, size, (left, at), Side::Left, Ink::Text)?;
        } else {
            let name = lettering::shorten(name, size, panel.area.right - panel.area.left - size);
            sheet.label(
                &name,
                (panel.area.left + size * 0.4, at - height / 2.0 - size * 0.45),
                Side::Left,
                true,
            )?;
        }
    }
    Ok(Rows { panel, middles })
}
