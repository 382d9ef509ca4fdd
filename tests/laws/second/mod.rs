//! The log posterior written a second time, from the equations and from the records as the baker wrote them.
//!
//! Nothing of the program's physics or inference is used: temperatures by formula, thermal time by
//! quadrature, waking by the logistic form of the adjustment function, gas by the growing exponential, the
//! rise by the textbook root of the mass balance, rises of a batch by a Cholesky factor of their covariance.
//! It is generic over dual numbers, so that one evaluation gives a value with its derivative, exact to
//! rounding.

mod course;
mod dough;
mod formulas;
mod likelihood;
mod lots;
mod prior;
pub mod quadrature;
pub mod rate;

use doughwright::inference::lots::Centring;
use doughwright::inference::prepare::Records;
use num_dual::DualNum;

use self::course::{Course, Kitchen};

/// A number or a dual number over `f64`.
pub trait Number: DualNum<Primitive = f64> + Copy {}
impl<T: DualNum<Primitive = f64> + Copy> Number for T {}

/// Log posterior at `x`: one number for each of `names`.
pub fn log_posterior<T: Number>(records: &Records, centring: Centring, names: &[String], x: &[T]) -> T {
    let kitchen = Kitchen::new(records, centring, names, x);
    let mut sum = lots::log_prior(&kitchen);
    for (name, x) in names.iter().zip(x) {
        if !prior::is_lot(name) {
            sum += prior::normal(*x);
        }
    }
    for batch in &records.batches {
        let course = Course::new(records, batch);
        let slope = likelihood::start_slope(&kitchen, &course);
        sum += likelihood::log_likelihood(&kitchen, &course, slope);
    }
    sum
}
