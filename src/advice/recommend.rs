//! The yeast and the water temperature of the next batch.
//!
//! Every water temperature the kitchen can tell apart is tried and scored by the chance that the rise lands in the window
//! (by the posterior predictive distribution), with the yeast that meets the target at the centre of the posterior, moved by
//! what separates that from the likeliest yeast (found for the coldest and the warmest water, straight in between).
//! Among waters whose chances are within 0.3 points of the best, the one nearest to the last batch is taken: people and
//! kitchens change in small steps. For it the likeliest yeast is found, and at last the answer is worked out on all draws,
//! with amounts that the scale can weigh.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::dough::units::both_scales;
use crate::dough::{Batch, YeastType};
use crate::inference::forecast::{Forecaster, Mixture};

use super::crust_side::CrustSide;
use super::heat::{Heat, heat};
use super::limits::Limits;
use super::plan::sound;
use super::reasons::{Reason, forgotten};
use super::scaling::{PieceEffect, piece_effect};
use super::water::{Pour, pour};
use super::weighing::{Weighing, weighing};
use super::window::{Window, window};
use super::{AdviceError, Interval, plan_name};

/// Chances that differ by less than this count as equal.
const NEAR: f64 = 0.003;
/// Draws that the search works on; the answer is worked out on all.
const SEARCH_DRAWS: usize = 250;
/// Draws that the window's medians are taken over: it is told in quarters of an hour.
const WINDOW_DRAWS: usize = 100;
/// Changes from the last batch that weigh the same: yeast by this part of itself, the dough's temperature by so many
/// °C. (The water follows the seasons; a kitchen is used to its dough temperature.)
const YEAST_STEP: f64 = 0.10;
const DOUGH_STEP_C: f64 = 1.0;
/// A schedule unlike the last one needs another yeast anyway: beyond so many steps its change counts no further.
const MOST_YEAST_STEPS: f64 = 3.0;
/// Likelier yeast is looked for so far about a guess, on ln yeast, at most so many times; a peak so near an end may lie
/// beyond it.
const LOOK: f64 = 0.5;
const MOST_LOOKS: usize = 4;
const AT_END: f64 = 0.03;
/// Least yeast looked at, in % of flour as instant, where the scale could weigh less.
pub const LEAST_YEAST_PCT: f64 = 0.002;

/// A filled plan and what is to be expected of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Recommendation {
    /// Of which plan.
    pub batch_id: Option<String>,
    /// Yeast to weigh, in g.
    pub yeast_g: f64,
    /// The same in % of all flour.
    pub yeast_pct: f64,
    /// Temperature of the water as a whole, in °C.
    pub water_temp_c: f64,
    /// Ice in g, in place of as much tap water.
    pub ice_g: f64,
    /// What to pour.
    pub pour: Pour,
    /// Dough temperature after mixing, in °C.
    pub dough_temp_c: Interval,
    /// Rise at the moment of reading.
    pub rise: Interval,
    /// The rise wanted.
    pub target_rise: f64,
    /// A rise within this share of it lies in the window.
    pub window_share: f64,
    /// Probability that the rise lies in the window.
    pub chance_in_window: f64,
    /// When the median rise lies in the window, in hours since the end of mixing.
    pub window: Option<Window>,
    /// Against the last batch.
    pub change: Change,
    /// Water temperature by the trade's sum rule, in °C.
    pub sum_rule_water_c: Option<f64>,
    /// The limit that keeps the target out of reach, if any, with the nearest that can be done.
    pub out_of_reach: Option<String>,
    /// What a degree does in the bowl.
    pub heat: Option<Heat>,
    /// What the scale does.
    pub weighing: Option<Weighing>,
    /// What another mass of the piece does.
    pub piece: Option<PieceEffect>,
    /// The crust beside the rise, where scores tell of it.
    pub crust: Option<CrustSide>,
    /// Why, in figures.
    #[serde(deserialize_with = "forgotten")]
    pub why: Vec<Reason>,
    /// What to mind.
    pub cautions: Vec<String>,
    /// The plan with its blanks filled.
    pub plan: Batch,
}

impl Recommendation {
    /// The window about the target, on ln rise.
    pub fn near(&self) -> (f64, f64) {
        bounds(self.target_rise, self.window_share)
    }
}

