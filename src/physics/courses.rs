//! [`Course::forward`] for many courses, or for one under many kitchens, each step for eight of them at a time ([`super::abreast`]): the same numbers.
//!
//! Stages go depth by depth, as each begins where the one before it ended; then the outputs, kind by kind.

use super::abreast::Waiting;
use super::course::{Answer, Course, Parameters, Question, Workspace};
use super::moment::{Dough, DoughWithPreferment};
use super::preferment::Vessel;
use super::rate::Rate;
use super::scalar::{Jet, Scalar};
use super::thermal_time::{Inside, Stage, Stretch, stretch};

/// A course under the parameters of a kitchen.
#[derive(Debug, Clone, Copy)]
pub struct Case<'a> {
    /// The course.
    pub course: &'a Course,
    /// The kitchen.
    pub parameters: &'a Parameters,
    /// Its k times what lot and batch do to it.
    pub k: f64,
}

/// [`Course::forward`] of each of `cases`, its workspace in `ws`.
pub fn forward(cases: &[Case], ws: &mut [Workspace<f64>]) {
    all(cases, |k| k, ws);
}

/// The same with slopes along ln k.
pub fn forward_with_slopes(cases: &[Case], ws: &mut [Workspace<Jet>]) {
    all(cases, |k| Jet::new(k, k), ws);
}

fn all<N: Scalar>(cases: &[Case], number: impl Fn(f64) -> N, ws: &mut [Workspace<N>]) {
    stages(cases, ws);
    let (mut doughs, mut with_preferments, mut vessels) =
        (Waiting::default(), Waiting::default(), Waiting::default());
    for (i, case) in cases.iter().enumerate() {
        for (j, output) in case.course.outputs.iter().enumerate() {
            let at = (i, j);
            match case.course.question(case.parameters, number(case.k), output, &ws[i]) {
                Question::Dough(moment) => doughs.add(&Dough, at, moment, put(ws)),
                Question::DoughWithPreferment(moment, ripening) => {
                    with_preferments.add(&DoughWithPreferment, at, (moment, ripening), put(ws));
                }
                Question::Preferment(ripening) => vessels.add(&Vessel, at, ripening, put(ws)),
                Question::Known(value) => ws[i].answers[j] = Answer::plain(N::constant(value)),
            }
        }
    }
    doughs.finish(&Dough, put(ws));
    with_preferments.finish(&DoughWithPreferment, put(ws));
    vessels.finish(&Vessel, put(ws));
}

/// Puts an answer where it belongs: to a case and an output.
fn put<N, T>(ws: &mut [Workspace<N>]) -> impl FnMut((usize, usize), &T, Answer<N>) {
    |(case, output), _, found| ws[case].answers[output] = found
}

/// All stages of all cases.
fn stages<N: Scalar>(cases: &[Case], ws: &mut [Workspace<N>]) {
    cases.iter().zip(ws.iter_mut()).for_each(|(case, ws)| case.course.begin(case.parameters, ws));
    let mut waiting = Waiting::default();
    let deepest = cases.iter().map(|case| case.course.segments.len()).max().unwrap_or(0);
    for depth in 0..deepest {
        for (i, case) in cases.iter().enumerate().filter(|(_, case)| depth < case.course.segments.len()) {
            let stage = case.course.stage(case.parameters, depth, &ws[i]);
            waiting.add(&Inside, i, (stage, case.parameters.rate), pass(ws));
        }
        waiting.finish(&Inside, pass(ws));
    }
}

/// Adds what a stage is worth where it belongs.
fn pass<N>(ws: &mut [Workspace<N>]) -> impl FnMut(usize, &(Stage, Rate), Stretch) {
    |case, (stage, rate), found| ws[case].pass(found.or_else(|| stretch(rate, stage)))
}

#[cfg(test)]
mod tests {
    use super::super::course::{Mixing, Output, Preferment, Segment, Start};
    use super::super::rise::Matrix;
    use super::*;

    /// Courses of all kinds, in turn: none to three stages, one of them beyond Tmax, with a preferment or without, with
    /// several outputs or none.
    fn courses() -> Vec<Course> {
        let course = |i: usize| {
            let turn = (i as f64).sin();
            let stages = [
                Segment { around_c: 22.0 + turn, hours: 0.7, tau_factor: 3.0, place: None, unmeasured: None },
                Segment {
                    around_c: 4.0 + turn,
                    hours: 24.0,
                    tau_factor: 1.0,
                    place: Some(0),
                    unmeasured: Some(0),
                },
                Segment { around_c: 60.0, hours: 0.5, tau_factor: 1.0, place: None, unmeasured: None },
            ];
            let preferment = Preferment {
                share: 0.3,
                yeast_pct: 0.3,
                hours: 12.0,
                temp_c: 20.0 + turn,
                matrix: Matrix::new(100.0, 0.0, 0.0, 0.0, 12.0),
            };
            let count = i % 4;
            let all = [
                Output::Rise(count),
                Output::PrefermentRise(9.0),
                Output::MixedTemperature,
                Output::Temperature(count),
                Output::Rise(count / 2),
            ];
            Course {
                preferment: i.is_multiple_of(3).then_some(preferment),
                mixing: Some(Mixing { balance_c: 20.0, room_c: 22.0, method: 0 }),
                start: if i.is_multiple_of(2) { Start::Mixed } else { Start::Measured(24.0 + turn) },
                fresh_pct: 0.3,
                lag_factor: 1.0,
                salt_pct: 2.0,
                sugar_pct: 0.5,
                matrix: Matrix::new(62.0, 2.0, 0.0, 0.5, 12.0),
                segments: stages[..count].to_vec(),
                outputs: all[..i % 6].to_vec(),
            }
        };
        (0..37).map(course).collect()
    }

    #[test]
    fn together_they_give_the_same_bits_as_one_by_one() {
        let (p, courses) = (Parameters::for_tests(), courses());
        let ks: Vec<f64> = (0..courses.len()).map(|i| 50.0 + i as f64).collect();
        let case = |(course, k): (_, &f64)| Case { course, parameters: &p, k: *k };
        let mut these: Vec<Case> = courses.iter().zip(&ks).map(case).collect();
        let mut together = vec![Workspace::default(); courses.len()];
        let mut as_numbers = vec![Workspace::default(); courses.len()];
        // What an earlier evaluation left must not matter.
        these.reverse();
        forward_with_slopes(&these, &mut together);
        these.reverse();
        forward_with_slopes(&these, &mut together);
        forward(&these, &mut as_numbers);
        let (mut alone, mut as_number) = (Workspace::default(), Workspace::default());
        for (i, (course, together)) in courses.iter().zip(&together).enumerate() {
            course.forward(&p, Jet::new(ks[i], ks[i]), &mut alone);
            course.forward(&p, ks[i], &mut as_number);
            assert_eq!(format!("{:?}", as_number.answers), format!("{:?}", as_numbers[i].answers));
            assert_eq!(format!("{:?}", alone.answers), format!("{:?}", together.answers));
            for n in 0..=course.segments.len() {
                assert_eq!(alone.theta_after(n), together.theta_after(n));
                assert_eq!(alone.temperature_after(n), together.temperature_after(n));
            }
        }
    }
}
