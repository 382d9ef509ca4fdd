//! What can be followed from batch to batch, and the series that follow from the batch table alone.
//!
//! - miss of rise: ln(rise / target), so that 10 % too little and 10 % too much weigh the same
//! - dough temperature less the temperature aimed at, °C
//! - crust score, 1 to 10
//! - hours early (negative) or late (positive) of ripeness against the plan

use std::fmt;
use std::str::FromStr;

use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use super::error::ConsistencyError;
use super::series::{Point, Series};
use crate::dough::units::both_differences;
use crate::dough::{Batch, Ripeness, When};

/// A measure of a batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Measure {
    /// ln(rise / target).
    Miss,
    /// Dough temperature less its aim, °C.
    DoughTemp,
    /// Crust score, 1 to 10.
    CrustScore,
    /// Hours late (positive) or early.
    HoursLate,
}

/// A batch that has no value of the measure, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct LeftOut {
    /// The batch; empty when it has no name.
    pub batch_id: String,
    /// Why it is not in the series.
    pub reason: &'static str,
}

impl Measure {
    /// The accepted words.
    pub const WORDS: &'static [&'static str] = &["miss", "dough_temp", "crust_score", "hours_late"];
    const ALL: [Self; 4] = [Self::Miss, Self::DoughTemp, Self::CrustScore, Self::HoursLate];

    /// The name in running text.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Miss => "the miss of the rise",
            Self::DoughTemp => "the dough temperature",
            Self::CrustScore => "the crust score",
            Self::HoursLate => "the hours early or late",
        }
    }

    /// What a batch needs to have this measure.
    pub const fn needs(self) -> &'static str {
        match self {
            Self::Miss => "write down rise and target_rise",
            Self::DoughTemp => "write down dough_temp_c of batches whose dough temperature was planned",
            Self::CrustScore => "write down crust_score",
            Self::HoursLate => {
                "write down rise and target_rise; the fit then says when the target was reached"
            }
        }
    }

    /// The value that would be right, in the measure's unit, where there is one.
    pub const fn aim(self) -> Option<f64> {
        match self {
            Self::CrustScore => None,
            _ => Some(0.0),
        }
    }

    /// A spread or distance in the measure's unit as a baker reads it: per cent of rise for the miss, else in the unit.
    pub fn say_distance(self, distance: f64) -> String {
        match self {
            Self::Miss => format!("{:.0} %", 100.0 * distance.exp_m1()),
            Self::DoughTemp => both_differences(distance),
            Self::CrustScore => format!("{distance:.1}"),
            Self::HoursLate => format!("{distance:.1} h"),
        }
    }

    /// The value of one batch, from its record and from what the record does not hold: for a dough temperature the one aimed
    /// at in °C, for the hours late those hours.
    ///
    /// # Errors
    /// The reason why the batch has no value of this measure.
    pub fn of(self, batch: &Batch, told: Option<f64>) -> Result<f64, &'static str> {
        match self {
            Self::Miss => miss(batch),
            Self::DoughTemp => {
                Ok(batch.dough_temp_c.ok_or("no dough_temp_c")? - told.ok_or("no plan gave an aim for it")?)
            }
            Self::CrustScore => batch.crust_score.ok_or("no crust_score"),
            Self::HoursLate => {
                miss(batch)?;
                told.ok_or("by the fit it does not reach its target within two days")
            }
        }
    }

    /// The series of this measure over records, and the batches left out. Batches of one day share a subgroup.
    /// `told` gives what [`Measure::of`] needs beside the record.
    ///
    /// # Errors
    /// When no batch has the measure.
    pub fn series<'a>(
        self,
        batches: impl IntoIterator<Item = &'a Batch>,
        told: impl Fn(&Batch) -> Option<f64>,
    ) -> Result<(Series, Vec<LeftOut>), ConsistencyError> {
        let (mut points, mut left_out) = (Vec::new(), Vec::new());
        for batch in batches {
            let batch_id = batch.batch_id.clone().unwrap_or_default();
            match (self.of(batch, told(batch)), batch.date) {
                (Ok(value), Some(when)) => {
                    points.push(Point { batch_id, when, value, subgroup: Some(day(when)) })
                }
                (Ok(_), None) => left_out.push(LeftOut { batch_id, reason: "no date" }),
                (Err(reason), _) => left_out.push(LeftOut { batch_id, reason }),
            }
        }
        Ok((Series::new(self, points)?, left_out))
    }
}

