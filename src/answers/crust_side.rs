//! The crust beside a recommendation, by a regression that is kept in the logbook with the fit it was made under.

use serde::{Deserialize, Serialize};

use crate::advice::crust_side::crust_side;
use crate::advice::recommend::Recommendation;
use crate::crust::foretell::Foreteller;
use crate::crust::{Of, study};
use crate::inference::fit::Fit;
use crate::inference::prepare::Records;
use crate::logbook::Logbook;

use super::failure::Failure;
use super::kept::VERSION;

#[derive(Serialize, Deserialize)]
struct Kept {
    made_from: String,
    foreteller: Foreteller,
}

/// The regression of the crust under a fit, as kept or made anew; `None` when the records have too few scores, or nothing to
/// tell. A new one comes back as text too, to be kept.
pub fn foreteller(
    logbook: &Logbook,
    kitchen: &str,
    records: &Records,
    fit: &Fit,
) -> Result<(Option<Foreteller>, Option<String>), Failure> {
    let made_from = format!("{VERSION} {} {}", logbook.data_hash(kitchen)?, of_draws(&fit.draws));
    if let Some(text) = logbook.crust(kitchen)?
        && let Ok(kept) = serde_json::from_str::<Kept>(&text)
        && kept.made_from == made_from
    {
        return Ok((Some(kept.foreteller), None));
    }
    let Some(forecaster) = fit.forecaster() else { return Ok((None, None)) };
    // Too few scores, or all alike: `crust` says so; here there is nothing to add.
    let Ok(fitted) = study(Of::Score, &records.batches, &forecaster) else { return Ok((None, None)) };
    let kept = Kept { made_from, foreteller: fitted.foreteller() };
    let text = serde_json::to_string(&kept).ok();
    Ok((Some(kept.foreteller), text))
}

/// The same; a new one is kept.
pub fn kept_foreteller(
    logbook: &mut Logbook,
    kitchen: &str,
    records: &Records,
    fit: &Fit,
) -> Result<Option<Foreteller>, Failure> {
    let (found, made) = foreteller(logbook, kitchen, records, fit)?;
    if let Some(text) = made {
        logbook.keep_crust(kitchen, &text)?;
    }
    Ok(found)
}

fn of_draws(draws: &[f64]) -> String {
    let mut hasher = blake3::Hasher::new();
    for x in draws {
        hasher.update(&x.to_le_bytes());
    }
    hasher.finalize().to_hex().to_string()
}

/// Puts the crust beside each plan.
pub fn put_beside(plans: &mut [Recommendation], fit: &Fit, foreteller: Option<&Foreteller>) {
    let Some((foreteller, forecaster)) = foreteller.zip(fit.forecaster()) else { return };
    for plan in plans {
        plan.crust = crust_side(foreteller, &forecaster, plan);
    }
}
