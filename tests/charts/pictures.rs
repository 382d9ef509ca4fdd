//! Small pictures kept letter for letter, so that a change of a chart is seen as a change.

use doughwright::charts::{calibration, flour_lots, observed_against_predicted};

use crate::data::{self, Names, all_figures};

/// Every kind of picture, by name, width and hash of its SVG: drawn twice it is the same, and a change of any is seen.
#[test]
fn issue_7_every_picture_is_letter_for_letter_the_same() {
    let mut lines = Vec::new();
    for width_px in [360, 1200] {
        let (first, second) =
            (all_figures(30, Names::Short, width_px), all_figures(30, Names::Short, width_px));
        assert_eq!(first, second);
        for figure in first {
            lines.push(format!("{} {width_px} {}", figure.name, blake3::hash(figure.svg.as_bytes())));
        }
    }
    insta::assert_snapshot!("every_picture", lines.join("\n"));
}

#[test]
fn observed_against_predicted_of_three() {
    let figure = observed_against_predicted(&data::observations(3, Names::Short), 360).expect("a chart");
    insta::assert_snapshot!("observed_against_predicted", figure.svg);
}

#[test]
fn calibration_of_thirty() {
    let coverage = data::coverage(&data::observations(30, Names::Short));
    insta::assert_snapshot!("calibration", calibration(&coverage, 360).expect("a chart").svg);
}

#[test]
fn two_flour_lots_with_long_names() {
    insta::assert_snapshot!("flour_lots", flour_lots(&data::lots(2, Names::Long), 360).expect("a chart").svg);
}
