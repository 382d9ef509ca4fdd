//! One batch from mixing to the oven: temperatures, thermal time, gas and rise, with derivatives.
//!
//! A [`Course`] holds the plain numbers of a batch; [`Parameters`] those of a kitchen. [`Course::forward`]
//! computes every output asked for together with its derivatives by the quantities it directly follows
//! from; [`Course::backward`] carries seeds (the derivative of a likelihood by each output) back to the
//! parameters, in reverse order of the computation.
//!
//! Symbols: theta thermal time in h at 25 °C, k starting rate of salt-free dough in mL CO2 per h per 100 g
//! flour per % instant yeast, mu its effective growth per h, M gas ceiling in mL per 100 g flour, c the effect of
//! salt per %, tau time constant in h, r(T) the rate relative to 25 °C.
//!
//! The outputs are those of [`super::moment`] and [`super::preferment`].
//!
//! Source: each step's in its own file; the reverse sweep is the chain rule.
//! Limits: the sugar a preferment has used (a few percent of M) and the heat of fermentation (about 0.4 K
//! per 100 mL of gas, adiabatic) are left out.

use super::abreast::Step;
use super::moment::{Dough, DoughWithPreferment, Moment};
pub use super::parameters::{Adjoints, Parameters};
pub use super::preferment::Preferment;
use super::preferment::{Ripening, Vessel};
use super::rise::Matrix;
use super::scalar::Scalar;
use super::thermal_time::{Stage, Stretch, stretch};

/// A stretch of time at one surroundings' temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Segment {
    /// Surroundings in °C, before any fridge's offset.
    pub around_c: f64,
    /// Length in h.
    pub hours: f64,
    /// tau of this piece over that of a 250 g piece.
    pub tau_factor: f64,
    /// The cold place whose factor on tau counts here: its place in [`Parameters::place_tau`].
    pub place: Option<usize>,
    /// The cold place whose unmeasured temperature counts here: its place in [`Parameters::fridge_offset`].
    pub unmeasured: Option<usize>,
}

/// The temperature just after mixing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Start {
    /// As measured, in °C.
    Measured(f64),
    /// From the heat balance of the bowl ([`Mixing`]).
    Mixed,
}

/// What the heat balance says, before learned warming and pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mixing {
    /// The parts come together at this temperature, in °C.
    pub balance_c: f64,
    /// The room in °C.
    pub room_c: f64,
    /// Which mixing method: its place in [`Parameters::warming`].
    pub method: usize,
}

impl Mixing {
    /// Dough temperature in °C after mixing.
    pub fn dough_c(&self, p: &Parameters) -> f64 {
        self.balance_c + p.pull * (self.room_c - self.balance_c) + p.warming[self.method]
    }
}

/// What is asked of a course.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Output {
    /// ln rise of the preferment so many hours after its own mixing.
    PrefermentRise(f64),
    /// Dough temperature just after mixing by the heat balance, in °C.
    MixedTemperature,
    /// ln rise of the dough after so many segments.
    Rise(usize),
    /// Dough temperature after so many segments, in °C.
    Temperature(usize),
}

/// One batch in plain numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// The preferment, if any.
    pub preferment: Option<Preferment>,
    /// The heat balance, when room and water temperatures are known.
    pub mixing: Option<Mixing>,
    /// Where the dough's temperature begins.
    pub start: Start,
    /// Yeast added at mixing, in % of all flour, as instant.
    pub fresh_pct: f64,
    /// How many times the lag of instant yeast this yeast takes, without unit.
    pub lag_factor: f64,
    /// Salt in % of all flour.
    pub salt_pct: f64,
    /// Added sugar in % of all flour.
    pub sugar_pct: f64,
    /// The dough that holds the gas.
    pub matrix: Matrix,
    /// What it passes through after mixing.
    pub segments: Vec<Segment>,
    /// What is asked of it.
    pub outputs: Vec<Output>,
}

/// What has to be worked out for one output.
pub(super) enum Question<N> {
    Dough(Moment<N>),
    DoughWithPreferment(Moment<N>, Ripening<N>),
    Preferment(Ripening<N>),
    /// Nothing: it is this, in °C.
    Known(f64),
}

