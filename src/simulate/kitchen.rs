//! An invented kitchen: hidden numbers, and batches baked by them.
//!
//! [`Kitchen::bake`] takes a plan (a batch without outcomes) and gives back the batch as its baker would have
//! written it down: temperatures as found on the day, dough temperature, rises, verdict and score, each with
//! its error and rounded as a baker rounds. Amounts and water temperature stay as planned; what truly went
//! into the bowl differs by the scale and the thermometer. Names that the kitchen does not know (a new lot)
//! have no effect of their own.

use jiff::civil::Date;
use rand::Rng;
use rand_distr::{Distribution, StandardNormal};

use crate::dough::{Batch, Reading, Ripeness, StageKind, SurroundingsPoint, Vessel, YeastType};
use crate::physics::composition::USUAL_PROTEIN_PCT;
use crate::physics::cooling::tau_factor;
use crate::physics::course::{Course, Mixing, Output, Preferment, Segment, Start};
use crate::physics::heat::Bowl;
use crate::physics::rise::Matrix;

use super::model::student_t4;
use super::season::{Day, Fridge, Season};
use super::truth::Truth;

/// A lot of flour.
#[derive(Debug, Clone, PartialEq)]
pub struct Lot {
    /// Its name in the column `flour_lot`.
    pub name: String,
    /// What it adds to ln k.
    pub ln_vigour: f64,
}

/// A packet of yeast that loses its strength.
#[derive(Debug, Clone, PartialEq)]
pub struct Packet {
    /// Its name in the column `yeast_lot`.
    pub name: String,
    /// What it adds to ln k when it is opened.
    pub ln_vigour: f64,
    /// When it was opened.
    pub opened: Date,
    /// What it loses of ln k each day.
    pub fading_a_day: f64,
}

/// What chance does to a batch and to its record.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    /// Standard deviation of a batch's own vigour on ln k.
    pub vigour: f64,
    /// Scale of Student's t4 on a ln rise as read.
    pub rise: f64,
    /// Standard deviation of a thermometer, °C.
    pub thermometer_c: f64,
    /// Standard deviation of the warming by mixing from batch to batch, °C.
    pub mixing_c: f64,
    /// Standard deviation of the yeast weighed, g.
    pub yeast_g: f64,
    /// Standard deviation of flour and water weighed, as a share.
    pub weighing: f64,
    /// Standard deviation of the crust's score.
    pub crust: f64,
}

/// A kitchen with its hidden numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Kitchen {
    /// Its name in the column `kitchen`.
    pub name: String,
    /// What goes on in its dough.
    pub truth: Truth,
    /// Its mixing methods, in the order of the warming in [`Truth::parameters`].
    pub mixers: Vec<String>,
    /// Its cold places, in the order of `place_tau` in [`Truth::parameters`].
    pub fridges: Vec<Fridge>,
    /// Its room through the year.
    pub season: Season,
    /// Its lots of flour.
    pub lots: Vec<Lot>,
    /// Its packets of yeast.
    pub packets: Vec<Packet>,
    /// Its noise.
    pub noise: Noise,
}

/// What is looked at while a batch rises.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Watch {
    /// Hours after mixing at which rise and temperature of the dough are read.
    pub dough_hours: Vec<f64>,
    /// Hours after its own mixing at which the preferment's rise is read.
    pub preferment_hours: Vec<f64>,
    /// A logger beside the dough that writes a line each so many hours.
    pub log_every_h: Option<f64>,
}

/// A batch baked.
#[derive(Debug, Clone, PartialEq)]
pub struct Bake {
    /// As written down.
    pub batch: Batch,
    /// Readings asked for.
    pub readings: Vec<Reading>,
    /// The log asked for.
    pub surroundings: Vec<SurroundingsPoint>,
    /// ln rise as it truly was at the end.
    pub true_ln_rise: f64,
}

/// Yeast that solves for a target is looked for between these, in % of all flour.
const YEAST_RANGE_PCT: (f64, f64) = (0.005, 8.0);
/// How near to the target that yeast brings ln rise.
const YEAST_ACCURACY: f64 = 1e-3;
/// A dough this much over its target (a ratio) is over; its inverse is under. Common practice, no source.
const READY_RATIO: f64 = 1.2;
/// Standard deviation of the baker's eye for ripeness, on ln rise.
const EYE: f64 = 0.04;
/// What is left of the height of a dough that fell.
const FALLEN: f64 = 0.8;

