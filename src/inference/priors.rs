//! What is believed of a kitchen before its records are read.
//!
//! Each parameter is sampled as a standard number x (mean zero, about unit spread under its prior) and
//! turned into its value by its [`Form`]. The prior of x is standard normal.
//!
//! Sources: medians and spreads were tuned to three habits of the trade (common practice, no source: a
//! poolish near triples in 12 h at 22 °C; a cold-proofed ball doubles in a day; a 1 % dough doubles in
//! 1-1.5 h at 27 °C), so agreement with those habits is calibration and never validation. What no habit tells (cooling, the
//! pull of the room, fridges, noises, how far batches and lots differ) is common practice, no source. Cardinal
//! temperatures: growth of S. cerevisiae has Topt 32.3, Tmax 45.4 °C (Salvadó et al. 2011, Appl. Environ.
//! Microbiol. 77:2292-2302); gas making peaks a little higher.

use libm::erfc;
use statrs::function::erf::{erf_inv, erfc_inv};

/// How a standard number x becomes a parameter's value, and which prior that is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    /// mean + sd x.
    Normal {
        /// Mean, in the parameter's unit.
        mean: f64,
        /// Standard deviation, in the parameter's unit.
        sd: f64,
    },
    /// median e^(sd x).
    LogNormal {
        /// Median, in the parameter's unit.
        median: f64,
        /// Standard deviation of the logarithm.
        sd: f64,
    },
    /// upper / (1 + e^-(mean + sd x)).
    Logit {
        /// The value it stays under.
        upper: f64,
        /// Mean on the logit scale.
        mean: f64,
        /// Standard deviation on the logit scale.
        sd: f64,
    },
    /// |N(0, sd)|: sd q with erf(q/√2) the normal distribution function at x.
    HalfNormal {
        /// Standard deviation of the normal whose absolute value this is.
        sd: f64,
    },
}

impl Form {
    /// The value at x in the parameter's unit, and its derivative by x.
    pub fn value(self, x: f64) -> (f64, f64) {
        match self {
            Self::Normal { mean, sd } => (mean + sd * x, sd),
            Self::LogNormal { median, sd } => {
                let v = median * (sd * x).exp();
                (v, sd * v)
            }
            Self::Logit { upper, mean, sd } => {
                let share = 1.0 / (1.0 + (-(mean + sd * x)).exp());
                (upper * share, upper * share * (1.0 - share) * sd)
            }
            Self::HalfNormal { sd } => {
                let (q, slope) = half_normal(x);
                (sd * q, sd * slope)
            }
        }
    }
}

/// The |N(0,1)| that lies as far up its distribution as x lies up N(0,1), and its derivative by x.
///
/// A scale so told has a standard normal prior like every other number of x, without the long tail that its logarithm
/// would have towards zero.
pub fn half_normal(x: f64) -> (f64, f64) {
    const ROOT_2: f64 = std::f64::consts::SQRT_2;
    // Of the two tails the smaller is passed on, so that no digit is lost.
    let q = ROOT_2
        * match x > 0.0 {
            true => erfc_inv(0.5 * erfc(x / ROOT_2)),
            false => erf_inv(0.5 * erfc(-x / ROOT_2)),
        };
    (q, 0.5 * (0.5 * (q * q - x * x)).exp())
}

/// Log density of N(0,1) at x.
pub fn standard_normal(x: f64) -> f64 {
    const HALF_LN_TWO_PI: f64 = 0.918_938_533_204_672_8;
    -0.5 * x * x - HALF_LN_TWO_PI
}

/// A parameter: its name, unit, prior and what it means.
#[derive(Debug, Clone, PartialEq)]
pub struct Prior {
    /// Short name.
    pub name: String,
    /// Unit of the value.
    pub unit: &'static str,
    /// Prior and transformation.
    pub form: Form,
    /// What it means, for a baker.
    pub meaning: &'static str,
}

impl Prior {
    pub(super) fn new(
        name: impl Into<String>,
        unit: &'static str,
        form: Form,
        meaning: &'static str,
    ) -> Self {
        Self { name: name.into(), unit, form, meaning }
    }
}

/// Parameters that every kitchen has, in the order of the vector of standard numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(usize)]
pub enum Core {
    /// k: starting rate of gas.
    Vigour,
    /// mu: effective growth of activity.
    Growth,
    /// Lag of instant yeast.
    Lag,
    /// M: gas that the flour's sugars give.
    Ceiling,
    /// c: slowing by salt.
    Salt,
    /// Share of gas lost by a dough.
    Loss,
    /// Share of gas lost by a preferment.
    PrefermentLoss,
    /// Topt.
    Optimum,
    /// Tmax.
    Maximum,
    /// rho4 = r(4 °C)/r(25 °C).
    ColdRate,
    /// The most a dough rises.
    MaxRise,
    /// tau of a 250 g piece.
    Cooling,
    /// Share of the way to room temperature gone during mixing.
    Pull,
    /// Noise of ln rise.
    RiseNoise,
    /// Noise of dough temperature against the heat balance.
    TemperatureNoise,
    /// Spread of a batch's own vigour.
    BatchSpread,
}

/// How many parameters every kitchen has.
pub const CORE: usize = 16;

