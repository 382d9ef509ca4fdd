//! Do batches baked by the plan miss by less than the others, room temperature and hours allowed for?
//!
//! The size of the miss, |ln(rise / target)|, is regressed on "plan followed" (0 or 1), alone and then with room temperature
//! and total hours (each less its mean); least squares with the standard errors HC3, which do not assume that both kinds of
//! batch scatter alike (MacKinnon & White 1985, *J Econometrics* 29:305-325; Long & Ervin 2000, *Am Stat* 54:217-224), and
//! Student's t with n - p degrees of freedom. It is a comparison of what happened, not an experiment: where batches
//! followed and not followed were also baked under different conditions, [`Confounder`] says so. What followed means:
//! [`is_followed`].

use nalgebra::{DMatrix, DVector};
use schemars::JsonSchema;
use serde::Serialize;
use statrs::distribution::{ContinuousCDF, StudentsT};

use super::sample::{Quantiles, mean, positive_sd, sd};
use crate::dough::Batch;

/// The fewest batches of each kind.
pub const FEWEST: usize = 5;
/// A condition counts as different when the means are this many of its standard deviations apart (Austin 2009,
/// *Stat Med* 28:3083-3107, takes 0.1; for a few batches chance alone often makes 0.25).
pub const DIFFERENT: f64 = 0.25;

/// The yeast weighed is the plan's when it is within this share of it (no source: what a kitchen scale of 0.1 g does to
/// 2 g of yeast).
const YEAST_WITHIN: f64 = 0.05;
/// The water poured is the plan's when it is within so many °C (no source: what a thermometer and a tap allow).
const WATER_WITHIN_C: f64 = 2.0;

/// Whether a batch was baked as its plan said, in the yeast and the water's temperature, as far as both are written
/// down. One whose yeast is not written down was not followed.
pub fn is_followed(plan: &Batch, baked: &Batch) -> bool {
    let yeast = match (plan.yeast_pct(), baked.yeast_pct()) {
        (Some(planned), Some(weighed)) => (weighed - planned).abs() <= YEAST_WITHIN * planned,
        _ => false,
    };
    let water = match (plan.water_temp_c, baked.water_temp_c) {
        (Some(planned), Some(poured)) => (poured - planned).abs() <= WATER_WITHIN_C,
        _ => true,
    };
    yeast && water
}

/// One batch.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Whether the plan was followed.
    pub followed: bool,
    /// ln(rise / target); its size counts.
    pub miss: f64,
    /// Room at mixing, °C.
    pub room_temp_c: Option<f64>,
    /// Hours of all stages.
    pub hours: Option<f64>,
}

/// A condition that differed between the two kinds of batch.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Confounder {
    /// Which condition.
    pub condition: &'static str,
    /// Its mean where the plan was followed.
    pub followed: f64,
    /// Its mean elsewhere.
    pub others: f64,
}

/// The comparison, in the unit of the miss.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Comparison {
    /// Batches that followed the plan.
    pub followed: usize,
    /// The others.
    pub others: usize,
    /// Their mean size of miss.
    pub miss_followed: f64,
    /// The others' mean size of miss.
    pub miss_others: f64,
    /// Followed less others, nothing allowed for.
    pub difference: Quantiles,
    /// Followed less others, room temperature and hours allowed for, over the batches that have both; `None` when too
    /// few have, or when a condition cannot be told from following the plan.
    pub allowed_for: Option<Quantiles>,
    /// Conditions that differed.
    pub confounders: Vec<Confounder>,
}

