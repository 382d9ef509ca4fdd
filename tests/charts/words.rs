//! What a screen reader says, what a program reads, and that the same data give the same picture.

use doughwright::charts::{Figure, Scheme};
use resvg::usvg::roxmltree::{Document, Node};
use rstest::rstest;

use crate::data::{Names, all_figures};

fn child_text<'a>(svg: Node<'a, 'a>, name: &str) -> Option<&'a str> {
    svg.children().find(|n| n.has_tag_name(("http://www.w3.org/2000/svg", name)))?.text()
}

#[rstest]
fn every_picture_has_a_role_a_title_and_a_description(#[values(Names::Short, Names::Long)] names: Names) {
    for figure in all_figures(30, names, 360) {
        let document = Document::parse(&figure.svg).expect("well-formed XML");
        let svg = document.root_element();
        assert_eq!(svg.attribute("role"), Some("img"), "{}", figure.name);
        assert_eq!(child_text(svg, "title"), Some(figure.title.as_str()));
        let description = child_text(svg, "desc").unwrap_or_default();
        assert!(description.len() > 40, "{}: {description}", figure.name);
        assert_eq!(svg.first_element_child().map(|n| n.tag_name().name()), Some("title"), "{}", figure.name);
        assert!(!figure.description.contains("NaN") && !figure.svg.contains("NaN"), "{}", figure.name);
    }
}

/// No link, script, image or font from elsewhere; no identifier that could clash when several stand in one page.
#[test]
fn a_picture_stands_alone() {
    for figure in all_figures(30, Names::Long, 360) {
        let document = Document::parse(&figure.svg).expect("well-formed XML");
        for node in document.descendants().filter(Node::is_element) {
            let allowed =
                ["svg", "title", "desc", "style", "rect", "text", "line", "path", "circle", "polygon"];
            assert!(allowed.contains(&node.tag_name().name()), "{}: {:?}", figure.name, node.tag_name());
            for attribute in ["id", "href", "style", "onload"] {
                assert_eq!(node.attribute(attribute), None, "{}", figure.name);
            }
        }
        assert!(!figure.svg.contains("url(") && !figure.svg.contains("@import"), "{}", figure.name);
    }
}

#[test]
fn tables_are_complete_and_as_wide_as_their_headings() {
    for figure in all_figures(30, Names::Long, 360) {
        assert!(!figure.table.rows.is_empty(), "{}", figure.name);
        for row in &figure.table.rows {
            assert_eq!(row.len(), figure.table.headings.len(), "{}", figure.name);
            assert!(row.iter().all(|cell| !cell.contains("NaN")), "{}: {row:?}", figure.name);
        }
    }
}

#[test]
fn names_for_files_are_plain_and_differ() {
    let figures = all_figures(30, Names::Long, 360);
    let mut names: Vec<&str> = figures.iter().map(|f| f.name.as_str()).collect();
    assert!(
        names.iter().all(|n| n.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'))
    );
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), figures.len());
}

#[test]
fn the_same_data_give_the_same_picture() {
    assert_eq!(all_figures(30, Names::Long, 360), all_figures(30, Names::Long, 360));
}

#[test]
fn pictures_of_many_points_stay_small() {
    for figure in all_figures(3_000, Names::Long, 1_200) {
        assert!(figure.svg.len() < 60_000, "{}: {} bytes", figure.name, figure.svg.len());
    }
}

/// On a dark ground every colour that differs is exchanged, and the style sheet is for those who read the file as it is.
#[test]
fn dark_and_light_differ_only_in_colour() {
    let without_colours = |figure: &Figure, scheme| {
        let svg = figure.fixed_svg(scheme);
        assert!(!svg.contains("<style>"));
        svg.split('#').map(|part| part.get(6..).unwrap_or(part).to_owned()).collect::<String>()
    };
    for figure in all_figures(3, Names::Short, 360) {
        assert!(figure.svg.contains("prefers-color-scheme:dark"));
        assert_ne!(figure.fixed_svg(Scheme::Light), figure.fixed_svg(Scheme::Dark));
        assert_eq!(without_colours(&figure, Scheme::Light), without_colours(&figure, Scheme::Dark));
    }
}