/// Change from the last batch.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Change {
    /// Yeast in percentage points of flour; `None` without a last batch.
    pub yeast_pct: Option<f64>,
    /// Water temperature in °C; `None` without a last batch that tells.
    pub water_temp_c: Option<f64>,
}

/// Fills the blanks of a completed plan.
///
/// # Errors
/// When there is nothing to fill, no target, no room temperature to work the water out from, or the plan or
/// the limits do not hold together.
pub fn recommend(
    forecaster: &mut Forecaster,
    plan: &Batch,
    last: Option<&Batch>,
    limits: &Limits,
) -> Result<Recommendation, AdviceError> {
    limits.validate()?;
    let target = asked(plan)?;
    // A plan's dough has not been probed yet.
    let ice_g = plan.ice_g.filter(|_| plan.water_temp_c.is_some());
    let plan = &Batch { dough_temp_c: None, ice_g, ..plan.clone() };
    forecaster.ready(&Batch { water_temp_c: Some(20.0), ..plan.clone() });
    let mut search = Search::new(forecaster, plan, last, limits, target);
    let (waters, no_water) = search.waters();
    let options = search.options(&waters);
    let best = options.iter().map(|o| o.chance).fold(0.0, f64::max);
    let nearest = options
        .into_iter()
        .filter(|o| o.chance >= best - NEAR)
        .min_by(|a, b| search.change(a).total_cmp(&search.change(b)))
        .ok_or(AdviceError::NoForecast)?;
    let chosen = search.best_yeast(nearest.yeast_g, nearest.water_c);
    Ok(answer(forecaster, plan, last, limits, target, chosen, no_water))
}

/// The target rise of a completed plan that can be recommended for.
///
/// # Errors
/// When nothing is left blank, there is no target or room temperature, or the plan does not hold together.
pub fn asked(plan: &Batch) -> Result<f64, AdviceError> {
    let name = plan_name(plan);
    if plan.yeast_g.is_some() && plan.water_temp_c.is_some() {
        return Err(AdviceError::NothingBlank(name));
    }
    let target = plan.target_rise.ok_or(AdviceError::NoTarget(name.clone()))?;
    sound(plan)?;
    match plan.room_temp_c {
        Some(_) => Ok(target),
        None => Err(AdviceError::NoRoom(name)),
    }
}

/// One way to fill the blanks.
#[derive(Debug, Clone, Copy)]
struct Filling {
    yeast_g: f64,
    /// The same before the scale rounds it.
    exact_g: f64,
    water_c: f64,
    chance: f64,
}

struct Search<'a> {
    thinned: Forecaster,
    centre: Forecaster,
    plan: &'a Batch,
    last: Option<&'a Batch>,
    limits: &'a Limits,
    low: f64,
    high: f64,
    target: f64,
}

impl<'a> Search<'a> {
    fn new(
        forecaster: &Forecaster,
        plan: &'a Batch,
        last: Option<&'a Batch>,
        limits: &'a Limits,
        target: f64,
    ) -> Self {
        let (low, high) = bounds(target, limits.window);
        Self {
            thinned: forecaster.thinned(SEARCH_DRAWS),
            centre: forecaster.central(),
            plan,
            last,
            limits,
            low,
            high,
            target,
        }
    }

    fn filled(&self, yeast_g: f64, water_c: f64) -> Batch {
        filled(self.plan, yeast_g, water_c)
    }

    /// Water temperatures to try, in °C; and what is wrong when none gives a dough within the limits.
    fn waters(&mut self) -> (Vec<f64>, Option<String>) {
        if let Some(given) = self.plan.water_temp_c {
            return (vec![given], None);
        }
        let (coldest, warmest) = self.limits.water_c;
        let step = self.limits.water_step_c.max(0.1);
        let at_coldest = self.centre_start_c(&self.filled(1.0, coldest));
        let at_warmest = self.centre_start_c(&self.filled(1.0, warmest));
        let per_degree = (at_warmest - at_coldest) / (warmest - coldest);
        let water_for = |dough: f64| coldest + (dough - at_coldest) / per_degree;
        let (low, high) = self.limits.dough_c;
        let (from, to) = (water_for(low).max(coldest), water_for(high).min(warmest));
        if from > to {
            let nearest = if at_coldest > high { coldest } else { warmest };
            let reached = if at_coldest > high { at_coldest } else { at_warmest };
            let lacking = if at_coldest > high { high - at_coldest } else { low - at_warmest };
            let help = self.other_help(nearest, lacking);
            return (
                vec![nearest],
                Some(format!(
                    "no water between {} and {} gives a dough of {} to {}: {} gives {}; {help}",
                    both_scales(coldest, 0),
                    both_scales(warmest, 0),
                    both_scales(low, 0),
                    both_scales(high, 0),
                    both_scales(nearest, 0),
                    both_scales(reached, 1)
                )),
            );
        }
        let first = (from / step).ceil();
        let mut waters: Vec<f64> =
            (0..).map(|i| (first + f64::from(i)) * step).take_while(|w| *w <= to).collect();
        if waters.is_empty() {
            waters.push(0.5 * (from + to));
        }
        (waters, None)
    }

