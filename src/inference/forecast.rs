//! What a fit says of a dough not yet made: the posterior predictive distribution of its rise.
//!
//! Each draw s of the posterior gives ln rise f_s of the course, and a squared scale
//! v_s = sigma² + D² (omega² + lots not seen before) + (S sigma_T)²: noise of reading, the batch's own vigour,
//! and a start temperature that only the heat balance foretells; D and S are the slopes of ln rise by ln k and by that
//! temperature ([`crate::physics::slopes`]). The forecast is the mixture over draws of
//! Student's t (four degrees of freedom) about f_s with scale sqrt(v_s), on the scale of ln rise.
//!
//! Source: the likelihood of [`super::posterior`], averaged over the draws. Limits: linear in the own vigour, as there;
//! rises of one dough are foretold each by itself ([`super::under_way`] joins them).

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

use crate::dough::Batch;
use crate::physics::course::{Course, Output, Parameters, Start, Workspace};
use crate::physics::courses::{self, Case};

use super::drift::Periods;
use super::layout::Layout;
use super::lots::Lots;
use super::prepare::{self, Assumption, Index, Prepared};
use super::priors::{self, Core};
use super::student;

/// Squared spread of a lot on ln k where the records hold too few lots to tell: the mean square of the
/// prior's half-normal of 0.15.
const UNSEEN_LOT: f64 = 0.15 * 0.15;

/// One draw of the posterior, ready to forecast.
#[derive(Debug, Clone)]
pub struct Draw {
    /// The physics' parameters.
    pub parameters: Parameters,
    /// Noise of ln rise.
    pub sigma: f64,
    /// Noise of temperature in °C.
    pub sigma_t: f64,
    /// Spread of a batch's own vigour on ln k.
    pub omega: f64,
    flour: LotEffects,
    yeast: LotEffects,
    drift: Option<DriftLevels>,
}

/// Where the drift of vigour stands, period by period.
#[derive(Debug, Clone)]
struct DriftLevels {
    periods: Periods,
    levels: Vec<f64>,
    next_variance: f64,
}

impl DriftLevels {
    /// Level on a day, and the variance that not knowing it adds; the last level for a plan without a date.
    fn of(&self, day: Option<f64>) -> (f64, f64) {
        let end = self.periods.first_day + self.periods.days * self.periods.count as f64;
        match day {
            Some(day) if day < end => (self.levels[self.periods.of(day)], 0.0),
            _ => (self.levels.last().copied().unwrap_or(0.0), self.next_variance),
        }
    }
}

/// Effects of the lots of one kind on ln k.
#[derive(Debug, Clone)]
struct LotEffects {
    /// Whether the records tell lots apart.
    told: bool,
    spread: f64,
    effects: Vec<f64>,
}

impl LotEffects {
    fn new(layout: &Layout, lots: &Option<Lots>, x: &[f64]) -> Option<Self> {
        let l = lots.as_ref()?;
        let spread = layout.value(x, l.spread);
        let unit = l.unit(x);
        Some(Self {
            told: true,
            spread,
            effects: (0..l.effects.len()).map(|i| l.effect(&unit, x, i).value).collect(),
        })
    }

    /// Effect of a lot, and the variance that not knowing it adds.
    fn of(&self, lot: Option<usize>) -> (f64, f64) {
        match lot {
            None if self.told => (0.0, self.spread * self.spread),
            None => (0.0, 0.0),
            Some(i) => match self.effects.get(i) {
                Some(effect) => (*effect, 0.0),
                None => (0.0, self.spread * self.spread),
            },
        }
    }
}

/// Where the mixture component of one draw lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Component {
    /// Its centre: ln rise.
    pub centre: f64,
    /// Its scale, on ln rise.
    pub scale: f64,
}

/// The draws of a fit, able to forecast courses.
#[derive(Debug, Clone)]
pub struct Forecaster {
    /// The draws, equally weighted.
    pub draws: Vec<Draw>,
    centre: Draw,
    index: Index,
}

/// What a kitchen never told is drawn from its prior, one draw of the posterior at a time, from this seed.
const UNTOLD_SEED: u64 = 0x5EED;

/// Draws that a plan is worked out under before what they gave is gathered: few enough to stay in the caches.
const AT_ONCE: usize = 64;

