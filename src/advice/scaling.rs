//! From pieces or trays wanted to ingredients, with what is lost on the way; and what another mass of the piece does.
//!
//! Dough D = N m/(1 - l): N pieces of m grams, l the share lost at the bowl, the bench and the scraper. A tray of
//! area A cm² at q g/cm² is a piece of A q grams. Ingredients keep their percentages of the flour. A heavier piece cools
//! and warms more slowly ([`crate::physics::cooling`]), so the same yeast raises it further.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::plan::INGREDIENTS;
use super::{AdviceError, plan_name};
use crate::dough::{Batch, Value};
use crate::inference::forecast::Forecaster;

/// Dough per area of tray in g/cm² when nobody says (common practice, no source: 0.5 thin to 0.9 thick).
pub const USUAL_G_PER_CM2: f64 = 0.7;

/// What is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// How many pieces or trays.
    pub pieces: f64,
    /// Mass of one in g; the plan's own when `None`.
    pub piece_g: Option<f64>,
    /// Share of the dough that is lost, 0 to 1.
    pub loss: f64,
}

/// A completed plan made for what is wanted.
///
/// # Errors
/// When the mass of a piece is not known, or the plan lacks flour or water to scale.
pub fn scaled(plan: &Batch, wanted: &Wanted) -> Result<Batch, AdviceError> {
    let name = plan_name(plan);
    let piece_g = wanted.piece_g.or(plan.piece_g).ok_or_else(|| {
        AdviceError::Limits(format!(
            "the plan{name} has no piece_g: say what one piece weighs, for example --piece-g 250"
        ))
    })?;
    let (Some(flour_g), Some(dough_g)) = (plan.flour_g, plan.dough_g()) else {
        return Err(AdviceError::Limits(format!(
            "the plan{name} has no recipe to scale: give flour_g and water_g, or import a batch of it"
        )));
    };
    let times = wanted.pieces * piece_g / (1.0 - wanted.loss) / dough_g;
    let mut made = Batch { flour_g: Some(whole(flour_g * times)), piece_g: Some(piece_g), ..plan.clone() };
    for &column in INGREDIENTS {
        if let Some(Value::Number(grams)) = plan.get(column) {
            // A scaled amount beyond the column's range is found by the check of the plan.
            let _ = made.set(column, &Value::Number(whole(grams * times)));
        }
    }
    made.yeast_g = plan.yeast_g.map(|g| (g * times * 100.0).round() / 100.0);
    Ok(made)
}

/// Whole grams; below 100 g tenths, below 10 g hundredths.
fn whole(grams: f64) -> f64 {
    let step = match grams {
        100.0.. => 1.0,
        10.0.. => 0.1,
        _ => 0.01,
    };
    ((grams / step).round() * step * 100.0).round() / 100.0
}

/// What another mass of the piece does.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PieceEffect {
    /// Of one piece now, in g.
    pub piece_g: f64,
    /// Of the last batch's, in g.
    pub before_g: f64,
    /// Change of the dough's rise with the same yeast, as a share.
    pub rise: f64,
    /// Change of the yeast that makes good for it, as a share.
    pub yeast: f64,
    /// Whether the rise is read on a sample jar, which does not feel the piece.
    pub read_on_jar: bool,
}

/// What the mass of the piece of a filled plan does against the last batch's; `None` where it is the same.
pub fn piece_effect(central: &Forecaster, plan: &Batch, last: Option<&Batch>) -> Option<PieceEffect> {
    let (piece_g, before_g, yeast_g) = (plan.piece_g?, last?.piece_g?, plan.yeast_g?);
    if (piece_g / before_g - 1.0).abs() < 0.02 {
        return None;
    }
    let mut forecaster = central.clone();
    let mut rise = |grams: f64, yeast: f64| {
        let (prepared, _) = forecaster.ready(&Batch {
            piece_g: Some(grams),
            yeast_g: Some(yeast),
            rise_sample_g: None,
            ..plan.clone()
        });
        forecaster.draws[0].ln_rise(&prepared)
    };
    let here = rise(piece_g, yeast_g);
    let effect = here - rise(before_g, yeast_g);
    // A tenth more yeast, as a slope along ln yeast.
    let by_yeast = (rise(piece_g, 1.1 * yeast_g) - here) / 1.1_f64.ln();
    Some(PieceEffect {
        piece_g,
        before_g,
        rise: effect.exp_m1(),
        yeast: (-effect / by_yeast).exp_m1(),
        read_on_jar: plan.rise_sample_g.is_some(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn recipe() -> Batch {
        Batch {
            flour_g: Some(1000.0),
            water_g: Some(620.0),
            salt_g: Some(25.0),
            piece_g: Some(250.0),
            ..Batch::default()
        }
    }

    #[test]
    fn the_dough_is_what_is_wanted_and_what_is_lost() {
        let wanted = Wanted { pieces: 24.0, piece_g: None, loss: 0.02 };
        let made = scaled(&recipe(), &wanted).unwrap();
        // 24 pieces of 250 g and 2 % lost: 6000/0.98 g.
        assert!((made.dough_g().unwrap() - 6000.0 / 0.98).abs() < 2.0, "{:?}", made.dough_g());
        assert!((made.hydration_pct().unwrap() - 62.0).abs() < 0.05);
        let one = scaled(&recipe(), &Wanted { pieces: 1.0, piece_g: Some(840.0), loss: 0.0 }).unwrap();
        assert_eq!(one.piece_g, Some(840.0));
        assert!((one.dough_g().unwrap() - 840.0).abs() < 1.0);
    }

    #[test]
    fn what_cannot_be_scaled_is_said() {
        let wanted = Wanted { pieces: 10.0, piece_g: None, loss: 0.0 };
        let no_piece = scaled(&Batch { piece_g: None, ..recipe() }, &wanted).unwrap_err().to_string();
        assert!(no_piece.contains("--piece-g"), "{no_piece}");
        assert!(scaled(&Batch::default(), &Wanted { piece_g: Some(250.0), ..wanted }).is_err());
    }
}
