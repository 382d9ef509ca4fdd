//! Student's t with four degrees of freedom, far into the tail where a fallen dough can send it.

use doughwright::inference::student::below;
use serde::Deserialize;

use crate::read;

/// `student.csv`: mpmath 1.4.1, the integral of the density in 40 digits.
#[derive(Deserialize)]
struct Row {
    t: f64,
    below: f64,
}

#[test]
fn chance_keeps_its_digits_in_the_tail() {
    let rows: Vec<Row> = read("student.csv");
    assert_eq!(rows.len(), 11);
    for r in rows {
        let ours = below(r.t);
        assert!((ours / r.below - 1.0).abs() < 1e-13, "P(t4 < {}): {ours:e}, integrated {:e}", r.t, r.below);
    }
}
