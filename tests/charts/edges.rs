//! Data at the edge of sense still give a picture that can be read, or a clear word on what is missing.

use doughwright::charts::*;
use doughwright::dough::units::UnitSystem;
use rstest::rstest;

use crate::data::{self, Names};
use crate::layout::check;

#[rstest]
fn one_result_alone_can_be_drawn(#[values(360, 1200)] width_px: u32) {
    let one = data::observations(1, Names::Long);
    for figure in
        residual_panel(&one, &data::coverage(&one), UnitSystem::Metric, width_px).expect("one result")
    {
        check(&figure, "one result");
    }
}

#[rstest]
fn equal_values_do_not_flatten_an_axis_to_nothing(#[values(360, 1200)] width_px: u32) {
    let same = vec![data::observations(1, Names::Short).remove(0); 20];
    for figure in
        residual_panel(&same, &data::coverage(&same), UnitSystem::Metric, width_px).expect("equal results")
    {
        check(&figure, "equal results");
    }
}

#[test]
fn values_that_are_no_numbers_are_left_out() {
    let mut observations = data::observations(20, Names::Short);
    observations[3].residual_log = f64::NAN;
    observations[5].residual_standardised = f64::INFINITY;
    observations[7].predicted_rise_p95 = f64::INFINITY;
    observations[9].observed_rise = f64::NAN;
    observations[11].yeast_pct = 0.0;
    observations[13].room_temp_c = Some(f64::NAN);
    for figure in residual_panel(&observations, &data::coverage(&observations), UnitSystem::Metric, 360)
        .expect("the rest")
    {
        check(&figure, "values that are no numbers");
        assert!(!figure.svg.contains("NaN") && !figure.svg.contains("inf"), "{}", figure.name);
        assert!(!figure.description.contains("NaN"), "{}: {}", figure.name, figure.description);
    }
}

#[test]
fn a_band_without_end_leaves_the_curve_readable() {
    let mut chart = data::rise_chart(30, Names::Short, false);
    for (_, q) in &mut chart.rise {
        q.p95 *= 1e6;
    }
    check(&rise_curve(&chart, 360).expect("a curve"), "a band without end");
    let mut chart = data::temperature_chart(30, Names::Short);
    for (_, q) in &mut chart.pace {
        q.p95 = f64::INFINITY;
    }
    check(&temperature_response(&chart, 360).expect("a curve"), "a band without end");
}

#[rstest]
fn names_of_nothing_or_of_anything_can_be_drawn(
    #[values(
        "",
        " ",
        "x",
        "\u{1}\u{7}",
        "<b>&amp;",
        "面粉 №5 😀",
        "e\u{301}e\u{301}",
        "MMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMM"
    )]
    name: &str,
    #[values(360, 1200)] width_px: u32,
) {
    let name = name.to_owned();
    let mut lots = data::lots(3, Names::Short);
    lots[1].name.clone_from(&name);
    let rise = RiseChart { name: name.clone(), ..data::rise_chart(30, Names::Short, false) };
    let crust = CrustChart { name: name.clone(), ..data::crust_chart(30, Names::Short) };
    let mut steady = data::consistency_chart(30, Names::Short, Measure::Miss);
    steady.batches[3].signals = vec![name.clone()];
    steady.phases[0].name.clone_from(&name);
    let ranks = RankHistogram { parameter: name.clone(), counts: vec![3; 10] };
    let figures = [
        flour_lots(&lots, width_px),
        rise_curve(&rise, width_px),
        crust_score(&crust, width_px),
        consistency(&steady, width_px),
        rank_histograms(&[ranks], width_px),
    ];
    for figure in figures {
        check(&figure.expect("any name"), &format!("{name:?}"));
    }
}

#[test]
fn any_width_gives_a_picture_between_the_narrowest_and_the_widest() {
    for (asked, given) in [(0, NARROWEST_PX), (NARROWEST_PX, 300), (777, 777), (u32::MAX, WIDEST_PX)] {
        let figure =
            calibration(&data::coverage(&data::observations(30, Names::Short)), asked).expect("a chart");
        assert!(figure.svg.contains(&format!("width=\"{given}\"")), "{asked}");
        check(&figure, &format!("{asked} px"));
    }
}

#[test]
fn without_data_every_chart_says_what_it_needs() {
    let nothing = [
        observed_against_predicted(&[], 360),
        residuals_over(&[], Over::Date, 360),
        residuals_by_lot(&[], 360),
        normal_quantiles(&[], 360),
        calibration(&[], 360),
        rank_histograms(&[], 360),
        rise_curve(&RiseChart::default(), 360),
        readiness(&ReadinessChart::default(), 360),
        flour_lots(&[], 360),
        variance_shares(&[], 360),
        yeast_against_hours(&YeastChart { curves: Vec::new(), ..data::yeast_chart(3, Names::Short) }, 360),
        temperature_response(
            &TemperatureChart { pace: Vec::new(), ..data::temperature_chart(3, Names::Short) },
            360,
        ),
        cooling(&CoolingChart { temp_c: Vec::new(), ..data::cooling_chart(3, Names::Short) }, 360),
        crust_score(&CrustChart { score: Vec::new(), ..data::crust_chart(3, Names::Short) }, 360),
        consistency(
            &ConsistencyChart {
                batches: Vec::new(),
                ..data::consistency_chart(3, Names::Short, Measure::Miss)
            },
            360,
        ),
    ];
    for chart in nothing {
        let Err(error @ ChartError::NothingToDraw { .. }) = chart else {
            panic!("drawn from nothing: {chart:?}")
        };
        assert!(error.to_string().contains("it needs"), "{error}");
    }
    assert_eq!(residual_panel(&[], &[], UnitSystem::Metric, 360), Ok(Vec::new()));
}
