//! The columns of a plan as flags: `--cold-hours 24` for the column `cold_hours`. Made from the one table of
//! columns, so that a new column is a new flag.

use clap::{Arg, ArgMatches, Command, Error, FromArgMatches};

use crate::dough::{Batch, Column, Kind};
use crate::intake::typed_beside;

/// Columns given on the command line, in the order of the table.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PlanColumns(Vec<(Column, String)>);

/// Columns with a flag of their own elsewhere, and the plan's own name, which a plan cannot say of itself.
const ELSEWHERE: &[Column] = &[Column::kitchen, Column::plan_id];

fn columns() -> impl Iterator<Item = Column> {
    Column::ALL.iter().copied().filter(|c| !ELSEWHERE.contains(c))
}

impl PlanColumns {
    /// Whether none was given.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Puts them into a plan.
    ///
    /// # Errors
    /// When a column cannot hold what was given, in words.
    pub fn put_into(&self, plan: &mut Batch) -> Result<(), String> {
        // The flour stands before the rest, so that a percentage finds it.
        for (column, text) in &self.0 {
            let value = typed_beside(*column, text, plan.flour_g)
                .map_err(|why| format!("{column} cannot be '{text}': {why}"))?;
            plan.set(*column, &value).map_err(|refused| refused.to_string())?;
        }
        Ok(())
    }
}

impl clap::Args for PlanColumns {
    fn augment_args(command: Command) -> Command {
        command.next_help_heading("Columns of the plan").args(columns().map(|column| {
            let unit = match column.kind() {
                Kind::Number { unit, .. } if !unit.is_empty() => format!(" [{unit}]"),
                _ => String::new(),
            };
            Arg::new(column.name())
                .long(column.name().replace('_', "-"))
                .value_name("VALUE")
                .allow_negative_numbers(true)
                .hide_short_help(true)
                .help(format!("{}{unit}", column.meaning()))
        }))
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl FromArgMatches for PlanColumns {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, Error> {
        let given = |c: Column| Some((c, matches.get_one::<String>(c.name())?.clone()));
        Ok(Self(columns().filter_map(given).collect()))
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}
