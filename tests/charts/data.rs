//! Invented data of any size for the charts, with short or long names: observations here, the rest in `inputs`.

use doughwright::charts::*;

pub use crate::inputs::*;

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
    // Half-widths of central intervals of a unit normal, as in any table (from memory).
    [(0.5, 0.674), (0.8, 1.282), (0.9, 1.645)]
        .map(|(nominal, z)| {
            let inside = observations.iter().filter(|o| o.residual_standardised.abs() < z).count() as u64;
            Coverage { nominal, inside, of }
        })
        .to_vec()
}

/// Every chart of data of this size.
pub fn all_figures(count: usize, names: Names, width_px: u32) -> Vec<Figure> {
    let observations = observations(count, names);
    let panel = residual_panel(&observations, &coverage(&observations), units(names), width_px);
    let mut figures = panel.expect("invented data can be drawn");
    let others = [
        rise_curve(&rise_chart(count, names, count == 30), width_px),
        consistency(&consistency_chart(count, names, Measure::Miss), width_px),
        consistency(&consistency_chart(count, names, Measure::CrustScore), width_px),
        consistency(&consistency_chart(count, names, Measure::DoughTemp(units(names))), width_px),
        consistency(&consistency_chart(count, names, Measure::HoursLate), width_px),
        yeast_against_hours(&yeast_chart(count, names), width_px),
        temperature_response(&temperature_chart(count, names), width_px),
        cooling(&cooling_chart(count, names), width_px),
        flour_lots(&lots(count, names), width_px),
        variance_shares(&shares(count, names), width_px),
        readiness(&readiness_chart(count, names, count != 3), width_px),
        crust_score(&crust_chart(count, names), width_px),
        crust_score(&verdict_chart(count, names), width_px),
        varied(&vary_chart(count, names), width_px),
        loo_pit(&pit_counts(count), width_px),
        rank_histograms(&histograms(count, names), width_px),
    ];
    figures.extend(others.into_iter().map(|figure| figure.expect("invented data can be drawn")));
    figures
}
