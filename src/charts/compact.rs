//! Makes the drawing library's SVG smaller without changing the picture: it writes every dash of a dashed line as an
//! element of its own and repeats what an element has anyway.

use std::fmt::Write as _;

use super::theme::FONT_FAMILY;

/// The same elements in fewer letters.
pub(super) fn compact(elements: &str) -> String {
    let shorter = elements
        .replace(" opacity=\"1\"", "")
        .replace(&format!(" font-family=\"{FONT_FAMILY}\""), "")
        .replace(" stroke=\"none\" stroke-width=\"10\"", "")
        .replace(" \"/>", "\"/>");
    let mut out = String::with_capacity(shorter.len());
    let mut look = "";
    for line in shorter.lines() {
        match stroke_of(line) {
            Some((attributes, points)) if attributes == look => append(&mut out, points),
            Some((attributes, points)) => {
                close(&mut out, look);
                // Writing to a String cannot fail.
                let _ = write!(out, "<path{attributes}d=\"");
                append(&mut out, points);
                look = attributes;
            }
            None => {
                close(&mut out, look);
                look = "";
                out.push_str(line);
                out.push('\n');
            }
        }
    }
    close(&mut out, look);
    out
}

/// The attributes and the points of an open line: `<polyline fill="none" … points="1,2 3,4"/>`.
fn stroke_of(line: &str) -> Option<(&str, &str)> {
    line.strip_prefix("<polyline")?.strip_suffix("\"/>")?.split_once("points=\"")
}

fn append(out: &mut String, points: &str) {
    let (first, rest) = points.split_once(' ').unwrap_or((points, ""));
    let _ = write!(out, "M{first}");
    if !rest.is_empty() {
        let _ = write!(out, "L{rest}");
    }
}

fn close(out: &mut String, look: &str) {
    if !look.is_empty() {
        out.push_str("\"/>\n");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dashes_of_one_look_become_one_path() {
        let red = |points: &str| {
            format!(
                "<polyline fill=\"none\" opacity=\"1\" stroke=\"#F00000\" stroke-width=\"10\" points=\"{points} \"/>\n"
            )
        };
        let drawn = red("1,2 3,4") + &red("5,6 7,8") + "<circle r=\"1\"/>\n" + &red("9,9 8,8");
        let path =
            |d: &str| format!("<path fill=\"none\" stroke=\"#F00000\" stroke-width=\"10\" d=\"{d}\"/>\n");
        assert_eq!(compact(&drawn), path("M1,2L3,4M5,6L7,8") + "<circle r=\"1\"/>\n" + &path("M9,9L8,8"));
    }
}
