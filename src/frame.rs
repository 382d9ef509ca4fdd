//! Batches and residuals as polars frames: the one place that builds them. Grouping, joining and export of
//! tables happen here, so that no other room needs to know polars.

use schemars::JsonSchema;

use std::collections::BTreeSet;

use polars::prelude::{
    ChunkAgg, ChunkCompareEq, Column as Series, DataFrame, IdxSize, PolarsResult, SortMultipleOptions,
};

use crate::dough::{Batch, Column, Kind, Value};
use crate::inference::prepare::flour_lot;
use crate::inference::residuals::Residual;

/// Batches as a frame: one column a column of the table, in its order; columns that are blank throughout are left
/// out. Numbers are f64, all else text.
///
/// # Errors
/// None in practice: the columns are of one length by construction.
pub fn batches(batches: &[Batch]) -> PolarsResult<DataFrame> {
    let mut columns = Vec::new();
    for &column in Column::ALL {
        let values: Vec<Option<Value>> = batches.iter().map(|b| b.get(column)).collect();
        if values.iter().all(Option::is_none) {
            continue;
        }
        let name = column.name().into();
        columns.push(match column.kind() {
            Kind::Number { .. } => {
                let numbers: Vec<Option<f64>> = values
                    .into_iter()
                    .map(|v| match v {
                        Some(Value::Number(x)) => Some(x),
                        _ => None,
                    })
                    .collect();
                Series::new(name, numbers)
            }
            Kind::Text | Kind::When | Kind::Choice(_) => {
                let texts: Vec<Option<String>> =
                    values.into_iter().map(|v| v.map(|v| v.to_string())).collect();
                Series::new(name, texts)
            }
        });
    }
    DataFrame::new_infer_height(columns)
}

/// Residuals as a frame: batch_id, flour_lot, observed, predicted, residual_log, standardised.
///
/// # Errors
/// None in practice: the columns are of one length by construction.
pub fn residuals(residuals: &[Residual], batches: &[Batch]) -> PolarsResult<DataFrame> {
    let of = |r: &Residual| &batches[r.batch];
    let text = |get: fn(&Batch) -> Option<&str>| -> Vec<Option<String>> {
        residuals.iter().map(|r| get(of(r)).map(str::to_string)).collect()
    };
    let number = |get: fn(&Residual) -> f64| -> Vec<f64> { residuals.iter().map(get).collect() };
    DataFrame::new_infer_height(vec![
        Series::new("batch_id".into(), text(|b| b.batch_id.as_deref())),
        Series::new("flour_lot".into(), text(flour_lot)),
        Series::new("observed".into(), number(|r| r.observed)),
        Series::new("predicted".into(), number(|r| r.p50)),
        Series::new("residual_log".into(), number(|r| r.log)),
        Series::new("standardised".into(), number(|r| r.standardised)),
    ])
}

/// A group of residuals.
#[derive(Debug, Clone, PartialEq, serde::Serialize, JsonSchema)]
pub struct Group {
    /// What they share.
    pub name: String,
    /// How many.
    pub count: usize,
    /// Mean of ln(observed/predicted).
    pub mean_log: f64,
    /// Root mean square of ln(observed/predicted).
    pub rms_log: f64,
}

/// Residuals grouped by a text column of [`residuals`], in the order of names.
///
/// # Errors
/// When the frame has no such column.
pub fn grouped(frame: &DataFrame, by: &str) -> PolarsResult<Vec<Group>> {
    let names = frame.column(by)?.str()?;
    let distinct: BTreeSet<&str> = names.iter().flatten().collect();
    let mut groups = Vec::new();
    for name in distinct {
        let part = frame.filter(&names.equal(name))?;
        let log = part.column("residual_log")?.f64()?;
        let square = log.iter().flatten().map(|x| x * x).sum::<f64>() / log.len() as f64;
        groups.push(Group {
            name: name.to_string(),
            count: part.height(),
            mean_log: log.mean().unwrap_or(f64::NAN),
            rms_log: square.sqrt(),
        });
    }
    Ok(groups)
}

/// The rows of largest |residual_log| first, at most so many.
///
/// # Errors
/// When the frame has no residuals.
pub fn worst(frame: &DataFrame, most: usize) -> PolarsResult<DataFrame> {
    let size: Vec<f64> =
        frame.column("residual_log")?.f64()?.iter().map(|x| x.unwrap_or(0.0).abs()).collect();
    let mut sized = frame.clone();
    sized.with_column(Series::new("size".into(), size))?;
    let sorted = sized.sort(["size"], SortMultipleOptions::default().with_order_descending(true))?;
    sorted.drop("size").map(|f| f.head(Some(most.min(IdxSize::MAX as usize))))
}
