//! The demo data: a year of the invented hall from a committed seed, and its files as bytes.

use jiff::civil::date;
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Workbook, XlsxError};

use crate::dough::{Batch, Column, Value, When, YeastType};

use super::habit::on_the_scale;
use super::hall::{self, hall, recipes};
use super::mistake::Mistake;
use super::policy::{Habits, StandIn, Then};
use super::tables;
use super::year::{Calendar, Year};

/// The seed of the committed demo data.
pub const SEED: u64 = 20_250_901;

/// Batch (from 0) from which the hall plans by the workbench: 1 March 2026.
pub const PLANNED_FROM: usize = 60;

/// The hall's calendar for a seed.
pub fn calendar(seed: u64) -> Calendar {
    Calendar {
        recipes: recipes(),
        first_day: date(2025, 9, 2),
        batches: 120,
        every_days: 3,
        fridge_measured_from: 5,
        bakers: ["early shift", "late shift", "weekend crew"].map(String::from).into(),
        mistakes: vec![
            (17, Mistake::MisreadProbe),
            (36, Mistake::YeastNotDoubled),
            (73, Mistake::TransposedHours),
            (108, Mistake::Forgotten),
        ],
        watched: (7..120).step_by(11).collect(),
        logged: vec![40, 98],
        seed,
    }
}

/// The hall's year from a seed.
pub fn year(seed: u64) -> Year {
    let calendar = calendar(seed);
    let habits = Habits(calendar.recipes.iter().map(|r| r.habit).collect());
    let mut policy = Then { first: habits, from: PLANNED_FROM, second: StandIn };
    let mut year = hall().year(&calendar, &mut policy);
    if let Some(first) = year.batches.get_mut(PLANNED_FROM) {
        first.notes = Some("from here on planned by the workbench".to_string());
    }
    year
}

/// A plan for the week after: hearth pizza on a 24-hour cold proof, its yeast and water temperature blank.
pub fn plan() -> Batch {
    let kilos = 4.0;
    let times = |grams: Option<f64>| grams.map(|g| g * kilos);
    let pizza = recipes().swap_remove(0).per_kilo;
    Batch {
        batch_id: Some("next-pizza".to_string()),
        date: Some(When::at(date(2026, 9, 4).at(16, 0, 0, 0))),
        kitchen: Some(hall::NAME.to_string()),
        yeast_type: Some(YeastType::Instant),
        flour_g: times(pizza.flour_g),
        water_g: times(pizza.water_g),
        salt_g: times(pizza.salt_g),
        preferment_flour_g: times(pizza.preferment_flour_g),
        preferment_water_g: times(pizza.preferment_water_g),
        preferment_yeast_g: pizza.preferment_yeast_g.map(|g| on_the_scale(0.5 * kilos * g)),
        preferment_temp_c: Some(22.0),
        flour_temp_c: Some(22.5),
        room_temp_c: Some(23.0),
        bulk_temp_c: Some(23.0),
        cold_hours: Some(24.0),
        cold_temp_c: Some(4.0),
        temper_temp_c: Some(23.0),
        flour_lot: Some("C305".to_string()),
        yeast_lot: Some("tin4".to_string()),
        baker: Some("early shift".to_string()),
        mix_method: Some("spiral".to_string()),
        cold_place: Some("upright".to_string()),
        tap_temp_c: Some(17.5),
        ..pizza
    }
}

/// A file of the demo data: its name and its bytes.
pub type File = (&'static str, Vec<u8>);

/// The text files of the demo data.
///
/// # Errors
/// When a table cannot be written, which memory never refuses.
pub fn text_files() -> csv::Result<Vec<File>> {
    let year = year(SEED);
    Ok(vec![
        ("batches.csv", tables::batches(&year.batches, &[])?),
        ("readings.csv", tables::readings(&year.readings)?),
        ("surroundings.csv", tables::surroundings(&year.surroundings)?),
        ("plan.csv", tables::batches(&[plan()], &[Column::yeast_g, Column::water_temp_c])?),
        ("README.md", readme(&year).into_bytes()),
    ])
}

/// The batch table as a spreadsheet.
///
/// # Errors
/// When the sheet cannot be written.
pub fn spreadsheet() -> Result<Vec<u8>, XlsxError> {
    let batches = year(SEED).batches;
    let mut book = Workbook::new();
    // A fixed date of making, so that the same seed gives the same bytes.
    book.set_properties(&DocProperties::new().set_creation_datetime(&ExcelDateTime::from_ymd(2026, 9, 1)?));
    let sheet = book.add_worksheet().set_name("batches")?;
    sheet.set_freeze_panes(1, 0)?;
    for (i, column) in tables::columns(&batches, &[]).into_iter().enumerate() {
        let i = i as u16;
        sheet.write_string(0, i, column.name())?;
        for (row, batch) in (1..).zip(&batches) {
            match batch.get(column) {
                Some(Value::Number(x)) => sheet.write_number(row, i, x)?,
                Some(Value::Text(text)) => sheet.write_string(row, i, text)?,
                None => continue,
            };
        }
    }
    book.save_to_buffer()
}

fn readme(year: &Year) -> String {
    let mistakes: String = year.mistakes.iter().map(|(id, m)| format!("- `{id}`: {}\n", m.story())).collect();
    let planned = year.batches.get(PLANNED_FROM).and_then(|b| b.batch_id.as_deref()).unwrap_or_default();
    format!(
        "# Demo data: invented, nothing measured\n\
         \n\
         A year of a community hall that does not exist: {batches} batches of hearth pizza, tray bread and rolls,\n\
         {readings} readings and {logs} lines of temperature logs, computed by `src/simulate/` from seed {SEED}. No number\n\
         here was measured on dough, and none says anything about a real flour, fridge or mixer. How well the workbench\n\
         does on them shows that it works as built, not that the model is right about dough.\n\
         \n\
         | file | holds |\n\
         |---|---|\n\
         | `batches.csv` | the batches |\n\
         | `batches.xlsx` | the same as a spreadsheet |\n\
         | `readings.csv` | jar and probe while some of them rose |\n\
         | `surroundings.csv` | a temperature logger beside two of them |\n\
         | `plan.csv` | a plan for a 24-hour cold proof, yeast and water temperature blank |\n\
         \n\
         The hall's dough is not quite that of the model: pieces conduct heat inside, fermentation warms them, the two\n\
         fridges swing and are opened, the yeast in a tin ages. Rises scatter by about 4 % from batch to batch, lots of flour differ by\n\
         about 12 %. The fridges had no thermometer before `{measured}`. Until `{planned}` yeast follows the bakers' habit; from\n\
         there on a stand-in for the workbench chooses it (the yeast that truly hits the target, off by what a fit cannot\n\
         know), so the steadier second half is put in by hand too.\n\
         \n\
         Mistakes that are in it on purpose:\n\
         \n\
         {mistakes}\
         \n\
         To make the files again, byte for byte:\n\
         \n\
         ```\n\
         cargo run --release --example make_demo_data\n\
         ```\n",
        batches = year.batches.len(),
        readings = year.readings.len(),
        logs = year.surroundings.len(),
        measured = year
            .batches
            .iter()
            .find(|b| b.cold_temp_c.is_some())
            .and_then(|b| b.batch_id.as_deref())
            .unwrap_or_default(),
    )
}
