//! Change points, ratios of spreads, and plans followed, against other implementations.

use doughwright::consistency::Quantiles;
use doughwright::consistency::change::Change;
use doughwright::consistency::followed::{Row, compare};
use doughwright::consistency::shares::{Source, shares};
use doughwright::consistency::spread::{SpreadRatio, batches_to_show};

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use super::{close, nile, points, read};

#[test]
fn posterior_over_positions_agrees_with_multivariate_t_densities() {
    // reference.py: the marginal likelihoods by SciPy 1.17.1, multivariate_t.logpdf, summed over positions.
    let values: Vec<f64> = read::<(f64,)>("change.csv").into_iter().map(|r| r.0).collect();
    let change = Change::of(&points(&values)).unwrap();
    close(change.probability, 1.0 - 0.675_696_226_323, 1e-9);
    close(change.spread_changed, 0.227_031_169_268, 1e-9);
    assert_eq!(change.most_likely.batch_id, "b23");
    close(change.most_likely.probability, 0.250_109_711_504, 1e-9);
    let theirs =
        [0.042_260_313_343, 0.013_621_848_201, 0.015_414_810_627, 0.013_949_074_930, 0.012_157_202_141];
    for (p, theirs) in change.positions.iter().zip(theirs) {
        close(p.probability, theirs, 1e-9);
    }
    assert_eq!(change.positions.len(), 40 - 2 * 3 + 1);
    close(change.positions.iter().map(|p| p.probability).sum(), 1.0, 1e-12);
}

#[test]
fn the_nile_fell_after_1898() {
    // Cobb 1978, Biometrika 65:243-251: the level fell between 1898 and 1899; R package strucchange 1.5.3, breakdates = 1898 (the
    // last year before).
    let change = Change::of(&points(&nile())).unwrap();
    assert!(change.probability > 0.99);
    assert_eq!(change.most_likely.batch_id, format!("b{}", 1899 - 1871));
    // Means 1097.75 and 849.97 before and after, by arithmetic on the file.
    assert!(change.level_shift.p05 < -247.8 && -247.8 < change.level_shift.p95);
    assert!(change.spread_ratio.p05 < 1.0 && 1.0 < change.spread_ratio.p95);
}

#[test]
fn intervals_hold_the_change_that_was_made() {
    // Level up by 1.5 and spread halved from batch 30 on: in 500 histories the 90 % intervals should hold date, ratio and shift
    // in about 90 % (standard error 1.3 %); the interval of dates, made of whole batches, in more.
    let mut rng = ChaCha8Rng::seed_from_u64(30);
    let (mut dates, mut ratios, mut shifts, mut sure) = (0, 0, 0, 0);
    for _ in 0..500 {
        let noise: Vec<f64> = StandardNormal.sample_iter(&mut rng).take(60).collect();
        let value = |(i, e): (usize, &f64)| if i < 30 { *e } else { 1.5 + 0.5 * e };
        let points = points(&noise.iter().enumerate().map(value).collect::<Vec<f64>>());
        let change = Change::of(&points).unwrap();
        let inside = |q: Quantiles, truth: f64| usize::from(q.p05 <= truth && truth <= q.p95);
        dates += usize::from(change.between.0 <= points[30].when && points[30].when <= change.between.1);
        ratios += inside(change.spread_ratio, 0.5);
        shifts += inside(change.level_shift, 1.5);
        sure += usize::from(change.probability > 0.9);
    }
    println!("dates {dates}, ratios {ratios}, shifts {shifts}, sure {sure} of 500");
    assert!((440..=500).contains(&dates) && (425..=475).contains(&ratios) && (425..=475).contains(&shifts));
    assert!(sure > 475, "{sure}");
}

#[test]
fn steady_histories_seldom_look_changed() {
    // With even prior odds, a posterior above 0.9 needs a Bayes factor above 9, which comes in at most a ninth of histories
    // without a change (Markov's inequality).
    let mut rng = ChaCha8Rng::seed_from_u64(31);
    let looks_changed = |_: &i32| {
        let values: Vec<f64> = StandardNormal.sample_iter(&mut rng).take(60).collect();
        Change::of(&points(&values)).unwrap().probability > 0.9
    };
    let share = (0..500).filter(looks_changed).count() as f64 / 500.0;
    println!("steady, but looks changed: {share}");
    assert!(share < 1.0 / 9.0, "{share}");
}

