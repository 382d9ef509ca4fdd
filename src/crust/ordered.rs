//! Ordered regression (cumulative logit): a verdict of K ordered classes on p predictors.
//!
//! P(y ≤ k) = F(c_k - x'b), F(t) = 1/(1 + e^-t), c_1 < ... < c_(K-1) (McCullagh 1980, *J R Stat Soc B* 42:109-142). In the
//! vector of unknowns stand b, then c_1, then the cube roots of c_k - c_(k-1): a step about a class of few batches is spread
//! like a gamma variable, whose cube root is nearly normal (Wilson & Hilferty 1931, *Proc Natl Acad Sci* 17:684-688).
//!
//! Prior, unless flat: each b ~ N(0, 1) for predictors of unit spread, so that 9 in 10 change the odds by less than
//! five times a standard deviation (a choice of this project); the thresholds such that with b = 0 every split of the
//! batches over the classes is as likely as any other (induced Dirichlet; Betancourt 2019, *Ordinal regression*):
//! density Π f(c_k), f = F(1 - F).
//!
//! Limits: the predictors move all thresholds alike (proportional odds).

use serde::{Deserialize, Serialize};

use crate::inference::minimise::Objective;

/// Standard deviation of a coefficient under the prior, per standard deviation of the predictor.
pub const COEFFICIENT_SD: f64 = 1.0;

/// The regression, as minus the log density of its unknowns.
#[derive(Debug, Clone)]
pub struct Ordered {
    /// One row a batch, one value a predictor.
    pub x: Vec<Vec<f64>>,
    /// The class of each batch, from 0.
    pub y: Vec<usize>,
    /// K, the number of classes; each is seen at least once.
    pub classes: usize,
    /// Whether nothing is believed beforehand.
    pub flat: bool,
}

/// Unknowns as they are read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Coefficients {
    /// b, one a predictor.
    pub slopes: Vec<f64>,
    /// c_1 to c_(K-1).
    pub thresholds: Vec<f64>,
}

impl Ordered {
    /// The number of predictors.
    pub fn predictors(&self) -> usize {
        self.x.first().map_or(0, Vec::len)
    }

    /// The vector where a search begins: no effects, and thresholds at the shares of the classes.
    pub fn start(&self) -> Vec<f64> {
        let n = self.y.len() as f64;
        let below = |k: usize| self.y.iter().filter(|y| **y <= k).count() as f64;
        let logit = |k: usize| {
            let share = (below(k) + 0.5) / (n + 1.0);
            (share / (1.0 - share)).ln()
        };
        let mut x = vec![0.0; self.predictors()];
        x.push(logit(0));
        x.extend((1..self.classes - 1).map(|k| (logit(k) - logit(k - 1)).max(1e-3).cbrt()));
        x
    }

    /// The unknowns behind a vector, as long as there are predictors and thresholds.
    pub fn read(&self, unknowns: &[f64]) -> Coefficients {
        let (slopes, told) = unknowns.split_at(self.predictors());
        let mut thresholds = vec![told[0]];
        for step in &told[1..] {
            thresholds.push(thresholds[thresholds.len() - 1] + step.powi(3));
        }
        Coefficients { slopes: slopes.to_vec(), thresholds }
    }

    /// Log likelihood of each batch, in nats.
    pub fn pointwise(&self, unknowns: &[f64]) -> Vec<f64> {
        let c = self.read(unknowns);
        self.x.iter().zip(&self.y).map(|(x, y)| c.between(c.predictor(x), *y).log).collect()
    }
}

/// ln P(class) with its derivatives by the threshold below and above.
struct Between {
    log: f64,
    by_below: f64,
    by_above: f64,
}

impl Coefficients {
    /// x'b, on the log odds; `x` one value a predictor.
    pub fn predictor(&self, x: &[f64]) -> f64 {
        x.iter().zip(&self.slopes).map(|(x, b)| x * b).sum()
    }

    /// P(y ≤ k) for k = 0 to K-2, given x'b.
    pub fn below(&self, predictor: f64) -> impl Iterator<Item = f64> {
        self.thresholds.iter().map(move |c| logistic(c - predictor))
    }

    /// The expected score at the columns `x`: E = s_K - Σ_k (s_(k+1) - s_k) P(y ≤ k), s the rising
    /// `scores` of the classes, one a class.
    pub fn expected(&self, x: &[f64], scores: &[f64]) -> f64 {
        let steps = scores.windows(2).map(|w| w[1] - w[0]);
        let lost: f64 = steps.zip(self.below(self.predictor(x))).map(|(step, below)| step * below).sum();
        scores[scores.len() - 1] - lost
    }

    fn between(&self, predictor: f64, class: usize) -> Between {
        let below = class.checked_sub(1).map(|k| self.thresholds[k] - predictor);
        let above = self.thresholds.get(class).map(|c| c - predictor);
        // F(b) - F(a) = F(b) F(-a) (1 - e^(a-b)): no digit is lost in either tail.
        match (below, above) {
            (Some(a), Some(b)) => {
                let step = 1.0 / (b - a).exp_m1();
                Between {
                    log: ln_logistic(b) + ln_logistic(-a) + (-(a - b).exp_m1()).ln(),
                    by_below: -logistic(a) - step,
                    by_above: logistic(-b) + step,
                }
            }
            (None, Some(b)) => Between { log: ln_logistic(b), by_below: 0.0, by_above: logistic(-b) },
            (Some(a), None) => Between { log: ln_logistic(-a), by_below: -logistic(a), by_above: 0.0 },
            (None, None) => Between { log: 0.0, by_below: 0.0, by_above: 0.0 },
        }
    }
}