impl Forecaster {
    /// From the shared parameters of a fit's draws (each a vector x as long as `layout` says), under the names of its
    /// index; draws outside the support are left out. `None` when none is left.
    pub fn new<'a>(
        layout: &Layout,
        index: &Index,
        draws: impl IntoIterator<Item = &'a [f64]>,
    ) -> Option<Self> {
        let unseen = if index.beliefs.lots_alike { 0.0 } else { UNSEEN_LOT.sqrt() };
        let lots = |lots: &Option<Lots>, known: usize, x: &[f64]| {
            LotEffects::new(layout, lots, x).unwrap_or_else(|| LotEffects {
                told: false,
                spread: unseen,
                effects: vec![0.0; known],
            })
        };
        let draw = |x: &[f64]| {
            Some(Draw {
                parameters: layout.parameters(x)?,
                sigma: layout.core(x, Core::RiseNoise),
                sigma_t: layout.core(x, Core::TemperatureNoise),
                omega: layout.core(x, Core::BatchSpread),
                flour: lots(&layout.flour, index.flour_lots.len(), x),
                yeast: lots(&layout.yeast, index.yeast_lots.len(), x),
                drift: layout.drift.as_ref().map(|d| DriftLevels {
                    periods: d.periods,
                    levels: d.levels(x),
                    next_variance: d.next_variance(x),
                }),
            })
        };
        let mut mean = vec![0.0; layout.shared.len()];
        let (mut count, mut kept) = (0.0, Vec::new());
        for x in draws {
            if let Some(d) = draw(x) {
                count += 1.0;
                mean.iter_mut().zip(x).for_each(|(m, v)| *m += (v - *m) / count);
                kept.push(d);
            }
        }
        let centre = draw(&mean).or_else(|| kept.first().cloned())?;
        let mut forecaster = Self { draws: kept, centre, index: index.clone() };
        if layout.fridge_offset.is_empty() {
            forecaster.draw_offsets(0);
        }
        Some(forecaster)
    }

    /// A plan as a course under the names of the fit, with its rise at the moment of reading asked for, and what
    /// was assumed of its blanks. Mixing methods and cold places that the kitchen never told of are drawn from
    /// their priors.
    pub fn ready(&mut self, plan: &Batch) -> (Prepared, Vec<Assumption>) {
        let mut notes = Vec::new();
        let (methods, places) = (self.index.methods.len(), self.index.places.len());
        // New lots are not remembered: each is unknown to the fit, and forecast as such.
        let mut names = self.index.clone();
        let mut prepared = prepare::course(plan, &mut names, &mut notes);
        (self.index.methods, self.index.places) = (names.methods, names.places);
        if self.index.methods.len() > methods {
            self.draw_warming(methods);
        }
        if self.index.places.len() > places {
            self.draw_cooling(places);
            self.draw_offsets(places);
        }
        if let Some(after) = prepare::read_after(plan).and_then(|h| prepared.course.mark(h)) {
            prepared.course.outputs.push(Output::Rise(after));
        }
        notes.sort_unstable();
        notes.dedup();
        (prepared, notes)
    }

    fn draw_warming(&mut self, from: usize) {
        for i in from..self.index.methods.len() {
            let form = priors::warming(&self.index.methods[i]);
            self.untold(i, |p, z| p.warming.push(form.value(z).0));
        }
    }

    fn draw_cooling(&mut self, from: usize) {
        for i in from..self.index.places.len() {
            self.untold(1000 + i, |p, z| p.place_tau.push(priors::PLACE_COOLING.value(z).0));
        }
    }

    fn draw_offsets(&mut self, from: usize) {
        for i in from..self.index.places.len() {
            self.untold(2000 + i, |p, z| {
                p.fridge_offset.truncate(i);
                p.fridge_offset.push(priors::UNMEASURED_FRIDGE.value(z).0);
            });
        }
    }

    /// Changes the parameters of each draw by a standard normal number of its own, those of the centre by zero.
    fn untold(&mut self, stream: usize, change: impl Fn(&mut Parameters, f64)) {
        change(&mut self.centre.parameters, 0.0);
        for (draw, z) in self.draws.iter_mut().zip(normals(stream)) {
            change(&mut draw.parameters, z);
        }
    }

    /// One draw at the mean of the posterior: for slopes and first guesses.
    pub fn central(&self) -> Self {
        Self { draws: vec![self.centre.clone()], ..self.clone_names() }
    }

    /// Every n-th draw, so that at most `most` are left: for searching, before the answer is worked out on all.
    pub fn thinned(&self, most: usize) -> Self {
        let step = self.draws.len().div_ceil(most.max(1)).max(1);
        Self { draws: self.draws.iter().step_by(step).cloned().collect(), ..self.clone_names() }
    }

    fn clone_names(&self) -> Self {
        Self { draws: Vec::new(), centre: self.centre.clone(), index: self.index.clone() }
    }

    /// The forecast of the last output of `plan` that is a rise.
    pub fn rise(&self, plan: &Prepared) -> Mixture {
        let n = plan.course.outputs.iter().rposition(|o| matches!(o, Output::Rise(_))).unwrap_or(0);
        Mixture(self.rises(plan).into_iter().map(|of_draw| of_draw[n]).collect())
    }

    /// For each draw, the component of each output of `plan`; for temperatures the scale is in °C.
    pub fn rises(&self, plan: &Prepared) -> Vec<Vec<Component>> {
        let course = &plan.course;
        let mixed = course.start == Start::Mixed;
        self.each(plan, |draw, k, ws| {
            let component = |(i, output): (usize, &Output)| Component {
                centre: ws.answers[i].value,
                scale: match output {
                    Output::Rise(_) | Output::PrefermentRise(_) => {
                        let by_vigour = ws.answers[i].by_ln_k();
                        let by_start = if mixed { ws.by_start(course, i) * draw.sigma_t } else { 0.0 };
                        let own = by_vigour * by_vigour * (draw.omega * draw.omega + k.unseen);
                        (draw.sigma * draw.sigma + own + by_start * by_start).sqrt()
                    }
                    Output::MixedTemperature | Output::Temperature(_) => draw.sigma_t,
                },
            };
            course.outputs.iter().enumerate().map(component).collect()
        })
    }

    /// `[draw][output]`: the values of all outputs of `plan` (ln rise, or °C), without the spread that a batch adds: for
    /// medians.
    pub fn values(&self, plan: &Prepared) -> Vec<Vec<f64>> {
        self.each(plan, |_, _, ws| ws.answers.iter().map(|a| a.value).collect())
    }

    /// Squared scale of what a batch of known lots and known start adds to its last rise: noise of reading and its own
    /// vigour, as a mean over draws.
    pub fn own_noise(&self, plan: &Prepared) -> f64 {
        let last = plan.course.outputs.iter().rposition(|o| matches!(o, Output::Rise(_)));
        let of_draw = |draw: &Draw, _: &PlanK, ws: &Workspace<f64>| {
            let slope = last.map_or(0.0, |n| ws.answers[n].by_ln_k());
            draw.sigma * draw.sigma + slope * slope * draw.omega * draw.omega
        };
        self.each(plan, of_draw).iter().sum::<f64>() / self.draws.len() as f64
    }

    /// What `of` makes of each draw, k under it, and `plan` worked out.
    fn each<T>(&self, plan: &Prepared, of: impl Fn(&Draw, &PlanK, &Workspace<f64>) -> T) -> Vec<T> {
        let mut ws = vec![Workspace::default(); AT_ONCE.min(self.draws.len())];
        let mut made = Vec::with_capacity(self.draws.len());
        for draws in self.draws.chunks(AT_ONCE) {
            let ks: Vec<PlanK> = draws.iter().map(|draw| draw.k(plan)).collect();
            let each = draws.iter().zip(&ks);
            let cases: Vec<Case> = each
                .map(|(draw, k)| Case { course: &plan.course, parameters: &draw.parameters, k: k.k })
                .collect();
            courses::forward(&cases, &mut ws);
            made.extend(draws.iter().zip(&ks).zip(&ws).map(|((draw, k), ws)| of(draw, k, ws)));
        }
        made
    }

    /// Dough temperature in °C just after mixing, one a draw.
    pub fn start_c(&self, course: &Course) -> Mixture {
        let one = |d: &Draw| Component { centre: course.start_c(&d.parameters), scale: d.sigma_t };
        Mixture(self.draws.iter().map(one).collect())
    }
}

