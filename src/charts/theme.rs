//! How every chart looks: colours by what they mean, sizes of text and marks, dashes.
//!
//! Colours are from the Okabe-Ito palette, made to be told apart by people who see colours differently (Okabe and
//! Ito, "Color Universal Design", 2002, <https://jfly.uni-koeln.de/color/>); no meaning hangs on colour alone, a
//! shape or a dash goes with it. Each SVG carries a style sheet that swaps the colours on a dark screen and leaves
//! them on paper; a viewer that knows no style sheets shows the light ones.

use std::fmt::Write as _;

use plotters::style::RGBColor;

/// The ground a picture stands on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scheme {
    /// Dark ink on a light ground.
    Light,
    /// Light ink on a dark ground.
    Dark,
}

/// A colour, by what it is used for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ink {
    /// The ground.
    Paper,
    /// Text, and what was measured.
    Text,
    /// Axes and lesser lines.
    Quiet,
    /// Grid lines.
    Grid,
    /// What the model says.
    Model,
    /// What is wanted: targets and windows.
    Target,
    /// What asks for attention.
    Alert,
    /// A further series.
    Fourth,
}

impl Ink {
    /// All of them.
    pub const ALL: [Ink; 8] =
        [Ink::Paper, Ink::Text, Ink::Quiet, Ink::Grid, Ink::Model, Ink::Target, Ink::Alert, Ink::Fourth];

    /// Its colour on that ground. All light values differ, so that a style sheet can tell them apart.
    pub const fn colour(self, scheme: Scheme) -> RGBColor {
        let light = matches!(scheme, Scheme::Light);
        match self {
            Ink::Paper if light => RGBColor(0xFF, 0xFF, 0xFE),
            Ink::Paper => RGBColor(0x19, 0x1A, 0x1C),
            Ink::Text if light => RGBColor(0x1A, 0x1A, 0x1A),
            Ink::Text => RGBColor(0xF0, 0xEF, 0xEC),
            Ink::Quiet if light => RGBColor(0x5C, 0x5C, 0x5C),
            Ink::Quiet => RGBColor(0xB4, 0xB4, 0xB4),
            Ink::Grid if light => RGBColor(0xDE, 0xDE, 0xDE),
            Ink::Grid => RGBColor(0x3C, 0x3E, 0x42),
            Ink::Model if light => RGBColor(0x00, 0x72, 0xB2),
            Ink::Model => RGBColor(0x56, 0xB4, 0xE9),
            Ink::Target => RGBColor(0x00, 0x9E, 0x73),
            Ink::Alert => RGBColor(0xD5, 0x5E, 0x00),
            Ink::Fourth => RGBColor(0xCC, 0x79, 0xA7),
        }
    }
}

/// `#RRGGBB`, in capitals, as the SVG writer prints it.
pub(super) fn hex(RGBColor(r, g, b): RGBColor) -> String {
    format!("#{r:02X}{g:02X}{b:02X}")
}

/// The style sheet inside each SVG.
pub(super) fn style_sheet() -> String {
    let mut css = String::from("@media screen and (prefers-color-scheme:dark){");
    for ink in Ink::ALL {
        let (light, dark) = (hex(ink.colour(Scheme::Light)), hex(ink.colour(Scheme::Dark)));
        if light != dark {
            for attribute in ["fill", "stroke"] {
                // Writing to a String cannot fail.
                let _ = write!(css, ".doughwright-chart [{attribute}=\"{light}\"]{{{attribute}:{dark}}}");
            }
        }
    }
    css + "}"
}

/// The typefaces, the bundled one first: text is measured with it, and it is wider than the usual ones after it.
pub(super) const FONT_FAMILY: &str = "DejaVu Sans, Arial, sans-serif";

/// How strongly the outer (90 %) and inner (50 %) bands are filled.
pub(super) const OUTER_BAND: f64 = 0.25;
/// See [`OUTER_BAND`]; the inner band lies over the outer one.
pub(super) const INNER_BAND: f64 = 0.32;

/// Sizes in pixels that follow from the width of the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sizes {
    /// Width of the whole picture.
    pub width: f64,
    /// Height of ordinary text.
    pub text: f64,
    /// Height of the title's text.
    pub title: f64,
    /// From the centre of a mark to its edge.
    pub mark: f64,
    /// Width of a line that carries data.
    pub line: f64,
    /// Free border around everything.
    pub border: f64,
}

/// The narrowest picture that is drawn; asking for less gives this, in pixels.
pub const NARROWEST_PX: u32 = 300;
/// The widest picture that is drawn; asking for more gives this, in pixels.
pub const WIDEST_PX: u32 = 1600;

impl Sizes {
    /// The sizes for a picture of this width in pixels.
    pub fn for_width(width_px: u32) -> Self {
        let width = f64::from(width_px.clamp(NARROWEST_PX, WIDEST_PX));
        let text = (12.0 + width / 300.0).round().min(16.0);
        Self {
            width,
            text,
            title: (text * 1.25).round(),
            mark: if width < 600.0 { 3.5 } else { 4.5 },
            line: if width < 600.0 { 2.0 } else { 2.5 },
            border: if width < 600.0 { 8.0 } else { 14.0 },
        }
    }

    /// The height of the part of a chart where the data lie: wide pictures are lower in proportion.
    pub fn plot_height(&self) -> f64 {
        (self.width * 0.62).clamp(200.0, 440.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast as defined by WCAG 2.2 (W3C, 2023, <https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio>).
    fn contrast(a: RGBColor, b: RGBColor) -> f64 {
        let luminance = |RGBColor(r, g, b): RGBColor| {
            let linear = |c: u8| match f64::from(c) / 255.0 {
                c if c <= 0.04045 => c / 12.92,
                c => ((c + 0.055) / 1.055).powf(2.4),
            };
            0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b)
        };
        let (a, b) = (luminance(a) + 0.05, luminance(b) + 0.05);
        a.max(b) / a.min(b)
    }

    /// WCAG 2.2: 4.5 for text (1.4.3), 3 for what is needed to understand a graphic (1.4.11); the grid is not needed.
    #[test]
    fn text_and_marks_stand_out_from_their_ground() {
        for scheme in [Scheme::Light, Scheme::Dark] {
            let paper = Ink::Paper.colour(scheme);
            for (ink, least) in [
                (Ink::Text, 4.5),
                (Ink::Quiet, 4.5),
                (Ink::Model, 3.0),
                (Ink::Target, 3.0),
                (Ink::Alert, 3.0),
                (Ink::Fourth, 3.0),
            ] {
                let found = contrast(ink.colour(scheme), paper);
                assert!(found >= least, "{ink:?} on {scheme:?}: {found:.2}");
            }
        }
    }

    #[test]
    fn no_two_light_colours_are_the_same() {
        let light: Vec<String> = Ink::ALL.iter().map(|ink| hex(ink.colour(Scheme::Light))).collect();
        assert!(light.iter().enumerate().all(|(i, a)| !light[i + 1..].contains(a)));
    }
}