impl Kitchen {
    /// Bakes a plan on a day of its date.
    pub fn bake(&self, plan: &Batch, rng: &mut impl Rng) -> Bake {
        let day = self.day(plan, rng);
        self.bake_on(plan, &day, &Watch::default(), rng)
    }

    /// A day of the plan's date with its weather.
    pub fn day(&self, plan: &Batch, rng: &mut impl Rng) -> Day {
        Day::drawn(&self.season, &self.fridges, date(plan), rng)
    }

    /// The day that a baker expects at the plan's date.
    pub fn usual_day(&self, plan: &Batch) -> Day {
        Day::usual(&self.season, &self.fridges, date(plan))
    }

    /// A plan with its temperatures filled from a day, as a thermometer of half degrees shows them; the water's
    /// is left as it stands.
    pub fn noted(&self, plan: &Batch, day: &Day) -> Batch {
        self.noted_by(plan, day, |t| t)
    }

    fn noted_by(&self, plan: &Batch, day: &Day, mut thermometer: impl FnMut(f64) -> f64) -> Batch {
        let mut shown = |t: f64| Some(to_half(thermometer(t)));
        let stage = |hours: Option<f64>| hours.is_some_and(|h| h > 0.0);
        let mut noted =
            Batch { room_temp_c: shown(day.room_c), flour_temp_c: shown(day.flour_c), ..plan.clone() };
        noted.preferment_temp_c = plan.preferment_flour_g.and_then(|_| shown(day.before_c));
        noted.bulk_temp_c = if stage(plan.bulk_hours) { shown(day.room_c) } else { None };
        noted.cold_temp_c =
            if stage(plan.cold_hours) { shown(day.fridges[self.fridge(plan)].mean_c) } else { None };
        noted.temper_temp_c = if stage(plan.temper_hours) { shown(day.after_c) } else { None };
        noted
    }

    /// Bakes a plan on a given day and takes readings.
    pub fn bake_on(&self, plan: &Batch, day: &Day, watch: &Watch, rng: &mut impl Rng) -> Bake {
        let bowl = self.weighed(plan, rng);
        let mut course = self.course(&bowl, day);
        let warmed: f64 = course.start_c(&self.truth.parameters) + self.noise.mixing_c * normal(rng);
        course.start = Start::Measured(warmed);
        let read_at = read_after(plan).and_then(|h| course.mark(h));
        let marks: Vec<(f64, usize)> =
            watch.dough_hours.iter().filter_map(|h| Some((*h, course.mark(*h)?))).collect();
        // Marks made later move those made before: ask again once all stand.
        let read_at = read_at.and(read_after(plan)).and_then(|h| course.mark(h));
        let marks: Vec<(f64, usize)> =
            marks.iter().filter_map(|(h, _)| Some((*h, course.mark(*h)?))).collect();
        let end = course.segments.len();
        let mut outputs = vec![Output::Rise(end), Output::Rise(read_at.unwrap_or(end))];
        outputs.extend(marks.iter().flat_map(|(_, n)| [Output::Rise(*n), Output::Temperature(*n)]));
        let in_preferment = watch.preferment_hours.iter().copied();
        let ripe_after = course.preferment.map(|p| p.hours);
        outputs.extend(in_preferment.clone().chain(ripe_after).map(Output::PrefermentRise));
        course.outputs = outputs;
        let effect = self.ln_effect(plan) + self.noise.vigour * normal(rng);
        let found = self.truth.follow(&course, effect, self.air(plan, day));

        let mut read =
            |ln_rise: f64| to_twentieth((ln_rise + self.noise.rise * student_t4(rng)).exp()).max(0.95);
        let fell = found[0].unbounded > self.truth.parameters.max_rise.ln();
        let rise = read(found[1].value);
        let id = plan.batch_id.clone().unwrap_or_default();
        let reading = |vessel, hours, rise, dough_temp_c| Reading {
            batch_id: id.clone(),
            hours,
            rise: Some(rise),
            dough_temp_c,
            vessel,
        };
        let (dough, preferment) = found[2..].split_at(2 * marks.len());
        let mut readings: Vec<Reading> = Vec::new();
        for (hours, found) in in_preferment.zip(preferment) {
            readings.push(reading(Vessel::Preferment, hours, read(found.value), None));
        }
        for ((hours, _), pair) in marks.iter().zip(dough.chunks(2)) {
            readings.push(reading(Vessel::Dough, *hours, read(pair[0].value), Some(pair[1].value)));
        }
        let preferment_rise = ripe_after.and(preferment.last()).map(|f| read(f.value));
        for r in &mut readings {
            r.dough_temp_c = r.dough_temp_c.map(|t| to_half(t + self.noise.thermometer_c * normal(rng)));
        }
        let over_target = found[0].value - plan.target_rise.unwrap_or(f64::NAN).ln();
        let batch = Batch {
            kitchen: Some(self.name.clone()),
            dough_temp_c: Some(to_half(warmed + self.noise.thermometer_c * normal(rng))),
            preferment_rise,
            rise: Some(if fell { to_twentieth(rise * FALLEN) } else { rise }),
            ripeness: plan.target_rise.map(|_| verdict(over_target + EYE * normal(rng), fell)),
            crust_score: plan.target_rise.map(|_| self.score(plan, over_target, fell, rng)),
            ..self.noted_by(plan, day, |t| t + self.noise.thermometer_c * normal(rng))
        };
        let surroundings = match watch.log_every_h {
            Some(every) => self.log(plan, &course, day, every),
            None => vec![],
        };
        Bake { batch, readings, surroundings, true_ln_rise: found[0].value }
    }