/// The priors of [`Core`], in its order.
pub fn core() -> [Prior; CORE] {
    use Form::{HalfNormal, LogNormal, Logit, Normal};
    [
        Prior::new(
            "vigour",
            "mL/h per 100 g flour per % yeast",
            LogNormal { median: 195.0, sd: 0.25 },
            "gas the yeast makes at the start, at 25 °C and without salt",
        ),
        Prior::new(
            "growth",
            "per h",
            LogNormal { median: 0.20, sd: 0.35 },
            "how fast that rate grows, at 25 °C",
        ),
        Prior::new(
            "lag",
            "h",
            LogNormal { median: 0.20, sd: 0.5 },
            "how long instant yeast takes to wake, at 25 °C",
        ),
        Prior::new(
            "gas_ceiling",
            "mL per 100 g flour",
            LogNormal { median: 1100.0, sd: 0.30 },
            "gas that the flour's sugars can give",
        ),
        Prior::new(
            "salt_effect",
            "per %",
            Normal { mean: 0.10, sd: 0.03 },
            "slowing by each percent of salt",
        ),
        Prior::new(
            "gas_lost",
            "share",
            // Median 0.08, 90 % within 0.029-0.20.
            Logit { upper: 1.0, mean: -2.4423, sd: 0.65 },
            "share of the gas that leaves the dough",
        ),
        Prior::new(
            "gas_lost_preferment",
            "share",
            // Median 0.16, 90 % within 0.066-0.34.
            Logit { upper: 1.0, mean: -1.6582, sd: 0.6 },
            "share of the gas that leaves the preferment",
        ),
        Prior::new("best_temp", "°C", Normal { mean: 35.5, sd: 1.5 }, "where the yeast works fastest"),
        Prior::new("stop_temp", "°C", Normal { mean: 45.5, sd: 1.2 }, "where the yeast stops working"),
        // Median 0.107, 90 % within 0.035-0.193.
        Prior::new(
            "cold_rate",
            "share",
            Logit { upper: 0.25, mean: -0.29, sd: 0.92 },
            "speed at 4 °C over speed at 25 °C",
        ),
        Prior::new(
            "max_rise",
            "times",
            LogNormal { median: 3.5, sd: 0.20 },
            "the most this flour rises before it gives way",
        ),
        Prior::new(
            "cooling_250g",
            "h",
            LogNormal { median: 2.0, sd: 0.30 },
            "time constant of a 250 g piece",
        ),
        Prior::new(
            "room_pull",
            "share",
            // Median 0.05, 90 % within 0.018-0.13.
            Logit { upper: 1.0, mean: -2.9444, sd: 0.63 },
            "share of the way to room temperature the dough goes while mixed",
        ),
        Prior::new(
            "rise_noise",
            "of ln rise",
            LogNormal { median: 0.055, sd: 0.40 },
            "scatter of a measured rise",
        ),
        Prior::new(
            "temp_noise",
            "°C",
            LogNormal { median: 0.6, sd: 0.5 },
            "scatter of dough temperature about the heat balance",
        ),
        Prior::new(
            "batch_spread",
            "of ln vigour",
            HalfNormal { sd: 0.15 },
            "how much one batch's vigour differs from the next",
        ),
    ]
}

/// The prior of the warming by mixing in °C, by method (science of the trade: common practice, no source).
pub fn warming(method: &str) -> Form {
    let (mean, sd) = match method {
        "hand" => (1.0, 0.7),
        "stand_mixer" => (3.5, 1.5),
        "spiral" => (3.0, 1.5),
        "processor" => (4.5, 1.5),
        _ => (2.5, 2.0),
    };
    Form::Normal { mean, sd }
}

/// How much one cold place's cooling differs from the kitchen's mean, on ln tau.
pub const PLACE_COOLING: Form = Form::LogNormal { median: 1.0, sd: 0.25 };

/// A fridge whose temperature nobody measured, in °C above [`UNMEASURED_FRIDGE_C`].
pub const UNMEASURED_FRIDGE: Form = Form::Normal { mean: 0.0, sd: 1.5 };

/// What a fridge is taken to hold when nobody measured it, in °C.
pub const UNMEASURED_FRIDGE_C: f64 = 4.5;

/// Spread of lot effects on ln k.
pub const LOT_SPREAD: Form = Form::HalfNormal { sd: 0.15 };

/// A lot's number in x; its prior hangs on the spread ([`super::lots`]).
pub const LOT_EFFECT: Form = Form::Normal { mean: 0.0, sd: 1.0 };

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_normal_is_the_absolute_value_of_a_normal() {
        // P(|N| < q) = P(N < x): at the median, q is the upper quartile of N(0,1).
        assert!((half_normal(0.0).0 - 0.674_489_750_196_081_7).abs() < 1e-14);
        for x in [-8.0, -3.0, -0.1, 0.0, 0.4, 3.0, 8.0] {
            let (q, slope) = half_normal(x);
            let h = 1e-5;
            let difference = (half_normal(x + h).0 - half_normal(x - h).0) / (2.0 * h);
            assert!((slope / difference - 1.0).abs() < 1e-8, "{x}: {slope} {difference}");
            assert!(q > 0.0);
        }
    }
}
