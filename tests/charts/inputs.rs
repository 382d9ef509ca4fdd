//! Invented inputs of single charts. 0.674 and 1.645 are the quartile and the 95 % point of a unit normal (from memory).

use doughwright::charts::*;
use doughwright::dough::units::UnitSystem;

use crate::data::{Names, bell, noise};

pub fn around(middle: f64, log_sd: f64) -> Quantiles {
    let at = |z: f64| middle * (z * log_sd).exp();
    Quantiles { p05: at(-1.645), p25: at(-0.674), p50: middle, p75: at(0.674), p95: at(1.645) }
}

/// The evening before clocks go from 2:00 to 3:00, by the rule of the zone.
fn mixed_at() -> jiff::ZonedDateTime {
    let zone = jiff::tz::TimeZone::posix("CET-1CEST,M3.5.0,M10.5.0/3").expect("a Posix zone");
    zone.to_zoned_datetime(jiff::civil::date(2026, 3, 28).at(17, 40, 0, 0)).expect("an hour of that day")
}

pub fn rise_chart(count: usize, names: Names, on_the_clock: bool) -> RiseChart {
    let points = count.clamp(40, 400);
    let hours = |i: usize| 30.0 * i as f64 / (points - 1) as f64;
    let rise = |h: f64| 1.0 + 1.3 / (1.0 + (-(h - 18.0) / 4.0).exp());
    let surroundings = |h: f64| {
        if h < 2.0 {
            23.0
        } else if h < 26.0 {
            5.0
        } else {
            24.0
        }
    };
    let dough = |h: f64| match h {
        h if h < 2.0 => 25.0 - 0.5 * h,
        h if h < 26.0 => 5.0 + 19.0 * (-(h - 2.0) / 2.5).exp(),
        h => 24.0 - 19.0 * (-(h - 26.0) / 2.0).exp(),
    };
    let stage = |i: usize, from_hours: f64, to_hours: f64| StageSpan {
        name: if names == Names::Long { names.of(i) } else { ["bulk", "fridge", "room"][i].to_owned() },
        from_hours,
        to_hours,
    };
    RiseChart {
        name: names.of(1),
        mixed_at: on_the_clock.then(mixed_at),
        rise: (0..points).map(|i| (hours(i), around(rise(hours(i)), 0.002 * hours(i)))).collect(),
        dough_temp_c: (0..points).map(|i| (hours(i), dough(hours(i)))).collect(),
        surroundings_temp_c: (0..points).map(|i| (hours(i), surroundings(hours(i)))).collect(),
        readings: (0..count.min(40))
            .map(|i| {
                let h = 29.0 * (i as f64 + 0.5) / count.min(40) as f64;
                RiseReading {
                    hours: h,
                    rise: Some(rise(h) * (1.0 + 0.03 * noise(i, 8))),
                    dough_temp_c: Some(dough(h) + noise(i, 9)),
                }
            })
            .collect(),
        stages: vec![stage(0, 0.0, 2.0), stage(1, 2.0, 26.0), stage(2, 26.0, 30.0)],
        target_rise: Some(2.2),
        units: units(names),
        window_hours: Some((25.5, 29.0)),
        oven: Some(AtOven { hours: 27.0, p05: 1.9, p50: rise(27.0), p95: 2.6 }),
    }
}

/// Long names go with ounces and °F, so that both are drawn.
pub fn units(names: Names) -> UnitSystem {
    if names == Names::Long { UnitSystem::Us } else { UnitSystem::Metric }
}