/// One output with its derivatives by what it directly follows from.
#[derive(Debug, Clone, Copy, Default)]
pub struct Answer<N> {
    /// The output: ln rise, or a temperature in °C.
    pub value: N,
    /// For a rise: ln of the rise that an unbounded flour would have had; else the value again.
    pub unbounded: N,
    pub(super) slopes: Slopes<N>,
    pub(super) unbounded_factor: N,
}

#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Slopes<N> {
    pub(super) ln_k: N,
    pub(super) ln_mu: N,
    pub(super) ln_lag: N,
    pub(super) ceiling: N,
    pub(super) salt: N,
    pub(super) kept: N,
    pub(super) max_rise: N,
    pub(super) theta: N,
    pub(super) preferment_theta: N,
    pub(super) end_c: N,
}

/// Seeds of one output: the derivative of the log likelihood by its value and by what else the
/// likelihood reads of it (zero where it does not).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Seed {
    /// By the value.
    pub value: f64,
    /// By the value's slope along ln k.
    pub slope: f64,
    /// By the unbounded ln rise.
    pub unbounded: f64,
    /// By Rmax itself, where the likelihood names it.
    pub max_rise: f64,
}

/// Memory that one evaluation leaves for the next, so that nothing is allocated in between.
#[derive(Debug, Clone)]
pub struct Workspace<N> {
    /// Temperature in °C just after mixing.
    pub start_c: f64,
    pub(super) stretches: Vec<Stretch>,
    /// Thermal time in h at 25 °C after none, one, two, ... segments.
    thetas: Vec<f64>,
    /// The answers, in the order of the course's outputs.
    pub answers: Vec<Answer<N>>,
    by_theta: Vec<f64>,
    by_end: Vec<f64>,
}

impl<N> Default for Workspace<N> {
    fn default() -> Self {
        Self {
            start_c: 0.0,
            stretches: vec![],
            thetas: vec![],
            answers: vec![],
            by_theta: vec![],
            by_end: vec![],
        }
    }
}

impl Course {
    /// Temperature just after mixing in °C; NaN when it is to come from a heat balance that is not there.
    pub fn start_c(&self, p: &Parameters) -> f64 {
        match (self.start, self.mixing) {
            (Start::Measured(t), _) => t,
            (Start::Mixed, Some(mixing)) => mixing.dough_c(p),
            (Start::Mixed, None) => f64::NAN,
        }
    }

    /// Total length of the segments in h.
    pub fn hours(&self) -> f64 {
        self.segments.iter().map(|s| s.hours).sum()
    }

    /// Makes `hours` the end of a segment, and says after how many segments that is; `None` beyond the end.
    pub fn mark(&mut self, hours: f64) -> Option<usize> {
        const SAME: f64 = 1e-9;
        let mut from = 0.0;
        for i in 0..self.segments.len() {
            if hours <= from + SAME {
                return Some(i);
            }
            let to = from + self.segments[i].hours;
            if hours < to - SAME {
                let mut rest = self.segments[i];
                self.segments[i].hours = hours - from;
                rest.hours = to - hours;
                self.segments.insert(i + 1, rest);
                for output in &mut self.outputs {
                    if let Output::Rise(n) | Output::Temperature(n) = output
                        && *n > i
                    {
                        *n += 1;
                    }
                }
                return Some(i + 1);
            }
            from = to;
        }
        (hours <= from + SAME).then_some(self.segments.len())
    }

    /// Makes each of `hours` the end of a segment, and says after how many segments each is, in their order; `None` for one
    /// beyond the end.
    pub fn marks(&mut self, hours: &[f64]) -> Vec<Option<usize>> {
        // Cut first: a cut moves the numbers of the segments after it.
        for &h in hours {
            self.mark(h);
        }
        hours.iter().map(|&h| self.mark(h)).collect()
    }

    /// Fills `ws` with all outputs. `k` is the kitchen's k times what lot and batch do to it, and carries
    /// the slope along ln k when `N` is a jet (its own value, for a slope along ln k).
    pub fn forward<N: Scalar>(&self, p: &Parameters, k: N, ws: &mut Workspace<N>) {
        self.pass(p, ws);
        self.answer(p, k, ws);
    }

    /// Fills `ws` with all stages, which do not hang on k.
    pub fn pass<N: Scalar>(&self, p: &Parameters, ws: &mut Workspace<N>) {
        self.begin(p, ws);
        for i in 0..self.segments.len() {
            let stage = self.stage(p, i, ws);
            ws.pass(stretch(&p.rate, &stage));
        }
    }

