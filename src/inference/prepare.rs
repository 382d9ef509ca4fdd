//! From a kitchen's records to what the likelihood reads: courses in plain numbers, and what was observed.
//!
//! What a baker left blank is filled here, and only here, with a stated assumption; each is told once as an
//! [`Assumption`] with how many batches it touched.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::dough::units::both_scales;
use crate::dough::{Batch, Reading, Ripeness, StageKind, SurroundingsPoint, Vessel, YeastType};
use crate::physics::composition::USUAL_PROTEIN_PCT;
use crate::physics::cooling::tau_factor;
use crate::physics::course::{Course, Mixing, Output, Preferment, Segment, Start};
use crate::physics::heat::Bowl;
use crate::physics::rise::Matrix;

use super::beliefs::Beliefs;
use super::priors::UNMEASURED_FRIDGE_C;
use super::rows::repeats;
use super::verdict::Judged;

/// Where a dough begins when neither its temperature nor what would tell it was written down, in °C (this and
/// the next two: common practice, no source).
const ASSUMED_DOUGH_C: f64 = 23.0;
/// A room whose temperature nobody wrote down, in °C.
const ASSUMED_ROOM_C: f64 = 21.0;
/// A piece whose mass nobody wrote down, in g.
const ASSUMED_PIECE_G: f64 = 250.0;
/// How the dough is mixed when nobody says.
pub const ASSUMED_METHOD: &str = "hand";
/// The cold place when there is but one.
pub const ASSUMED_PLACE: &str = "fridge";

/// A kitchen's records.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Records {
    /// Its batches, in the order of their dates.
    pub batches: Vec<Batch>,
    /// Readings while they rose.
    pub readings: Vec<Reading>,
    /// Temperature logs of the surroundings.
    pub surroundings: Vec<SurroundingsPoint>,
}

impl Records {
    /// The batch with the latest date; `None` when none has a date.
    pub fn latest(&self) -> Option<&Batch> {
        self.batches.iter().filter(|b| b.date.is_some()).max_by_key(|b| b.date)
    }
}

/// Something blank that was assumed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Assumption {
    /// No fridge temperature: learned from the rises.
    FridgeTemperature,
    /// No room temperature.
    RoomTemperature,
    /// No mass of a piece.
    PieceMass,
    /// Neither a dough temperature nor water and room temperatures.
    DoughTemperature,
    /// A reading outside the batch's own hours.
    ReadingOutside,
    /// Every number of another batch, the rise included: counted once.
    Repeated,
}

impl Assumption {
    /// What was assumed of so many batches, and what would be better.
    pub fn says_of(self, batches: usize) -> String {
        self.says(&if batches == 1 { "1 batch has".to_string() } else { format!("{batches} batches have") })
    }

    /// What was assumed and what would be better; `whose` such as "the plan has".
    pub fn says(self, whose: &str) -> String {
        match self {
            Self::FridgeTemperature => format!(
                "{whose} no cold_temp_c: the fridge's temperature is guessed from the rises; a degree is worth about 13 % of rise, so measure it"
            ),
            Self::RoomTemperature => {
                format!(
                    "{whose} no temperature for a stage in the room: {} is assumed; write down room_temp_c",
                    both_scales(ASSUMED_ROOM_C, 0)
                )
            }
            Self::PieceMass => {
                format!(
                    "{whose} no piece_g: {ASSUMED_PIECE_G} g is assumed; a heavier piece cools more slowly"
                )
            }
            Self::DoughTemperature => format!(
                "{whose} neither dough_temp_c nor water and room temperatures: {} is assumed; probe the dough",
                both_scales(ASSUMED_DOUGH_C, 0)
            ),
            Self::ReadingOutside => {
                format!("{whose} readings beyond the batch's own hours: those are left out")
            }
            Self::Repeated => format!(
                "{whose} every number of another batch, the rise included: counted once, since the same row twice tells nothing new"
            ),
        }
    }
}

/// Names that parameters are indexed by, each in order of first use.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Index {
    /// Mixing methods.
    pub methods: Vec<String>,
    /// Cold places.
    pub places: Vec<String>,
    /// Flour lots (or names, where no lot is given).
    pub flour_lots: Vec<Lot>,
    /// Yeast lots.
    pub yeast_lots: Vec<Lot>,
    /// Whether any batch has a verdict of its ripeness.
    #[serde(default)]
    pub verdicts: bool,
    /// What is believed beside the names.
    #[serde(default)]
    pub beliefs: Beliefs,
}

/// A lot and how many batches were made of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lot {
    /// Its name.
    pub name: String,
    /// Batches.
    pub batches: usize,
}

