//! A file whose table is found and understood, and the reading of its rows.

use super::column_map::ColumnMap;
use super::decide::Drafts;
use super::error::IntakeError;
use super::headings::{TableKind, Target};
use super::identity::{Identities, Standing};
use super::number::Decimal;
use super::question::Question;
use super::row::{Entry, Row, RowReader, SetAside, as_they_stand};
use super::set_aside::PROBLEM_HEADING;
use super::source::Source;
use super::survey::ColumnSurvey;
use super::table::{Line, Table};
use super::understood::{PassedOver, Understood, shape};
use super::{Intake, Known, Options};
use crate::dough::{Column, Purpose};

/// One row, judged.
#[derive(Debug)]
pub enum Checked {
    /// It can be used.
    Good(Row<Entry>),
    /// It is set aside, with what is wrong.
    Bad(SetAside),
    /// It says word for word what an earlier row says, and is passed over.
    Repeated {
        /// This row.
        row: u64,
        /// The row that said it first.
        first: u64,
    },
}

/// A table that is found and understood, but whose rows are not yet read.
#[derive(Debug)]
pub struct Opened {
    table: Table,
    understood: Understood,
    identities: Identities,
    headings: Vec<String>,
}

impl Opened {
    /// Finds the one table in a source and makes out its headings, by what they and the cells say.
    ///
    /// # Errors
    /// When the file cannot be read, or does not hold just one table.
    pub fn new(source: Source) -> Result<Self, IntakeError> {
        let mut all = Self::all(&source, &Known::default())?;
        match (all.pop(), all.is_empty()) {
            (Some(only), true) => Ok(only),
            (last, _) => {
                let sheets = all.iter().chain(&last).filter_map(|o| o.understood.sheet.clone()).collect();
                Err(IntakeError::WhichSheet { file: source.name().into(), kind: "tables", sheets })
            }
        }
    }

    /// Finds the tables in a source and makes out their headings: one in a text, one or more in a workbook.
    /// Questions that are left open are no error here; see [`Understood::questions`].
    ///
    /// # Errors
    /// When the file cannot be read, holds no table, or holds several of one kind and none was chosen.
    pub fn all(source: &Source, known: &Known) -> Result<Vec<Self>, IntakeError> {
        let maps: Vec<&ColumnMap> = known.remembered.values().chain([&known.map]).collect();
        let tables = Table::find_all(source, known.map.sheet.as_deref(), &maps)?;
        let opened: Vec<Self> = tables.into_iter().map(|t| Self::of(t, known)).collect::<Result<_, _>>()?;
        for kind in TableKind::ALL {
            let same: Vec<&Self> = opened.iter().filter(|o| o.understood.kind == kind).collect();
            if same.len() > 1 {
                let sheets = same.iter().filter_map(|o| o.understood.sheet.clone()).collect();
                return Err(IntakeError::WhichSheet {
                    file: source.name().into(),
                    kind: kind.name(),
                    sheets,
                });
            }
        }
        Ok(opened)
    }

    fn of(table: Table, known: &Known) -> Result<Self, IntakeError> {
        let shape = shape(&table);
        let map = match known.remembered.get(&shape) {
            Some(remembered) => known.map.over(remembered),
            None => known.map.clone(),
        };
        let mut drafts = Drafts::of(&table, &map);
        let kind = drafts.kind;
        let place = |column| drafts.sole_place(Target::Column(column)).filter(|_| kind == TableKind::Batches);
        let mut identities = Identities::new(place(Column::batch_id), place(Column::kitchen));
        let mut surveys: Vec<(usize, ColumnSurvey)> =
            drafts.asked().into_iter().map(|(place, asked)| (place, ColumnSurvey::new(asked))).collect();
        let mut passed_over = PassedOver::default();
        table.visit_lines::<IntakeError>(|row, cells, line| {
            let passed = match line {
                Line::Data => {
                    surveys.iter_mut().for_each(|(place, survey)| survey.look(row, cells.cell(*place)));
                    identities.look(row, cells);
                    return Ok(());
                }
                Line::Heading => &mut passed_over.headings,
                Line::Foot => &mut passed_over.foot,
                Line::Example => &mut passed_over.example,
            };
            passed.0 += 1;
            passed.1.get_or_insert(row);
            Ok(())
        })?;
        identities.keep_repeated();
        for (draft, (_, survey)) in drafts.columns.iter_mut().zip(surveys) {
            draft.survey = survey;
        }
        let decided = drafts.decide();
        let understood = Understood {
            file: table.file().to_string(),
            sheet: table.sheet().map(str::to_string),
            form: table.form(),
            shape,
            kind,
            heading_row: table.heading_row,
            columns: decided.columns,
            left_out: decided.left_out,
            passed_over,
            fill: map.fill,
            questions: decided.questions,
        };
        let headings = table.headings.iter().filter(|h| h.text != PROBLEM_HEADING).map(|h| h.text.clone());
        Ok(Self { headings: headings.collect(), table, understood, identities })
    }

