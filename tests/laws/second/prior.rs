//! The priors a second time: what each standard number means, by the parameter's name. The numbers are the program's own
//! choices (`src/inference/priors.rs` says from where): a second copy guards against a slip of the hand alone.

use super::Number;
use super::quadrature::integral;

/// How a standard normal number becomes a value.
enum Turn {
    /// mean + sd x
    Straight(f64, f64),
    /// median e^(sd x)
    Log(f64, f64),
    /// sd times the absolute value of a normal number, as far up its distribution as x is up its own
    Half(f64),
    /// so much times the logistic function of mean + sd x
    Share(f64, f64, f64),
}

fn turn(name: &str) -> Turn {
    use Turn::{Half, Log, Share, Straight};
    match name {
        "vigour" => Log(195.0, 0.25),
        "growth" => Log(0.20, 0.35),
        "lag" => Log(0.20, 0.5),
        "gas_ceiling" => Log(1100.0, 0.30),
        "salt_effect" => Straight(0.10, 0.03),
        "gas_lost" => Share(1.0, -2.4423, 0.65),
        "gas_lost_preferment" => Share(1.0, -1.6582, 0.6),
        "best_temp" => Straight(35.5, 1.5),
        "stop_temp" => Straight(45.5, 1.2),
        "cold_rate" => Share(0.25, -0.29, 0.92),
        "max_rise" => Log(3.5, 0.20),
        "cooling_250g" => Log(2.0, 0.30),
        "room_pull" => Share(1.0, -2.9444, 0.63),
        "rise_noise" => Log(0.055, 0.40),
        "temp_noise" => Log(0.6, 0.5),
        "batch_spread" | "flour_lots_spread" | "yeast_lots_spread" => Half(0.15),
        "ready_from" => Log(1.9, 0.20),
        "ready_width" => Log(0.35, 0.40),
        "eye" => Log(0.10, 0.40),
        "warming_hand" => Straight(1.0, 0.7),
        "warming_stand_mixer" => Straight(3.5, 1.5),
        "warming_spiral" => Straight(3.0, 1.5),
        "warming_processor" => Straight(4.5, 1.5),
        _ if name.starts_with("warming_") => Straight(2.5, 2.0),
        _ if name.starts_with("cooling_at_") => Log(1.0, 0.25),
        _ if name.starts_with("fridge_offset_") => Straight(0.0, 1.5),
        _ if is_lot(name) => Straight(0.0, 1.0),
        _ => panic!("no prior known for {name}"),
    }
}

/// Whether `name` is that of one lot, whose prior hangs on the spread of lots.
pub fn is_lot(name: &str) -> bool {
    name.contains("_lot_")
}

/// The value of the parameter `name` at its standard number; a lot's number itself.
pub fn value<T: Number>(name: &str, x: T) -> T {
    match turn(name) {
        Turn::Straight(mean, sd) => x * sd + mean,
        Turn::Log(median, sd) => (x * sd).exp() * median,
        Turn::Half(sd) => half_normal(x) * sd,
        Turn::Share(most, mean, sd) => ((-(x * sd + mean)).exp() + 1.0).recip() * most,
    }
}

/// Log density of a standard normal number.
pub fn normal<T: Number>(x: T) -> T {
    x.powi(2) * -0.5 - 0.5 * (2.0 * std::f64::consts::PI).ln()
}

/// The q with P(|Z| < q) = P(Z < x): Newton's method on integrals of the normal density. The distribution of
/// |Z| is concave, so that the steps come from the left and do not pass the root. To first order in x, which
/// is all that is asked.
fn half_normal<T: Number>(x: T) -> T {
    let density = |z: f64| normal(z).exp();
    let wanted = 0.5 + integral(0.0, x.re(), density);
    let mut q = wanted * (std::f64::consts::PI / 2.0).sqrt();
    for _ in 0..60 {
        let step = (wanted - 2.0 * integral(0.0, q, density)) / (2.0 * density(q));
        q += step;
        if step.abs() <= 1e-15 * q {
            break;
        }
    }
    (x - x.re()) * (density(x.re()) / (2.0 * density(q))) + q
}
