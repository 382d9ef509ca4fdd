//! `report`: everything about a kitchen on one page.

use std::path::{Path, PathBuf};

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::limits::Limits;
use crate::advice::plan::complete;
use crate::advice::recommend::Recommendation;
use crate::answers::crust_side;
pub use crate::answers::report::Known;
use crate::answers::report::report_of;
use crate::dough::units::UnitSystem;
use crate::report::page;

use super::args::ReportArgs;
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::files::write_whole;
use super::kitchen::Kitchen;
use super::output::answer;
use super::progress::while_doing;
use super::recommend::{answer_plans, plans};

#[derive(Serialize, JsonSchema)]
pub struct Answer {
    report: PathBuf,
}

/// Runs the command.
pub fn run(context: &Context, args: &ReportArgs) -> Outcome {
    let asked = plans(args.plan.as_deref(), &args.columns)?;
    let mut kitchen = Kitchen::open(context)?;
    let (records, fit) = kitchen.fit(context)?;
    let mut full = Vec::new();
    for plan in asked {
        let latest = kitchen.latest(&plan)?;
        full.push((complete(&plan, latest.as_ref()), latest));
    }
    let crust = crust_side::kept_foreteller(&mut kitchen.logbook, &kitchen.name, &records, &fit)?;
    let next = match answer_plans(&fit, &records, &full, &Limits::default()) {
        Ok(mut answered) => {
            crust_side::put_beside(&mut answered.plans, &fit, crust.as_ref());
            Ok(answered.plans)
        }
        // Nobody asked for a plan, so a page without one is better than no page.
        Err(why) if args.plan.is_none() && args.columns.is_empty() => Err(why.to_string()),
        Err(why) => return Err(why),
    };
    let known = Known {
        kitchen: &kitchen.name,
        records: &records,
        plans: &kitchen.logbook.plans(&kitchen.name)?,
        fit: &fit,
        note: None,
    };
    while_doing("writing the report", || write(&known, next, context.units, &args.out))?;
    let told = Answer { report: args.out.clone() };
    answer(context, &told, || format!("report: {}\n", told.report.display()))?;
    Ok(Done::All)
}

/// Writes the report of a kitchen; `next` holds the batches to come, or why there is none.
pub fn write(
    known: &Known,
    next: Result<Vec<Recommendation>, String>,
    units: UnitSystem,
    out: &Path,
) -> Result<(), Failure> {
    write_whole(out, page(&report_of(known, next, units)?))
}