/// Which lot a name is, counting the batch.
fn lot(lots: &mut Vec<Lot>, name: &str) -> usize {
    let at = lots.iter().position(|l| l.name == name).unwrap_or_else(|| {
        lots.push(Lot { name: name.to_string(), batches: 0 });
        lots.len() - 1
    });
    lots[at].batches += 1;
    at
}

fn position(names: &mut Vec<String>, name: &str) -> usize {
    names.iter().position(|n| n == name).unwrap_or_else(|| {
        names.push(name.to_string());
        names.len() - 1
    })
}

/// The flour lot that a batch counts under.
pub fn flour_lot(batch: &Batch) -> Option<&str> {
    batch.flour_lot.as_deref().or(batch.flour_name.as_deref())
}

/// One observation beside an output of the course.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observed {
    /// ln rise, or °C.
    pub value: f64,
    /// The dough had fallen: all that is known is that it went beyond what the flour bears.
    pub collapsed: bool,
}

/// One batch as the likelihood reads it.
#[derive(Debug, Clone, PartialEq)]
pub struct Prepared {
    /// Which batch of the records.
    pub batch: usize,
    /// Its plain numbers; its outputs are what was observed.
    pub course: Course,
    /// What was observed, in the order of the outputs.
    pub observed: Vec<Observed>,
    /// The baker's verdict at the oven; when its rise was not measured, one more output than was observed foretells it.
    pub judged: Option<Judged>,
    /// Index of its flour lot.
    pub flour_lot: Option<usize>,
    /// Index of its yeast lot.
    pub yeast_lot: Option<usize>,
    /// When it was mixed, in days since 1970-01-01.
    pub day: Option<f64>,
}

impl Prepared {
    /// How many rises were observed.
    pub fn rises(&self) -> usize {
        let is_rise = |o: &&Output| matches!(o, Output::Rise(_) | Output::PrefermentRise(_));
        self.course.outputs.iter().take(self.observed.len()).filter(is_rise).count()
    }

    /// Whether nothing was observed of it, nor judged.
    pub fn is_silent(&self) -> bool {
        self.observed.is_empty() && self.judged.is_none()
    }
}

/// Records made ready, with the names and what was assumed.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Ready {
    /// One a batch, in order.
    pub batches: Vec<Prepared>,
    /// The names.
    pub index: Index,
    /// What was assumed, with how many batches it touched.
    pub assumptions: BTreeMap<Assumption, usize>,
}

impl Ready {
    /// The same records under other beliefs.
    pub fn believing(mut self, beliefs: Beliefs) -> Self {
        self.index.beliefs = beliefs;
        self
    }
}

/// Makes a kitchen's records ready. Batches need flour, water and yeast, as intake grants.
pub fn prepare(records: &Records) -> Ready {
    let mut ready = Ready::default();
    let mut readings: BTreeMap<&str, Vec<&Reading>> = BTreeMap::new();
    for r in &records.readings {
        readings.entry(&r.batch_id).or_default().push(r);
    }
    let mut logs: BTreeMap<&str, Vec<&SurroundingsPoint>> = BTreeMap::new();
    for p in &records.surroundings {
        logs.entry(&p.batch_id).or_default().push(p);
    }
    let repeated = repeats(&records.batches);
    for (i, batch) in records.batches.iter().enumerate() {
        let id = batch.batch_id.as_deref().unwrap_or_default();
        let own = readings.get(id).map_or(&[][..], Vec::as_slice);
        let log = logs.get(id).map_or(&[][..], Vec::as_slice);
        let mut notes = Vec::new();
        let mut prepared = plain(batch, i, log, &mut ready.index, &mut notes);
        // Readings of its own make a row more than a repeat.
        if repeated[i] && own.is_empty() && log.is_empty() {
            notes.push(Assumption::Repeated);
        } else {
            observe(&mut prepared, batch, own, &mut notes);
            judge(&mut prepared, batch);
        }
        ready.index.verdicts |= prepared.judged.is_some();
        ready.batches.push(prepared);
        notes.sort_unstable();
        notes.dedup();
        for note in notes {
            *ready.assumptions.entry(note).or_default() += 1;
        }
    }
    ready
}

/// A batch or plan as a course without outputs, under the names of a fit; new names are added.
pub fn course(batch: &Batch, index: &mut Index, notes: &mut Vec<Assumption>) -> Prepared {
    plain(batch, 0, &[], index, notes)
}

