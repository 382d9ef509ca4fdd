//! Nothing leaves the picture and no label lies on another, measured with the bundled font's own shapes by the SVG
//! library that draws the PNGs (usvg 0.49, which lays text out by itself).

use std::sync::Arc;

use doughwright::charts::{Figure, Scheme};
use resvg::usvg::{self, Node, Rect, Tree, fontdb};
use rstest::rstest;

use crate::data::{Names, all_figures};

fn tree(svg: &str) -> Tree {
    let mut fonts = fontdb::Database::new();
    fonts.load_font_data(include_bytes!("../../assets/fonts/DejaVuSans-subset.ttf").to_vec());
    let options = usvg::Options { fontdb: Arc::new(fonts), ..usvg::Options::default() };
    Tree::from_str(svg, &options).expect("the SVG is well formed")
}

/// Boxes of texts with their words, and of everything else.
fn boxes(group: &usvg::Group, texts: &mut Vec<(String, Rect)>, others: &mut Vec<Rect>) {
    for node in group.children() {
        match node {
            Node::Group(inner) => boxes(inner, texts, others),
            Node::Text(text) => {
                let words = text.chunks().iter().map(|chunk| chunk.text()).collect::<String>();
                texts.push((words, text.abs_bounding_box()));
            }
            other => others.push(other.abs_stroke_bounding_box()),
        }
    }
}

/// Panics when something of the figure leaves the picture or two labels overlap.
pub fn check(figure: &Figure, case: &str) {
    let tree = tree(&figure.fixed_svg(Scheme::Light));
    let (width, height) = (tree.size().width(), tree.size().height());
    let (mut texts, mut others) = (Vec::new(), Vec::new());
    boxes(tree.root(), &mut texts, &mut others);
    assert!(texts.len() >= 3, "{case}: {} has next to no text", figure.name);
    assert!(others.len() >= 3, "{case}: {} has next to no drawing", figure.name);
    let slack = 0.51;
    let inside = |r: &Rect| {
        r.left() >= -slack && r.top() >= -slack && r.right() <= width + slack && r.bottom() <= height + slack
    };
    for (words, rect) in &texts {
        assert!(
            inside(rect),
            "{case}: {}: \"{words}\" leaves the picture: {rect:?} of {width} x {height}",
            figure.name
        );
    }
    for rect in &others {
        assert!(
            inside(rect),
            "{case}: {}: a shape leaves the picture: {rect:?} of {width} x {height}",
            figure.name
        );
    }
    for (i, (words, a)) in texts.iter().enumerate() {
        for (other, b) in &texts[i + 1..] {
            let apart = a.right() <= b.left()
                || b.right() <= a.left()
                || a.bottom() <= b.top()
                || b.bottom() <= a.top();
            assert!(apart, "{case}: {}: \"{words}\" and \"{other}\" overlap: {a:?} {b:?}", figure.name);
        }
    }
}

#[rstest]
fn labels_are_clear_of_each_other_and_inside(
    #[values(360, 1200)] width_px: u32,
    #[values(3, 30, 3_000)] count: usize,
    #[values(Names::Short, Names::Long)] names: Names,
) {
    for figure in all_figures(count, names, width_px) {
        check(&figure, &format!("{count} points, {names:?} names, {width_px} px"));
    }
}

/// Every label is at least 12 px high at the width that the picture was drawn for.
#[test]
fn text_is_large_enough_to_read() {
    for figure in all_figures(30, Names::Long, 360) {
        let sizes = figure.svg.split("font-size=\"").skip(1).filter_map(|rest| rest.split('"').next());
        for size in sizes {
            let tenths: f64 = size.parse().expect("a number");
            assert!(
                tenths >= 120.0 && tenths.fract() == 0.0,
                "{}: text of {size} tenths of a pixel",
                figure.name
            );
        }
    }
}

#[rstest]
fn a_png_shows_ink_on_its_ground(#[values(Scheme::Light, Scheme::Dark)] scheme: Scheme) {
    for figure in all_figures(30, Names::Short, 360) {
        let png = figure.png(scheme, 1.0).expect("a PNG");
        let pixels = resvg::tiny_skia::Pixmap::decode_png(&png).expect("a readable PNG");
        assert_eq!(pixels.width(), 360);
        let ground = pixels.pixel(0, 0).expect("a first pixel");
        let inked = pixels.pixels().iter().filter(|p| **p != ground).count();
        let share = inked as f64 / pixels.pixels().len() as f64;
        assert!((0.01..0.9).contains(&share), "{}: {share} of the picture is inked", figure.name);
        assert_eq!(ground.red() > 128, scheme == Scheme::Light, "{}", figure.name);
    }
}