    /// What else would bring the dough `lacking` °C, where no water does.
    fn other_help(&mut self, water_c: f64, lacking: f64) -> String {
        let here = self.filled(1.0, water_c);
        let flour_c = here.flour_temp_c.or(here.room_temp_c).unwrap_or(20.0);
        let at = self.centre_start_c(&Batch { flour_temp_c: Some(flour_c), ..here.clone() });
        let by_flour = self.centre_start_c(&Batch { flour_temp_c: Some(flour_c + 1.0), ..here }) - at;
        let wanted_c = flour_c + lacking / by_flour;
        let within = (-18.0..=35.0).contains(&wanted_c);
        let flour = if within { format!(" to {}", both_scales(wanted_c, 0)) } else { String::new() };
        match lacking < 0.0 {
            true => format!("chill the flour{flour}, use a colder room, or mix for less time"),
            false => format!("warm the flour{flour} or the room"),
        }
    }

    /// Each water with a yeast near enough to its likeliest to compare waters by.
    fn options(&mut self, waters: &[f64]) -> Vec<Filling> {
        let centres: Vec<f64> = waters.iter().map(|&w| self.central_yeast(w)).collect();
        let (Some((&first, &last)), Some((&at_first, &at_last))) =
            (waters.first().zip(waters.last()), centres.first().zip(centres.last()))
        else {
            return vec![];
        };
        let mut moved = |water_c: f64, centre: f64| (self.best_yeast(centre, water_c).exact_g / centre).ln();
        let (from, to) = (moved(first, at_first), moved(last, at_last));
        let (_, most) = yeast_range(self.plan, self.limits);
        let mut option = |(&water_c, &centre): (&f64, &f64)| {
            let share = if last > first { (water_c - first) / (last - first) } else { 0.0 };
            let yeast_g = (centre * (from + share * (to - from)).exp()).min(most.max(centre));
            Filling { yeast_g, exact_g: yeast_g, water_c, chance: self.chance(yeast_g, water_c) }
        };
        waters.iter().zip(&centres).map(&mut option).collect()
    }

    /// The yeast with which the central draw meets the target with this water; the plan's own when given.
    fn central_yeast(&mut self, water_c: f64) -> f64 {
        self.plan.yeast_g.unwrap_or_else(|| {
            let (least, most) = yeast_range(self.plan, self.limits);
            self.yeast_of_centre(water_c, least, most)
        })
    }

    /// The yeast that makes the window likeliest with this water, looked for about a first guess.
    fn best_yeast(&mut self, guess_g: f64, water_c: f64) -> Filling {
        if self.plan.yeast_g.is_some() {
            return Filling {
                yeast_g: guess_g,
                exact_g: guess_g,
                water_c,
                chance: self.chance(guess_g, water_c),
            };
        }
        let (least, most) = yeast_range(self.plan, self.limits);
        let (least_ln, most_ln) = (least.ln(), most.ln());
        let mut centre = guess_g.ln();
        // The chance has one peak in ln yeast. Where it is found at an end of what was looked at, the look moves there.
        for _ in 0..MOST_LOOKS {
            let (low, high) = ((centre - LOOK).max(least_ln), (centre + LOOK).min(most_ln));
            centre = self.peak(low, high, water_c);
            let at_end =
                (centre - low < AT_END && low > least_ln) || (high - centre < AT_END && high < most_ln);
            if !at_end {
                break;
            }
        }
        let exact_g = centre.exp();
        let yeast_g = weighable(exact_g, most, self.limits.scale_g);
        Filling { yeast_g, exact_g, water_c, chance: self.chance(yeast_g, water_c) }
    }

