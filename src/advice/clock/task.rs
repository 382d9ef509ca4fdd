//! Side tasks that ride on the clock of a batch: a sauce a day ahead, trays oiled before division.

use jiff::{Span, ZonedDateTime};

use super::later;
use super::steps::Step;
use crate::advice::AdviceError;

/// A side task.
#[derive(Debug, Clone)]
pub struct Task {
    /// What is done.
    pub name: String,
    /// How long before (or after) its step; days are days of the calendar.
    span: Span,
    after: bool,
    step: Step,
}

impl Task {
    /// From "sauce=1d before bake", "oil trays=15min before divide", or "turn the balls=2h after out".
    ///
    /// # Errors
    /// When it is none of these.
    pub fn parse(text: &str) -> Result<Self, AdviceError> {
        let wrong = |why: &str| {
            AdviceError::Clock(format!(
                "task '{text}': {why}; say it like 'sauce=1d before bake', with one of {}",
                Step::WORDS.join(", ")
            ))
        };
        let (name, when) =
            text.split_once('=').ok_or_else(|| wrong("there is no = between its name and its time"))?;
        let when = when.trim();
        if name.trim().is_empty() {
            return Err(wrong("it has no name"));
        }
        let (span, after, step) = match (when.split_once(" before "), when.split_once(" after ")) {
            (Some((span, step)), _) => (span, false, step),
            (None, Some((span, step))) => (span, true, step),
            (None, None) => return Err(wrong("before or after which step is not said")),
        };
        let step = step.trim().parse().map_err(|_| wrong("that is no step"))?;
        let span: Span = span.trim().parse().map_err(|_| wrong("that is no length of time"))?;
        if span.is_negative() {
            return Err(wrong("its time is below zero"));
        }
        Ok(Self { name: name.trim().into(), span, after, step })
    }

    /// When it falls among the steps of a plan; `None` when the plan has no such step.
    pub fn at(&self, steps: &[(Step, ZonedDateTime)]) -> Option<ZonedDateTime> {
        let (_, of) = steps.iter().find(|(s, _)| *s == self.step)?;
        let moved = if self.after { of.checked_add(self.span) } else { of.checked_sub(self.span) };
        // Beyond the calendar there is no task to keep.
        Some(moved.unwrap_or_else(|_| later(of, 0.0)))
    }

    /// The step it hangs on.
    pub fn step(&self) -> Step {
        self.step
    }
}
