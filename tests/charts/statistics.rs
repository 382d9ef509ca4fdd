//! The few statistics that charts work out themselves, against scipy 1.17.1.

use doughwright::charts::{expected_in_bin, expected_inside, order_statistic};

/// `scipy.stats.binom.ppf(0.05, n, p)` and `binom.ppf(0.95, n, p)`.
#[test]
fn the_calibration_band_is_the_binomials() {
    for (p, n, low, high) in
        [(0.5, 40, 15, 25), (0.8, 40, 28, 36), (0.9, 40, 33, 39), (0.9, 3, 2, 3), (0.9, 3_000, 2_673, 2_727)]
    {
        assert_eq!(expected_inside(p, n), (low, high), "{p} of {n}");
    }
}

/// `scipy.stats.binom.ppf(0.005, n, 1 / bins)` and `binom.ppf(0.995, n, 1 / bins)`.
#[test]
fn the_rank_histograms_band_is_the_binomials() {
    for (kitchens, bins, low, high) in [(300, 20, 6, 25), (1_000, 20, 33, 69), (50, 10, 0, 11)] {
        assert_eq!(expected_in_bin(kitchens, bins), (low, high), "{kitchens} in {bins}");
    }
}

/// `scipy.stats.norm.ppf((i - 0.5) / n)`, and `norm.ppf(beta.ppf(q, i, n + 1 - i))` for q = 0.05 and 0.95 (SciPy,
/// version not noted).
#[test]
fn the_quantile_charts_band_is_the_order_statistics() {
    let cases = [
        (1, 3, -0.967421566101701, -2.121201429680507, 0.3360856229391255),
        (2, 3, 0.0, -1.1014502989065713, 1.1014502989065709),
        (1, 30, -2.128045234184984, -2.927532701616291, -1.3103788475750044),
        (15, 30, -0.0417892978164538, -0.41548714573283585, 0.33199225108201647),
        (100, 3_000, -1.836164486068934, -1.9092237549808102, -1.763817458287247),
    ];
    for (i, n, expected, low, high) in cases {
        let (found, band) = order_statistic(i, n);
        for (a, b) in [(found, expected), (band.0, low), (band.1, high)] {
            assert!((a - b).abs() < 1e-6, "{i} of {n}: {a} against {b}");
        }
    }
}
