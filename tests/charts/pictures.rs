//! Small pictures kept letter for letter, so that a change of a chart is seen as a change.

use doughwright::charts::{calibration, flour_lots, observed_against_predicted};

use crate::data::{self, Names, all_figures};

/// Every kind of picture, told by a hash: one that comes out otherwise is to be looked at (in a browser or by a rasteriser),
/// then accepted.
#[test]
fn issue_7_every_picture_is_stable() {
    for width_px in [360, 1200] {
        let drawn = all_figures(30, Names::Short, width_px);
        assert_eq!(drawn, all_figures(30, Names::Short, width_px), "drawn twice");
        let told: Vec<String> =
            drawn.iter().map(|f| format!("{} {}", blake3::hash(f.svg.as_bytes()).to_hex(), f.name)).collect();
        insta::assert_snapshot!(format!("every_picture_at_{width_px}"), told.join("\n"));
    }
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