/// A condition's name, and its value in a row.
type Condition = (&'static str, fn(&Row) -> Option<f64>);

/// What is allowed for.
const CONDITIONS: [Condition; 2] = [("room temperature", |r| r.room_temp_c), ("hours", |r| r.hours)];

impl Row {
    /// From a record; `miss` is ln(rise / target).
    pub fn of(batch: &Batch, miss: f64, followed: bool) -> Self {
        let hours = Some(batch.total_hours()).filter(|h| *h > 0.0);
        Self { followed, miss, room_temp_c: batch.room_temp_c, hours }
    }
}

/// Compares the two kinds; `None` with fewer than five of either, or when no miss differs from another.
pub fn compare(rows: &[Row]) -> Option<Comparison> {
    let (yes, no): (Vec<&Row>, Vec<&Row>) = rows.iter().partition(|r| r.followed);
    if yes.len() < FEWEST || no.len() < FEWEST {
        return None;
    }
    let size = |rows: &[&Row]| mean(&rows.iter().map(|r| r.miss.abs()).collect::<Vec<_>>());
    let all: Vec<&Row> = rows.iter().collect();
    let full: Vec<&Row> = rows.iter().filter(|r| r.room_temp_c.is_some() && r.hours.is_some()).collect();
    let varied: Vec<Vec<f64>> = CONDITIONS
        .iter()
        .map(|(_, of)| full.iter().filter_map(|r| of(r)).collect::<Vec<f64>>())
        .filter(|values| positive_sd(values).is_some())
        .collect();
    Some(Comparison {
        followed: yes.len(),
        others: no.len(),
        miss_followed: size(&yes),
        miss_others: size(&no),
        difference: effect(&all, &[])?,
        allowed_for: effect(&full, &varied),
        confounders: CONDITIONS.iter().filter_map(|(name, of)| confounder(name, *of, &yes, &no)).collect(),
    })
}

fn confounder(
    condition: &'static str,
    of: fn(&Row) -> Option<f64>,
    yes: &[&Row],
    no: &[&Row],
) -> Option<Confounder> {
    let known = |rows: &[&Row]| rows.iter().filter_map(|r| of(r)).collect::<Vec<f64>>();
    let (yes, no) = (known(yes), known(no));
    let spread = ((sd(&yes)?.powi(2) + sd(&no)?.powi(2)) / 2.0).sqrt();
    let (followed, others) = (mean(&yes), mean(&no));
    ((followed - others).abs() > DIFFERENT * spread).then_some(Confounder { condition, followed, others })
}

/// Coefficient of "followed" in the regression on it and the `conditions`, each one column over `rows`.
fn effect(rows: &[&Row], conditions: &[Vec<f64>]) -> Option<Quantiles> {
    let (n, p) = (rows.len(), 2 + conditions.len());
    let of_each_kind = |followed| rows.iter().filter(|r| r.followed == followed).count();
    if n < p + FEWEST || of_each_kind(true) < FEWEST || of_each_kind(false) < FEWEST {
        return None;
    }
    let x = DMatrix::from_fn(n, p, |i, j| match j {
        0 => 1.0,
        1 => f64::from(u8::from(rows[i].followed)),
        _ => conditions[j - 2][i] - mean(&conditions[j - 2]),
    });
    let y = DVector::from_iterator(n, rows.iter().map(|r| r.miss.abs()));
    let inverse = (x.transpose() * &x).cholesky()?.inverse();
    let coefficients = &inverse * x.transpose() * &y;
    let left = &y - &x * &coefficients;
    let mut meat = DMatrix::zeros(p, p);
    for i in 0..n {
        let row = x.row(i).transpose();
        let leverage = (row.transpose() * &inverse * &row)[0];
        meat += &row * row.transpose() * (left[i] / (1.0 - leverage)).powi(2);
    }
    let error = (&inverse * meat * &inverse)[(1, 1)].sqrt();
    let half = error * StudentsT::new(0.0, 1.0, (n - p) as f64).ok()?.inverse_cdf(0.95);
    let middle = coefficients[1];
    [middle, half].iter().all(|v| v.is_finite()).then_some(Quantiles {
        p05: middle - half,
        p50: middle,
        p95: middle + half,
    })
}

impl Confounder {
    /// In words.
    fn says(&self) -> String {
        let unit = if self.condition == CONDITIONS[0].0 { "°C" } else { "h" };
        format!("{} {:.1} against {:.1} {unit}", self.condition, self.followed, self.others)
    }
}

impl Comparison {
    /// The comparison in words, the answer first; the miss in percent of the rise.
    pub fn says(&self) -> Vec<String> {
        let percent = |miss: f64| 100.0 * miss.exp_m1();
        let (effect, how) = match self.allowed_for {
            Some(allowed) => (allowed, ", room temperature and hours allowed for"),
            None => (
                self.difference,
                ", room temperature and hours not allowed for: too few batches have them, or they cannot be told apart from following",
            ),
        };
        let verdict = match (effect.p95 < 0.0, effect.p05 > 0.0) {
            (true, _) => "Batches that followed the plan missed by less",
            (_, true) => "Batches that followed the plan missed by more",
            _ => "Batches that followed the plan missed neither less nor more that could be told",
        };
        let mut said = vec![format!(
            "{verdict}: {:.0} % on average against {:.0} % ({} and {} batches); difference {:+.1} points (90 % sure: {:+.1} to {:+.1}){how}.",
            percent(self.miss_followed),
            percent(self.miss_others),
            self.followed,
            self.others,
            100.0 * effect.p50,
            100.0 * effect.p05,
            100.0 * effect.p95,
        )];
        if !self.confounders.is_empty() {
            let named: Vec<String> = self.confounders.iter().map(Confounder::says).collect();
            said.push(format!(
                "Mind: they were also baked under other conditions ({}), so the plan may not be the reason.",
                named.join(", ")
            ));
        }
        said
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plan_is_followed_in_its_yeast_and_its_water() {
        let plan =
            Batch { flour_g: Some(1000.0), yeast_g: Some(2.0), water_temp_c: Some(18.0), ..Batch::default() };
        let with = |yeast_g, water_temp_c| Batch { yeast_g, water_temp_c, ..plan.clone() };
        assert!(is_followed(&plan, &with(Some(2.1), Some(19.5))));
        assert!(is_followed(&plan, &with(Some(2.0), None)));
        assert!(!is_followed(&plan, &with(Some(2.3), Some(18.0))));
        assert!(!is_followed(&plan, &with(Some(2.0), Some(22.0))));
        assert!(!is_followed(&plan, &with(None, Some(18.0))));
        // Twice the dough by the same plan.
        let twice = Batch { flour_g: Some(2000.0), yeast_g: Some(4.0), ..plan.clone() };
        assert!(is_followed(&plan, &twice));
    }

    /// Five batches that followed and six that did not.
    fn rows() -> Vec<Row> {
        let misses = [0.05, -0.08, 0.02, -0.04, 0.06, 0.2, -0.3, 0.25, 0.15, -0.35, 0.3];
        let row = |(i, miss): (usize, &f64)| Row {
            followed: i < 5,
            miss: *miss,
            room_temp_c: Some(20.0 + (i % 3) as f64),
            hours: Some(24.0 + (i % 4) as f64),
        };
        misses.iter().enumerate().map(row).collect()
    }

    #[test]
    fn five_of_each_kind_are_compared_and_four_are_not() {
        let all = rows();
        let comparison = compare(&all[..10]).unwrap();
        assert_eq!((comparison.followed, comparison.others), (5, 5));
        // Means of the sizes, by arithmetic.
        assert!(
            (comparison.miss_followed - 0.05).abs() < 1e-12 && (comparison.miss_others - 0.25).abs() < 1e-12
        );
        assert!((comparison.difference.p50 + 0.2).abs() < 1e-12);
        assert_eq!(compare(&all[1..]), None);
        assert_eq!(compare(&all[..9]), None);
        let bare: Vec<Row> = all.iter().map(|r| Row { hours: None, ..r.clone() }).collect();
        assert_eq!(compare(&bare).unwrap().allowed_for, None);
    }

    #[test]
    fn the_comparison_is_said_with_the_answer_first() {
        let all = rows();
        let said = compare(&all).unwrap().says();
        assert!(
            said[0].starts_with("Batches that followed the plan missed by less: 5 % on average against 29 %"),
            "{said:?}"
        );
        assert!(
            said[0].contains("(5 and 6 batches); difference -") && said[0].contains("hours allowed for"),
            "{said:?}"
        );
        let turned: Vec<Row> = all.iter().map(|r| Row { miss: 0.4 - r.miss.abs(), ..r.clone() }).collect();
        assert!(
            compare(&turned).unwrap().says()[0].starts_with("Batches that followed the plan missed by more")
        );
        let warm = |r: &Row| Row {
            room_temp_c: Some(if r.followed { 26.0 } else { 18.0 }),
            hours: None,
            ..r.clone()
        };
        let said = compare(&all.iter().map(warm).collect::<Vec<Row>>()).unwrap().says();
        assert!(said[0].contains("hours not allowed for"), "{said:?}");
        assert_eq!(
            said[1],
            "Mind: they were also baked under other conditions (room temperature 26.0 against 18.0 °C), so the plan may not be \
             the reason."
        );
    }

    #[test]
    fn a_row_knows_hours_only_of_a_batch_with_stages() {
        let batch = Batch { room_temp_c: Some(21.0), bulk_hours: Some(3.0), ..Batch::default() };
        let row = Row::of(&batch, 0.1, true);
        assert_eq!((row.hours, row.room_temp_c, row.miss, row.followed), (Some(3.0), Some(21.0), 0.1, true));
        assert_eq!(Row::of(&Batch::default(), 0.1, false).hours, None);
    }
}