    /// ln of the likeliest yeast between two, by golden section.
    fn peak(&mut self, low: f64, high: f64, water_c: f64) -> f64 {
        const GOLDEN: f64 = 0.618_033_988_749_894_8;
        let (mut a, mut b) = (low, high);
        let (mut c, mut d) = (b - GOLDEN * (b - a), a + GOLDEN * (b - a));
        let (mut at_c, mut at_d) = (self.chance(c.exp(), water_c), self.chance(d.exp(), water_c));
        while b - a > 0.02 {
            if at_c > at_d {
                (b, d, at_d) = (d, c, at_c);
                c = b - GOLDEN * (b - a);
                at_c = self.chance(c.exp(), water_c);
            } else {
                (a, c, at_c) = (c, d, at_d);
                d = a + GOLDEN * (b - a);
                at_d = self.chance(d.exp(), water_c);
            }
        }
        0.5 * (a + b)
    }

    /// The yeast with which the central draw meets the target; rise never falls with yeast.
    fn yeast_of_centre(&mut self, water_c: f64, least: f64, most: f64) -> f64 {
        let wanted = self.target.ln();
        let (mut low, mut high) = (least.ln(), most.ln());
        for _ in 0..30 {
            let middle = 0.5 * (low + high);
            let (prepared, _) = self.centre.ready(&self.filled(middle.exp(), water_c));
            if self.centre.draws[0].ln_rise(&prepared) < wanted { low = middle } else { high = middle }
        }
        (0.5 * (low + high)).exp()
    }

    fn chance(&mut self, yeast_g: f64, water_c: f64) -> f64 {
        let (prepared, _) = self.thinned.ready(&self.filled(yeast_g, water_c));
        self.thinned.rise(&prepared).between(self.low, self.high)
    }

    /// How far an answer is from the last batch, in steps; without one, from the middle of the usual dough temperatures.
    fn change(&mut self, option: &Filling) -> f64 {
        let filled = self.filled(option.yeast_g, option.water_c);
        let yeast = match (self.last.and_then(instant_pct), instant_pct(&filled)) {
            (Some(then), Some(now)) if then > 0.0 && now > 0.0 => (now / then).ln().abs() / YEAST_STEP,
            _ => 0.0,
        };
        let usual = 0.5 * (self.limits.dough_c.0 + self.limits.dough_c.1);
        let before = self.last.and_then(|l| l.dough_temp_c).unwrap_or(usual);
        let dough = (self.centre_start_c(&filled) - before) / DOUGH_STEP_C;
        yeast.min(MOST_YEAST_STEPS).hypot(dough)
    }

    /// Dough temperature in °C after mixing, at the centre of the posterior.
    fn centre_start_c(&mut self, filled: &Batch) -> f64 {
        let (prepared, _) = self.centre.ready(filled);
        prepared.course.start_c(&self.centre.draws[0].parameters)
    }
}

fn bounds(target: f64, window: f64) -> (f64, f64) {
    ((target * (1.0 - window)).ln(), (target * (1.0 + window)).ln())
}

fn filled(plan: &Batch, yeast_g: f64, water_c: f64) -> Batch {
    Batch { yeast_g: Some(yeast_g), water_temp_c: Some(water_c), ..plan.clone() }
}

/// Yeast in % of flour as instant.
fn instant_pct(batch: &Batch) -> Option<f64> {
    Some(batch.yeast_pct()? * batch.yeast_type.unwrap_or(YeastType::Instant).instant_equivalent())
}

/// Least and most yeast in g that may be asked for.
pub(super) fn yeast_range(plan: &Batch, limits: &Limits) -> (f64, f64) {
    let flour = plan.flour_g.unwrap_or(0.0);
    let per_pct = flour / 100.0 / plan.yeast_type.unwrap_or(YeastType::Instant).instant_equivalent();
    let most = (limits.most_yeast_pct * per_pct).max(limits.scale_g);
    ((LEAST_YEAST_PCT * per_pct).min(most), most)
}

/// The nearest amount that the scale can weigh, at most `most`.
fn weighable(yeast_g: f64, most: f64, scale_g: f64) -> f64 {
    let steps = (yeast_g / scale_g).round().min((most / scale_g).floor());
    // Tenths and hundredths of a gram come out as a baker writes them.
    (steps.max(1.0) * scale_g * 1e6).round() / 1e6
}