fn day(when: When) -> String {
    when.date().to_string()
}

fn miss(batch: &Batch) -> Result<f64, &'static str> {
    let rise = batch.rise.ok_or("no rise")?;
    let target = batch.target_rise.ok_or("no target_rise")?;
    if batch.ripeness == Some(Ripeness::Collapsed) {
        return Err("it fell, so its rise is not what it had reached");
    }
    let read_at = batch.rise_at.or(batch.stages().last().map(|s| s.kind));
    if read_at != batch.stages().last().map(|s| s.kind) {
        return Err("its rise was read before the last stage, its target is at the oven");
    }
    Ok((rise / target).ln())
}

impl fmt::Display for Measure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(Self::WORDS[*self as usize])
    }
}

impl FromStr for Measure {
    type Err = ConsistencyError;

    fn from_str(s: &str) -> Result<Self, ConsistencyError> {
        let unknown = || ConsistencyError::UnknownMeasure { name: s.to_string() };
        Self::ALL.into_iter().find(|m| m.to_string() == s).ok_or_else(unknown)
    }
}

impl Serialize for Measure {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

crate::dough::words::text_schema!(Measure);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dough::StageKind;

    fn baked(rise: f64) -> Batch {
        Batch {
            batch_id: Some("b1".into()),
            date: "2026-03-01T08:30".parse().ok(),
            rise: Some(rise),
            target_rise: Some(2.0),
            bulk_hours: Some(2.0),
            cold_hours: Some(24.0),
            ..Batch::default()
        }
    }

    #[test]
    fn too_little_and_too_much_weigh_the_same() {
        let miss = |rise| Measure::Miss.of(&baked(rise), None).unwrap();
        assert!((miss(2.5) + miss(1.6)).abs() < 1e-12);
        assert_eq!(Measure::Miss.say_distance(0.1), "11 %");
    }

    #[test]
    fn rises_that_do_not_answer_to_the_target_are_left_out() {
        let fallen = Batch { ripeness: Some(Ripeness::Collapsed), ..baked(1.4) };
        let early = Batch { rise_at: Some(StageKind::Bulk), ..baked(1.4) };
        let undated = Batch { date: None, ..baked(1.4) };
        let batches = [baked(2.0), fallen, early, undated];
        let (series, left_out) = Measure::Miss.series(&batches, |_| None).unwrap();
        assert_eq!((series.points().len(), left_out.len()), (1, 3));
        assert_eq!(series.points()[0].subgroup.as_deref(), Some("2026-03-01"));
        assert!(Measure::CrustScore.series(&batches, |_| None).is_err());
    }

    #[test]
    fn a_dough_temperature_needs_an_aim() {
        let batch = Batch { dough_temp_c: Some(25.0), ..baked(2.0) };
        assert_eq!(Measure::DoughTemp.of(&batch, Some(24.0)), Ok(1.0));
        assert!(Measure::DoughTemp.of(&batch, None).is_err());
        assert_eq!("miss".parse::<Measure>(), Ok(Measure::Miss));
        assert!("mood".parse::<Measure>().is_err());
    }

    #[test]
    fn each_measure_has_its_words_its_aim_and_its_reading() {
        let batch = Batch { crust_score: Some(7.0), ..baked(2.0) };
        assert_eq!(Measure::CrustScore.of(&batch, None), Ok(7.0));
        assert!(Measure::CrustScore.of(&baked(2.0), None).is_err());
        assert_eq!(Measure::HoursLate.of(&batch, Some(-1.5)), Ok(-1.5));
        assert!(Measure::HoursLate.of(&batch, None).is_err());
        assert!(Measure::HoursLate.of(&Batch { rise: None, ..batch }, Some(-1.5)).is_err());
        assert_eq!(Measure::CrustScore.aim(), None);
        for measure in [Measure::Miss, Measure::DoughTemp, Measure::HoursLate] {
            assert_eq!(measure.aim(), Some(0.0));
        }
        assert_eq!(Measure::CrustScore.say_distance(1.26), "1.3");
        assert_eq!(Measure::HoursLate.say_distance(0.5), "0.5 h");
        assert_eq!(Measure::DoughTemp.say_distance(1.5), "1.5 °C (2.7 °F)");
        assert!(
            Measure::HoursLate.needs().contains("target_rise")
                && Measure::CrustScore.needs().contains("crust_score")
        );
        assert_eq!(serde_json::to_value(Measure::HoursLate).unwrap(), "hours_late");
    }
}
