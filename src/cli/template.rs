//! `template`: an empty workbook for a baker's records. Each heading carries its unit and meaning as a note, columns
//! of fixed words have them as drop-downs, numbers are held to their range, and an example row shows how it is meant:
//! it is passed over by `import` as long as its batch is called [`EXAMPLE_ID`].

use std::path::PathBuf;

use rust_xlsxwriter::{
    DataValidation, DataValidationErrorStyle, DataValidationRule, Format, Note, Workbook, Worksheet,
    XlsxError,
};
use schemars::JsonSchema;
use serde::Serialize;

use crate::dough::{Column, Kind, Vessel};
use crate::intake::{EXAMPLE_ID, Target};

use super::args::TemplateArgs;
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::files::write_whole;
use super::output::answer;

/// Rows that drop-downs and ranges reach down to.
const LAST_ROW: u32 = 2000;

/// Left out: they are known beforehand, or made.
const NOT_ASKED: &[Column] = &[Column::kitchen, Column::plan_id];

/// An invented batch.
const EXAMPLE: &[(Column, &str)] = &[
    (Column::batch_id, EXAMPLE_ID),
    (Column::date, "2026-03-01T08:30"),
    (Column::flour_g, "1000"),
    (Column::water_g, "640"),
    (Column::salt_g, "25"),
    (Column::yeast_g, "1.8"),
    (Column::yeast_type, "instant"),
    (Column::recipe, "pizza"),
    (Column::flour_lot, "A1"),
    (Column::flour_temp_c, "21"),
    (Column::room_temp_c, "22"),
    (Column::water_temp_c, "18"),
    (Column::mix_method, "hand"),
    (Column::mix_minutes, "10"),
    (Column::dough_temp_c, "23.5"),
    (Column::bulk_hours, "1.5"),
    (Column::bulk_temp_c, "22"),
    (Column::cold_hours, "24"),
    (Column::cold_temp_c, "4"),
    (Column::temper_hours, "2"),
    (Column::temper_temp_c, "22"),
    (Column::piece_g, "250"),
    (Column::target_rise, "2.2"),
    (Column::rise, "2.3"),
    (Column::rise_at, "temper"),
    (Column::ripeness, "ready"),
    (Column::crust_score, "8"),
];

#[derive(Serialize, JsonSchema)]
pub struct Made {
    template: PathBuf,
}

/// Runs the command.
pub fn run(context: &Context, args: &TemplateArgs) -> Outcome {
    let ending = args.file.extension().and_then(|e| e.to_str()).unwrap_or_default();
    if ending != "xlsx" {
        return Err(Failure::Call(format!(
            "{}: a template is a workbook: end its name in .xlsx",
            args.file.display()
        )));
    }
    if args.file.exists() {
        return Err(Failure::Call(format!(
            "{}: a file stands there, and may hold your records: give another name",
            args.file.display()
        )));
    }
    let book = workbook().map_err(|e| Failure::write(&args.file, std::io::Error::other(e)))?;
    write_whole(&args.file, book)?;
    let made = Made { template: args.file.clone() };
    answer(context, &made, || {
        let file = made.template.display();
        format!(
            "{file}: fill in one row a batch, then `doughwright import {file}`\nneeded are {}; leave the rest blank where you do \
             not know it\nthe example row is not imported; to keep it, give it a batch_id of its own\n",
            Column::NEEDED.iter().map(|c| c.name()).collect::<Vec<_>>().join(", ")
        )
    })?;
    Ok(Done::All)
}

/// The bytes of the template.
fn workbook() -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let columns: Vec<Column> = Column::ALL.iter().copied().filter(|c| !NOT_ASKED.contains(c)).collect();
    let targets: Vec<Target> = columns.iter().map(|c| Target::Column(*c)).collect();
    let sheet = book.add_worksheet().set_name("batches")?;
    headings(sheet, &targets)?;
    let example = Format::new().set_italic().set_font_color("808080");
    for (place, column) in (0..).zip(&columns) {
        let Some((_, value)) = EXAMPLE.iter().find(|(c, _)| c == column) else { continue };
        match value.parse::<f64>() {
            Ok(x) => sheet.write_number_with_format(1, place, x, &example)?,
            Err(_) => sheet.write_string_with_format(1, place, *value, &example)?,
        };
    }
    let (id, hours) = (Target::Column(Column::batch_id), Target::Hours);
    let (rise, temp) = (Target::Column(Column::rise), Target::Column(Column::dough_temp_c));
    headings(book.add_worksheet().set_name("readings")?, &[id, hours, rise, temp, Target::Vessel])?;
    headings(book.add_worksheet().set_name("surroundings")?, &[id, hours, Target::SurroundingsTemp])?;
    book.save_to_buffer()
}

fn headings(sheet: &mut Worksheet, targets: &[Target]) -> Result<(), XlsxError> {
    let needed = Format::new().set_bold();
    let other = Format::new();
    sheet.set_freeze_panes(1, 1)?;
    for (place, target) in (0..).zip(targets) {
        let is_needed = matches!(target, Target::Column(c) if Column::NEEDED.contains(c));
        sheet.write_string_with_format(0, place, target.name(), if is_needed { &needed } else { &other })?;
        sheet.set_column_width(place, (target.name().len() + 2).max(12) as f64)?;
        sheet.insert_note(
            0,
            place,
            &Note::new(explained(*target)).set_author("doughwright").add_author_prefix(false),
        )?;
        if let Some(rule) = rule(*target)? {
            sheet.add_data_validation(1, place, LAST_ROW, place, &rule)?;
        }
    }
    Ok(())
}

/// What a column means, with its unit and what may stand in it.
fn explained(target: Target) -> String {
    let meaning = match target {
        Target::Column(column) => column.meaning(),
        Target::Hours => "Hours since the end of mixing (of the preferment, for its vessel)",
        Target::Vessel => "Where the reading was taken; the dough when blank",
        Target::SurroundingsTemp => "Temperature around the dough from this hour on",
        Target::Clock => "Time of day of mixing",
    };
    let unit = target.quantity().map_or("", |q| q.kept_in().name());
    match (target.range(), words(target)) {
        (Some((min, max)), _) => format!("{meaning}. In {unit}, {min} to {max}."),
        (None, Some(words)) => format!("{meaning}. One of {}.", words.join(", ")),
        (None, None) if target.is_date() => format!("{meaning}. Such as 2026-03-01 or 2026-03-01T08:30."),
        (None, None) => format!("{meaning}."),
    }
}

/// The words that a column is held to.
fn words(target: Target) -> Option<&'static [&'static str]> {
    match target {
        Target::Vessel => Some(Vessel::WORDS),
        Target::Column(column) => match column.kind() {
            Kind::Choice(words) => Some(words),
            _ => None,
        },
        _ => None,
    }
}

/// Words as a drop-down; a number outside its range is asked about, not refused: the cell may say "72 °F".
fn rule(target: Target) -> Result<Option<DataValidation>, XlsxError> {
    if let Some(words) = words(target) {
        return Ok(Some(
            DataValidation::new()
                .allow_list_strings(words)?
                .set_error_message(format!("One of {} is wanted.", words.join(", ")))?,
        ));
    }
    let Some((min, max)) = target.range() else { return Ok(None) };
    let rule = DataValidation::new()
        .allow_decimal_number(DataValidationRule::Between(min, max))
        .set_error_style(DataValidationErrorStyle::Warning)
        .set_error_message(format!(
            "A number from {min} to {max} is usual here; with another unit, write the unit."
        ))?;
    Ok(Some(rule))
}
