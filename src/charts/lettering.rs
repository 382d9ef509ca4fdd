//! How much room text takes, measured with the advance widths of the bundled font, and text cut or wrapped to fit.
//!
//! Widths are sums of advances at the size asked for, without kerning (which only ever draws this font's letters
//! together). A sign that the font lacks counts as one em, as wide as the widest of ordinary signs.

use skrifa::instance::{LocationRef, Size};
use skrifa::{FontRef, MetadataProvider};

/// The bundled font: DejaVu Sans, cut down; see `assets/fonts`.
pub(super) const FONT: &[u8] = include_bytes!("../../assets/fonts/DejaVuSans-subset.ttf");

/// From the top of the line to its middle, as a part of the text size; text is placed by its middle.
pub(super) const ABOVE_MIDDLE: f64 = 0.70;
/// From the middle of the line to its bottom, as a part of the text size.
pub(super) const BELOW_MIDDLE: f64 = 0.50;
/// From one line to the next, as a part of the text size.
pub(super) const LINE_STEP: f64 = 1.3;

const ELLIPSIS: char = '…';
/// No picture has room for more letters of one name.
const LONGEST_SHOWN: usize = 300;

/// Width of `text` at `size`, in the unit of `size`.
pub(super) fn width(text: &str, size: f64) -> f64 {
    let Ok(font) = FontRef::new(FONT) else {
        return size * text.chars().count() as f64;
    };
    let (letters, metrics) = (font.charmap(), font.glyph_metrics(Size::new(1.0), LocationRef::default()));
    let ems = text.chars().map(|c| {
        let glyph = letters.map(c);
        glyph.and_then(|g| metrics.advance_width(g)).map_or(1.0, f64::from)
    });
    ems.sum::<f64>() * size
}

/// `text` on one line without control characters, as an XML document may hold it.
pub(super) fn clean(text: &str) -> String {
    let readable =
        text.chars().map(|c| if c.is_control() || matches!(c, '\u{FFFE}' | '\u{FFFF}') { ' ' } else { c });
    readable.collect::<String>().split_whitespace().collect::<Vec<_>>().join(" ")
}

/// `text`, or its beginning and end around an ellipsis when it is wider than `room`: lots and batches of one
/// kitchen often differ only at the end of their names.
pub(super) fn shorten(text: &str, size: f64, room: f64) -> String {
    if width(text, size) <= room {
        return text.to_owned();
    }
    let letters: Vec<char> = text.chars().collect();
    let cut = |kept: usize| -> String {
        let head = kept.div_ceil(2);
        let start = letters[..head].iter().collect::<String>();
        let end = letters[letters.len() - (kept - head)..].iter().collect::<String>();
        format!("{}{ELLIPSIS}{}", start.trim_end(), end.trim_start())
    };
    let kept = (1..letters.len().min(LONGEST_SHOWN)).rev().find(|&kept| width(&cut(kept), size) <= room);
    kept.map_or_else(|| ELLIPSIS.to_string(), cut)
}

/// `text` broken between words into lines no wider than `room`; a word wider than that is shortened.
pub(super) fn wrap(text: &str, size: f64, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let word = shorten(word, size, room);
        match lines.last_mut() {
            Some(line) if width(&format!("{line} {word}"), size) <= room => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Advances from the font's own table, read with fonttools 4.68.0:
    /// `TTFont(path)["hmtx"]["A"]` = 1401, `["degree"]` = 1024, `["space"]` = 651, of 2048 units per em.
    #[test]
    fn widths_are_the_fonts_own() {
        let close = |text: &str, units: f64| {
            let expected = units / 2048.0 * 100.0;
            assert!(
                (width(text, 100.0) - expected).abs() < 0.01,
                "{text}: {} {expected}",
                width(text, 100.0)
            );
        };
        close("A", 1401.0);
        close("°", 1024.0);
        close("A A", 1401.0 * 2.0 + 651.0);
    }

    #[test]
    fn long_names_keep_both_ends() {
        let name = "strong white flour from the hall's store, lot 2026-07";
        let short = shorten(name, 13.0, 150.0);
        assert!(
            short.starts_with("strong") && short.ends_with("-07") && width(&short, 13.0) <= 150.0,
            "{short}"
        );
        assert_eq!(shorten("a", 13.0, 150.0), "a");
        assert_eq!(shorten("abc", 13.0, 1.0), "…");
    }

    #[test]
    fn wrapped_lines_fit_and_lose_no_word() {
        let text = "share of results inside the interval";
        let lines = wrap(text, 13.0, 120.0);
        assert!(lines.len() > 1 && lines.iter().all(|line| width(line, 13.0) <= 120.0), "{lines:?}");
        assert_eq!(lines.join(" "), text);
    }

    #[test]
    fn what_xml_forbids_is_taken_out() {
        assert_eq!(clean(" a\u{0}\tb\n"), "a b");
    }
}