/// An endless row of standard normal numbers, the same for the same name.
fn normals(stream: usize) -> impl Iterator<Item = f64> {
    let mut rng = ChaCha8Rng::seed_from_u64(UNTOLD_SEED);
    rng.set_stream(stream as u64);
    std::iter::from_fn(move || Some(StandardNormal.sample(&mut rng)))
}

/// k of a plan under one draw, and the variance on ln k of lots not seen before.
pub(super) struct PlanK {
    pub(super) k: f64,
    pub(super) unseen: f64,
}

impl Draw {
    pub(super) fn k(&self, plan: &Prepared) -> PlanK {
        let (flour, unseen_flour) = self.flour.of(plan.flour_lot);
        let (yeast, unseen_yeast) = self.yeast.of(plan.yeast_lot);
        let (drift, unseen_drift) = self.drift.as_ref().map_or((0.0, 0.0), |d| d.of(plan.day));
        let effect: f64 = flour + yeast + drift;
        PlanK { k: self.parameters.k * effect.exp(), unseen: unseen_flour + unseen_yeast + unseen_drift }
    }

    /// k of a plan when chance draws what is not known of it: its own vigour, and lots not met before.
    pub(super) fn k_by_chance(&self, plan: &Prepared, mut normal: impl FnMut() -> f64) -> f64 {
        let k = self.k(plan);
        k.k * (self.omega * normal() + k.unseen.sqrt() * normal()).exp()
    }