fn answer(
    forecaster: &mut Forecaster,
    plan: &Batch,
    last: Option<&Batch>,
    limits: &Limits,
    target: f64,
    chosen: Filling,
    no_water: Option<String>,
) -> Recommendation {
    let filled = filled(plan, chosen.yeast_g, chosen.water_c);
    let (prepared, assumed) = forecaster.ready(&filled);
    let forecast = forecaster.rise(&prepared);
    let (low, high) = bounds(target, limits.window);
    let pour = pour(&filled, chosen.water_c);
    let dough_temp_c = Interval::of(&forecaster.start_c(&prepared.course));
    let central = forecaster.central();
    let heat = heat(&central, &filled, dough_temp_c.p50);
    let yeast_pct = filled.yeast_pct().unwrap_or(f64::NAN);
    let out_of_reach = no_water.or_else(|| binding(plan, limits, &forecast, low, high, chosen));
    let mut cautions: Vec<String> = assumed.into_iter().map(|a| a.says("the plan has")).collect();
    cautions.extend(super::cautions::of_plan(&filled));
    Recommendation {
        batch_id: plan.batch_id.clone(),
        yeast_g: chosen.yeast_g,
        yeast_pct,
        water_temp_c: chosen.water_c,
        ice_g: pour.ice_g,
        pour,
        dough_temp_c,
        rise: Interval::of_log(&forecast),
        target_rise: target,
        window_share: limits.window,
        chance_in_window: forecast.between(low, high),
        window: window(&forecaster.thinned(WINDOW_DRAWS), &prepared, low, high),
        change: Change {
            yeast_pct: last.and_then(Batch::yeast_pct).map(|then| yeast_pct - then),
            water_temp_c: last.and_then(|l| l.water_temp_c).map(|then| chosen.water_c - then),
        },
        sum_rule_water_c: heat.and_then(|h| h.sum_rule_c),
        heat,
        weighing: plan
            .yeast_g
            .map_or_else(|| weighing(&central, &filled, limits.scale_g, chosen.exact_g), |_| None),
        piece: piece_effect(&central, &filled, last),
        out_of_reach,
        crust: None,
        why: super::reasons::why(&central, &filled, last),
        cautions,
        plan: recorded(filled, &pour),
    }
}

/// The filled plan as a baker will record it: ice beside the liquid water, which is then at tap temperature.
fn recorded(filled: Batch, pour: &Pour) -> Batch {
    if pour.ice_g > 0.0 {
        Batch { ice_g: Some(pour.ice_g), water_temp_c: Some(pour.tap_c), ..filled }
    } else {
        filled
    }
}

/// Which limit keeps the median out of the window, and the nearest that can be done.
fn binding(
    plan: &Batch,
    limits: &Limits,
    forecast: &Mixture,
    low: f64,
    high: f64,
    chosen: Filling,
) -> Option<String> {
    let median = forecast.quantile(0.5);
    if (low..=high).contains(&median) {
        return None;
    }
    let reached = format!("the nearest is a rise of {:.2}", median.exp());
    let (least, most) = yeast_range(plan, limits);
    let short = median < low;
    let why = match (plan.yeast_g, short) {
        (Some(_), true) => "the yeast is given and the warmest dough allowed rises too little: leave yeast_g blank, or give it longer".to_string(),
        (Some(_), false) => "the yeast is given and the coldest dough allowed rises too much: leave yeast_g blank, or give it less time".to_string(),
        (None, true) if chosen.yeast_g >= most - limits.scale_g => format!(
            "yeast is at its limit of {} % of the flour (as instant): give it longer or warmer",
            limits.most_yeast_pct
        ),
        (None, true) => "more yeast no longer helps, the flour's own limit of rise is near: lower the target, or use a stronger flour".to_string(),
        (None, false) if chosen.yeast_g <= least + limits.scale_g => format!(
            "{} g is the least yeast this scale can weigh: give it less time, keep it colder, or weigh finer",
            chosen.yeast_g
        ),
        (None, false) => "the preferment alone brings more than is wanted: use less of it, or give it less time".to_string(),
    };
    Some(format!("the target cannot be met: {why}; {reached}"))
}
