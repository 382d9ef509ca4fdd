//! The rows of a file into an import: one thread reads and checks them and makes them ready, another writes. In
//! constant memory, however long the file is.

use std::sync::mpsc::{Receiver, Sender, SyncSender, channel, sync_channel};
use std::thread;

use jiff::Timestamp;

use crate::intake::{Checked, Entry, IntakeError, Opened, Options, Row, SetAside};
use crate::logbook::{Importer, LogbookError, Pushed, Ready};

use super::failure::Failure;
use super::plans::today;
use super::record::ahead;

/// Rows handed over at a time.
const ROWS_AT_A_TIME: usize = 256;
/// Parcels of rows that may wait for the writer.
const PARCELS_WAITING: usize = 8;
/// A row as it reaches the writer.
enum Handed {
    Batch(Box<Row<Ready>>),
    Log(Row<Entry>),
    Bad(SetAside),
    Repeated,
    /// It has been dealt with.
    Done,
}

/// What became of a row.
pub enum Taken<'a> {
    /// It was pushed; of a batch the kitchen that it went to, and what is odd about one that has its rise before its day.
    Pushed(Pushed, Option<&'a str>, Option<String>),
    /// It was pushed and not taken.
    Refused(Row<Entry>, Pushed),
    /// It is set aside.
    Bad(SetAside),
    /// It says word for word what another says.
    Repeated,
}

/// Pushes every row of a file and tells what became of each; `seen` hears now and then how many rows there were so
/// far. Rows that name no kitchen belong to `kitchen`.
pub fn push_all(
    importer: &mut Importer<'_>,
    file: &Opened,
    kitchen: Option<&str>,
    seen: &dyn Fn(u64),
    mut told: impl FnMut(Taken<'_>),
) -> Result<(), Failure> {
    let (to, from) = sync_channel::<Vec<Handed>>(PARCELS_WAITING);
    // Parcels go back to be dropped where they were made: memory freed by another thread costs both of them.
    let (back, used) = channel();
    thread::scope(|scope| {
        let reading = scope.spawn(move || hand_over(file, kitchen, &to, &used));
        let written = write(importer, from, &back, kitchen, seen, &mut told);
        // A reader stopped by the writer has nothing to say of itself.
        let read = reading.join().unwrap_or_else(|_| {
            Err(Failure::Work("reading the table failed in an unforeseen way: nothing was changed".into()))
        });
        written.and(read)
    })
}

fn hand_over(
    file: &Opened,
    kitchen: Option<&str>,
    to: &SyncSender<Vec<Handed>>,
    used: &Receiver<Vec<Handed>>,
) -> Result<(), Failure> {
    let mut parcel = Vec::with_capacity(ROWS_AT_A_TIME);
    let read = file.for_each_row::<Stopped>(&Options::default(), |checked| {
        parcel.push(match checked {
            Checked::Bad(row) => Handed::Bad(row),
            Checked::Repeated { .. } => Handed::Repeated,
            Checked::Good(Row { row, value: Entry::Batch(mut batch), kitchen: own }) => {
                batch.kitchen = batch.kitchen.or_else(|| kitchen.map(str::to_string));
                Handed::Batch(Box::new(Row { row, value: Ready::new(*batch)?, kitchen: own }))
            }
            Checked::Good(row) => Handed::Log(row),
        });
        if parcel.len() == ROWS_AT_A_TIME {
            let full = std::mem::replace(&mut parcel, Vec::with_capacity(ROWS_AT_A_TIME));
            to.send(full).map_err(|_| Stopped::ByWriter)?;
            used.try_iter().for_each(drop);
        }
        Ok(())
    });
    match read {
        // The writer says itself why it stopped.
        Err(Stopped::ByWriter) => Ok(()),
        Err(Stopped::Intake(error)) => Err(error.into()),
        Err(Stopped::Logbook(error)) => Err(error.into()),
        Ok(()) => {
            let _ = to.send(parcel);
            Ok(())
        }
    }
}

/// Why reading stopped.
enum Stopped {
    ByWriter,
    Intake(IntakeError),
    Logbook(LogbookError),
}

impl From<IntakeError> for Stopped {
    fn from(error: IntakeError) -> Self {
        Self::Intake(error)
    }
}

impl From<LogbookError> for Stopped {
    fn from(error: LogbookError) -> Self {
        Self::Logbook(error)
    }
}

fn write(
    importer: &mut Importer<'_>,
    from: Receiver<Vec<Handed>>,
    back: &Sender<Vec<Handed>>,
    kitchen: Option<&str>,
    seen: &dyn Fn(u64),
    told: &mut impl FnMut(Taken<'_>),
) -> Result<(), Failure> {
    let (mut rows, today) = (0, today(Timestamp::now()));
    for mut parcel in from {
        rows += parcel.len() as u64;
        seen(rows);
        for handed in &mut parcel {
            if let Handed::Batch(row) = handed {
                let pushed = importer.push_ready(&row.value)?;
                if pushed != Pushed::Repeated {
                    let batch = row.value.batch();
                    let odd = ahead(batch, today).map(|why| format!("row {}: {why}", row.row));
                    told(Taken::Pushed(pushed, Some(batch.kitchen_name()), odd));
                    continue;
                }
            }
            told(match std::mem::replace(handed, Handed::Done) {
                Handed::Batch(refused) => {
                    let Row { row, value, kitchen } = *refused;
                    let value = Entry::Batch(Box::new(value.into_batch()));
                    Taken::Refused(Row { row, value, kitchen }, Pushed::Repeated)
                }
                Handed::Log(row) => push_log(importer, row, kitchen)?,
                Handed::Bad(row) => Taken::Bad(row),
                Handed::Repeated => Taken::Repeated,
                Handed::Done => continue,
            });
        }
        // The reader may have ended already.
        let _ = back.send(parcel);
    }
    Ok(())
}

fn push_log(
    importer: &mut Importer<'_>,
    row: Row<Entry>,
    kitchen: Option<&str>,
) -> Result<Taken<'static>, LogbookError> {
    importer.logs_of_kitchen(row.kitchen.as_deref().or(kitchen));
    let pushed = match &row.value {
        Entry::Batch(batch) => importer.push(batch)?,
        Entry::Reading(reading) => importer.push_reading(reading)?,
        Entry::Surroundings(point) => importer.push_surroundings(point)?,
    };
    Ok(match pushed {
        Pushed::Repeated | Pushed::NoSuchBatch | Pushed::SeveralKitchens => Taken::Refused(row, pushed),
        pushed => Taken::Pushed(pushed, None, None),
    })
}
