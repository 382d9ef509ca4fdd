//! Invented batches with a known truth: effects are found, and skill is not claimed without one.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use super::oven::AtOven;
use super::study::{Fitted, Of};
use super::table::{RIPENESS, Table};
use crate::dough::Batch;

fn normal(rng: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(rng)
}

/// Batches whose ripeness, oven and hydration differ, and what is known of them at the oven.
fn baked(rng: &mut ChaCha8Rng, n: usize) -> (Vec<Batch>, Vec<AtOven>) {
    let one = |rng: &mut ChaCha8Rng| {
        let batch = Batch {
            flour_g: Some(1000.0),
            water_g: Some(650.0 + 20.0 * normal(rng)),
            target_rise: Some(2.2),
            bake_temp_c: Some(260.0 + 15.0 * normal(rng)),
            bake_minutes: Some(20.0 + 2.0 * normal(rng)),
            ..Batch::default()
        };
        let oven = AtOven {
            ln_rise: 2.2_f64.ln() + 0.15 * normal(rng),
            ln_most: 3.5_f64.ln(),
            sugar_left: rng.random_range(0.4..0.8),
            hours: rng.random_range(18.0..50.0),
            measured: true,
        };
        (batch, oven)
    };
    (0..n).map(|_| one(rng)).unzip()
}

/// Scores in halves, best at the target rise, higher with a hotter oven; `effect` scales both.
fn scores(rng: &mut ChaCha8Rng, batches: &[Batch], ovens: &[AtOven], effect: f64) -> Vec<f64> {
    let one = |(b, o): (&Batch, &AtOven)| {
        let over = o.ln_rise - 2.2_f64.ln();
        let hot = (b.bake_temp_c.unwrap() - 260.0) / 15.0;
        let score = 7.0 + effect * (0.8 - 35.0 * over * over + 0.6 * hot) + 0.7 * normal(rng);
        (2.0 * score).round().clamp(2.0, 20.0) / 2.0
    };
    batches.iter().zip(ovens).map(one).collect()
}

fn study(rng: &mut ChaCha8Rng, n: usize, effect: f64) -> Fitted {
    let (batches, ovens) = baked(rng, n);
    let seen = scores(rng, &batches, &ovens, effect);
    let rows: Vec<(&Batch, AtOven)> = batches.iter().zip(ovens).collect();
    Fitted::new(Of::Score, Table::new(&rows, true), seen).unwrap()
}

#[test]
fn effects_that_are_there_are_found() {
    let mut rng = ChaCha8Rng::seed_from_u64(80);
    let fitted = study(&mut rng, 120, 1.0);
    let crust = fitted.crust();
    assert!(crust.explained && crust.skill > 0.15, "{:?}", crust.skill_of);
    let effect = |name: &str| crust.effects.iter().find(|e| e.name == name).unwrap();
    // 0.6 points a 15 °C are 0.4 a 10 °C.
    let oven = effect("bake temperature");
    assert!(oven.q05 > 0.0 && oven.q05 < 0.4 && 0.4 < oven.q95, "{oven:?}");
    let hydration = effect("hydration");
    assert!(hydration.q05 < 0.0 && 0.0 < hydration.q95, "{hydration:?}");
    let best = crust.best_ripeness.unwrap();
    assert!(best.chance > 0.95 && best.p05 < 0.0 && 0.0 < best.p95, "{best:?}");
    assert!(best.p95 - best.p05 < 20.0, "{best:?}");
    let names: Vec<&str> = crust.models.iter().map(|m| m.model).collect();
    assert_eq!(names.len(), 5, "{names:?}");
    // The elastic net knows no distribution of whole scores, the usual score no difference between batches.
    let rps = |name: &str| crust.models.iter().find(|m| m.model == name).unwrap().rps.unwrap();
    assert!(rps("ordered regression") < rps("how the scores usually spread"));
    assert!(rps("how the scores usually spread") < rps("always the usual score"));
    let dependences = fitted.dependences();
    let ripeness = dependences.iter().find(|d| d.name == RIPENESS).unwrap();
    let (from, to) = (ripeness.curve[0].0, ripeness.curve[ripeness.curve.len() - 1].0);
    assert!(from < ripeness.tried.0 && ripeness.tried.1 < to);
    // The best that was tried lies inside what was tried.
    for (range, effect) in crust.best_tried.ranges.iter().zip(&crust.effects) {
        assert!(effect.tried_from <= range.from && range.to <= effect.tried_to);
    }
}

