//! Lots: each one's effect on ln k is N(0, spread), told by a number in x in units of the spread or by itself.
//!
//! With rho the spread in units of its prior (0.15) and w = 0 or 1, the number over rho^w is standard normal, and that
//! times the spread is the effect.

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
fn ln_scale<T: Number>(kitchen: &Kitchen<T>, kind: &str) -> Option<T> {
    let rho = kitchen.find(&format!("{kind}_lots_spread"))? / 0.15;
    Some(match kitchen.centring {
        Centring::None => T::zero(),
        Centring::Full => rho.ln(),
    })
}

/// Effect on ln k of the lots that a batch was made of.
pub fn effect<T: Number>(kitchen: &Kitchen<T>, batch: &Batch) -> T {
    let of = |kind: &str| {
        let lot = lot_of(kind, batch)?;
        let scale = ln_scale(kitchen, kind)?.exp();
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
        let (kind, _) = name.split_once("_lot_").expect("it is a lot");
        let ln_scale = ln_scale(kitchen, kind).expect("lots have a spread");
        sum += prior::normal(kitchen.get(name) / ln_scale.exp()) - ln_scale;
    }
    sum
}