    /// What the sheet was taken for.
    pub fn understood(&self) -> &Understood {
        &self.understood
    }

    /// The headings of the sheet, one a column, for writing its bad rows.
    pub fn headings(&self) -> &[String] {
        &self.headings
    }

    /// What is to part the cells of its bad rows: what parts those of the sheet; in a workbook a semicolon where numbers
    /// have decimal commas, as spreadsheets of such places write it.
    pub fn separator(&self) -> u8 {
        let has_comma = self.understood.columns.iter().any(|c| c.decimal == Some(Decimal::Comma));
        self.table.delimiter().unwrap_or(if has_comma { b';' } else { b',' })
    }

    /// Whether nothing about the sheet is open any more.
    ///
    /// # Errors
    /// The open questions.
    pub fn settled(&self, purpose: Purpose) -> Result<(), IntakeError> {
        let is_plan = purpose == Purpose::Plan;
        let open = self.understood.questions.iter().filter(|q| !(is_plan && q.missing));
        let questions: Vec<Question> = open.cloned().collect();
        match questions.is_empty() {
            true => Ok(()),
            false => Err(IntakeError::Open { file: self.table.file().into(), questions }),
        }
    }

    /// Reads and checks every row, in constant memory apart from one number a batch.
    ///
    /// # Errors
    /// When a question about the sheet is open, when reading fails half way, and whatever `take` fails with.
    pub fn for_each_row<E: From<IntakeError>>(
        &self,
        options: &Options,
        mut take: impl FnMut(Checked) -> Result<(), E>,
    ) -> Result<(), E> {
        self.settled(options.purpose)?;
        let by_comma = self.table.separates_by_comma();
        let reader = RowReader::new(&self.understood, options.purpose, self.table.headings.len(), by_comma);
        let problem_place = self.table.headings.iter().position(|h| h.text == PROBLEM_HEADING);
        self.table.visit(|row, cells| {
            let set_aside = |problems| {
                let mut cells = as_they_stand(cells, &self.understood);
                // What was wrong when the row was set aside before is not said again.
                if let Some(place) = problem_place.filter(|at| *at < cells.len()) {
                    cells.remove(place);
                }
                Checked::Bad(SetAside { row, cells, problems })
            };
            take(match self.identities.standing(row, cells) {
                Standing::Repeats(first) => Checked::Repeated { row, first },
                Standing::Conflicts(other) => {
                    let id = self.identities.id_place.map(|i| cells.cell(i).shown()).unwrap_or_default();
                    let message = format!(
                        "row {other} has the same batch_id and says otherwise: keep one, or name one anew"
                    );
                    set_aside(vec![reader.problem(row, Column::batch_id, &id, message)])
                }
                Standing::New => match reader.read(row, cells) {
                    Ok((value, kitchen)) => Checked::Good(Row { row, value, kitchen }),
                    Err(problems) => set_aside(problems),
                },
            })
        })
    }

    /// Reads everything at once.
    ///
    /// # Errors
    /// When a question about the sheet is open, or reading fails half way.
    pub fn read(&self, options: &Options) -> Result<Intake, IntakeError> {
        let mut intake = Intake {
            file: self.table.file().to_string(),
            understood: self.understood.clone(),
            batches: Vec::new(),
            readings: Vec::new(),
            surroundings: Vec::new(),
            repeated: Vec::new(),
            set_aside: Vec::new(),
            headings: self.headings.clone(),
        };
        self.for_each_row::<IntakeError>(options, |checked| {
            match checked {
                Checked::Bad(bad) => intake.set_aside.push(bad),
                Checked::Repeated { row, first } => intake.repeated.push((row, first)),
                Checked::Good(Row { row, value, kitchen }) => match value {
                    Entry::Batch(value) => intake.batches.push(Row { row, value: *value, kitchen }),
                    Entry::Reading(value) => intake.readings.push(Row { row, value, kitchen }),
                    Entry::Surroundings(value) => intake.surroundings.push(Row { row, value, kitchen }),
                },
            }
            Ok(())
        })?;
        Ok(intake)
    }
}
