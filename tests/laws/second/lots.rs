//! Lots: each one's effect on ln k is N(0, spread), told by a number in x that is scaled by how many batches
//! the lot has.
//!
//! With rho the spread in units of its prior (0.15) and w = n/(n+1) for a lot of n batches, or 0, the number
//! over rho^w is standard normal, and that times the spread is the effect.

use doughwright::dough::Batch;
use doughwright::inference::lots::Centring;

use super::Number;
use super::course::Kitchen;
use super::prior;

fn lot_of<'a>(kind: &str, b: &'a Batch) -> Option<&'a String> {
    match kind {
        "flour" => b.flour_lot.as_ref().or(b.flour_name.as_ref()),
        _ => b.yeast_lot.as_ref(),
    }
}

/// ln of rho^w.
fn ln_scale<T: Number>(kitchen: &Kitchen<T>, kind: &str, lot: &str) -> Option<T> {
    let rho = kitchen.find(&format!("{kind}_lots_spread"))? / 0.15;
    let batches =
        kitchen.records.batches.iter().filter(|b| lot_of(kind, b).is_some_and(|l| l == lot)).count() as f64;
    let w = match kitchen.centring {
        Centring::None => 0.0,
        Centring::ByData => batches / (batches + 1.0),
    };
    Some(rho.ln() * w)
}

/// Effect on ln k of the lots that a batch was made of.
pub fn effect<T: Number>(kitchen: &Kitchen<T>, batch: &Batch) -> T {
    let of = |kind: &str| {
        let lot = lot_of(kind, batch)?;
        let scale = ln_scale(kitchen, kind, lot)?.exp();
        Some(
            kitchen.find(&format!("{kind}_lot_{lot}"))? / scale * kitchen.get(&format!("{kind}_lots_spread")),
        )
    };
    of("flour").unwrap_or(T::zero()) + of("yeast").unwrap_or(T::zero())
}

/// Log prior density of all lots' numbers, given the spreads.
pub fn log_prior<T: Number>(kitchen: &Kitchen<T>) -> T {
    let mut sum = T::zero();
    for name in kitchen.names.iter().filter(|n| prior::is_lot(n)) {
        let (kind, lot) = name.split_once("_lot_").expect("it is a lot");
        let ln_scale = ln_scale(kitchen, kind, lot).expect("lots have a spread");
        sum += prior::normal(kitchen.get(name) / ln_scale.exp()) - ln_scale;
    }
    sum
}
