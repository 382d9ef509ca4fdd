//! Who chooses the yeast (and water, if they like): the bakers' habit, an oracle, or whoever implements [`Policy`].

use rand::Rng;

use crate::dough::Batch;

use super::chance::normal;
use super::habit::Habit;
use super::kitchen::Kitchen;
use super::season::Day;
use super::year::Year;

/// One batch to choose for, with what can be known at the bench.
#[derive(Debug, Clone, Copy)]
pub struct Case<'a> {
    /// The kitchen. Only an oracle may look into it.
    pub kitchen: &'a Kitchen,
    /// The plan: room and flour as they are, fridge and later room as usual, yeast blank, water by the sum rule.
    pub plan: &'a Batch,
    /// The day as that plan foresees it.
    pub foreseen: &'a Day,
    /// Which of the calendar's recipes it is.
    pub recipe: usize,
    /// Which of the calendar's batches it is, from 0.
    pub number: usize,
    /// The records so far.
    pub so_far: &'a Year,
}

/// What is chosen.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Choice {
    /// Yeast in g, before the scale rounds it.
    pub yeast_g: Option<f64>,
    /// Water temperature in °C; the plan's own when blank.
    pub water_temp_c: Option<f64>,
}

/// A way to choose.
pub trait Policy {
    /// Chooses for one batch.
    fn choose(&mut self, case: &Case<'_>, rng: &mut impl Rng) -> Choice;

    /// Sees how a batch of the given recipe was written down.
    fn learn(&mut self, _recipe: usize, _record: &Batch) {}
}

/// The bakers' habit, one a recipe.
#[derive(Debug, Clone, PartialEq)]
pub struct Habits(pub Vec<Habit>);

impl Policy for Habits {
    fn choose(&mut self, case: &Case<'_>, _rng: &mut impl Rng) -> Choice {
        Choice { yeast_g: self.0[case.recipe].yeast_g(case.plan), ..Choice::default() }
    }

    fn learn(&mut self, recipe: usize, record: &Batch) {
        self.0[recipe].learn(record);
    }
}

/// The yeast that truly hits the target on the day as foreseen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Oracle;

impl Policy for Oracle {
    fn choose(&mut self, case: &Case<'_>, _rng: &mut impl Rng) -> Choice {
        Choice { yeast_g: case.kitchen.yeast_for(case.plan, case.foreseen), ..Choice::default() }
    }
}

/// A stand-in for the workbench: the oracle, off by what a fit cannot know. A lot's effect is half known after
/// [`HALF_KNOWN`] batches of it, and there is a general error.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StandIn;

/// Standard deviation of the stand-in's general error on ln yeast.
const GENERAL_ERROR: f64 = 0.05;
/// Batches of a lot after which half its effect is known.
pub const HALF_KNOWN: f64 = 2.0;

impl Policy for StandIn {
    fn choose(&mut self, case: &Case<'_>, rng: &mut impl Rng) -> Choice {
        let lot = &case.plan.flour_lot;
        let known = case.so_far.batches.iter().filter(|b| b.flour_lot == *lot).count() as f64;
        let effect =
            case.kitchen.lots.iter().find(|l| Some(&l.name) == lot.as_ref()).map_or(0.0, |l| l.ln_vigour);
        let off = effect * HALF_KNOWN / (HALF_KNOWN + known) + GENERAL_ERROR * normal(rng);
        let Choice { yeast_g, water_temp_c } = Oracle.choose(case, rng);
        Choice { yeast_g: yeast_g.map(|g| g * off.exp()), water_temp_c }
    }
}

/// One policy up to a batch (from 0), another from there on; both see every record.
#[derive(Debug, Clone, PartialEq)]
pub struct Then<A, B> {
    /// The first.
    pub first: A,
    /// The batch that the second begins with.
    pub from: usize,
    /// The second.
    pub second: B,
}

impl<A: Policy, B: Policy> Policy for Then<A, B> {
    fn choose(&mut self, case: &Case<'_>, rng: &mut impl Rng) -> Choice {
        if case.number < self.from { self.first.choose(case, rng) } else { self.second.choose(case, rng) }
    }

    fn learn(&mut self, recipe: usize, record: &Batch) {
        self.first.learn(recipe, record);
        self.second.learn(recipe, record);
    }
}
