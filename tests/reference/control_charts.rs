//! Control charts, run rules, capability and change points against published examples and other people's libraries.
//! `datasets/control-charts/README.md` names the origin of every file, and the calls behind the values of `reference.py` and
//! `reference.R` quoted here.

#[path = "control_charts/change.rs"]
mod change;
#[path = "control_charts/few_batches.rs"]
mod few_batches;
#[path = "control_charts/histories.rs"]
mod histories;
#[path = "control_charts/run_lengths.rs"]
mod run_lengths;

use std::collections::BTreeSet;

use doughwright::consistency::autocorrelation::Autocorrelation;
use doughwright::consistency::capability::{Capability, OwnLimits, of_both, of_nearer, share};
use doughwright::consistency::constants::{Constants, c4};
use doughwright::consistency::cusum::cusum;
use doughwright::consistency::ewma::ewma;
use doughwright::consistency::individuals::Individuals;
use doughwright::consistency::normality::anderson_darling;
use doughwright::consistency::rules::{Rule, signals};
use doughwright::consistency::subgroups::XbarS;
use doughwright::consistency::usual::{Usual, tolerance_factor};
use doughwright::consistency::{Measure, Point, Series};
use doughwright::dough::When;
use serde::de::DeserializeOwned;

/// NIST/SEMATECH e-Handbook 6.3.2.2, flow rates of ten batches.
pub const FLOW: [f64; 10] = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];

