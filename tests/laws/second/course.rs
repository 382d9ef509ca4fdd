//! One batch from mixing to the oven, at the parameters of a kitchen.
//!
//! What is repeated here (23 and 21 °C and 250 g for what is blank, the exponent 0.4 of a piece's mass, 270 mL of gas for a
//! percent of sugar) are choices of the program, whose sources stand in its files: a second copy guards against a slip of
//! the hand alone.

use doughwright::dough::{Batch, Ripeness, StageKind, Vessel as Where};
use doughwright::inference::lots::Centring;
use doughwright::inference::prepare::Records;

use super::Number;
use super::dough::{self, Vessel};
use super::formulas::{awake, gas, ln_rise};
use super::prior;
use super::quadrature::{temperature, thermal_time};
use super::rate::Cardinal;

/// The parameters of a kitchen by name, in dual numbers.
pub struct Kitchen<'a, T> {
    pub records: &'a Records,
    pub centring: Centring,
    pub names: &'a [String],
    values: Vec<T>,
    pub cardinal: Cardinal<T>,
}

impl<'a, T: Number> Kitchen<'a, T> {
    pub fn new(records: &'a Records, centring: Centring, names: &'a [String], x: &[T]) -> Self {
        let values: Vec<T> = names.iter().zip(x).map(|(name, x)| prior::value(name, *x)).collect();
        let get = |name: &str| values[names.iter().position(|n| n == name).expect("every kitchen has it")];
        let cardinal = Cardinal::from_rho4(get("cold_rate"), get("best_temp"), get("stop_temp"));
        Self { records, centring, names, values, cardinal }
    }

    /// The value of a parameter, when this kitchen has it.
    pub fn find(&self, name: &str) -> Option<T> {
        Some(self.values[self.names.iter().position(|n| n == name)?])
    }

    pub fn get(&self, name: &str) -> T {
        self.find(name).unwrap_or_else(|| panic!("this kitchen has no {name}"))
    }
}

/// Time at one surroundings' temperature.
#[derive(Clone)]
struct Stay {
    until: f64,
    around: f64,
    grams: f64,
    place: Option<String>,
    guessed: bool,
}

/// What was seen, and when (hours since mixing, of the preferment for its own rise).
#[derive(Clone, Copy, PartialEq)]
pub enum Seen {
    MixedTemperature(f64),
    PrefermentRise {
        hours: f64,
        rise: f64,
    },
    Rise {
        hours: f64,
        rise: f64,
    },
    Fallen {
        hours: f64,
    },
    Temperature {
        hours: f64,
        celsius: f64,
    },
    /// Under, ready or over at the oven, and the rise if it was read there.
    Verdict {
        hours: f64,
        verdict: Ripeness,
        rise: Option<f64>,
    },
}

/// A batch with what was seen of it.
#[derive(Clone)]
pub struct Course<'a> {
    pub batch: &'a Batch,
    pub seen: Vec<Seen>,
    stays: Vec<Stay>,
    balance: Option<f64>,
    dough: Vessel,
    /// Moves the start, in °C: for the slope by the start's temperature.
    pub moved: f64,
}

impl<'a> Course<'a> {
    pub fn new(records: &Records, batch: &'a Batch) -> Self {
        let stays = stays(records, batch);
        let g = |x: Option<f64>| x.unwrap_or(0.0);
        let flour = g(batch.flour_g);
        let dough = Vessel::new(
            flour,
            g(batch.water_g),
            g(batch.salt_g),
            g(batch.oil_g),
            g(batch.sugar_g),
            dough::protein(batch),
        );
        let balance = dough::heat_balance(batch);
        let mut course = Self { batch, seen: vec![], stays, balance, dough, moved: 0.0 };
        course.seen = course.look(records);
        course
    }

