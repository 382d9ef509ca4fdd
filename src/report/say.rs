//! Numbers as a baker reads them, on the page and in the terminal.

use crate::advice::Interval;
pub use crate::dough::counted::counted;
pub use crate::dough::hours::span as hours;
use crate::dough::units::{Celsius, Grams, UnitSystem};

/// A temperature in the units of the answer.
pub fn temperature(celsius: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Metric => format!("{celsius:.1} °C"),
        UnitSystem::Us => format!("{:.0} °F", Celsius(celsius).fahrenheit()),
    }
}

/// A difference of temperatures, with its sign.
pub fn temperature_change(celsius: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Metric => format!("{celsius:+.1} °C"),
        UnitSystem::Us => format!("{:+.1} °F", celsius * 1.8),
    }
}

/// A mass in the units of the answer; small ones with more digits.
pub fn mass(grams: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Metric if grams.abs() >= 100.0 => format!("{grams:.0} g"),
        UnitSystem::Metric => format!("{} g", trimmed(grams, 2)),
        UnitSystem::Us => {
            let ounces = Grams(grams).ounces();
            // A kitchen scale shows a tenth of an ounce; yeast is weighed finer.
            let digits = match ounces.abs() {
                8.0.. => 1,
                1.0.. => 2,
                _ => 3,
            };
            format!("{} oz", trimmed(ounces, digits))
        }
    }
}

/// A value in the unit of its column, in the units of the answer: °C as °F, g as oz, all else as it is.
pub fn in_units(value: f64, unit: &str, units: UnitSystem) -> (f64, &str) {
    match unit {
        "°C" => (units.temperature(value), units.degrees()),
        "g" => (units.mass(value), units.small_mass()),
        _ => (value, unit),
    }
}

/// A number with at most so many digits after the point, and no trailing zeros.
pub fn trimmed(x: f64, digits: usize) -> String {
    let text = format!("{x:.digits$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_string() } else { text }
}

/// A probability as "83 %"; never 0 or 100, which nobody knows.
pub fn chance(p: f64) -> String {
    match p {
        p if p < 0.01 => "less than 1 %".into(),
        p if p > 0.99 => "more than 99 %".into(),
        p => format!("{:.0} %", 100.0 * p),
    }
}

/// "2.21 times (1.98 to 2.45 in 9 of 10 batches)".
pub fn rise(i: &Interval) -> String {
    format!("{:.2} times ({:.2} to {:.2} in 9 of 10 batches)", i.p50, i.p05, i.p95)
}
