//! Invented data of any size for the charts, with short or long names.

use doughwright::charts::*;

/// How names are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Names {
    Short,
    Long,
}

impl Names {
    pub fn of(self, i: usize) -> String {
        match self {
            Names::Short => {
                ["a", "b", "c", "d", "e", "f"][i % 6].to_owned()
                    + &if i < 6 { String::new() } else { i.to_string() }
            }
            Names::Long => format!(
                "strong white flour & \"special\" <stone-ground> blend from the hall's own store, sack {i} of the spring delivery"
            ),
        }
    }
}

/// A number between -1 and 1 that looks like chance and is the same every time.
pub fn noise(i: usize, series: usize) -> f64 {
    let x = (i as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15)
        ^ (series as u64 + 1).wrapping_mul(0xD1B5_4A32_D192_ED03);
    let x = (x ^ (x >> 29)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    ((x >> 40) as f64 / (1u64 << 24) as f64) * 2.0 - 1.0
}

/// A bell-shaped number with mean 0 and standard deviation 1.
pub fn bell(i: usize, series: usize) -> f64 {
    (0..6).map(|k| noise(i, series * 7 + k)).sum::<f64>() / 2f64.sqrt()
}

pub fn observations(count: usize, names: Names) -> Vec<Observation> {
    (0..count)
        .map(|i| {
            let days = 20_454.0 + 365.0 * i as f64 / count as f64;
            let season = (days / 365.25 * std::f64::consts::TAU).cos();
            let predicted = 2.1 + 0.35 * noise(i, 1);
            let sd = 0.11;
            let residual = sd * bell(i, 2) + 0.03 * season;
            Observation {
                batch_id: names.of(i),
                when_days: days,
                kind: [
                    ObservationKind::End,
                    ObservationKind::End,
                    ObservationKind::Reading,
                    ObservationKind::Preferment,
                ][i % 4],
                observed_rise: predicted * residual.exp(),
                predicted_rise_p05: predicted * (-1.645 * sd).exp(),
                predicted_rise_p50: predicted,
                predicted_rise_p95: predicted * (1.645 * sd).exp(),
                residual_log: residual,
                residual_standardised: residual / sd,
                room_temp_c: (i % 5 != 0).then_some(21.0 - 4.0 * season + 1.5 * noise(i, 3)),
                yeast_pct: 0.3 * (0.8 * noise(i, 4)).exp(),
                total_hours: 30.0 + 18.0 * noise(i, 5),
                flour_lot: (i % 7 != 0).then(|| names.of(i * 5 / count.max(1))),
            }
        })
        .collect()
}

pub fn coverage(observations: &[Observation]) -> Vec<Coverage> {
    let of = observations.len() as u64;
    [(0.5, 0.674), (0.8, 1.282), (0.9, 1.645)]
        .map(|(nominal, z)| {
            let inside = observations.iter().filter(|o| o.residual_standardised.abs() < z).count() as u64;
            Coverage { nominal, inside, of }
        })
        .to_vec()
}

pub fn around(middle: f64, log_sd: f64) -> Quantiles {
    let at = |z: f64| middle * (z * log_sd).exp();
    Quantiles { p05: at(-1.645), p25: at(-0.674), p50: middle, p75: at(0.674), p95: at(1.645) }
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
        mixed_at: on_the_clock.then(|| jiff::civil::date(2026, 7, 3).at(17, 40, 0, 0)),
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
        window_hours: Some((25.5, 29.0)),
    }
}

pub fn consistency_chart(count: usize, names: Names, measure: Measure) -> ConsistencyChart {
    let scale = if measure == Measure::Miss { 0.12 } else { 1.0 };
    let middle = if measure == Measure::Miss { 0.02 } else { 7.0 };
    let rules = ["outside the limits", "nine in a row on one side of the centre", "six in a row going up"];
    let half = count / 2;
    ConsistencyChart {
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
            "Target rise 2.2, dough at 24 °C after mixing, 2 hours in the room at 22 °C, then the fridge"
                .to_owned(),
        curves: [3.0, 5.0, 7.0, 10.0].map(curve).to_vec(),
    }
}

/// Every chart of data of this size.
pub fn all_figures(count: usize, names: Names, width_px: u32) -> Vec<Figure> {
    let observations = observations(count, names);
    let panel = residual_panel(&observations, &coverage(&observations), width_px);
    let mut figures = panel.expect("invented data can be drawn");
    let others = [
        rise_curve(&rise_chart(count, names, count == 30), width_px),
        consistency(&consistency_chart(count, names, Measure::Miss), width_px),
        consistency(&consistency_chart(count, names, Measure::CrustScore), width_px),
        yeast_against_hours(&yeast_chart(count, names), width_px),
    ];
    figures.extend(others.into_iter().map(|figure| figure.expect("invented data can be drawn")));
    figures
}
