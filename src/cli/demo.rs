//! `demo`: the whole main job on invented records, in a folder of its own: import, fit, recommend, charts.

use std::path::{Path, PathBuf};

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::limits::Limits;
use crate::advice::plan::complete;
use crate::answers::crust_side;
use crate::dough::Purpose;
use crate::inference::fit::Settings;
use crate::inference::quick;
use crate::intake::{ColumnMap, Opened, Options, Source};
use crate::logbook::Logbook;

use super::args::DemoArgs;
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::files::write_whole;
use super::output::answer;
use super::progress::Steps;
use super::{charts, fit, import, kept, recommend, report, residuals};

/// The invented records, part of the program so that the demo runs anywhere.
const FILES: [(&str, &[u8]); 4] = [
    ("batches.csv", include_bytes!("../../demo-data/batches.csv")),
    ("readings.csv", include_bytes!("../../demo-data/readings.csv")),
    ("surroundings.csv", include_bytes!("../../demo-data/surroundings.csv")),
    ("plan.csv", include_bytes!("../../demo-data/plan.csv")),
];

/// Said wherever the demo shows something.
const INVENTED: &str =
    "The records of this demo are invented: a community hall's kitchen that does not exist.";

#[derive(Serialize, JsonSchema)]
pub struct Shown {
    logbook: PathBuf,
    report: PathBuf,
    charts: Vec<PathBuf>,
    imported: import::Imported,
    fit: fit::Fitted,
    plans: recommend::Answer,
    residuals: residuals::Answer,
}

/// Runs the command.
pub fn run(context: &Context, args: &DemoArgs) -> Outcome {
    let out = fresh_folder(args.out.as_deref())?;
    let steps = Steps::new(6);
    let here = Context { logbook: out.join("logbook.db"), named: true, kitchen: None, ..context.clone() };

    steps.begin("writing the invented records");
    for (name, bytes) in FILES {
        let path = out.join(name);
        write_whole(&path, bytes)?;
    }

    steps.begin("importing them into a logbook");
    let tables: Vec<PathBuf> = FILES[..3].iter().map(|(name, _)| out.join(name)).collect();
    let imported = import::import(&here, &tables, false, &ColumnMap::default(), None)?;

    steps.begin("fitting the fermentation model");
    let mut logbook = Logbook::open(&here.logbook)?;
    let kitchen = here.kitchen(&logbook)?;
    let records = here.records(&logbook, &kitchen)?;
    let settings = Settings::default();
    let fitted = quick::fit(&records, &settings)?;
    let hash = logbook.data_hash(&kitchen)?;
    logbook.keep_fit(&kept::record(&fitted, &kitchen, &settings, hash))?;

    steps.begin("working out the next batch");
    let options = Options { purpose: Purpose::Plan };
    let plans = Opened::new(Source::path(&out.join("plan.csv")))?.read(&options)?;
    let mut full = Vec::new();
    for row in plans.batches {
        let latest = logbook.latest(&kitchen, row.value.recipe.as_deref())?;
        full.push((complete(&row.value, latest.as_ref()), latest));
    }
    let mut advice = recommend::answer_plans(&fitted, &records, &full, &Limits::default())?;
    let crust = crust_side::kept_foreteller(&mut logbook, &kitchen, &records, &fitted)?;
    crust_side::put_beside(&mut advice.plans, &fitted, crust.as_ref());

    steps.begin("drawing the charts");
    let found = residuals::find(&fitted, &records)?;
    let told = residuals::tell(&found, &records, context.units, &out.join("charts"))?;
    let wall = charts::draw(&fitted, &records, context.units, &out.join("charts"), false)?;

    steps.begin("writing the report");
    let page = out.join("report.html");
    let known = report::Known {
        kitchen: &kitchen,
        records: &records,
        plans: &logbook.plans(&kitchen)?,
        fit: &fitted,
        note: Some(INVENTED),
    };
    report::write(&known, Ok(advice.plans.clone()), context.units, &page)?;
    steps.end();

    let shown = Shown {
        logbook: here.logbook.clone(),
        report: page,
        charts: told.charts.iter().cloned().chain(wall.charts).collect(),
        imported,
        fit: fit::Fitted::new(&kitchen, &fitted),
        plans: advice,
        residuals: told,
    };
    answer(context, &shown, || text(&shown, context))?;
    Ok(Done::All)
}

fn text(shown: &Shown, context: &Context) -> String {
    let folder = shown.report.parent().unwrap_or(Path::new(".")).display();
    format!(
        "{INVENTED}\n\n\
         {} rows taken into the logbook, {} set aside.\n\n\
         THE NEXT BATCH\n{}\n\
         HOW WELL THE MODEL FITS\n{}\n\
         Where to look:\n  {}   all of this on one page\n  {folder}/charts/   the charts\n  {}   the logbook\n  {folder}/*.csv     the records, to try your own changes\n\
         Then, with your own table:\n  doughwright import your-batches.csv\n  doughwright recommend --cold-hours 24\n",
        shown.imported.added,
        shown.imported.set_aside,
        recommend::text(&shown.plans, context.units),
        residuals::text(&shown.residuals, ""),
        shown.report.display(),
        shown.logbook.display(),
    )
}

/// The folder to write into: the one named, if it is empty or not there; else a new one beside us.
fn fresh_folder(named: Option<&Path>) -> Result<PathBuf, Failure> {
    let make = |path: &Path| std::fs::create_dir_all(path).map_err(|e| Failure::write(path, e));
    if let Some(path) = named {
        let taken = std::fs::read_dir(path).is_ok_and(|mut entries| entries.next().is_some());
        if taken {
            return Err(Failure::Call(format!(
                "{} is not empty: name another folder with --out",
                path.display()
            )));
        }
        make(path)?;
        return Ok(path.to_path_buf());
    }
    let free = (1..).map(|n| PathBuf::from(format!("doughwright-demo-{n}"))).find(|p| !p.exists());
    let path = free.unwrap_or_else(|| "doughwright-demo".into());
    make(&path)?;
    Ok(path)
}
