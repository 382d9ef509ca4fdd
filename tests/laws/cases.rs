//! Batches and kitchens at random, and what comes of them.

use doughwright::dough::{Batch, YeastType};
use doughwright::inference::lots::Centring;
use doughwright::inference::posterior::Posterior;
use doughwright::inference::prepare::{Prepared, Records, prepare};
use doughwright::physics::course::{Course, Output, Parameters, Workspace};
use proptest::collection::vec;
use proptest::prelude::*;

use crate::kitchen::plain;

/// A batch and the kitchen that makes it.
#[derive(Debug, Clone)]
pub struct Case {
    pub batch: Batch,
    pub x: Vec<f64>,
}

impl Case {
    pub fn with(&self, change: impl FnOnce(&mut Batch)) -> Self {
        let mut changed = self.clone();
        change(&mut changed.batch);
        changed
    }

    pub fn ready(&self) -> (Prepared, Parameters) {
        let records = Records { batches: vec![self.batch.clone()], ..Records::default() };
        let posterior = Posterior::new(prepare(&records), Centring::None);
        let p = posterior.layout.parameters(&self.x[..posterior.dim()]).expect("kept inside the support");
        (posterior.batches[0].prepared.clone(), p)
    }

    pub fn made(&self) -> Made {
        let (prepared, p) = self.ready();
        made(&prepared.course, &p)
    }
}

/// What came of a course.
pub struct Made {
    pub ln_rise: f64,
    pub ln_unbounded: f64,
    pub theta: f64,
    pub mixed_c: f64,
    pub end_c: f64,
}

pub fn made(course: &Course, p: &Parameters) -> Made {
    let n = course.segments.len();
    let mut ws = Workspace::<f64>::default();
    course.forward(p, p.k, &mut ws);
    let last = ws.answers[course.outputs.iter().rposition(|o| *o == Output::Rise(n)).unwrap()];
    Made {
        ln_rise: last.value,
        ln_unbounded: last.unbounded,
        theta: ws.theta_after(n),
        mixed_c: course.mixing.map_or(f64::NAN, |m| m.dough_c(p)),
        end_c: ws.temperature_after(n),
    }
}

prop_compose! {
    /// Half of the doughs have a preferment.
    fn batches()(
        flour in 500.0..2000.0_f64,
        water in 0.5..0.9_f64,
        salt in 0.0..0.03_f64,
        yeast in -8.0..-3.5_f64,
        kind in prop_oneof![Just(YeastType::Instant), Just(YeastType::ActiveDry), Just(YeastType::Fresh)],
        start in 15.0..30.0_f64,
        bulk in (0.05..6.0_f64, 15.0..38.0_f64),
        cold in (0.5..72.0_f64, -1.0..12.0_f64),
        temper in (0.1..4.0_f64, 15.0..32.0_f64),
        preferment in prop::option::of((0.1..0.5_f64, -8.0..-4.5_f64, 2.0..16.0_f64, 12.0..28.0_f64)),
    ) -> Batch {
        let mut b = Batch {
            flour_g: Some(flour),
            water_g: Some(flour * water),
            salt_g: Some(flour * salt),
            yeast_g: Some(flour * yeast.exp()),
            yeast_type: Some(kind),
            dough_temp_c: Some(start),
            bulk_hours: Some(bulk.0),
            bulk_temp_c: Some(bulk.1),
            cold_hours: Some(cold.0),
            cold_temp_c: Some(cold.1),
            temper_hours: Some(temper.0),
            temper_temp_c: Some(temper.1),
            ..plain("any")
        };
        if let Some((share, yeast, hours, celsius)) = preferment {
            b.preferment_flour_g = Some(flour * share);
            b.preferment_water_g = Some(flour * share * water);
            b.preferment_yeast_g = Some(flour * share * yeast.exp());
            b.preferment_hours = Some(hours);
            b.preferment_temp_c = Some(celsius);
        }
        b
    }
}

prop_compose! {
    fn cases()(batch in batches(), x in vec(-2.5..2.5_f64, 24)) -> Case {
        Case { batch, x }
    }
}

/// Cases inside the support.
pub fn any_case() -> impl Strategy<Value = Case> {
    cases().prop_filter("inside the support", |c| {
        let records = Records { batches: vec![c.batch.clone()], ..Records::default() };
        let posterior = Posterior::new(prepare(&records), Centring::None);
        posterior.layout.parameters(&c.x[..posterior.dim()]).is_some()
    })
}