    /// Fills `ws` with all outputs, after [`Course::pass`].
    pub fn answer<N: Scalar>(&self, p: &Parameters, k: N, ws: &mut Workspace<N>) {
        for (i, output) in self.outputs.iter().enumerate() {
            ws.answers[i] = match self.question(p, k, output, ws) {
                Question::Dough(moment) => Dough.one(&moment),
                Question::DoughWithPreferment(moment, ripening) => {
                    DoughWithPreferment.one(&(moment, ripening))
                }
                Question::Preferment(ripening) => Vessel.one(&ripening),
                Question::Known(value) => Answer::plain(N::constant(value)),
            };
        }
    }

    /// Makes `ws` ready for this course: no stage yet, and room for each answer.
    pub(super) fn begin<N: Scalar>(&self, p: &Parameters, ws: &mut Workspace<N>) {
        ws.start_c = self.start_c(p);
        ws.stretches.clear();
        ws.thetas.clear();
        ws.thetas.push(0.0);
        // What another evaluation left there is overwritten.
        ws.answers.resize(self.outputs.len(), Answer::default());
    }

    /// The segment `i`, when `ws` holds those before it.
    pub(super) fn stage<N>(&self, p: &Parameters, i: usize, ws: &Workspace<N>) -> Stage {
        let segment = &self.segments[i];
        Stage {
            start: ws.temperature_after(i),
            around: segment.around_c + segment.unmeasured.map_or(0.0, |i| p.fridge_offset[i]),
            tau: segment.tau(p),
            hours: segment.hours,
        }
    }

    /// What has to be worked out for an output, when `ws` holds all segments.
    pub(super) fn question<N: Scalar>(
        &self,
        p: &Parameters,
        k: N,
        output: &Output,
        ws: &Workspace<N>,
    ) -> Question<N> {
        let ripening = |vessel: &Preferment, hours: f64| Ripening {
            nature: p.nature(),
            k,
            lag: p.lag * self.lag_factor,
            theta: p.rate.at(vessel.temp_c) * hours,
            vessel: *vessel,
        };
        match (*output, &self.preferment) {
            (Output::PrefermentRise(hours), Some(v)) => Question::Preferment(ripening(v, hours)),
            (Output::PrefermentRise(_), None) => Question::Known(f64::NAN),
            (Output::MixedTemperature, _) => Question::Known(self.mixing.map_or(f64::NAN, |m| m.dough_c(p))),
            (Output::Temperature(n), _) => Question::Known(ws.temperature_after(n)),
            (Output::Rise(n), preferment) => {
                let moment = Moment {
                    nature: p.nature(),
                    k,
                    fresh_pct: self.fresh_pct,
                    lag: p.lag * self.lag_factor,
                    salt_pct: self.salt_pct,
                    sugar_pct: self.sugar_pct,
                    matrix: self.matrix,
                    theta: ws.theta_after(n),
                    end_c: ws.temperature_after(n),
                };
                match preferment {
                    None => Question::Dough(moment),
                    Some(v) => Question::DoughWithPreferment(moment, ripening(v, v.hours)),
                }
            }
        }
    }