impl Objective for Ordered {
    fn dim(&self) -> usize {
        self.predictors() + self.classes - 1
    }

    fn value_gradient(&self, unknowns: &[f64], gradient: &mut [f64]) -> f64 {
        let c = self.read(unknowns);
        let p = self.predictors();
        if unknowns[p + 1..].iter().any(|root| *root <= 0.0) {
            return f64::INFINITY;
        }
        let mut log = 0.0;
        let mut by_slope = vec![0.0; p];
        let mut by_threshold = vec![0.0; c.thresholds.len()];
        for (x, &y) in self.x.iter().zip(&self.y) {
            let one = c.between(c.predictor(x), y);
            log += one.log;
            if let Some(k) = y.checked_sub(1) {
                by_threshold[k] += one.by_below;
            }
            if let Some(by) = by_threshold.get_mut(y) {
                *by += one.by_above;
            }
            for (by, x) in by_slope.iter_mut().zip(x) {
                *by -= (one.by_below + one.by_above) * x;
            }
        }
        let roots = &unknowns[p + 1..];
        if !self.flat {
            let precision = 1.0 / (COEFFICIENT_SD * COEFFICIENT_SD);
            for (by, b) in by_slope.iter_mut().zip(&c.slopes) {
                log -= 0.5 * precision * b * b;
                *by -= precision * b;
            }
            for (by, c) in by_threshold.iter_mut().zip(&c.thresholds) {
                log += ln_logistic(*c) + ln_logistic(-c);
                *by += logistic(-c) - logistic(*c);
            }
            log += roots.iter().map(|root| (3.0 * root * root).ln()).sum::<f64>();
        }
        gradient[..p].iter_mut().zip(&by_slope).for_each(|(g, by)| *g = -by);
        // A step moves its own threshold and all above it.
        let mut above = 0.0;
        for k in (0..by_threshold.len()).rev() {
            above += by_threshold[k];
            gradient[p + k] = match k {
                0 => -above,
                _ => {
                    let root = roots[k - 1];
                    -above * 3.0 * root * root - if self.flat { 0.0 } else { 2.0 / root }
                }
            };
        }
        if log.is_nan() { f64::INFINITY } else { -log }
    }
}

fn logistic(t: f64) -> f64 {
    1.0 / (1.0 + (-t).exp())
}

/// ln F(t), exact in both tails.
fn ln_logistic(t: f64) -> f64 {
    if t < 0.0 { t - t.exp().ln_1p() } else { -(-t).exp().ln_1p() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn small(flat: bool) -> Ordered {
        let x = (0..12).map(|i| vec![(i as f64 * 0.7).sin(), (i as f64 * 1.3).cos()]).collect();
        Ordered { x, y: vec![0, 1, 2, 3, 2, 1, 0, 2, 3, 3, 1, 2], classes: 4, flat }
    }

    #[test]
    fn the_gradient_is_that_of_the_value() {
        for flat in [true, false] {
            let model = small(flat);
            let at = [0.3, -0.8, -1.2, 1.0, 1.2];
            let mut gradient = [0.0; 5];
            model.value_gradient(&at, &mut gradient);
            for (i, g) in gradient.iter().enumerate() {
                let moved = |h: f64| {
                    let mut x = at;
                    x[i] += h;
                    model.value(&x)
                };
                let difference = (moved(1e-5) - moved(-1e-5)) / 2e-5;
                assert!((g - difference).abs() < 1e-7, "{i}: {g} {difference}");
            }
        }
    }

    #[test]
    fn the_chances_of_all_classes_add_up_to_one() {
        let model = small(false);
        let c = model.read(&[0.3, -0.8, -1.2, 1.0, 1.2]);
        for predictor in [-40.0, -1.0, 0.0, 3.0, 40.0] {
            let sum: f64 = (0..4).map(|k| c.between(predictor, k).log.exp()).sum();
            assert!((sum - 1.0).abs() < 1e-12, "{predictor}: {sum}");
        }
    }

    #[test]
    fn without_effects_any_split_over_the_classes_is_as_likely() {
        // The prior of two thresholds, as a density of the three shares, is flat: f(c1) f(c2) dc1 dc2 = ds1 ds2.
        let model = Ordered { x: vec![], y: vec![], classes: 3, flat: false };
        let density = |c1: f64, c2: f64| {
            let root = (c2 - c1).cbrt();
            let jacobian = (3.0 * root * root).ln()
                + ln_logistic(c1)
                + ln_logistic(-c1)
                + ln_logistic(c2)
                + ln_logistic(-c2);
            -model.value(&[c1, root]) - jacobian
        };
        assert!((density(-1.0, 0.5) - density(-2.0, 3.0)).abs() < 1e-12);
    }
}
