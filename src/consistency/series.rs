//! One measure of many batches, in time order.

use schemars::JsonSchema;
use serde::Serialize;

use super::error::ConsistencyError;
use super::measure::Measure;
use crate::dough::When;

/// One batch's value of the measure.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Point {
    /// The batch.
    pub batch_id: String,
    /// When it was mixed.
    pub when: When,
    /// The value, in the measure's unit.
    pub value: f64,
    /// Batches made under the same conditions bear the same name here, the day's as a rule.
    pub subgroup: Option<String>,
}

/// The points of one measure, sorted by time; batches of the same moment keep the order they came in.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Series {
    measure: Measure,
    points: Vec<Point>,
}

/// A long time without a batch.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Gap {
    /// The last batch before it.
    pub after: When,
    /// The first batch behind it.
    pub until: When,
    /// Its length in days.
    pub days: f64,
}

/// A gap is worth a word when it is this long, in days (a choice of this project: a season is not far off)...
const GAP_DAYS: f64 = 28.0;
/// ...and this many times the usual time between batches.
const GAP_TIMES_USUAL: f64 = 5.0;

impl Series {
    /// Sorts the points by time.
    ///
    /// # Errors
    /// When there is no point, or a value is not a finite number.
    pub fn new(measure: Measure, mut points: Vec<Point>) -> Result<Self, ConsistencyError> {
        if points.is_empty() {
            return Err(ConsistencyError::NothingMeasured {
                measure: measure.title(),
                way_out: measure.needs(),
            });
        }
        if let Some(p) = points.iter().find(|p| !p.value.is_finite()) {
            return Err(ConsistencyError::NotANumber { batch_id: p.batch_id.clone(), value: p.value });
        }
        points.sort_by_key(|p| p.when);
        Ok(Self { measure, points })
    }

    /// What was measured.
    pub fn measure(&self) -> Measure {
        self.measure
    }

    /// The points, the oldest first; never empty.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// The values in the measure's unit, the oldest first.
    pub fn values(&self) -> Vec<f64> {
        self.points.iter().map(|p| p.value).collect()
    }

    /// The first batch at or after a moment: how many batches lie before it.
    pub fn index_at(&self, when: When) -> usize {
        self.points.partition_point(|p| p.when < when)
    }

    /// Long times without a batch.
    pub fn gaps(&self) -> Vec<Gap> {
        let between = |w: &[Point]| w[1].when.days() - w[0].when.days();
        let mut days: Vec<f64> = self.points.windows(2).map(between).collect();
        days.sort_by(f64::total_cmp);
        let usual = days.get(days.len() / 2).copied().unwrap_or(0.0);
        self.points
            .windows(2)
            .filter(|w| between(w) >= GAP_DAYS && between(w) >= GAP_TIMES_USUAL * usual)
            .map(|w| Gap { after: w[0].when, until: w[1].when, days: between(w) })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn on(days: &[i64]) -> Series {
        let first: jiff::civil::Date = "2026-01-01".parse().unwrap();
        let point = |day: &i64| Point {
            batch_id: format!("day {day}"),
            when: When::on(first.checked_add(jiff::Span::new().days(*day)).unwrap()),
            value: 0.0,
            subgroup: None,
        };
        Series::new(Measure::Miss, days.iter().map(point).collect()).unwrap()
    }

    #[test]
    fn a_gap_is_four_weeks_and_five_times_the_usual() {
        let gaps = |days: &[i64]| on(days).gaps().iter().map(|g| g.days).collect::<Vec<f64>>();
        assert_eq!(gaps(&[0, 1, 2, 29]), Vec::<f64>::new());
        assert_eq!(gaps(&[0, 1, 2, 30]), [28.0]);
        assert_eq!(gaps(&[0, 6, 12, 18, 47]), Vec::<f64>::new());
        assert_eq!(gaps(&[0, 6, 12, 18, 48]), [30.0]);
        assert_eq!(gaps(&[0]), Vec::<f64>::new());
    }

    #[test]
    fn a_batch_of_the_moment_does_not_lie_before_it() {
        let series = on(&[0, 1, 2]);
        let second = series.points()[1].when;
        assert_eq!((series.index_at(second), series.measure()), (1, Measure::Miss));
    }
}
