//! An invented kitchen whose physics differs from the model, with a year of records.

use doughwright::dough::Batch;
use doughwright::inference::fit::Settings;
use doughwright::inference::forecast::Forecaster;
use doughwright::inference::prepare::Records;
use doughwright::inference::quick;
use doughwright::simulate::invented::{self, Difference};
use doughwright::simulate::policy::Habits;
use doughwright::simulate::year::Calendar;

/// The records of a kitchen that bakes by habit.
pub fn records(seed: u64) -> Records {
    let kitchen = invented::kitchen(Difference::Everything, seed);
    let calendar = Calendar::plain(invented::recipes(), 36, 10, seed);
    let mut habits = Habits(calendar.recipes.iter().map(|r| r.habit).collect());
    Records { batches: kitchen.year(&calendar, &mut habits).batches, ..Records::default() }
}

/// A fit to records, with so many draws.
pub fn fitted(records: &Records, draws: usize) -> Forecaster {
    let settings = Settings { draws, ..Settings::default() };
    quick::fit(records, &settings).unwrap().forecaster().unwrap()
}

/// A batch as the plan it was.
pub fn as_plan(batch: &Batch) -> Batch {
    Batch {
        rise: None,
        ripeness: None,
        crust_score: None,
        preferment_rise: None,
        dough_temp_c: None,
        ..batch.clone()
    }
}