/// The rows of a file of `datasets/control-charts`.
pub fn read<T: DeserializeOwned>(file: &str) -> Vec<T> {
    let path = format!("{}/datasets/control-charts/{file}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(path).unwrap();
    reader.deserialize().map(Result::unwrap).collect()
}

/// Fails unless both agree to within `tolerance`.
pub fn close(ours: f64, theirs: f64, tolerance: f64) {
    assert!((ours - theirs).abs() <= tolerance, "{ours} differs from {theirs} by more than {tolerance}");
}

/// Invented batches, one a day.
pub fn points(values: &[f64]) -> Vec<Point> {
    let first: jiff::civil::Date = "2026-01-01".parse().unwrap();
    let day = |i: usize| When::on(first.checked_add(jiff::Span::new().days(i as i64)).unwrap());
    let point = |(i, value): (usize, &f64)| Point {
        batch_id: format!("b{i}"),
        when: day(i),
        value: *value,
        subgroup: Some(day(i).to_string()),
    };
    values.iter().enumerate().map(point).collect()
}

/// Invented misses, one batch a day.
pub fn series(values: &[f64]) -> Series {
    Series::new(Measure::Miss, points(values)).unwrap()
}

#[test]
fn constants_agree_with_the_published_table() {
    // Walpole, Myers, Myers & Ye, Probability & Statistics for Engineers & Scientists, table A.22. It prints three places (c4: four);
    // its D4 for n = 3 and 18 and d3 for n = 19 are off by up to one in the last place (capstat-core 0.4.3 and we agree), since
    // they follow from rounded d2 and d3.
    #[derive(serde::Deserialize)]
    struct Row {
        n: usize,
        a2: f64,
        a3: f64,
        c4: f64,
        b3: f64,
        b4: f64,
        d2: f64,
        d3: f64,
        d3_lower: f64,
        d4: f64,
    }
    let rows: Vec<Row> = read("constants.csv");
    assert_eq!(rows.len(), 19);
    for r in rows {
        let c = Constants::for_size(r.n).unwrap();
        let (half, one) = (0.000_51, 0.001);
        for (ours, theirs) in [(c.a2, r.a2), (c.a3, r.a3), (c.b3, r.b3), (c.b4, r.b4), (c.d2, r.d2)] {
            close(ours, theirs, half);
        }
        close(c.c4, r.c4, 0.000_051);
        for (ours, theirs) in [(c.d3, r.d3), (c.d3_lower, r.d3_lower), (c.d4, r.d4)] {
            close(ours, theirs, one);
        }
    }
    // Closed forms: d2(2) = 2/sqrt(pi), d2(3) = 3/sqrt(pi), d3(2) = sqrt(2 - 4/pi), c4(2) = sqrt(2/pi).
    let pi = std::f64::consts::PI;
    let (two, three) = (Constants::for_size(2).unwrap(), Constants::for_size(3).unwrap());
    close(two.d2, 2.0 / pi.sqrt(), 1e-9);
    close(three.d2, 3.0 / pi.sqrt(), 1e-9);
    close(two.d3, (2.0 - 4.0 / pi).sqrt(), 1e-8);
    close(c4(2), (2.0 / pi).sqrt(), 1e-12);
    close(two.e2, 2.6587, 5e-5); // common practice prints 2.66
    assert_eq!(Constants::for_size(1), None);
}

#[test]
fn individuals_chart_of_the_handbook() {
    // NIST/SEMATECH e-Handbook 6.3.2.2: mean 50.81, mean moving range 1.8778, limits 55.8041 and 45.8159 (it takes d2 = 1.128,
    // which moves the limits by 0.0019), nothing out of control.
    let chart = Individuals::of(&FLOW).unwrap();
    close(chart.center, 50.81, 1e-9);
    close(chart.moving_range.mean, 1.8778, 5e-5);
    close(chart.upper, 55.8041, 0.0020);
    close(chart.lower, 45.8159, 0.0020);
    close(50.81 + 3.0 * chart.moving_range.mean / 1.128, 55.8041, 5e-5);
    close(chart.moving_range.upper, 3.267 * 1.8778, 0.001); // D4 of its table in 6.3.2.1
    assert!(FLOW.iter().all(|x| (chart.lower..=chart.upper).contains(x)));
}

#[test]
fn moving_average_of_the_handbook() {
    // NIST/SEMATECH e-Handbook 6.3.2.4: lambda 0.3, start 50, s 2.0539: limits 52.5884 and 47.4115 (with 0.4201 for
    // sqrt(0.3/1.7)), all values printed to two places, none beyond the limits.
    #[derive(serde::Deserialize)]
    struct Row {
        value: f64,
        ewma: f64,
    }
    let rows: Vec<Row> = read("nist-ewma.csv");
    let values: Vec<f64> = rows.iter().map(|r| r.value).collect();
    let chart = ewma(&values, 50.0, 2.0539, 0.3, 3.0);
    for (ours, row) in chart.values.iter().zip(&rows) {
        close(*ours, row.ewma, 0.005_001);
    }
    close(chart.upper[19], 52.5884, 1e-4);
    close(chart.lower[19], 47.4115, 1e-4);
    close(chart.upper[0], 50.0 + 3.0 * 0.3 * 2.0539, 1e-9); // the first value has the spread lambda sigma
    assert!(chart.signals.is_empty());
}

#[test]
fn cumulative_sums_of_the_handbook() {
    // NIST/SEMATECH e-Handbook 6.3.2.3: target 325, k 0.3175, h 4.1959: both sums printed to two places, groups 14 to 20 out of
    // control.
    #[derive(serde::Deserialize)]
    struct Row {
        value: f64,
        high: f64,
        low: f64,
    }
    let rows: Vec<Row> = read("nist-cusum.csv");
    let values: Vec<f64> = rows.iter().map(|r| r.value).collect();
    let chart = cusum(&values, 325.0, 0.3175, 4.1959);
    for (i, row) in rows.iter().enumerate() {
        close(chart.high[i], row.high, 0.005_001);
        close(chart.low[i], row.low, 0.005_001);
    }
    assert_eq!(chart.signals, (13..20).collect::<Vec<usize>>());
}

#[test]
fn capability_of_the_handbook_and_its_intervals() {
    // NIST/SEMATECH e-Handbook 6.1.6: limits 8 and 20, mean 16, s 2: Cp 1.0, Cpk 0.6667.
    let unit = (8.0_f64 / 7.0).sqrt(); // eight values with mean 16 and s 2
    let values: Vec<f64> = (0..8).map(|i| 16.0 + if i % 2 == 0 { 2.0 } else { -2.0 } / unit).collect();
    let c = Capability::of(&values, &OwnLimits::new(Some(8.0), Some(20.0)).unwrap()).unwrap();
    close(c.pp.unwrap(), 1.0, 1e-9);
    close(c.ppk, 0.6667, 5e-5);
    // SciPy 1.17.1, reference.py: 1.2 sqrt(chi2.ppf([.05, .95], 49)/49).
    let interval = of_both(1.2, 49.0).unwrap();
    close(interval.p05, 0.998_566_728_9, 1e-8);
    close(interval.p95, 1.396_260_708_7, 1e-8);
    // SciPy 1.17.1: binomtest(27, 30).proportion_ci(0.90, "exact").
    let inside = share(27, 30);
    close(inside.p05, 0.761_402_142_7, 1e-8);
    close(inside.p95, 0.972_184_450_3, 1e-8);
    assert_eq!((share(0, 5).p05, share(5, 5).p95), (0.0, 1.0));
    assert!(OwnLimits::new(Some(2.0), Some(1.0)).is_err() && OwnLimits::new(None, None).is_err());
    assert!(OwnLimits::new(Some(2.0), Some(2.0)).is_err() && OwnLimits::new(Some(f64::NAN), None).is_err());
}

#[test]
fn capability_by_neighbours_and_by_one_limit() {
    // Bissell's interval by arithmetic with SciPy 1.17.1, norm.ppf(.95): 1.2 -+ 1.644854 sqrt(1/450 + 1.44/98).
    let nearer = of_nearer(1.2, 50, 49.0);
    close(nearer.p05, 0.986_067_199_8, 1e-8);
    close(nearer.p95, 1.413_932_800_2, 1e-8);
    // By arithmetic on the flow rates: mean 50.81, mean moving range 16.9/9, sigma that over 1.128379.
    let c = Capability::of(&FLOW, &OwnLimits::new(Some(45.0), Some(55.0)).unwrap()).unwrap();
    let sigma = 16.9 / 9.0 / std::f64::consts::FRAC_2_SQRT_PI;
    close(c.cp.unwrap(), 10.0 / (6.0 * sigma), 1e-8);
    close(c.cpk, 4.19 / (3.0 * sigma), 1e-8);
    assert_eq!((c.inside, c.batches), (10, 10));
    // A sigma from nine moving ranges is worth 9/(2 * 0.8264) degrees of freedom (`individuals.rs`).
    let within = of_both(c.cp.unwrap(), 9.0 / (2.0 * 0.8264)).unwrap();
    let overall = of_both(c.pp.unwrap(), 9.0).unwrap();
    assert_eq!((c.cp_interval, c.pp_interval), (Some(within), Some(overall)));
    assert_eq!(c.cpk_interval, of_nearer(c.cpk, 10, 9.0 / (2.0 * 0.8264)));
    assert_eq!(c.ppk_interval, of_nearer(c.ppk, 10, 9.0));
    // 47.6 and 47.8 lie below 48; a value on a limit is inside.
    let c = Capability::of(&FLOW, &OwnLimits::new(Some(48.0), None).unwrap()).unwrap();
    assert_eq!((c.cp, c.pp, c.inside), (None, None, 8));
    close(c.cpk, 2.81 / (3.0 * sigma), 1e-8);
    let c = Capability::of(&FLOW, &OwnLimits::new(Some(47.6), Some(53.6)).unwrap()).unwrap();
    assert_eq!(c.inside, 10);
    let c = Capability::of(&FLOW, &OwnLimits::new(None, Some(52.0)).unwrap()).unwrap();
    assert_eq!(c.inside, 6);
    assert_eq!(Capability::of(&FLOW[..2], &OwnLimits::new(Some(48.0), None).unwrap()), None);
    assert!(Capability::of(&FLOW[..3], &OwnLimits::new(Some(48.0), None).unwrap()).is_some());
    // Limits of a rise about its target, as logarithms.
    let rise = OwnLimits::of_rise(Some(2.0), Some(2.4), 2.2).unwrap();
    close(rise.lower.unwrap(), (2.0_f64 / 2.2).ln(), 1e-12);
    close(rise.upper.unwrap(), (2.4_f64 / 2.2).ln(), 1e-12);
}

#[test]
fn intervals_for_batches_to_come() {
    // NIST/SEMATECH e-Handbook 7.2.6.3: n = 43, 90 % of the population with 99 % confidence: k = 2.217 (from memory); the exact
    // factor by R package spc 0.6.7, tol.lim.fac(43, .9, .01) = 2.2173, tol.lim.fac(30, .9, .05) = 2.1398. Howe's is
    // an approximation, good to 0.1 % there.
    close(tolerance_factor(43, 0.9, 0.99).unwrap(), 2.217, 5e-4);
    close(tolerance_factor(30, 0.9, 0.95).unwrap(), 2.139_768, 0.0022);
    // SciPy 1.17.1, reference.py: mean +- t.ppf(.95, 9) s sqrt(1.1).
    let usual = Usual::of(&FLOW, true).unwrap();
    close(usual.lower, 46.899_745_768_4, 1e-8);
    close(usual.upper, 54.720_254_231_6, 1e-8);
    // Between the least and the greatest of 19 the 20th falls with chance 18/20 (Hahn & Meeker 1991, chapter 5 - from memory).
    let ranks: Vec<f64> = (1..=19).map(f64::from).collect();
    let free = Usual::of(&ranks, false).unwrap();
    assert_eq!((free.lower, free.upper), (1.0, 19.0));
    assert_eq!(Usual::of(&ranks[..18], false), None);
    // With 95 % confidence: mean -+ k s, k = 2.838191 by Howe's formula (SciPy 1.17.1: norm.ppf, chi2.ppf); s from the above with
    // t.ppf(.95, 9) = 1.833113.
    close(tolerance_factor(10, 0.9, 0.95).unwrap(), 2.838_191_270_2, 1e-8);
    let s = (usual.upper - usual.lower) / (2.0 * 1.833_112_933 * 1.1_f64.sqrt());
    let (least, most) = usual.sure.unwrap();
    close(least, 50.81 - 2.838_191_270_2 * s, 1e-7);
    close(most, 50.81 + 2.838_191_270_2 * s, 1e-7);
    assert_eq!((tolerance_factor(1, 0.9, 0.95), tolerance_factor(0, 0.9, 0.95)), (None, None));
    assert!(tolerance_factor(2, 0.9, 0.95).is_some());
    assert!(Usual::of(&FLOW[..2], true).is_none() && Usual::of(&FLOW[..3], true).is_some());
    let misses = Usual { lower: -0.1, upper: 0.2, ..free };
    let (low, high) = misses.as_rise(2.0);
    close(low, 2.0 * (-0.1_f64).exp(), 1e-12);
    close(high, 2.0 * 0.2_f64.exp(), 1e-12);
}

#[test]
fn normality_and_autocorrelation() {
    // R package nortest 1.0.4, ad.test.
    let flow = anderson_darling(&FLOW).unwrap();
    close(flow.a_squared, 0.304_858_049_3, 1e-8);
    close(flow.p, 0.507_861_843_6, 1e-8);
    let skewed: Vec<f64> = FLOW.iter().map(|x| ((x - 50.0) / 2.0).exp()).collect();
    let skewed = anderson_darling(&skewed).unwrap();
    close(skewed.a_squared, 0.357_841_931_1, 1e-8);
    close(skewed.p, 0.376_948_511_3, 1e-8);
    // R 4.2.2, acf(Nile)$acf[2].
    let nile = Autocorrelation::of(&nile()).unwrap();
    close(nile.lag1, 0.498_408_184_1, 1e-9);
    assert!(nile.matters());
}

/// Yearly flow of the Nile at Aswan, 1871-1970, 1e8 m3.
pub fn nile() -> Vec<f64> {
    read::<(u16, f64)>("nile.csv").into_iter().map(|r| r.1).collect()
}

#[test]
fn run_rules_agree_with_two_libraries() {
    // pccpy 0.16.2 (Nelson) and capstat-core 0.4.3 (Nelson, Western Electric) on 400 invented points, reference.py.
    let z: Vec<f64> = read::<(f64,)>("rules-series.csv").into_iter().map(|r| r.0).collect();
    let points = points(&z);
    let ours: BTreeSet<(String, usize)> = signals(&points, &z, &Rule::ALL)
        .into_iter()
        .map(|s| (s.rule.to_string(), points.iter().position(|p| p.batch_id == s.batch_id).unwrap()))
        .collect();
    let expected: Vec<(String, String, usize)> = read("rules-expected.csv");
    for library in ["pccpy", "capstat-core"] {
        let theirs: BTreeSet<(String, usize)> =
            expected.iter().filter(|e| e.0 == library).map(|e| (e.1.clone(), e.2)).collect();
        let rules: BTreeSet<&String> = theirs.iter().map(|t| &t.0).collect();
        assert_eq!(
            rules.len(),
            if library == "pccpy" { 8 } else { 12 },
            "every rule of {library} signals somewhere"
        );
        let of_its_rules = ours.iter().filter(|o| rules.contains(&o.0)).cloned().collect();
        assert_eq!(theirs, of_its_rules, "{library}");
    }
}

#[test]
fn means_and_spreads_of_days() {
    // capstat-core 0.4.3, xbar_s_chart; SciPy 1.17.1, f_oneway (reference.py).
    let rows: Vec<(u32, f64)> = read("subgroups.csv");
    let values: Vec<f64> = rows.iter().map(|r| r.1).collect();
    let mut points = points(&values);
    for (point, row) in points.iter_mut().zip(&rows) {
        point.subgroup = Some(format!("day {}", row.0));
    }
    let chart = XbarS::of(&points).unwrap();
    assert_eq!((chart.subgroups.len(), chart.from_means), (12, false));
    close(chart.center, -0.008_661_111_111, 1e-12);
    close(chart.subgroups[0].mean_lower, -0.206_441_143_947, 1e-10);
    close(chart.subgroups[0].mean_upper, 0.189_118_921_725, 1e-10);
    close(chart.subgroups[0].sd_upper.unwrap(), 0.259_890_532_674, 1e-10);
    assert_eq!(chart.subgroups[0].sd_lower, Some(0.0));
    close(chart.p_alike.unwrap(), 0.538_502_431_8, 1e-8);
}