    fn look(&self, records: &Records) -> Vec<Seen> {
        let b = self.batch;
        let mut seen = Vec::new();
        if let (Some(t), Some(_)) = (b.dough_temp_c, self.balance) {
            seen.push(Seen::MixedTemperature(t));
        }
        let hours = self.stays.last().map_or(0.0, |s| s.until);
        for r in records.readings.iter().filter(|r| Some(&r.batch_id) == b.batch_id.as_ref()) {
            match r.vessel {
                Where::Preferment => {
                    seen.extend(r.rise.map(|rise| Seen::PrefermentRise { hours: r.hours, rise }));
                }
                Where::Dough if r.hours <= hours => {
                    seen.extend(r.rise.map(|rise| Seen::Rise { hours: r.hours, rise }));
                    seen.extend(r.dough_temp_c.map(|celsius| Seen::Temperature { hours: r.hours, celsius }));
                }
                Where::Dough => {}
            }
        }
        if let (Some(rise), Some(hours)) = (b.preferment_rise, b.preferment_hours) {
            seen.push(Seen::PrefermentRise { hours, rise });
        }
        let stages: Vec<_> = stages(b);
        let at = b.rise_at.or(stages.last().map(|s| s.0));
        let hours = stages.iter().filter(|s| Some(s.0) <= at).map(|s| s.1).sum();
        match (b.ripeness, b.rise) {
            (Some(Ripeness::Collapsed), _) => seen.push(Seen::Fallen { hours }),
            (_, Some(rise)) => seen.push(Seen::Rise { hours, rise }),
            _ => {}
        }
        if let Some(verdict) = b.ripeness.filter(|r| *r != Ripeness::Collapsed) {
            let at_oven = b.rise_at.is_none() || b.rise_at == stages.last().map(|s| s.0);
            let hours = stages.iter().map(|s| s.1).sum();
            seen.push(Seen::Verdict { hours, verdict, rise: b.rise.filter(|_| at_oven) });
        }
        seen
    }

    pub fn start_unknown(&self) -> bool {
        self.batch.dough_temp_c.is_none() && self.balance.is_some()
    }

    /// Dough temperature by the heat balance, in °C.
    pub fn mixed<T: Number>(&self, kitchen: &Kitchen<T>) -> T {
        let (balance, room) = (self.balance.unwrap_or(f64::NAN), self.batch.room_temp_c.unwrap_or(f64::NAN));
        let method = self.batch.mix_method.as_deref().unwrap_or("hand");
        kitchen.get("room_pull") * (room - balance) + balance + kitchen.get(&format!("warming_{method}"))
    }

    fn start<T: Number>(&self, kitchen: &Kitchen<T>) -> T {
        let assumed = || if self.balance.is_some() { self.mixed(kitchen) } else { T::from(23.0) };
        self.batch.dough_temp_c.map_or_else(assumed, T::from) + self.moved
    }

    /// Thermal time in h and temperature in °C, so many hours after mixing.
    pub fn at<T: Number>(&self, kitchen: &Kitchen<T>, hours: f64) -> (T, T) {
        let (mut theta, mut celsius, mut from) = (T::zero(), self.start(kitchen), 0.0);
        for stay in &self.stays {
            let length = stay.until.min(hours) - from;
            if length <= 0.0 {
                break;
            }
            let place = |what| kitchen.find(&format!("{what}_{}", stay.place.as_deref()?));
            let mut around = T::from(stay.around);
            if stay.guessed {
                around += place("fridge_offset").expect("a guessed fridge has an offset");
            }
            let tau = kitchen.get("cooling_250g") * (stay.grams / 250.0).powf(0.4);
            let tau = tau * place("cooling_at").unwrap_or(T::one());
            theta += thermal_time(&kitchen.cardinal, celsius, around, tau, length);
            celsius = temperature(celsius, around, tau, length);
            from = stay.until;
        }
        (theta, celsius)
    }

    /// The preferment's rise (ln; as it is, and in a flour without limit) after so many hours, at a rate k
    /// that may carry its own slope.
    pub fn preferment_rise<T: Number, N: Number>(
        &self,
        kitchen: &Kitchen<T>,
        lift: impl Fn(T) -> N,
        k: N,
        hours: f64,
    ) -> [N; 2] {
        let b = self.batch;
        let gas = self.preferment_gas(kitchen, &lift, k, hours);
        let flour = b.preferment_flour_g.unwrap_or(f64::NAN);
        let vessel =
            Vessel::new(flour, b.preferment_water_g.unwrap_or(0.0), 0.0, 0.0, 0.0, dough::protein(b));
        let kept = lift(-kitchen.get("gas_lost_preferment") + 1.0);
        ln_rise(&vessel, gas, lift(T::from(self.preferment_c())), kept, lift(kitchen.get("max_rise")))
    }

    fn preferment_c(&self) -> f64 {
        self.batch.preferment_temp_c.or(self.batch.room_temp_c).unwrap_or(21.0)
    }

    fn preferment_rate<N: Number>(&self, k: N) -> N {
        let b = self.batch;
        let yeast = b.preferment_yeast_g.unwrap_or(0.0) * dough::yeast(b).0;
        k * (100.0 * yeast / b.preferment_flour_g.unwrap_or(f64::NAN))
    }

