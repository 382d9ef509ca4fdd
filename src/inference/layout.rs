//! Which parameter stands where in the vector of standard numbers x.
//!
//! First the core of every kitchen, then the warming of each mixing method, what is particular to each cold place,
//! and the lots.

use std::ops::Range;

use crate::physics::course::{Adjoints, Parameters};
use crate::physics::rate_form::RateForm;

use super::drift::{self, Drift};
use super::lots::{Centring, Lots};
use super::prepare::{Index, Lot};
use super::priors::{self, CORE, Core, Prior};
use super::verdict::{self, Thresholds};

/// The layout of x for one kitchen.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// The parameters with their priors, in order.
    pub shared: Vec<Prior>,
    /// Warming of each mixing method.
    pub warming: Range<usize>,
    /// ln tau of each cold place over the kitchen's; empty with one place.
    pub place_tau: Range<usize>,
    /// Offset of each fridge that was not measured (all places when any was not); else empty.
    pub fridge_offset: Range<usize>,
    /// What the baker's verdicts bring ([`super::verdict`]); empty without any.
    pub verdict: Range<usize>,
    /// Flour lots; absent with fewer than two.
    pub flour: Option<Lots>,
    /// Yeast lots; absent with fewer than two.
    pub yeast: Option<Lots>,
    /// Drift of the vigour; absent unless believed.
    pub drift: Option<Drift>,
    warmth: RateForm,
    places: usize,
}

impl Layout {
    /// For a kitchen of these names; `unmeasured_fridge` when any fridge temperature is blank.
    pub fn new(index: &Index, unmeasured_fridge: bool, centring: Centring) -> Self {
        let beliefs = &index.beliefs;
        let mut shared: Vec<Prior> = priors::core().into();
        let mut block = |priors: Vec<Prior>| {
            let from = shared.len();
            shared.extend(priors);
            from..shared.len()
        };
        let warming = block(
            index
                .methods
                .iter()
                .map(|m| Prior::new(format!("warming_{m}"), "°C", priors::warming(m), "warming by mixing"))
                .collect(),
        );
        let several = index.places.len() > 1;
        let place = |p: &String| {
            Prior::new(
                format!("cooling_at_{p}"),
                "times",
                priors::PLACE_COOLING,
                "this place's cooling time over the kitchen's mean",
            )
        };
        let place_tau = block(index.places.iter().filter(|_| several).map(place).collect());
        let fridge = |p: &String| {
            Prior::new(
                format!("fridge_offset_{p}"),
                "°C",
                priors::UNMEASURED_FRIDGE,
                "unmeasured fridge above the assumed temperature",
            )
        };
        let fridge_offset = block(index.places.iter().filter(|_| unmeasured_fridge).map(fridge).collect());
        let verdict = block(if index.verdicts { verdict::priors() } else { Vec::new() });
        let mut lots = |kind: &str, lots: &[Lot]| {
            (lots.len() > 1 && !beliefs.lots_alike).then(|| {
                let spread = block(vec![Prior::new(
                    format!("{kind}_lots_spread"),
                    "of ln vigour",
                    priors::LOT_SPREAD,
                    "how much lots differ",
                )]);
                let effect = |l: &Lot| {
                    let name = format!("{kind}_lot_{}", l.name);
                    Prior::new(name, "of ln vigour", priors::LOT_EFFECT, "this lot against the mean of lots")
                };
                let effects = block(lots.iter().map(effect).collect());
                Lots::new(spread.start, effects, centring)
            })
        };
        let flour = lots("flour", &index.flour_lots);
        let yeast = lots("yeast", &index.yeast_lots);
        let drift = beliefs.drift.map(|periods| Drift::new(block(drift::priors(&periods)).start, periods));
        beliefs.adjust(&mut shared);
        let (warmth, places) = (beliefs.warmth, index.places.len());
        Self { shared, warming, place_tau, fridge_offset, verdict, flour, yeast, drift, warmth, places }
    }

    /// Length of x.
    pub fn dim(&self) -> usize {
        self.shared.len()
    }

    /// x at the medians of the priors, where a search begins: all zeros.
    pub fn prior_median(&self) -> Vec<f64> {
        vec![0.0; self.shared.len()]
    }

    /// The value of the parameter at place `which` of x, in its unit.
    pub fn value(&self, x: &[f64], which: usize) -> f64 {
        for lots in [&self.flour, &self.yeast].into_iter().flatten() {
            if lots.effects.contains(&which) {
                return lots.effect(&lots.unit(x), x, which - lots.effects.start).value;
            }
        }
        if let Some(drift) = self.drift.as_ref().filter(|d| d.steps.contains(&which)) {
            return drift.step(x, which);
        }
        self.shared[which].form.value(x[which]).0
    }

    /// Whether a parameter has a prior of its own: not an effect of a lot or a step of the drift, whose priors hang on a
    /// spread.
    pub fn is_own(&self, which: usize) -> bool {
        let lots = [&self.flour, &self.yeast].into_iter().flatten();
        let mut spread = lots.map(|l| &l.effects).chain(self.drift.iter().map(|d| &d.steps));
        !spread.any(|range| range.contains(&which))
    }

    /// An x drawn from the prior, from as many standard normal numbers as it takes.
    pub fn draw_prior(&self, mut normal: impl FnMut() -> f64) -> Vec<f64> {
        self.centred(&self.shared.iter().map(|_| normal()).collect::<Vec<_>>())
    }

    /// An x drawn from the prior inside the support: those outside are drawn again.
    pub fn draw_possible(&self, mut normal: impl FnMut() -> f64) -> Vec<f64> {
        loop {
            let x = self.draw_prior(&mut normal);
            if self.parameters(&x).is_some() {
                return x;
            }
        }
    }

