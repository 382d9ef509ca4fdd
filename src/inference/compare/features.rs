//! What a plain regression is told of a batch: numbers that a baker's table has, without any physics.
//!
//! ln of the yeast in percent (as instant), hours and temperature of each stage with their product, dough temperature,
//! water, salt, sugar and oil in percent of flour, the preferment's share, hours, temperature and ln of its yeast, the
//! mass of a piece, and one column for each flour and each yeast lot. What is blank is taken at the mean of the batches
//! learned from; columns that do not vary are left out.

use crate::dough::{Batch, StageKind};
use crate::inference::prepare::flour_lot;

/// The table that a regression learns from: how a batch becomes a row of numbers of mean 0 and spread 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Features {
    flour_lots: Vec<String>,
    yeast_lots: Vec<String>,
    /// Which raw columns vary, with mean and standard deviation.
    kept: Vec<(usize, f64, f64)>,
}

impl Features {
    /// Learns columns, means and spreads from batches.
    pub fn learn(batches: &[&Batch]) -> Self {
        let names = |of: fn(&Batch) -> Option<&str>| {
            let mut names: Vec<String> = batches.iter().filter_map(|b| of(b)).map(str::to_string).collect();
            names.sort_unstable();
            names.dedup();
            names
        };
        let mut made = Self {
            flour_lots: names(flour_lot),
            yeast_lots: names(|b| b.yeast_lot.as_deref()),
            kept: Vec::new(),
        };
        let raw: Vec<Vec<Option<f64>>> = batches.iter().map(|b| made.raw(b)).collect();
        let width = raw.first().map_or(0, Vec::len);
        for column in 0..width {
            let known: Vec<f64> = raw.iter().filter_map(|row| row[column]).collect();
            let n = known.len() as f64;
            let mean = known.iter().sum::<f64>() / n;
            let sd = (known.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n).sqrt();
            if sd > 1e-9 * mean.abs().max(1e-3) {
                made.kept.push((column, mean, sd));
            }
        }
        made
    }

    /// A batch as a row of standardised numbers, without unit, one a column kept; 0 for what is blank.
    pub fn row(&self, batch: &Batch) -> Vec<f64> {
        let raw = self.raw(batch);
        self.kept.iter().map(|(i, mean, sd)| raw[*i].map_or(0.0, |v| (v - mean) / sd)).collect()
    }

    fn raw(&self, batch: &Batch) -> Vec<Option<f64>> {
        let instant = batch.yeast_type.map_or(1.0, |t| t.instant_equivalent());
        let ln = |v: Option<f64>| v.filter(|v| *v > 0.0).map(f64::ln);
        let pct = |grams: Option<f64>| Some(batch.percent_of_flour(grams).unwrap_or(0.0));
        let mut row = vec![
            ln(batch.yeast_pct().map(|p| p * instant)),
            batch.dough_temp_c,
            batch.hydration_pct(),
            pct(batch.salt_g),
            pct(batch.sugar_g),
            pct(batch.oil_g),
            batch.rise_sample_g.or(batch.piece_g),
        ];
        for kind in [StageKind::Bulk, StageKind::Cold, StageKind::Temper] {
            let stage = batch.stages().find(|s| s.kind == kind);
            let hours = stage.map_or(0.0, |s| s.hours);
            let celsius = stage.and_then(|s| s.surroundings_c).or(match kind {
                StageKind::Cold => None,
                StageKind::Bulk | StageKind::Temper => batch.room_temp_c,
            });
            row.extend([Some(hours), celsius, celsius.map(|t| t * hours)]);
        }
        let share = batch.preferment_share();
        let preferment = share > 0.0;
        row.extend([
            Some(share),
            batch.preferment_hours.filter(|_| preferment),
            batch.preferment_temp_c.filter(|_| preferment),
            ln(batch.percent_of_flour(batch.preferment_yeast_g).filter(|_| preferment).map(|p| p * instant)),
        ]);
        let is = |name: &String, own: Option<&str>| Some(f64::from(u8::from(own == Some(name.as_str()))));
        row.extend(self.flour_lots.iter().map(|name| is(name, flour_lot(batch))));
        row.extend(self.yeast_lots.iter().map(|name| is(name, batch.yeast_lot.as_deref())));
        row
    }
}