pub fn consistency_chart(count: usize, names: Names, measure: Measure) -> ConsistencyChart {
    let (middle, scale) = match measure {
        Measure::Miss => (0.02, 0.12),
        Measure::CrustScore => (7.0, 1.0),
        Measure::DoughTemp(_) | Measure::HoursLate => (0.3, 0.8),
    };
    let rules = ["outside the limits", "nine in a row on one side of the centre", "six in a row going up"];
    let half = count / 2;
    ConsistencyChart {
        said: "Steadier since 'new fridge' (2026-03-01): the spread is 0.62 times what it was, more than chance.".into(),
        measure,
        batches: (0..count)
            .map(|i| {
                let z = bell(i, 11);
                let spread = if i < half { 1.0 } else { 0.6 };
                let mut signals = Vec::new();
                if z.abs() > 2.0 {
                    signals.push(rules[0].to_owned());
                }
                if i % 29 == 17 {
                    signals.push(rules[1].to_owned());
                }
                if i % 53 == 40 {
                    signals.push(rules[2].to_owned());
                }
                WatchedBatch {
                    batch_id: names.of(i),
                    when_days: 20_454.0 + 3.0 * i as f64,
                    value: middle + scale * spread * z,
                    signals,
                }
            })
            .collect(),
        phases: [(0, half.max(1) - 1, 1.0), (half.max(1), count - 1, 0.6)]
            .iter()
            .enumerate()
            .map(|(k, &(first, last, spread))| Phase {
                name: if names == Names::Long { names.of(k) } else { ["before", "after"][k].to_owned() },
                first,
                last,
                center: middle,
                lower: middle - 2.5 * scale * spread,
                upper: middle + 2.5 * scale * spread,
            })
            .collect(),
        target_band: Some((middle - 0.8 * scale, middle + 0.8 * scale)),
    }
}

pub fn yeast_chart(count: usize, names: Names) -> YeastChart {
    let points = count.clamp(3, 200);
    let curve = |fridge_temp_c: f64| YeastCurve {
        fridge_temp_c,
        points: (0..points)
            .map(|i| {
                let hours = 12.0 + 60.0 * i as f64 / (points - 1) as f64;
                let yeast = 0.9 * (-0.055 * (hours - 12.0) * (0.6 + fridge_temp_c / 15.0)).exp();
                let seen = (16.0..50.0).contains(&hours);
                let width = if seen { 0.1 } else { 0.25 };
                let q = around(yeast, width);
                YeastPoint { hours, yeast_pct_p05: q.p05, yeast_pct_p50: q.p50, yeast_pct_p95: q.p95, seen }
            })
            .collect(),
    };
    YeastChart {
        yeast: "instant yeast".to_owned(),
        flour_g: (names == Names::Short).then_some(1_000.0),
        conditions:
            "Target rise 2.2, dough at 24 °C after mixing, 2 hours in the room at 22 °C, then the fridge."
                .to_owned(),
        curves: [3.0, 5.0, 7.0, 10.0].map(curve).to_vec(),
        units: units(names),
    }
}

pub fn temperature_chart(count: usize, names: Names) -> TemperatureChart {
    let pace = |t: f64| (t - 1.0).max(0.0).powi(2) * (1.0 - ((t - 43.0) * 0.25).exp()).max(0.0) / 560.0;
    TemperatureChart {
        reference_temp_c: 25.0,
        pace: (2..=88)
            .map(|i| f64::from(i) / 2.0)
            .map(|t| (t, around(pace(t), 0.05 + 0.012 * (t - 22.0).abs())))
            .collect(),
        record_temps_c: (0..count)
            .map(|i| if i % 3 == 0 { 4.5 + 2.0 * noise(i, 21) } else { 23.0 + 4.0 * bell(i, 22) })
            .collect(),
        units: units(names),
    }
}

pub fn cooling_chart(count: usize, names: Names) -> CoolingChart {
    let temp = |h: f64| 5.0 + 19.0 * (-h / 1.8).exp();
    CoolingChart {
        name: names.of(2),
        temp_c: (0..60).map(|i| f64::from(i) / 5.0).map(|h| (h, around(temp(h), 0.04))).collect(),
        surroundings_temp_c: vec![(0.0, 7.5), (1.0, 5.5), (2.0, 5.0), (12.0, 5.0)],
        readings: (0..count)
            .map(|i| 11.0 * i as f64 / count as f64)
            .enumerate()
            .map(|(i, h)| (h, temp(h) + 0.6 * noise(i, 31)))
            .collect(),
        units: units(names),
    }
}

pub fn lots(count: usize, names: Names) -> Vec<FlourLot> {
    let at = |middle: f64, sd: f64| Quantiles {
        p05: middle - 1.645 * sd,
        p25: middle - 0.674 * sd,
        p50: middle,
        p75: middle + 0.674 * sd,
        p95: middle + 1.645 * sd,
    };
    let lot = |i: usize| FlourLot {
        name: names.of(i),
        batches: 1 + i * 7 % 23,
        pace_log: at(0.12 * bell(i, 41), 0.03 + 0.06 * noise(i, 42).abs()),
    };
    (0..count).map(lot).collect()
}