#[test]
fn without_an_effect_skill_is_seldom_claimed() {
    let mut rng = ChaCha8Rng::seed_from_u64(81);
    const HISTORIES: usize = 100;
    let claimed = (0..HISTORIES).filter(|_| study(&mut rng, 60, 0.0).crust().explained).count();
    println!("skill claimed without an effect in {claimed} of {HISTORIES} histories");
    // One-sided 95 %: at most 5 are expected; twice the standard error of 2.2 is allowed.
    assert!(claimed <= 9, "{claimed}");
}

#[test]
fn intervals_of_effects_hold_the_truth() {
    // 0.4 points a 10 °C (less where scores are cut off at 10); 90 % intervals should hold it in about 90 of 100 histories
    // (standard error 3).
    let mut rng = ChaCha8Rng::seed_from_u64(82);
    const HISTORIES: usize = 100;
    let held = (0..HISTORIES)
        .filter(|_| {
            let crust = study(&mut rng, 100, 1.0).crust();
            let oven = crust.effects.iter().find(|e| e.name == "bake temperature").unwrap();
            (oven.q05..=oven.q95).contains(&0.4)
        })
        .count();
    println!("interval holds the truth in {held} of {HISTORIES} histories");
    assert!(held >= 81, "{held}");
}

#[test]
fn too_few_and_all_alike_are_told_in_words() {
    let mut rng = ChaCha8Rng::seed_from_u64(83);
    let (batches, ovens) = baked(&mut rng, 20);
    let rows: Vec<(&Batch, AtOven)> = batches.iter().zip(ovens).collect();
    let said = |rows: &[(&Batch, AtOven)], seen: Vec<f64>| {
        Fitted::new(Of::Score, Table::new(rows, true), seen).unwrap_err().to_string()
    };
    assert!(said(&rows[..5], vec![7.0; 5]).contains("only 5 batches have a score of the crust"));
    assert!(said(&rows, vec![7.0; 20]).contains("all 20 batches, or nearly all, have the same crust_score"));
    let same = vec![rows[0]; 20];
    let differ = (0..20).map(|i| f64::from(i % 3)).collect();
    assert!(said(&same, differ).contains("do not differ in anything"));
}

#[test]
fn the_expected_score_of_a_batch_not_yet_baked_holds_the_truth() {
    // At the target rise in an oven one spread hotter the scores are made about 7 + effect (0.8 + 0.6).
    let plan = Batch {
        flour_g: Some(1000.0),
        water_g: Some(650.0),
        target_rise: Some(2.2),
        bake_temp_c: Some(275.0),
        bake_minutes: Some(20.0),
        ..Batch::default()
    };
    let oven = AtOven {
        ln_rise: 2.2_f64.ln(),
        ln_most: 3.5_f64.ln(),
        sugar_left: 0.6,
        hours: 34.0,
        measured: false,
    };
    // Effects of a strength that the prior expects; with twice that (a curve of two prior spreads) the answer is drawn in by
    // 0.09 points and 75 of 100 intervals hold.
    let truth = 7.0 + 0.5 * 1.4;
    let mut rng = ChaCha8Rng::seed_from_u64(85);
    let mut held = 0;
    for _ in 0..40 {
        let foreteller = study(&mut rng, 120, 0.5).foreteller();
        let mut scores = foreteller.expected(&plan, &[oven]);
        scores.sort_by(f64::total_cmp);
        let (low, high) = (scores[scores.len() / 20], scores[scores.len() - 1 - scores.len() / 20]);
        held += i32::from((low..=high).contains(&truth));
    }
    // Binomial(40, 0.9) lies below 31 in 1 % of cases.
    eprintln!("{held} of 40 intervals of 90 % hold the true expected score");
    assert!(held >= 31, "{held} of 40");
}
