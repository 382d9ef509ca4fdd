//! Fits kept: what was fitted, from which data, by which version, with which seed, and the draws.
//!
//! Draws are the bulk of a fit; they are kept for the latest [`DRAWS_KEPT`] fits of a kitchen. Of older
//! ones all else stays, up to [`FITS_KEPT`], so that fitting every day does not swell the file without end.

use jiff::Timestamp;
use rusqlite::types::ValueRef;
use rusqlite::{Row, Transaction, TransactionBehavior, params};
use serde::Serialize;

use super::Logbook;
use super::error::{At, Fault, LogbookError};
use super::history::time;
use super::seal::{Seal, Sealed};

/// Fits of a kitchen that keep their draws.
pub const DRAWS_KEPT: usize = 2;

/// Fits of a kitchen that are kept.
pub const FITS_KEPT: usize = 100;

/// One fit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FitRecord {
    /// The kitchen.
    pub kitchen: String,
    /// When it was made.
    pub made_at: Timestamp,
    /// The version of this program that made it.
    pub program_version: String,
    /// `quick` or `full`.
    pub method: String,
    /// The seed of its random numbers.
    pub seed: u64,
    /// Its settings.
    pub settings: serde_json::Value,
    /// The data it was made from, as [`Logbook::data_hash`] gives it.
    pub data_hash: String,
    /// Its figures and warnings.
    pub summary: serde_json::Value,
    /// The names of the parameters.
    pub names: Vec<String>,
    /// The draws, row by row: one draw after the other, each with one number a name. Empty in an older fit.
    #[serde(skip)]
    pub draws: Vec<f64>,
}

/// Fits; the draws have a seal of their own, for they may be let go.
const FITS: Sealed = Sealed {
    name: "fits",
    columns: &[
        "kitchen",
        "made_at",
        "program_version",
        "method",
        "seed",
        "settings",
        "data_hash",
        "summary",
        "names",
        "draws_seal",
    ],
};

impl Logbook {
    /// Keeps a fit.
    ///
    /// # Errors
    /// When another process is writing, or the disk is full.
    pub fn keep_fit(&mut self, fit: &FitRecord) -> Result<(), LogbookError> {
        self.insert_fit(fit).at(&self.place)
    }

    fn insert_fit(&self, fit: &FitRecord) -> Result<(), Fault> {
        let tx = Transaction::new_unchecked(&self.conn, TransactionBehavior::Immediate)?;
        let [made_at, settings, summary] =
            [fit.made_at.to_string(), fit.settings.to_string(), fit.summary.to_string()];
        let names = serde_json::Value::from(fit.names.as_slice()).to_string();
        let draws: Vec<u8> = fit.draws.iter().flat_map(|x| x.to_le_bytes()).collect();
        FITS.insert(
            &tx,
            &[
                ValueRef::Text(fit.kitchen.as_bytes()),
                ValueRef::Text(made_at.as_bytes()),
                ValueRef::Text(fit.program_version.as_bytes()),
                ValueRef::Text(fit.method.as_bytes()),
                ValueRef::Integer(fit.seed.cast_signed()),
                ValueRef::Text(settings.as_bytes()),
                ValueRef::Text(fit.data_hash.as_bytes()),
                ValueRef::Text(summary.as_bytes()),
                ValueRef::Text(names.as_bytes()),
                ValueRef::Integer(seal_of_draws(&draws)),
            ],
        )?;
        tx.execute("UPDATE fits SET draws = ? WHERE n = ?", params![draws, tx.last_insert_rowid()])?;
        tx.execute(
            "UPDATE fits SET draws = x'' WHERE kitchen = ?1 AND n IN
             (SELECT n FROM fits WHERE kitchen = ?1 ORDER BY n DESC LIMIT -1 OFFSET ?2)",
            params![fit.kitchen, DRAWS_KEPT as i64],
        )?;
        tx.execute(
            "DELETE FROM fits WHERE kitchen = ?1 AND n IN
             (SELECT n FROM fits WHERE kitchen = ?1 ORDER BY n DESC LIMIT -1 OFFSET ?2)",
            params![fit.kitchen, FITS_KEPT as i64],
        )?;
        tx.commit()?;
        Ok(())
    }

    /// The latest fit of a kitchen.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn latest_fit(&self, kitchen: &str) -> Result<Option<FitRecord>, LogbookError> {
        self.fits_where(kitchen, "ORDER BY n DESC LIMIT 1").map(|mut all| all.pop()).at(&self.place)
    }

    /// The fits of a kitchen, the latest last.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn fits(&self, kitchen: &str) -> Result<Vec<FitRecord>, LogbookError> {
        self.fits_where(kitchen, "ORDER BY n").at(&self.place)
    }

    fn fits_where(&self, kitchen: &str, which: &str) -> Result<Vec<FitRecord>, Fault> {
        let sql =
            format!("SELECT {}, seal, draws FROM fits WHERE kitchen = ? {which}", FITS.columns.join(", "));
        let mut statement = self.conn.prepare_cached(&sql)?;
        let mut rows = statement.query([kitchen])?;
        let mut all = Vec::new();
        while let Some(row) = rows.next()? {
            all.push(fit_of(row)?);
        }
        Ok(all)
    }
}

fn seal_of_draws(bytes: &[u8]) -> i64 {
    Seal::over(["draws"], [ValueRef::Blob(bytes)])
}

fn fit_of(row: &Row<'_>) -> Result<FitRecord, Fault> {
    FITS.verify(row)?;
    let made_at: String = row.get("made_at")?;
    let bytes = row.get_ref("draws")?.as_blob().unwrap_or_default();
    let not_sound = || Fault::Damaged(format!("the fit of {made_at} is not as it was written"));
    if !bytes.is_empty() && row.get::<_, i64>("draws_seal")? != seal_of_draws(bytes) {
        return Err(not_sound());
    }
    let json = |name: &str| -> Result<serde_json::Value, Fault> {
        serde_json::from_str(&row.get::<_, String>(name)?).map_err(|_| not_sound())
    };
    Ok(FitRecord {
        kitchen: row.get("kitchen")?,
        made_at: time(&made_at)?,
        program_version: row.get("program_version")?,
        method: row.get("method")?,
        seed: row.get::<_, i64>("seed")?.cast_unsigned(),
        settings: json("settings")?,
        data_hash: row.get("data_hash")?,
        summary: json("summary")?,
        names: serde_json::from_value(json("names")?).map_err(|_| not_sound())?,
        draws: bytes.as_chunks().0.iter().map(|b| f64::from_le_bytes(*b)).collect(),
    })
}