    /// The same parameters with lots told so.
    pub fn retold(&self, centring: Centring) -> Self {
        let lots = |lots: &Option<Lots>| lots.as_ref().map(|l| l.retold(centring));
        Self { flour: lots(&self.flour), yeast: lots(&self.yeast), ..self.clone() }
    }

    /// x told as this layout tells it, from one whose lots are in units of their spread.
    pub fn centred(&self, x: &[f64]) -> Vec<f64> {
        let mut x = x.to_vec();
        [&self.flour, &self.yeast].into_iter().flatten().for_each(|l| l.spread_out(&mut x));
        x
    }

    /// x with lots in units of their spread, from one told as this layout tells it.
    pub fn uncentred(&self, x: &[f64]) -> Vec<f64> {
        let mut x = x.to_vec();
        [&self.flour, &self.yeast].into_iter().flatten().for_each(|l| l.gather(&mut x));
        x
    }

    /// The value of a core parameter, in the unit of its [`Prior`].
    pub fn core(&self, x: &[f64], which: Core) -> f64 {
        self.value(x, which as usize)
    }

    /// The physics' parameters at x; `None` outside the support (cardinal temperatures out of order, a loss
    /// above one, a flour that cannot rise).
    pub fn parameters(&self, x: &[f64]) -> Option<Parameters> {
        let core = |which| self.core(x, which);
        let rate = self.warmth.rate(core(Core::ColdRate), core(Core::Optimum), core(Core::Maximum))?;
        let (kept, kept_preferment) = (1.0 - core(Core::Loss), 1.0 - core(Core::PrefermentLoss));
        let max_rise = core(Core::MaxRise);
        if kept <= 0.0 || kept_preferment <= 0.0 || max_rise <= 1.0 {
            return None;
        }
        let block = |range: &Range<usize>, blank: f64| match range.is_empty() {
            true => vec![blank; self.places],
            false => range.clone().map(|i| self.value(x, i)).collect(),
        };
        Some(Parameters {
            k: core(Core::Vigour),
            mu: core(Core::Growth),
            lag: core(Core::Lag),
            ceiling: core(Core::Ceiling),
            salt: core(Core::Salt),
            kept,
            kept_preferment,
            rate,
            max_rise,
            tau250: core(Core::Cooling),
            pull: core(Core::Pull),
            warming: self.warming.clone().map(|i| self.value(x, i)).collect(),
            place_tau: block(&self.place_tau, 1.0),
            fridge_offset: block(&self.fridge_offset, 0.0),
        })
    }

    /// The thresholds of the baker's verdicts at x; `None` without verdicts.
    pub fn thresholds(&self, x: &[f64]) -> Option<Thresholds> {
        let from = self.verdict.clone().next()?;
        Some(Thresholds::new([0, 1, 2].map(|i| self.value(x, from + i))))
    }

    /// Turns derivatives by the values of the verdicts' parameters into derivatives by x, added to `gradient`.
    pub fn chain_verdict(&self, x: &[f64], by_values: &[f64; verdict::PARAMETERS], gradient: &mut [f64]) {
        for (i, by) in self.verdict.clone().zip(by_values) {
            gradient[i] += by * self.shared[i].form.value(x[i]).1;
        }
    }

    /// Turns derivatives by the physics' parameters `p` at x into derivatives by x, added to `gradient`, which is as long
    /// as x.
    pub fn chain(&self, x: &[f64], p: &Parameters, adjoints: &Adjoints, gradient: &mut [f64]) {
        let mut add = |which: usize, by_value: f64| {
            gradient[which] += by_value * self.shared[which].form.value(x[which]).1;
        };
        let a = adjoints;
        add(Core::Vigour as usize, a.ln_k / p.k);
        add(Core::Growth as usize, a.ln_mu / p.mu);
        add(Core::Lag as usize, a.ln_lag / p.lag);
        add(Core::Ceiling as usize, a.ceiling);
        add(Core::Salt as usize, a.salt);
        add(Core::Loss as usize, -a.kept);
        add(Core::PrefermentLoss as usize, -a.kept_preferment);
        add(Core::MaxRise as usize, a.max_rise);
        add(Core::Cooling as usize, a.ln_tau250 / p.tau250);
        add(Core::Pull as usize, a.pull);
        let core = |which| self.core(x, which);
        let slopes =
            self.warmth.slopes(&p.rate, core(Core::ColdRate), core(Core::Optimum), core(Core::Maximum));
        let [rho4, optimum, maximum] = slopes.chain(&a.rate);
        add(Core::ColdRate as usize, rho4);
        add(Core::Optimum as usize, optimum);
        add(Core::Maximum as usize, maximum);
        for (i, by) in self.warming.clone().zip(&a.warming) {
            add(i, *by);
        }
        for ((i, by), factor) in self.place_tau.clone().zip(&a.ln_place_tau).zip(&p.place_tau) {
            add(i, by / factor);
        }
        for (i, by) in self.fridge_offset.clone().zip(&a.fridge_offset) {
            add(i, *by);
        }
    }

    /// Sum of the log prior densities at x, in nats, with derivatives added to `gradient`, which is as long as x.
    pub fn log_prior(&self, x: &[f64], gradient: &mut [f64]) -> f64 {
        let mut sum = 0.0;
        let lots = || [&self.flour, &self.yeast].into_iter().flatten();
        for (i, x) in x.iter().enumerate() {
            if !lots().any(|l| l.effects.contains(&i)) {
                sum += priors::standard_normal(*x);
                gradient[i] -= x;
            }
        }
        sum + lots().map(|l| l.log_prior(x, gradient)).sum::<f64>()
    }
}

const _: () = assert!(Core::BatchSpread as usize + 1 == CORE);
