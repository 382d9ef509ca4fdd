//! The hours of a batch under way: those behind it, and those that can still be changed.

use crate::dough::{Batch, StageKind};
use crate::inference::forecast::Forecaster;
use crate::physics::course::{Course, Output, Segment};

/// A fridge where the plan has none, in °C (common practice, no source).
const USUAL_FRIDGE_C: f64 = 4.0;

/// A stretch of time in one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stay {
    /// Where: bulk and temper are the room, cold the fridge.
    pub kind: StageKind,
    /// How long, in h.
    pub hours: f64,
    /// How much warmer than planned the place is, in °C.
    pub warmer_c: f64,
}

/// A batch at one moment.
#[derive(Debug, Clone)]
pub struct Rest {
    /// Hours after mixing.
    pub now: f64,
    /// Where it has stood.
    past: Vec<Stay>,
    /// Where the plan puts it from now on.
    pub to_come: Vec<Stay>,
    course: Course,
    places: [Segment; 3],
}

impl Rest {
    /// The plan `now` hours after mixing. Beyond its end the last stage is taken to have gone on.
    pub fn new(forecaster: &mut Forecaster, plan: &Batch, now: f64) -> Self {
        let everywhere = Batch {
            bulk_hours: Some(1.0),
            cold_hours: Some(1.0),
            temper_hours: Some(1.0),
            cold_temp_c: plan.cold_temp_c.or(plan.cold_hours.is_none().then_some(USUAL_FRIDGE_C)),
            ..plan.clone()
        };
        let (all, _) = forecaster.ready(&everywhere);
        let (mut past, mut to_come, mut from) = (Vec::new(), Vec::new(), 0.0);
        for stage in plan.stages() {
            let behind = (now - from).clamp(0.0, stage.hours);
            let stay = |hours| Stay { kind: stage.kind, hours, warmer_c: 0.0 };
            if behind > 0.0 {
                past.push(stay(behind));
            }
            if behind < stage.hours {
                to_come.push(stay(stage.hours - behind));
            }
            from += stage.hours;
        }
        if let (true, Some(last)) = (now > from, past.last_mut()) {
            last.hours += now - from;
        }
        let places = [0, 1, 2].map(|i| all.course.segments[i]);
        Self { now, past, to_come, course: all.course, places }
    }

    /// Where it stands now.
    pub fn here(&self) -> Option<StageKind> {
        self.to_come.first().or(self.past.last()).map(|s| s.kind)
    }

    /// Hours from now to the oven, by the plan; zero beyond its end.
    pub fn left(&self) -> f64 {
        self.to_come.iter().map(|s| s.hours).sum()
    }

    /// The course with the same past and another rest, asked for the rise at its end.
    pub fn then(&self, stays: &[Stay]) -> Course {
        let segment = |s: &Stay| {
            let place = self.places[s.kind as usize];
            Segment { hours: s.hours, around_c: place.around_c + s.warmer_c, ..place }
        };
        let all = self.past.iter().chain(stays).filter(|s| s.hours > 0.0);
        let segments: Vec<Segment> = all.map(segment).collect();
        let outputs = vec![Output::Rise(segments.len())];
        Course { segments, outputs, ..self.course.clone() }
    }

    /// The course of the plan, its last stage going on for so many hours beyond.
    pub fn planned_and(&self, beyond: f64) -> Course {
        let mut course = self.then(&self.to_come);
        if let Some(last) = course.segments.last_mut() {
            last.hours += beyond;
        }
        course
    }

    /// That course asked for its rise at so many times, and the times in hours after mixing.
    pub fn looked_at(&self, beyond: f64, points: usize) -> (Course, Vec<f64>) {
        let mut course = self.planned_and(beyond);
        let mut hours: Vec<f64> = course
            .segments
            .iter()
            .scan(0.0, |end, s| {
                *end += s.hours;
                Some(*end)
            })
            .collect();
        let end = course.hours();
        hours.extend((1..points).map(|i| end * i as f64 / points as f64));
        hours.sort_by(f64::total_cmp);
        hours.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        course.outputs.clear();
        course.outputs = course.marks(&hours).into_iter().flatten().map(Output::Rise).collect();
        (course, hours)
    }
}
