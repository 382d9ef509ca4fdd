//! Waking, gas and rise in other closed forms than the program's.

use super::Number;
use super::dough::Vessel;

/// Awake thermal time: the integral of q/(1+q), q = q0 e^(2 theta/lag), q0 = 1/(e² - 1), is a logarithm.
pub fn awake<T: Number>(theta: T, lag: T) -> T {
    let q0 = 1.0 / 2f64.exp_m1();
    let growth = (theta / lag * 2.0).exp() * q0;
    (growth.ln_1p() - q0.ln_1p()) * lag * 0.5
}

/// Gas by the growing exponential: G = a (E - 1)/(mu + a E/M), E = e^((mu + a/M) time).
pub fn gas<N: Number>(a: N, mu: N, ceiling: N, time: N) -> N {
    let grown = (mu + a / ceiling) * time;
    a * grown.exp_m1() / (mu + a * grown.exp() / ceiling)
}

/// How sharply the flour's limit bends the rise.
const SHARPNESS: i32 = 8;

/// ln of the rise, and of the rise of a flour without limit.
pub fn ln_rise<N: Number>(vessel: &Vessel, gas: N, celsius: N, kept: N, max_rise: N) -> [N; 2] {
    let kelvin = celsius + 273.15;
    let henry = ((kelvin.recip() - 1.0 / 298.15) * 2400.0).exp() * 3.4e-4;
    let s = henry * kelvin * 8.314462618 * vessel.water;
    let swollen = gas * kelvin / 298.15;
    // s p² - (s + A + G) p + G = 0; of its two roots the pressure is the lesser.
    let b = s + swollen + vessel.air;
    let p = swollen * 2.0 / (b + (b * b - s * swollen * 4.0).sqrt());
    let unbounded = kept * p / (-p + 1.0) * (vessel.air / vessel.volume);
    let top = max_rise - 1.0;
    let bounded = unbounded / ((unbounded / top).powi(SHARPNESS) + 1.0).powf(1.0 / f64::from(SHARPNESS));
    [bounded.ln_1p(), unbounded.ln_1p()]
}