fn plain(
    batch: &Batch,
    number: usize,
    log: &[&SurroundingsPoint],
    index: &mut Index,
    notes: &mut Vec<Assumption>,
) -> Prepared {
    let flour = batch.flour_g.unwrap_or(f64::NAN);
    let pct = |grams: Option<f64>| 100.0 * grams.unwrap_or(0.0) / flour;
    let yeast = batch.yeast_type.unwrap_or(YeastType::Instant);
    let protein = batch.flour_protein_pct.unwrap_or(USUAL_PROTEIN_PCT);
    let sugar_pct = pct(batch.sugar_g);
    let mixing = mixing(batch, protein, index);
    let start = match (batch.dough_temp_c, mixing) {
        (Some(measured), _) => Start::Measured(measured),
        (None, Some(_)) => Start::Mixed,
        (None, None) => {
            notes.push(Assumption::DoughTemperature);
            Start::Measured(ASSUMED_DOUGH_C)
        }
    };
    Prepared {
        batch: number,
        course: Course {
            preferment: preferment(batch, protein, yeast),
            mixing,
            start,
            fresh_pct: pct(batch.yeast_g) * yeast.instant_equivalent(),
            lag_factor: yeast.lag_factor(),
            salt_pct: pct(batch.salt_g),
            sugar_pct,
            matrix: Matrix::new(pct(batch.water_g), pct(batch.salt_g), pct(batch.oil_g), sugar_pct, protein),
            segments: segments(batch, log, index, notes),
            outputs: Vec::new(),
        },
        observed: Vec::new(),
        judged: None,
        flour_lot: flour_lot(batch).map(|name| lot(&mut index.flour_lots, name)),
        yeast_lot: batch.yeast_lot.as_deref().map(|name| lot(&mut index.yeast_lots, name)),
        day: batch.date.map(|d| d.days()),
    }
}

/// The bowl of a batch; `None` when its water or room temperature is not known.
pub fn bowl(batch: &Batch, protein_pct: f64) -> Option<Bowl> {
    let room_c = batch.room_temp_c?;
    let ice_g = batch.ice_g.unwrap_or(0.0);
    Some(Bowl {
        flour_g: batch.flour_added_g()?,
        flour_c: batch.flour_temp_c.unwrap_or(room_c),
        protein_pct,
        water_g: batch.water_added_g()? - ice_g,
        water_c: batch.water_temp_c?,
        ice_g,
        preferment_flour_g: batch.preferment_flour_g.unwrap_or(0.0),
        preferment_water_g: batch.preferment_water_g.unwrap_or(0.0),
        preferment_c: batch.preferment_temp_c.unwrap_or(room_c),
        salt_g: batch.salt_g.unwrap_or(0.0),
        oil_g: batch.oil_g.unwrap_or(0.0),
        sugar_g: batch.sugar_g.unwrap_or(0.0) + batch.malt_g.unwrap_or(0.0),
        room_c,
    })
}

fn mixing(batch: &Batch, protein_pct: f64, index: &mut Index) -> Option<Mixing> {
    let bowl = bowl(batch, protein_pct)?;
    let method = batch.mix_method.as_deref().unwrap_or(ASSUMED_METHOD);
    Some(Mixing {
        balance_c: bowl.mixed(),
        room_c: bowl.room_c,
        method: position(&mut index.methods, method),
    })
}

fn preferment(batch: &Batch, protein_pct: f64, yeast: YeastType) -> Option<Preferment> {
    let flour = batch.preferment_flour_g.filter(|g| *g > 0.0)?;
    let pct = |grams: Option<f64>| 100.0 * grams.unwrap_or(0.0) / flour;
    Some(Preferment {
        share: batch.preferment_share(),
        yeast_pct: pct(batch.preferment_yeast_g) * yeast.instant_equivalent(),
        hours: batch.preferment_hours.unwrap_or(0.0),
        temp_c: batch.preferment_temp_c.or(batch.room_temp_c).unwrap_or(ASSUMED_ROOM_C),
        matrix: Matrix::new(pct(batch.preferment_water_g), 0.0, 0.0, 0.0, protein_pct),
    })
}

fn segments(
    batch: &Batch,
    log: &[&SurroundingsPoint],
    index: &mut Index,
    notes: &mut Vec<Assumption>,
) -> Vec<Segment> {
    let piece = batch.rise_sample_g.or(batch.piece_g);
    let mut segments = Vec::new();
    for stage in batch.stages() {
        let grams = match stage.kind {
            StageKind::Bulk => batch.rise_sample_g.or(batch.dough_g()),
            StageKind::Cold | StageKind::Temper => piece,
        };
        if grams.is_none() {
            notes.push(Assumption::PieceMass);
        }
        let (around_c, place, unmeasured) = match stage.kind {
            StageKind::Cold => {
                let name = batch.cold_place.as_deref().unwrap_or(ASSUMED_PLACE);
                let place = position(&mut index.places, name);
                match stage.surroundings_c {
                    Some(t) => (t, Some(place), None),
                    None => {
                        notes.push(Assumption::FridgeTemperature);
                        (UNMEASURED_FRIDGE_C, Some(place), Some(place))
                    }
                }
            }
            StageKind::Bulk | StageKind::Temper => {
                let t = stage.surroundings_c.or(batch.room_temp_c).unwrap_or_else(|| {
                    notes.push(Assumption::RoomTemperature);
                    ASSUMED_ROOM_C
                });
                (t, None, None)
            }
        };
        let tau_factor = tau_factor(grams.unwrap_or(ASSUMED_PIECE_G));
        segments.push(Segment { around_c, hours: stage.hours, tau_factor, place, unmeasured });
    }
    follow_log(segments, log)
}