    /// ln rise at the end that a plan truly gives on a day, without any chance.
    pub fn true_ln_rise(&self, plan: &Batch, day: &Day) -> f64 {
        let mut course = self.course(plan, day);
        course.outputs = vec![Output::Rise(course.segments.len())];
        self.truth.follow(&course, self.ln_effect(plan), self.air(plan, day))[0].value
    }

    /// The yeast in g that brings a plan to its target rise on a day: what an oracle that knows the kitchen would
    /// weigh. `None` without a target or flour; the nearest the range allows when it cannot be met.
    pub fn yeast_for(&self, plan: &Batch, day: &Day) -> Option<f64> {
        let (target, flour) = (plan.target_rise?.ln(), plan.flour_g?);
        let grams = |ln_pct: f64| flour * ln_pct.exp() / 100.0;
        let with = |ln_pct: f64| Batch { yeast_g: Some(grams(ln_pct)), ..plan.clone() };
        let miss = |ln_pct: f64| self.true_ln_rise(&with(ln_pct), day) - target;
        let (mut low, mut high) = (YEAST_RANGE_PCT.0.ln(), YEAST_RANGE_PCT.1.ln());
        let (mut at_low, mut at_high) = (miss(low), miss(high));
        if at_low >= 0.0 || at_high <= 0.0 {
            return Some(grams(if at_low >= 0.0 { low } else { high }));
        }
        // False position with the Illinois rule: an end that stays twice counts half.
        let mut stayed = 0;
        for _ in 0..40 {
            let middle = (low * at_high - high * at_low) / (at_high - at_low);
            let at = miss(middle);
            if at.abs() < YEAST_ACCURACY {
                return Some(grams(middle));
            }
            if at < 0.0 {
                (low, at_low) = (middle, at);
                at_high *= if stayed == -1 { 0.5 } else { 1.0 };
                stayed = -1;
            } else {
                (high, at_high) = (middle, at);
                at_low *= if stayed == 1 { 0.5 } else { 1.0 };
                stayed = 1;
            }
        }
        Some(grams(0.5 * (low + high)))
    }

    /// What flour lot and yeast packet add to ln k of a plan.
    pub fn ln_effect(&self, plan: &Batch) -> f64 {
        let lot = self.lots.iter().find(|l| Some(&l.name) == plan.flour_lot.as_ref());
        let packet = self.packets.iter().find(|p| Some(&p.name) == plan.yeast_lot.as_ref());
        let faded = |p: &Packet| {
            let days = date(plan).since(p.opened).map_or(0, |s| s.get_days());
            p.ln_vigour - p.fading_a_day * f64::from(days)
        };
        lot.map_or(0.0, |l| l.ln_vigour) + packet.map_or(0.0, faded)
    }

    fn fridge(&self, plan: &Batch) -> usize {
        self.fridges.iter().position(|f| Some(&f.name) == plan.cold_place.as_ref()).unwrap_or(0)
    }

