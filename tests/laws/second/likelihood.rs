//! What was seen against what was to be expected, in Student's t with four degrees of freedom.

use doughwright::dough::Ripeness;
use num_dual::Dual;

use super::Number;
use super::course::{Course, Kitchen, Seen};
use super::lots;

/// Log likelihood of one batch; `start_slope` is ln rise per °C of start temperature.
pub fn log_likelihood<T: Number>(kitchen: &Kitchen<T>, course: &Course, start_slope: f64) -> T {
    let [sigma, sigma_t, omega] = ["rise_noise", "temp_noise", "batch_spread"].map(|n| kitchen.get(n));
    let k = kitchen.get("vigour") * lots::effect(kitchen, course.batch).exp();
    // A dual number over dual numbers: its own derivative is the slope along ln k.
    let k = Dual::new(k, k);
    let lift = Dual::from_re;
    let mut rises: Vec<(f64, Dual<T>)> = Vec::new();
    let mut sum = T::zero();
    for seen in &course.seen {
        match *seen {
            Seen::MixedTemperature(t) => {
                sum += ln_t4(&[-course.mixed(kitchen) + t], &[vec![sigma_t.powi(2)]])
            }
            Seen::Temperature { hours, celsius } => {
                sum += ln_t4(&[-course.at(kitchen, hours).1 + celsius], &[vec![sigma_t.powi(2)]]);
            }
            Seen::PrefermentRise { hours, rise } => {
                rises.push((rise, course.preferment_rise(kitchen, lift, k, hours)[0]));
            }
            Seen::Rise { hours, rise } => rises.push((rise, course.rise(kitchen, lift, k, hours)[0])),
            Seen::Verdict { hours, verdict, rise } => {
                let eye = kitchen.get("eye").powi(2);
                let (known, v) = match rise {
                    Some(rise) => (T::from(rise.ln()), eye + sigma.powi(2)),
                    None => {
                        let f = course.rise(kitchen, lift, k, hours)[0];
                        let own = (f.eps * omega).powi(2);
                        (f.re, eye + own + (sigma_t * start_slope).powi(2))
                    }
                };
                let from = kitchen.get("ready_from").ln();
                let to = from + kitchen.get("ready_width");
                let (low, high) = ((from - known) / v.sqrt(), (to - known) / v.sqrt());
                sum += match verdict {
                    Ripeness::Under => chance_below(low),
                    Ripeness::Ready if low.re() > 0.0 => chance_below(-low) - chance_below(-high),
                    Ripeness::Ready => chance_below(high) - chance_below(low),
                    Ripeness::Over | Ripeness::Collapsed => chance_below(-high),
                }
                .ln();
            }
            Seen::Fallen { hours } => {
                let beyond = course.rise(kitchen, lift, k, hours)[1].re - kitchen.get("max_rise").ln();
                sum += chance_below(beyond / (sigma.powi(2) + omega.powi(2)).sqrt()).ln();
            }
        }
    }
    if rises.is_empty() {
        return sum;
    }
    let noise = sigma.powi(2) + (sigma_t * start_slope).powi(2);
    let residuals: Vec<T> = rises.iter().map(|(seen, f)| -f.re + seen.ln()).collect();
    let shared = |i: usize, j: usize| rises[i].1.eps * rises[j].1.eps * omega.powi(2);
    let scale: Vec<Vec<T>> = (0..rises.len())
        .map(|i| (0..rises.len()).map(|j| if i == j { noise + shared(i, j) } else { shared(i, j) }).collect())
        .collect();
    sum + ln_t4(&residuals, &scale)
}

/// Log density of a multivariate t with four degrees of freedom at residuals `r`, squared scale `v`, by the
/// Cholesky factor of `v`.
fn ln_t4<T: Number>(r: &[T], v: &[Vec<T>]) -> T {
    let n = r.len();
    let mut lower = vec![vec![T::zero(); n]; n];
    let (mut ln_det, mut q) = (T::zero(), T::zero());
    let mut whitened: Vec<T> = Vec::new();
    for i in 0..n {
        for j in 0..=i {
            let mut rest = v[i][j];
            for (a, b) in lower[i][..j].iter().zip(&lower[j][..j]) {
                rest -= *a * *b;
            }
            lower[i][j] = if i == j { rest.sqrt() } else { rest / lower[j][j] };
        }
        let mut rest = r[i];
        for (a, b) in lower[i].iter().zip(&whitened) {
            rest -= *a * *b;
        }
        whitened.push(rest / lower[i][i]);
        ln_det += lower[i][i].ln() * 2.0;
        q += whitened[i].powi(2);
    }
    let n = n as f64;
    let norm = ln_gamma(4.0 + n) - ln_gamma(4.0) - 0.5 * n * (4.0 * std::f64::consts::PI).ln();
    ln_det * -0.5 - (q * 0.25).ln_1p() * (0.5 * (4.0 + n)) + norm
}

/// ln of the gamma function at half of a whole number.
fn ln_gamma(twice: f64) -> f64 {
    match twice {
        1.0 => std::f64::consts::PI.sqrt().ln(),
        2.0 => 0.0,
        _ => (0.5 * twice - 1.0).ln() + ln_gamma(twice - 2.0),
    }
}

/// P(t4 < t) = (2 + w)² (4 - w)/32, w = t/sqrt(1 + t²/4); 2 + w without cancellation on the left.
fn chance_below<T: Number>(t: T) -> T {
    let u = (t * t * 0.25 + 1.0).sqrt();
    let w = t / u;
    let two_and_w = if t.re() < 0.0 { (u * (u * 2.0 - t)).recip() * 4.0 } else { w + 2.0 };
    two_and_w.powi(2) * (-w + 4.0) / 32.0
}

/// ln rise per °C of a start known only from the heat balance: a central difference over one degree of the
/// last rise that was seen, at the medians of the priors.
pub fn start_slope<T: Number>(kitchen: &Kitchen<T>, course: &Course) -> f64 {
    let last = course.seen.iter().rev().find_map(|s| match s {
        Seen::Rise { hours, .. } | Seen::Fallen { hours } | Seen::Verdict { hours, rise: None, .. } => {
            Some(*hours)
        }
        _ => None,
    });
    let (Some(hours), true) = (last, course.start_unknown()) else { return 0.0 };
    let medians = vec![0.0; kitchen.names.len()];
    let kitchen = Kitchen::new(kitchen.records, kitchen.centring, kitchen.names, &medians);
    let ln_rise = |moved: f64| {
        let mut course = course.clone();
        course.moved = moved;
        course.rise(&kitchen, |t| t, kitchen.get("vigour"), hours)[0]
    };
    ln_rise(0.5) - ln_rise(-0.5)
}