pub fn shares(count: usize, names: Names) -> Vec<VarianceShare> {
    let plain = ["flour lot", "fridge and room", "weighing", "batch itself", "reading the jar"];
    (0..count)
        .map(|i| VarianceShare {
            source: if names == Names::Short && i < 5 { plain[i].to_owned() } else { names.of(i) },
            share: around(0.45 / (1.0 + i as f64), 0.25),
        })
        .collect()
}

pub fn readiness_chart(count: usize, names: Names, on_the_clock: bool) -> ReadinessChart {
    let points = count.clamp(30, 500);
    let step = |h: f64, at: f64| 1.0 / (1.0 + (-(h - at) / 0.9).exp());
    let chance = |h: f64| ReadyChance {
        hours: h,
        under: 1.0 - step(h, 26.0),
        ready: step(h, 26.0) - step(h, 30.0),
        over: step(h, 30.0),
    };
    ReadinessChart {
        name: names.of(3),
        mixed_at: on_the_clock.then(mixed_at),
        chances: (0..points).map(|i| chance(22.0 + 12.0 * i as f64 / (points - 1) as f64)).collect(),
        window_hours: Some((26.0, 30.0)),
        oven_hours: Some(27.5),
    }
}

pub fn crust_chart(count: usize, names: Names) -> CrustChart {
    let score = |t: f64| 7.5 - ((t - 275.0) / 40.0).powi(2);
    CrustChart {
        of: Scored::Crust,
        name: if names == Names::Long { names.of(0) } else { "bake temperature".to_owned() },
        unit: "°C".to_owned(),
        tried: Some((230.0, 305.0)),
        score: (0..40).map(|i| 220.0 + 2.5 * f64::from(i)).map(|t| (t, around(score(t), 0.06))).collect(),
        batches: (0..count)
            .map(|i| {
                let t = 270.0 + 45.0 * noise(i, 51);
                (t, (score(t) + 1.2 * bell(i, 52)).clamp(1.0, 10.0).round())
            })
            .collect(),
    }
}

pub fn vary_chart(count: usize, names: Names) -> VaryChart {
    let points = count.clamp(3, 200);
    let at = |i: usize| 18.0 + 30.0 * i as f64 / (points - 1) as f64;
    VaryChart {
        column: "cold hours, h".to_owned(),
        at: if names == Names::Long { names.of(0) } else { "room temp 22".to_owned() },
        rise: (0..points).map(|i| (at(i), around(1.5 + 0.03 * (at(i) - 18.0), 0.08))).collect(),
        chance: (0..points).map(|i| (-((at(i) - 36.0) / 8.0).powi(2)).exp()).collect(),
        reached: (0..points).map(|i| at(i) < 40.0).collect(),
        target_rise: Some(2.2),
    }
}

/// Batches by where their rise fell, as many bins as the program draws.
pub fn pit_counts(count: usize) -> Vec<usize> {
    (0..10).map(|i| count / 10 + usize::from(i < count % 10)).collect()
}

/// Verdicts along ripeness.
pub fn verdict_chart(count: usize, names: Names) -> CrustChart {
    let score = |t: f64| (t / 25.0).tanh();
    CrustChart {
        of: Scored::Verdict,
        name: if names == Names::Long { names.of(0) } else { "ripeness".to_owned() },
        unit: "% over the target rise".to_owned(),
        tried: Some((-20.0, 25.0)),
        score: (0..40).map(|i| -30.0 + 1.6 * f64::from(i)).map(|t| (t, spread(score(t), 0.2))).collect(),
        batches: (0..count)
            .map(|i| {
                let t = 25.0 * noise(i, 71);
                (t, (score(t) + 0.5 * bell(i, 72)).round().clamp(-1.0, 1.0))
            })
            .collect(),
    }
}

fn spread(middle: f64, sd: f64) -> Quantiles {
    let at = |z: f64| (middle + z * sd).clamp(-1.0, 1.0);
    Quantiles { p05: at(-1.645), p25: at(-0.674), p50: middle, p75: at(0.674), p95: at(1.645) }
}

pub fn histograms(count: usize, names: Names) -> Vec<RankHistogram> {
    (0..count.min(200))
        .map(|k| RankHistogram {
            parameter: if names == Names::Short { format!("p{k}") } else { names.of(k) },
            counts: (0..20).map(|i| (15.0 + 3.9 * bell(i + 20 * k, 61)).round().max(0.0) as u64).collect(),
        })
        .collect()
}
