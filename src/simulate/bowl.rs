//! What truly goes into an invented kitchen's bowl, and through which air it passes: a batch in the plain numbers
//! of a [`Course`], from the day's true temperatures rather than from those written down.

use rand::Rng;

use crate::dough::{Batch, Stage, StageKind, YeastType};
use crate::physics::composition::USUAL_PROTEIN_PCT;
use crate::physics::cooling::tau_factor;
use crate::physics::course::{Course, Mixing, Preferment, Segment, Start};
use crate::physics::heat::Bowl;
use crate::physics::rise::Matrix;

use super::chance::normal;
use super::kitchen::Kitchen;
use super::season::Day;

impl Kitchen {
    /// The air around a batch in a segment: the fridge as it swings, or the room of that stage.
    pub(super) fn air<'a>(&self, plan: &Batch, day: &'a Day) -> impl Fn(&Segment, f64) -> f64 + 'a {
        let fridge = &day.fridges[self.fridge(plan)];
        move |segment, hours| if segment.place.is_some() { fridge.at(hours) } else { segment.around_c }
    }

    /// What truly goes into the bowl.
    pub(super) fn weighed(&self, plan: &Batch, rng: &mut impl Rng) -> Batch {
        let yeast =
            |grams: Option<f64>, off: f64| grams.map(|g| if g > 0.0 { (g + off).max(0.2 * g) } else { 0.0 });
        let by = self.noise.yeast_g;
        Batch {
            yeast_g: yeast(plan.yeast_g, by * normal(rng)),
            preferment_yeast_g: yeast(plan.preferment_yeast_g, by * normal(rng)),
            flour_g: plan.flour_g.map(|g| g * (1.0 + self.noise.weighing * normal(rng))),
            water_g: plan.water_g.map(|g| g * (1.0 + self.noise.weighing * normal(rng))),
            water_temp_c: plan.water_temp_c.map(|t| t + self.noise.thermometer_c * normal(rng)),
            ..plan.clone()
        }
    }

    /// A batch on a day in plain numbers, without outputs.
    pub(super) fn course(&self, b: &Batch, day: &Day) -> Course {
        let flour = b.flour_g.unwrap_or(f64::NAN);
        let pct = |grams: Option<f64>| 100.0 * grams.unwrap_or(0.0) / flour;
        let yeast = b.yeast_type.unwrap_or(YeastType::Instant);
        let protein = b.flour_protein_pct.unwrap_or(USUAL_PROTEIN_PCT);
        let grams = |g: Option<f64>| g.unwrap_or(0.0);
        let bowl = Bowl {
            flour_g: grams(b.flour_added_g()),
            flour_c: day.flour_c,
            protein_pct: protein,
            water_g: grams(b.water_added_g()) - grams(b.ice_g),
            water_c: b.water_temp_c.unwrap_or(day.tap_c),
            ice_g: grams(b.ice_g),
            preferment_flour_g: grams(b.preferment_flour_g),
            preferment_water_g: grams(b.preferment_water_g),
            preferment_c: day.before_c,
            salt_g: grams(b.salt_g),
            oil_g: grams(b.oil_g),
            sugar_g: grams(b.sugar_g) + grams(b.malt_g),
            room_c: day.room_c,
        };
        let method = self.mixer(b);
        let preferment = b.preferment_flour_g.filter(|g| *g > 0.0).map(|part| {
            let of_part = |g: Option<f64>| 100.0 * grams(g) / part;
            Preferment {
                share: part / flour,
                yeast_pct: of_part(b.preferment_yeast_g) * yeast.instant_equivalent(),
                hours: grams(b.preferment_hours),
                temp_c: day.before_c,
                matrix: Matrix::new(of_part(b.preferment_water_g), 0.0, 0.0, 0.0, protein),
            }
        });
        Course {
            preferment,
            mixing: Some(Mixing { balance_c: bowl.mixed(), room_c: day.room_c, method }),
            start: Start::Mixed,
            fresh_pct: pct(b.yeast_g) * yeast.instant_equivalent(),
            lag_factor: yeast.lag_factor(),
            salt_pct: pct(b.salt_g),
            sugar_pct: pct(b.sugar_g),
            matrix: Matrix::new(pct(b.water_g), pct(b.salt_g), pct(b.oil_g), pct(b.sugar_g), protein),
            segments: self.segments(b, day),
            outputs: vec![],
        }
    }

    fn segments(&self, b: &Batch, day: &Day) -> Vec<Segment> {
        let whole = b.rise_sample_g.or(b.dough_g()).unwrap_or(f64::NAN);
        let piece = b.rise_sample_g.or(b.piece_g).unwrap_or(whole);
        let fridge = self.fridge(b);
        let segment = |stage: Stage| {
            let (around_c, grams, place) = match stage.kind {
                StageKind::Bulk => (day.room_c, whole, None),
                StageKind::Cold => (day.fridges[fridge].mean_c, piece, Some(fridge)),
                StageKind::Temper => (day.after_c, piece, None),
            };
            Segment { around_c, hours: stage.hours, tau_factor: tau_factor(grams), place, unmeasured: None }
        };
        b.stages().map(segment).collect()
    }
}
