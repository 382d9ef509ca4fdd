//! A finished chart: the picture, the words that stand for it, and the same numbers as a table.

use super::theme::{Ink, Scheme, hex};

/// A chart, ready for a file or a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Figure {
    /// A short name for file names and links, in lower case with hyphens.
    pub name: String,
    /// What the chart shows, as a headline.
    pub title: String,
    /// What can be read off it, in a sentence or two: also what a screen reader says.
    pub description: String,
    /// The picture: a whole SVG document, readable on light and dark ground.
    pub svg: String,
    /// The numbers in the picture.
    pub table: Table,
}

impl Figure {
    /// The SVG with one scheme's colours fixed and no style sheet, for programs that know no style sheets.
    pub fn fixed_svg(&self, scheme: Scheme) -> String {
        let mut svg = self.svg.clone();
        if let (Some(from), Some(to)) = (svg.find("<style>"), svg.find("</style>")) {
            svg.replace_range(from..to + "</style>".len(), "");
        }
        if scheme == Scheme::Dark {
            for ink in Ink::ALL {
                let (light, dark) = (hex(ink.colour(Scheme::Light)), hex(ink.colour(Scheme::Dark)));
                for attribute in ["fill", "stroke"] {
                    let find = format!("{attribute}=\"{light}\"");
                    svg = svg.replace(&find, &format!("{attribute}=\"{}\"", dark.to_lowercase()));
                }
            }
        }
        svg
    }
}

/// Numbers as text, rounded as they are meant to be read, with the unit in each heading.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Table {
    /// One heading for each column.
    pub headings: Vec<String>,
    /// The rows, each as long as the headings.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    /// A table of these headings and rows.
    pub(super) fn new<const N: usize>(
        headings: [&str; N],
        rows: impl IntoIterator<Item = [String; N]>,
    ) -> Self {
        Self {
            headings: headings.map(str::to_owned).to_vec(),
            rows: rows.into_iter().map(|row| row.to_vec()).collect(),
        }
    }
}

/// A number with so many decimals and a true minus sign; a dash when it is not a number.
pub(super) fn number(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(zero) if zero.chars().all(|c| c == '0' || c == '.') => zero.to_owned(),
        Some(positive) => format!("−{positive}"),
        None => text,
    }
}

/// A whole number with commas between thousands.
pub(super) fn count(value: usize) -> String {
    let digits = value.to_string();
    let mut out = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

/// A name for files: lower-case letters and digits of `text` between hyphens after `start`, not too long.
pub(super) fn file_name(start: &str, text: &str) -> String {
    const LONGEST: usize = 60;
    let mut name = start.to_owned();
    for part in
        text.to_ascii_lowercase().split(|c: char| !c.is_ascii_alphanumeric()).filter(|p| !p.is_empty())
    {
        if name.len() + part.len() >= LONGEST {
            break;
        }
        name.push('-');
        name.push_str(part);
    }
    name
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_as_printed_ones_do() {
        assert_eq!(number(-1.25, 1), "−1.2");
        assert_eq!(number(-0.04, 1), "0.0");
        assert_eq!(number(f64::NAN, 1), "–");
        assert_eq!(file_name("rise", "2026-07-03 Röst/2"), "rise-2026-07-03-r-st-2");
        assert_eq!(["0", "999", "1,000", "1,234,567"], [0, 999, 1_000, 1_234_567].map(count).as_slice());
    }
}