    /// ln rise at the last rise asked for; NaN when none is: for sensitivities.
    pub fn ln_rise(&self, plan: &Prepared) -> f64 {
        let mut ws = Workspace::<f64>::default();
        plan.course.forward(&self.parameters, self.k(plan).k, &mut ws);
        let rise = plan.course.outputs.iter().rposition(|o| matches!(o, Output::Rise(_)));
        rise.map_or(f64::NAN, |n| ws.answers[n].value)
    }

    /// Effects on ln k of the flour lot and of the yeast lot of a batch.
    pub fn lots(&self, plan: &Prepared) -> (f64, f64) {
        (self.flour.of(plan.flour_lot).0, self.yeast.of(plan.yeast_lot).0)
    }

    /// Effect on ln k of a known flour lot, by its place in the index.
    pub fn flour_effect(&self, lot: usize) -> f64 {
        self.flour.of(Some(lot)).0
    }
}

/// An equal mixture of t4 components.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixture(pub Vec<Component>);

impl Mixture {
    /// Probability that it lies below `x`.
    pub fn below(&self, x: f64) -> f64 {
        let sum: f64 = self.0.iter().map(|c| student::below((x - c.centre) / c.scale)).sum();
        sum / self.0.len() as f64
    }

    /// Log density at `x`, nats.
    pub fn ln_density(&self, x: f64) -> f64 {
        let sum: f64 = self.0.iter().map(|c| student::density((x - c.centre) / c.scale) / c.scale).sum();
        (sum / self.0.len() as f64).ln()
    }

    /// Mean, which is the mean of the centres.
    pub fn mean(&self) -> f64 {
        self.0.iter().map(|c| c.centre).sum::<f64>() / self.0.len() as f64
    }

    /// Probability that it lies between `low` and `high`.
    pub fn between(&self, low: f64, high: f64) -> f64 {
        self.below(high) - self.below(low)
    }

    /// The value below which a share `p` of it lies, to 1e-9; NaN for an empty mixture. By Newton's steps, each kept
    /// within what is known to lie on either side, and halved where it is not.
    pub fn quantile(&self, p: f64) -> f64 {
        let far = |c: &Component, sign: f64| c.centre + sign * 100.0 * c.scale;
        let mut low = self.0.iter().map(|c| far(c, -1.0)).fold(f64::INFINITY, f64::min);
        let mut high = self.0.iter().map(|c| far(c, 1.0)).fold(f64::NEG_INFINITY, f64::max);
        if low.is_nan() || high.is_nan() || low > high {
            return f64::NAN;
        }
        let mut x = self.mean();
        while high - low > 1e-9 {
            let (below, density) = self.below_with_density(x);
            if below < p {
                low = x
            } else {
                high = x
            }
            let newton = x + (p - below) / density;
            let next = if low < newton && newton < high { newton } else { 0.5 * (low + high) };
            if (next - x).abs() < 1e-10 || next <= low || next >= high {
                return next;
            }
            x = next;
        }
        0.5 * (low + high)
    }

    fn below_with_density(&self, x: f64) -> (f64, f64) {
        let mut sums = (0.0, 0.0);
        for c in &self.0 {
            let t = (x - c.centre) / c.scale;
            sums.0 += student::below(t);
            sums.1 += student::density(t) / c.scale;
        }
        let n = self.0.len() as f64;
        (sums.0 / n, sums.1 / n)
    }
}