    /// The air around a batch in a segment: the fridge as it swings, or the room of that stage.
    fn air<'a>(&self, plan: &Batch, day: &'a Day) -> impl Fn(&Segment, f64) -> f64 + 'a {
        let fridge = &day.fridges[self.fridge(plan)];
        move |segment, hours| if segment.place.is_some() { fridge.at(hours) } else { segment.around_c }
    }

    /// What truly goes into the bowl.
    fn weighed(&self, plan: &Batch, rng: &mut impl Rng) -> Batch {
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
    fn course(&self, b: &Batch, day: &Day) -> Course {
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
        let method = self.mixers.iter().position(|m| Some(m) == b.mix_method.as_ref()).unwrap_or(0);
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
        let segment = |stage: crate::dough::Stage| {
            let (around_c, grams, place) = match stage.kind {
                StageKind::Bulk => (day.room_c, whole, None),
                StageKind::Cold => (day.fridges[fridge].mean_c, piece, Some(fridge)),
                StageKind::Temper => (day.after_c, piece, None),
            };
            Segment { around_c, hours: stage.hours, tau_factor: tau_factor(grams), place, unmeasured: None }
        };
        b.stages().map(segment).collect()
    }

    /// Means of the air over each interval of a logger, to a tenth of a degree.
    fn log(&self, plan: &Batch, course: &Course, day: &Day, every: f64) -> Vec<SurroundingsPoint> {
        const SAMPLES: usize = 20;
        let air = self.air(plan, day);
        let at = |hours: f64| {
            let mut end = 0.0;
            let within = course.segments.iter().find(|s| {
                end += s.hours;
                hours < end
            });
            within.or(course.segments.last()).map_or(f64::NAN, |s| air(s, hours))
        };
        let lines = (course.hours() / every).ceil() as usize;
        let line = |i: usize| {
            let from = i as f64 * every;
            let sample = |j: usize| at(from + every * (j as f64 + 0.5) / SAMPLES as f64);
            let mean = (0..SAMPLES).map(sample).sum::<f64>() / SAMPLES as f64;
            SurroundingsPoint {
                batch_id: plan.batch_id.clone().unwrap_or_default(),
                hours: from,
                surroundings_temp_c: (10.0 * mean).round() / 10.0,
            }
        };
        (0..lines).map(line).collect()
    }

    /// The baker's score of the crust: best a little over the target rise and from a hot oven, better by a
    /// long cold rest. An invented rule, no source.
    fn score(&self, plan: &Batch, over_target: f64, fell: bool, rng: &mut impl Rng) -> f64 {
        let ripe = 30.0 * (over_target - 0.03).powi(2);
        let rest = 0.5 * ((plan.cold_hours.unwrap_or(0.0) - 24.0) / 24.0).clamp(-1.0, 1.0);
        let fallen = if fell { 2.0 } else { 0.0 };
        let score = 7.6 - ripe.min(4.0) + rest - fallen + self.noise.crust * normal(rng);
        (2.0 * score).round().clamp(2.0, 20.0) / 2.0
    }
}

fn verdict(over_target: f64, fell: bool) -> Ripeness {
    let limit = READY_RATIO.ln();
    match over_target {
        _ if fell => Ripeness::Collapsed,
        x if x > limit => Ripeness::Over,
        x if x < -limit => Ripeness::Under,
        _ => Ripeness::Ready,
    }
}

/// Hours from mixing to the reading of `rise`.
fn read_after(plan: &Batch) -> Option<f64> {
    let last = plan.stages().last()?.kind;
    let at = plan.rise_at.unwrap_or(last);
    Some(plan.stages().take_while(|s| s.kind <= at).map(|s| s.hours).sum())
}

fn date(plan: &Batch) -> Date {
    plan.date.map_or(jiff::civil::date(2025, 1, 1), |when| when.date())
}

fn normal(rng: &mut impl Rng) -> f64 {
    StandardNormal.sample(rng)
}

/// To half a degree, as a baker writes it.
fn to_half(x: f64) -> f64 {
    (2.0 * x).round() / 2.0
}

/// To a twentieth, as a baker reads a jar.
fn to_twentieth(x: f64) -> f64 {
    (20.0 * x).round() / 20.0
}