    /// Adds to `adjoints` what the seeds (one an output, in their order) give, after [`Course::forward`] filled `ws` for
    /// the same course and parameters.
    pub fn backward<N: Scalar>(
        &self,
        p: &Parameters,
        ws: &mut Workspace<N>,
        seeds: &[Seed],
        adjoints: &mut Adjoints,
    ) {
        let n = self.segments.len();
        ws.by_theta.clear();
        ws.by_theta.resize(n + 1, 0.0);
        ws.by_end.clear();
        ws.by_end.resize(n + 1, 0.0);
        for ((&output, answer), seed) in self.outputs.iter().zip(&ws.answers).zip(seeds) {
            match output {
                Output::MixedTemperature => self.mixed_backward(seed.value, adjoints),
                Output::Temperature(i) => ws.by_end[i] += seed.value,
                Output::PrefermentRise(hours) => {
                    self.rise_backward(p, answer, seed, adjoints, Some(hours));
                }
                Output::Rise(i) => {
                    let (theta, end) = self.rise_backward(p, answer, seed, adjoints, None);
                    ws.by_theta[i] += theta;
                    ws.by_end[i] += end;
                }
            }
        }
        let mut by_theta = 0.0;
        for i in (0..n).rev() {
            let (segment, s) = (&self.segments[i], &ws.stretches[i]);
            by_theta += ws.by_theta[i + 1];
            let by_end = ws.by_end[i + 1];
            let by_tau = by_theta * s.theta_by_tau + by_end * s.end_by_tau;
            let by_ln_tau = by_tau * segment.tau(p);
            adjoints.ln_tau250 += by_ln_tau;
            if let Some(place) = segment.place {
                adjoints.ln_place_tau[place] += by_ln_tau;
            }
            if let Some(place) = segment.unmeasured {
                adjoints.fridge_offset[place] +=
                    by_theta * s.theta_by_around + by_end * (1.0 - s.end_by_start);
            }
            for (sum, slope) in adjoints.rate.iter_mut().zip(&s.theta_by_rate) {
                *sum += by_theta * slope;
            }
            ws.by_end[i] += by_theta * s.theta_by_start + by_end * s.end_by_start;
        }
        if self.start == Start::Mixed {
            self.mixed_backward(ws.by_end[0], adjoints);
        }
    }

    fn mixed_backward(&self, by_temperature: f64, adjoints: &mut Adjoints) {
        if let Some(m) = self.mixing {
            adjoints.pull += by_temperature * (m.room_c - m.balance_c);
            adjoints.warming[m.method] += by_temperature;
        }
    }

    /// Adds what a rise gives directly; returns the derivatives by thermal time and by end temperature.
    #[inline]
    fn rise_backward<N: Scalar>(
        &self,
        p: &Parameters,
        answer: &Answer<N>,
        seed: &Seed,
        adjoints: &mut Adjoints,
        preferment_read: Option<f64>,
    ) -> (f64, f64) {
        let s = &answer.slopes;
        // The unbounded rise follows from the same gas: its slopes are those of the rise, by one factor.
        let value = seed.value + seed.unbounded * answer.unbounded_factor.value();
        let of = |slope: N| slope.contract(value, seed.slope);
        adjoints.ln_k += of(s.ln_k);
        adjoints.ln_mu += of(s.ln_mu);
        adjoints.ln_lag += of(s.ln_lag);
        adjoints.ceiling += of(s.ceiling);
        adjoints.salt += of(s.salt);
        if preferment_read.is_some() {
            adjoints.kept_preferment += of(s.kept);
        } else {
            adjoints.kept += of(s.kept);
        }
        // Rmax bounds the rise only; the unbounded rise does not know it.
        adjoints.max_rise += s.max_rise.contract(seed.value, seed.slope) + seed.max_rise;
        if let Some(vessel) = &self.preferment {
            let by_rate = of(s.preferment_theta) * preferment_read.unwrap_or(vessel.hours);
            for (sum, slope) in adjoints.rate.iter_mut().zip(p.rate.by_coefficients(vessel.temp_c)) {
                *sum += by_rate * slope;
            }
        }
        (of(s.theta), of(s.end_c))
    }
}

impl Segment {
    fn tau(&self, p: &Parameters) -> f64 {
        p.tau250 * self.tau_factor * self.place.map_or(1.0, |i| p.place_tau[i])
    }
}

impl<N> Workspace<N> {
    /// Adds what the next segment is worth.
    pub(super) fn pass(&mut self, stretch: Stretch) {
        self.thetas.push(self.theta_after(self.stretches.len()) + stretch.theta);
        self.stretches.push(stretch);
    }

    /// Dough temperature in °C after so many segments.
    pub fn temperature_after(&self, segments: usize) -> f64 {
        match segments {
            0 => self.start_c,
            n => self.stretches[n - 1].end_c,
        }
    }

    /// Thermal time in h at 25 °C after so many segments.
    pub fn theta_after(&self, segments: usize) -> f64 {
        self.thetas[segments]
    }
}

impl<N: Scalar> Answer<N> {
    pub(super) fn plain(value: N) -> Self {
        Self { value, unbounded: value, ..Self::default() }
    }

    /// d value/d ln k, k with all that scales it alike.
    pub fn by_ln_k(&self) -> f64 {
        self.slopes.ln_k.value()
    }
}
