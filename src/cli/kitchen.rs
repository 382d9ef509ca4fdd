//! One kitchen of an open logbook, as the commands that answer from its fit need it.

use crate::advice::AdviceError;
use crate::advice::plan::complete;
use crate::dough::Batch;
use crate::inference::fit::Fit;
use crate::inference::prepare::Records;
use crate::logbook::Logbook;

use super::context::Context;
use super::failure::Failure;

/// A kitchen and its logbook.
#[derive(Debug)]
pub struct Kitchen {
    /// Where its records are kept.
    pub logbook: Logbook,
    /// Its name.
    pub name: String,
}

impl Kitchen {
    /// Opens the logbook.
    pub fn open(context: &Context) -> Result<Self, Failure> {
        let logbook = context.open()?;
        let name = context.kitchen(&logbook)?;
        Ok(Self { logbook, name })
    }

    /// Opens the logbook to answer for plans, or begins one when there is none; nothing is made for plans that
    /// `asked` refuses.
    pub fn open_for(
        context: &Context,
        plans: &[Batch],
        asked: impl Fn(&Batch) -> Result<(), AdviceError>,
    ) -> Result<Self, Failure> {
        if !context.begins() {
            return Self::open(context);
        }
        for plan in plans {
            asked(&complete(plan, None))?;
        }
        let logbook = context.begin()?;
        let name = context.kitchen(&logbook)?;
        Ok(Self { logbook, name })
    }

    /// The batch that completes a plan: the latest of its recipe.
    pub fn latest(&self, plan: &Batch) -> Result<Option<Batch>, Failure> {
        Ok(self.logbook.latest(&self.name, plan.recipe.as_deref())?)
    }

    /// The records and the fit to them; without any record the fit is the prior.
    pub fn fit(&mut self, context: &Context) -> Result<(Records, Fit), Failure> {
        let records = context.records(&self.logbook, &self.name)?;
        let fit = context.fit(&mut self.logbook, &self.name, &records)?;
        Ok((records, fit))
    }
}