/// Cuts the stages at the lines of a temperature log, and takes the surroundings from it where it reaches.
fn follow_log(stages: Vec<Segment>, log: &[&SurroundingsPoint]) -> Vec<Segment> {
    if log.is_empty() {
        return stages;
    }
    let mut log: Vec<_> = log.iter().map(|p| (p.hours, p.surroundings_temp_c)).collect();
    log.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut cut = Vec::new();
    let mut from = 0.0;
    for stage in stages {
        let to = from + stage.hours;
        let mut at = from;
        while at < to {
            let now = log.iter().rev().find(|(h, _)| *h <= at).copied();
            let next = log.iter().map(|(h, _)| *h).find(|h| *h > at).unwrap_or(f64::INFINITY).min(to);
            let mut piece = Segment { hours: next - at, ..stage };
            if let Some((_, logged)) = now {
                piece = Segment { around_c: logged, unmeasured: None, ..piece };
            }
            cut.push(piece);
            at = next;
        }
        from = to;
    }
    cut
}

fn observe(prepared: &mut Prepared, batch: &Batch, readings: &[&Reading], notes: &mut Vec<Assumption>) {
    let course = &mut prepared.course;
    let mut seen: Vec<(Output, Observed)> = Vec::new();
    let plain = |value: f64| Observed { value, collapsed: false };
    if let (Some(measured), Some(_)) = (batch.dough_temp_c, course.mixing) {
        seen.push((Output::MixedTemperature, plain(measured)));
    }
    if let Some(vessel) = course.preferment {
        let own = readings.iter().filter(|r| r.vessel == Vessel::Preferment);
        let read = own.filter_map(|r| r.rise.map(|rise| (r.hours, rise)));
        let at_use = batch.preferment_rise.map(|rise| (vessel.hours, rise));
        seen.extend(read.chain(at_use).map(|(h, rise)| (Output::PrefermentRise(h), plain(rise.ln()))));
    }
    // Marks first, so that the indices of segments stand when the outputs are written.
    let hours: Vec<f64> = readings.iter().filter(|r| r.vessel == Vessel::Dough).map(|r| r.hours).collect();
    for h in hours {
        if course.mark(h).is_none() {
            notes.push(Assumption::ReadingOutside);
        }
    }
    for r in readings.iter().filter(|r| r.vessel == Vessel::Dough) {
        let Some(after) = course.mark(r.hours) else { continue };
        if let Some(rise) = r.rise {
            seen.push((Output::Rise(after), plain(rise.ln())));
        }
        if let Some(t) = r.dough_temp_c {
            seen.push((Output::Temperature(after), plain(t)));
        }
    }
    if let Some(after) = read_after(batch).and_then(|h| course.mark(h)) {
        let collapsed = batch.ripeness == Some(Ripeness::Collapsed);
        if let Some(rise) = batch.rise {
            seen.push((Output::Rise(after), Observed { value: rise.ln(), collapsed }));
        } else if collapsed {
            seen.push((Output::Rise(after), Observed { value: 0.0, collapsed }));
        }
    }
    (course.outputs, prepared.observed) = seen.into_iter().unzip();
}

/// The verdict at the oven, beside the rise if that was read there too.
fn judge(prepared: &mut Prepared, batch: &Batch) {
    let Some(last) = batch.stages().last() else { return };
    let Some(verdict) = batch.ripeness.filter(|r| *r != Ripeness::Collapsed) else { return };
    let at_oven = batch.rise_at.is_none_or(|at| at == last.kind);
    let measured = batch.rise.filter(|_| at_oven).map(f64::ln);
    if measured.is_none() {
        prepared.course.outputs.push(Output::Rise(prepared.course.segments.len()));
    }
    prepared.judged = Some(Judged { verdict, measured });
}

/// Hours from the end of mixing to the moment at which `rise` was read; `None` without stages.
pub fn read_after(batch: &Batch) -> Option<f64> {
    let last = batch.stages().last()?.kind;
    let at = batch.rise_at.unwrap_or(last);
    Some(batch.stages().take_while(|s| s.kind <= at).map(|s| s.hours).sum())
}
