//! The seal that shows a damaged row.
//!
//! SQLite itself would not notice a figure whose bits have changed on the disk. So each row has a seal,
//! 64 bits of BLAKE3 over the names and values in it, compared whenever the row is read. Blank cells do
//! not enter it: a column added later leaves the old seals valid.

use rusqlite::types::ValueRef;
use rusqlite::{Connection, Row, params_from_iter};

use super::cells::Cell;
use super::error::Fault;

/// A seal being made.
pub(super) struct Seal(Vec<u8>);

impl Seal {
    /// Over nothing yet.
    pub fn new() -> Self {
        // Enough for a batch with every column filled.
        Self(Vec::with_capacity(1024))
    }

    /// Takes a cell in; a blank one leaves no mark.
    pub fn cell(&mut self, name: &str, cell: ValueRef<'_>) {
        match cell {
            ValueRef::Null => (),
            ValueRef::Integer(i) => self.put(b'i', name, &i.to_le_bytes()),
            // A negative zero comes back from SQLite as zero.
            ValueRef::Real(x) => self.put(b'r', name, &(x + 0.0).to_le_bytes()),
            ValueRef::Text(t) => self.put(b't', name, t),
            ValueRef::Blob(b) => self.put(b'b', name, b),
        }
    }

    /// Kind, name, a zero, and the value; a text or blob with its length before it.
    fn put(&mut self, kind: u8, name: &str, bytes: &[u8]) {
        self.0.push(kind);
        self.0.extend(name.as_bytes());
        self.0.push(0);
        if matches!(kind, b't' | b'b') {
            self.0.extend((bytes.len() as u64).to_le_bytes());
        }
        self.0.extend(bytes);
    }

    /// The seal of named cells.
    pub fn over<'a>(
        names: impl IntoIterator<Item = &'a str>,
        cells: impl IntoIterator<Item = ValueRef<'a>>,
    ) -> i64 {
        let mut seal = Self::new();
        names.into_iter().zip(cells).for_each(|(name, cell)| seal.cell(name, cell));
        seal.done()
    }

    /// What it stands for, for a larger hash.
    pub fn bytes(&self) -> &[u8] {
        &self.0
    }

    /// The seal: the first 64 bits of the hash, as the database keeps them.
    pub fn done(&self) -> i64 {
        let hash = blake3::hash(&self.0);
        let first = hash.as_bytes().first_chunk().expect("a BLAKE3 hash has 32 bytes");
        i64::from_le_bytes(*first)
    }
}

/// A table of fixed columns whose rows are numbered by `n` and have a `seal`.
#[derive(Debug)]
pub(super) struct Sealed {
    /// Its name in the database.
    pub name: &'static str,
    /// Its columns, but `n` and `seal`.
    pub columns: &'static [&'static str],
}

impl Sealed {
    /// The start of a SELECT: the columns in their order, then the seal.
    pub fn select(&self) -> String {
        format!("SELECT {}, {}.seal FROM {}", self.qualified(), self.name, self.name)
    }

    /// The columns with the table's name, to select them beside those of another.
    pub fn qualified(&self) -> String {
        self.columns.iter().map(|c| format!("{}.{c}", self.name)).collect::<Vec<_>>().join(", ")
    }

    /// Inserts a row, its cells in the order of the columns; false when it is there already.
    ///
    /// # Errors
    /// When the file cannot be written.
    pub fn insert(&self, conn: &Connection, cells: &[ValueRef<'_>]) -> Result<bool, Fault> {
        let sql = format!(
            "INSERT INTO {} ({}, seal) VALUES ({}) ON CONFLICT DO NOTHING",
            self.name,
            self.columns.join(", "),
            vec!["?"; self.columns.len() + 1].join(", ")
        );
        let seal = ValueRef::Integer(Seal::over(self.columns.iter().copied(), cells.iter().copied()));
        let all = cells.iter().copied().chain([seal]).map(Cell);
        Ok(conn.prepare_cached(&sql)?.execute(params_from_iter(all))? == 1)
    }

    /// Refuses a row of [`Sealed::select`] that is not as it was written.
    ///
    /// # Errors
    /// [`Fault::Damaged`] for such a row; another fault when it cannot be read.
    pub fn verify(&self, row: &Row<'_>) -> Result<(), Fault> {
        match self.seal_of_row(row)? == row.get::<_, i64>(self.columns.len())? {
            true => Ok(()),
            false => Err(Fault::Damaged(format!("a row of {} is not as it was written", self.name))),
        }
    }

    /// Refuses the row with this number when it is not as it was written.
    ///
    /// # Errors
    /// As [`Sealed::verify`], and when there is no such row.
    pub fn verify_row(&self, conn: &Connection, n: i64) -> Result<(), Fault> {
        let mut statement = conn.prepare_cached(&format!("{} WHERE n = ?", self.select()))?;
        let mut rows = statement.query([n])?;
        self.verify(rows.next()?.ok_or(rusqlite::Error::QueryReturnedNoRows)?)
    }

    /// Gives a row the seal of what stands in it now; to be called after [`Sealed::verify_row`] and a change.
    ///
    /// # Errors
    /// When there is no such row, or the file cannot be read or written.
    pub fn reseal(&self, conn: &Connection, n: i64) -> Result<(), Fault> {
        let seal = {
            let mut statement = conn.prepare_cached(&format!("{} WHERE n = ?", self.select()))?;
            let mut rows = statement.query([n])?;
            self.seal_of_row(rows.next()?.ok_or(rusqlite::Error::QueryReturnedNoRows)?)?
        };
        conn.prepare_cached(&format!("UPDATE {} SET seal = ? WHERE n = ?", self.name))?.execute([seal, n])?;
        Ok(())
    }

    fn seal_of_row(&self, row: &Row<'_>) -> Result<i64, Fault> {
        let mut seal = Seal::new();
        for (i, name) in self.columns.iter().enumerate() {
            seal.cell(name, row.get_ref(i)?);
        }
        Ok(seal.done())
    }
}