#[test]
fn ratio_of_spreads_agrees_with_a_permutation_test_and_with_the_variance_ratio() {
    // SciPy 1.17.1, permutation_test of the ratio of variances, 99,999 resamples (reference.py); 999 reshuffles have a standard
    // error of 0.007 there.
    let rows: Vec<(String, f64)> = read("spreads.csv");
    let side = |name: &str| rows.iter().filter(|r| r.0 == name).map(|r| r.1).collect::<Vec<f64>>();
    let lopsided = SpreadRatio::of(&side("lopsided before"), &side("lopsided after"), 0.0).unwrap();
    close(lopsided.chance_narrower, 1.0 - 0.046_59, 0.025);
    // Of values that are as normal as 30 and 25 values can be, the interval is nearly 0.5 sqrt(f.ppf([.05, .5, .95], 29, 24)) =
    // 0.3627, 0.5012, 0.6974 (SciPy 1.17.1, reference.py).
    let normal = SpreadRatio::of(&side("normal before"), &side("normal after"), 0.0).unwrap();
    for (ours, theirs) in [(normal.ratio.p05, 0.3627), (normal.ratio.p50, 0.5012), (normal.ratio.p95, 0.6974)]
    {
        assert!((ours / theirs - 1.0).abs() < 0.07, "{:?}", normal.ratio);
    }
    // histories.rs finds a halved spread within 30 batches after 30 in 96 of 100 kitchens, so fewer do for 90.
    let needed = batches_to_show(30, 0.5).unwrap();
    assert!((15..30).contains(&needed), "{needed}");
    // SciPy 1.17.1: the least n with f.cdf(1/(ratio² f.ppf(.95, before - 1, n - 1)), n - 1, before - 1) >= 0.9, up to 500.
    let theirs =
        [(30, 0.5, Some(16)), (60, 0.5, Some(13)), (12, 0.5, Some(56)), (8, 0.5, None), (60, 0.3, Some(6))];
    for (before, ratio, theirs) in theirs {
        assert_eq!(batches_to_show(before, ratio), theirs, "{before} batches before, ratio {ratio}");
    }
    assert_eq!(batches_to_show(0, 0.5), None);
}

#[test]
fn plans_followed_agree_with_robust_regression() {
    // statsmodels 0.15.0: OLS(|miss|).fit(cov_type="HC3", use_t=True), coefficient and 90 % interval (reference.py).
    let rows: Vec<Row> = read::<(u8, f64, f64, f64)>("followed.csv")
        .into_iter()
        .map(|(followed, miss, room, hours)| Row {
            followed: followed == 1,
            miss,
            room_temp_c: Some(room),
            hours: Some(hours),
        })
        .collect();
    let c = compare(&rows).unwrap();
    close(c.difference.p50, -0.069_585_147_8, 1e-9);
    close(c.difference.p05, -0.113_302_595_0, 1e-8);
    close(c.difference.p95, -0.025_867_700_6, 1e-8);
    let allowed = c.allowed_for.unwrap();
    close(allowed.p50, -0.065_100_865_1, 1e-9);
    close(allowed.p05, -0.112_551_113_3, 1e-8);
    close(allowed.p95, -0.017_650_616_8, 1e-8);
    assert!(compare(&rows[..8]).is_none());
    // Plans followed only in a warm room: the condition is named.
    let warm: Vec<Row> = rows
        .iter()
        .map(|r| Row {
            room_temp_c: r.room_temp_c.map(|t| t + if r.followed { 8.0 } else { 0.0 }),
            ..r.clone()
        })
        .collect();
    assert!(compare(&warm).unwrap().confounders.iter().any(|c| c.condition == "room temperature"));
}

#[test]
fn shares_of_variance_add_up() {
    let source = |name: &str, variance: f64| Source { name: name.into(), variance: vec![variance; 5] };
    let shares = shares(&[source("weighing", 1.0), source("fridge", 3.0), source("unexplained", 0.0)]);
    assert_eq!(shares[0].source, "fridge");
    close(shares[0].share.p50, 0.75, 1e-12);
    // Variance 4 falls to 1 + 3/4: spread sqrt(1.75/4) of what it was, by arithmetic.
    close(shares[0].halved.p50, (1.75_f64 / 4.0).sqrt(), 1e-12);
    close(shares.iter().map(|s| s.share.p50).sum(), 1.0, 1e-12);
}