    fn preferment_gas<T: Number, N: Number>(
        &self,
        kitchen: &Kitchen<T>,
        lift: &impl Fn(T) -> N,
        k: N,
        hours: f64,
    ) -> N {
        let theta = kitchen.cardinal.rate(T::from(self.preferment_c())) * hours;
        let awake = lift(awake(theta, kitchen.get("lag") * dough::yeast(self.batch).1));
        gas(self.preferment_rate(k), lift(kitchen.get("growth")), lift(kitchen.get("gas_ceiling")), awake)
    }

    /// The dough's rise (ln; as it is, and in a flour without limit) after so many hours.
    pub fn rise<T: Number, N: Number>(
        &self,
        kitchen: &Kitchen<T>,
        lift: impl Fn(T) -> N,
        k: N,
        hours: f64,
    ) -> [N; 2] {
        let b = self.batch;
        let flour = b.flour_g.unwrap_or(f64::NAN);
        let pct = |g: Option<f64>| 100.0 * g.unwrap_or(0.0) / flour;
        let (theta, celsius) = self.at(kitchen, hours);
        let mu = lift(kitchen.get("growth"));
        let mut carried = N::zero();
        if let (Some(own), Some(hours)) = (b.preferment_flour_g.filter(|g| *g > 0.0), b.preferment_hours) {
            let made = self.preferment_gas(kitchen, &lift, k, hours);
            carried = (self.preferment_rate(k) + mu * made) * (own / flour);
        }
        let (strength, lag_factor) = dough::yeast(b);
        let fresh = k * (pct(b.yeast_g) * strength);
        let awake = lift(awake(theta, kitchen.get("lag") * lag_factor));
        let time = (fresh * awake + carried * lift(theta)) / (fresh + carried);
        let slow = lift((kitchen.get("salt_effect") * -pct(b.salt_g)).exp());
        let ceiling = lift(kitchen.get("gas_ceiling") + 270.0 * pct(b.sugar_g));
        let made = gas((fresh + carried) * slow, mu * slow, ceiling, time);
        let kept = lift(-kitchen.get("gas_lost") + 1.0);
        ln_rise(&self.dough, made, lift(celsius), kept, lift(kitchen.get("max_rise")))
    }
}

/// The stages that have a length: kind, hours, temperature as written down.
fn stages(b: &Batch) -> Vec<(StageKind, f64, Option<f64>)> {
    let all = [
        (StageKind::Bulk, b.bulk_hours, b.bulk_temp_c),
        (StageKind::Cold, b.cold_hours, b.cold_temp_c),
        (StageKind::Temper, b.temper_hours, b.temper_temp_c),
    ];
    all.into_iter().filter_map(|(kind, h, t)| Some((kind, h.filter(|h| *h > 0.0)?, t))).collect()
}

/// Where the dough stays: the stages, cut where a log of the surroundings says something new.
fn stays(records: &Records, b: &Batch) -> Vec<Stay> {
    let of_batch = records.surroundings.iter().filter(|p| Some(&p.batch_id) == b.batch_id.as_ref());
    let log: Vec<(f64, f64)> = of_batch.map(|p| (p.hours, p.surroundings_temp_c)).collect();
    let whole =
        [b.flour_g, b.water_g, b.salt_g, b.yeast_g, b.oil_g, b.sugar_g, b.malt_g, b.preferment_yeast_g];
    let whole: f64 = whole.into_iter().flatten().sum();
    let mut stays = Vec::new();
    let mut from = 0.0;
    for (kind, hours, written) in stages(b) {
        let to = from + hours;
        let cold = kind == StageKind::Cold;
        let piece = if kind == StageKind::Bulk { whole } else { b.piece_g.unwrap_or(250.0) };
        let mut cuts: Vec<f64> = log.iter().map(|p| p.0).filter(|h| *h > from && *h < to).collect();
        cuts.push(to);
        cuts.sort_by(f64::total_cmp);
        for until in cuts {
            // The latest line of the log by the time that this stay begins.
            let logged = log.iter().filter(|p| p.0 <= from).max_by(|a, b| a.0.total_cmp(&b.0)).map(|p| p.1);
            let assumed = if cold { 4.5 } else { b.room_temp_c.unwrap_or(21.0) };
            stays.push(Stay {
                until,
                around: logged.or(written).unwrap_or(assumed),
                grams: b.rise_sample_g.unwrap_or(piece),
                place: cold.then(|| b.cold_place.clone().unwrap_or("fridge".into())),
                guessed: cold && written.is_none() && logged.is_none(),
            });
            from = until;
        }
    }
    stays
}
