//! Small weights: what the scale's steps do to the rise, and how to weigh yeast below them.
//!
//! A scale that shows steps of d g is off by up to d/2. Where that moves the rise too far, yeast is stirred into water and
//! part of that is weighed: s g of yeast in w g of water, of which t g hold t s/(s+w) g of yeast. s and t are many
//! steps, so that neither is off by much. The water in what is taken is part of the batch's own.
//! Source: proportion alone. Limits: the yeast is evenly stirred in and used at once.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::dough::Batch;
use crate::inference::forecast::Forecaster;

/// A rise moved by more than this share is worth a finer weighing.
const WORTH_IT: f64 = 0.02;
/// Steps of the scale for the yeast stirred in, and for what is taken.
const YEAST_STEPS: f64 = 20.0;
const TAKEN_STEPS: f64 = 200.0;

/// What the scale does.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Weighing {
    /// Its step in g.
    pub step_g: f64,
    /// How far half a step moves the rise, as a share.
    pub moves_rise: f64,
    /// The yeast that would be best, whatever the scale, in g.
    pub exact_g: f64,
    /// A finer way, where it is worth it and the batch has the water for it.
    pub dilution: Option<Dilution>,
}

/// Yeast in water.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Dilution {
    /// Yeast to stir in, in g.
    pub yeast_g: f64,
    /// Into so much water, in g.
    pub water_g: f64,
    /// What of it goes into the dough, in g.
    pub take_g: f64,
    /// Water in that, to be poured less, in g.
    pub pour_less_g: f64,
    /// Yeast in that, in g.
    pub holds_g: f64,
}

/// What a scale of `step_g` g does to a filled plan for which `exact_g` g of yeast would be best; `None` without its yeast.
pub fn weighing(central: &Forecaster, plan: &Batch, step_g: f64, exact_g: f64) -> Option<Weighing> {
    let yeast_g = plan.yeast_g?;
    let mut forecaster = central.clone();
    let mut rise = |yeast_g: f64| {
        let (prepared, _) = forecaster.ready(&Batch { yeast_g: Some(yeast_g), ..plan.clone() });
        forecaster.draws[0].ln_rise(&prepared)
    };
    let moves_rise = (rise(yeast_g + 0.5 * step_g) - rise(yeast_g)).exp_m1();
    let dilution =
        (moves_rise > WORTH_IT).then(|| dilution(exact_g, step_g, plan.water_added_g()?)).flatten();
    Some(Weighing { step_g, moves_rise, exact_g, dilution })
}

/// How to weigh `exact_g` g of yeast with a scale of `step_g` g, from at most `water_g` g of water; `None` when that is not
/// water enough.
pub fn dilution(exact_g: f64, step_g: f64, water_g: f64) -> Option<Dilution> {
    let on_scale = |g: f64| (g / step_g).round() * step_g;
    let tidy = |g: f64| (g * 1e4).round() / 1e4;
    for fewer in [1.0, 2.0, 4.0] {
        let (yeast, take) = (YEAST_STEPS / fewer * step_g, TAKEN_STEPS / fewer * step_g);
        let water = on_scale(yeast * take / exact_g - yeast);
        if water > 4.0 * yeast && water + step_g <= water_g {
            let take = on_scale(exact_g * (yeast + water) / yeast);
            let holds_g = take * yeast / (yeast + water);
            return Some(Dilution {
                yeast_g: tidy(yeast),
                water_g: tidy(water),
                take_g: tidy(take),
                pour_less_g: tidy(on_scale(take - holds_g)),
                holds_g: tidy(holds_g),
            });
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_taken_holds_the_yeast_wanted() {
        for (exact, step, water) in
            [(0.14, 0.1, 600.0), (0.032, 0.01, 400.0), (0.6, 1.0, 2000.0), (0.31, 0.1, 90.0)]
        {
            let d = dilution(exact, step, water).unwrap();
            assert!((d.holds_g / exact - 1.0).abs() < 0.01, "{d:?}");
            assert!((d.take_g * d.yeast_g / (d.yeast_g + d.water_g) - d.holds_g).abs() < 1e-3);
            assert!(d.water_g <= water && (d.take_g - d.holds_g - d.pour_less_g).abs() <= step);
            // Half a step more or less of the yeast stirred in is at most a tenth of it.
            assert!(0.5 * step / d.yeast_g <= 0.1 + 1e-12);
        }
        assert_eq!(dilution(0.01, 0.1, 50.0), None, "there is not water enough");
    }
}
