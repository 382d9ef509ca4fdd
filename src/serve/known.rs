//! What is known of the kitchen, held in memory between requests: its records, plans and fit, the overview once it was
//! drawn, and the answers to forms. It is known anew when the logbook was changed, by this page or by anybody else.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use crate::advice::limits::Limits;
use crate::advice::plan::complete;
use crate::advice::recommend::Recommendation;
use crate::answers::crust_side;
use crate::answers::failure::Failure;
use crate::answers::kitchen;
use crate::answers::plans::latest_thoughts;
use crate::answers::recommend::answer_plans;
use crate::answers::report::{Known as OfReport, report_of, with_chart};
use crate::crust::foretell::Foreteller;
use crate::dough::units::UnitSystem;
use crate::dough::{Batch, Column, Value};
use crate::inference::fit::Fit;
use crate::inference::prepare::Records;
use crate::logbook::{FitRecord, Logbook, PlanRecord};
use crate::report::{NextBatch, Report};

/// Draws behind the chart of an answer: its bands move by less than a line's width against all draws.
const CHART_DRAWS: usize = 200;
/// Answers kept at most; then all are forgotten.
const MOST_ANSWERS: usize = 500;

/// Columns of a plan that a form gave.
pub type Given = Vec<(Column, Value)>;

/// A kitchen as it stands in the logbook.
#[derive(Debug)]
pub struct Known {
    /// Its name.
    pub name: String,
    /// Its records.
    pub records: Records,
    /// Plans kept.
    pub plans: Vec<PlanRecord>,
    /// The fit to its records.
    pub fit: Arc<Fit>,
    crust: Option<Arc<Foreteller>>,
    hash: String,
    units: UnitSystem,
    overview: OnceLock<Result<Report, Failure>>,
    answers: Mutex<HashMap<String, Answer>>,
}

/// What was made anew and is worth keeping.
#[derive(Debug, Default)]
pub struct ToKeep {
    /// The fit.
    pub fit: Option<FitRecord>,
    /// The regression of the crust, as text.
    pub crust: Option<String>,
}

/// An answer, worked out once by whoever asks first.
pub type Answer = Arc<OnceLock<Result<Advice, Failure>>>;

/// The answer to a form.
#[derive(Debug)]
pub struct Advice {
    /// The batch to come.
    pub next: NextBatch,
    /// What to know of the fit behind it.
    pub warnings: Vec<String>,
}

impl Known {
    /// What the logbook says. What was fitted for `before` is taken over when the data it rests on is the same; what is new
    /// comes back to be kept.
    pub fn read(
        logbook: &Logbook,
        named: Option<&str>,
        units: UnitSystem,
        before: Option<&Self>,
    ) -> Result<(Self, ToKeep), Failure> {
        // Where none was named, the page stays with the kitchen it began with as long as it is there, though the logbook may
        // get others.
        let there = logbook.kitchens()?;
        let began = before.map(|b| b.name.as_str()).filter(|name| there.iter().any(|k| k == name));
        let name = kitchen::meant(logbook, named.or(began))?;
        let records = kitchen::records(logbook, &name)?;
        let plans = latest_thoughts(logbook.plans(&name)?);
        let hash = logbook.data_hash(&name)?;
        let mut made = ToKeep::default();
        let (fit, crust) = match before.filter(|b| b.hash == hash && b.name == name) {
            Some(before) => (before.fit.clone(), before.crust.clone()),
            None => {
                let (fit, new) = kitchen::fit(logbook, &name, &records)?;
                made.fit = new;
                let (crust, new) = crust_side::foreteller(logbook, &name, &records, &fit)?;
                made.crust = new;
                (Arc::new(fit), crust.map(Arc::new))
            }
        };
        let (overview, answers) = (OnceLock::new(), Mutex::default());
        Ok((Self { name, records, plans, fit, crust, hash, units, overview, answers }, made))
    }

    /// The latest batch of a recipe, or of any.
    pub fn latest(&self, recipe: Option<&str>) -> Option<&Batch> {
        self.records.batches.iter().rev().find(|b| recipe.is_none() || b.recipe.as_deref() == recipe)
    }

    /// The report, made when it is first asked for.
    pub fn overview(&self) -> Result<&Report, &Failure> {
        self.overview.get_or_init(|| self.draw_overview()).as_ref()
    }

    fn draw_overview(&self) -> Result<Report, Failure> {
        let latest = self.latest(None).cloned();
        let plan = (complete(&Batch::default(), latest.as_ref()), latest);
        let next = answer_plans(&self.fit, &self.records, &[plan], &Limits::default());
        let known = OfReport {
            kitchen: &self.name,
            records: &self.records,
            plans: &self.plans,
            fit: &self.fit,
            note: None,
        };
        let next = next.map(|mut answered| {
            self.put_crust_beside(&mut answered.plans);
            answered.plans
        });
        report_of(&known, next.map_err(|why| why.to_string()), self.units)
    }

    /// What is recommended for the columns of a form. The same question is worked out once, however many ask it.
    pub fn advice(&self, given: &Given) -> Answer {
        let question = given.iter().map(|(c, v)| format!("{c}={v}\n")).collect::<String>();
        let answer = {
            let mut answers = self.answers.lock().unwrap_or_else(PoisonError::into_inner);
            if answers.len() >= MOST_ANSWERS {
                answers.clear();
            }
            answers.entry(question).or_default().clone()
        };
        answer.get_or_init(|| self.work_out(given));
        answer
    }

    fn put_crust_beside(&self, plans: &mut [Recommendation]) {
        crust_side::put_beside(plans, &self.fit, self.crust.as_deref());
    }

    fn work_out(&self, given: &Given) -> Result<Advice, Failure> {
        let mut plan = Batch::default();
        for (column, value) in given {
            plan.set(*column, value).map_err(|e| Failure::Call(e.to_string()))?;
        }
        let latest = self.latest(plan.recipe.as_deref()).cloned();
        let full = (complete(&plan, latest.as_ref()), latest);
        let mut answered = answer_plans(&self.fit, &self.records, &[full], &Limits::default())?;
        self.put_crust_beside(&mut answered.plans);
        // One plan was asked about, so there is one answer.
        let advice = answered.plans.pop().ok_or(crate::advice::AdviceError::NoForecast)?;
        Ok(Advice {
            next: with_chart(&self.fit, advice, self.units, CHART_DRAWS)?,
            warnings: answered.warnings,
        })
    }
}
