//! The SVG document around a drawing.

use super::compact::compact;
use super::lettering;
use super::sheet::Words;
use super::theme::{FONT_FAMILY, Ink, Scheme, hex, style_sheet};

/// Puts the drawing library's elements into a document with a title, a description, colours for light and dark, and
/// a ground, `w` by `h` tenths of pixels.
pub(super) fn document(drawn: &str, words: &Words<'_>, (w, h): (i32, i32)) -> String {
    let elements = drawn.split_once('>').map_or("", |(_, rest)| rest);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}\" height=\"{}\" viewBox=\"0 0 {w} {h}\" role=\"img\" \
         class=\"doughwright-chart\" font-family=\"{FONT_FAMILY}\">\n<title>{}</title>\n<desc>{}</desc>\n\
         <style>{}</style>\n<rect width=\"{w}\" height=\"{h}\" fill=\"{}\"/>{}",
        w / 10,
        h / 10,
        escape(words.title),
        escape(&words.description),
        style_sheet(),
        hex(Ink::Paper.colour(Scheme::Light)),
        compact(elements),
    )
}

fn escape(text: &str) -> String {
    lettering::clean(text).replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
