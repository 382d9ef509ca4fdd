//! [`Course::forward`] for many courses, each step for eight of them at a time ([`super::abreast`]): the same numbers.
//!
//! Stages go depth by depth, as each begins where the one before it ended; then the outputs, kind by kind.

use super::abreast::Waiting;
use super::course::{Answer, Course, Parameters, Question, Workspace};
use super::moment::{Dough, DoughWithPreferment};
use super::preferment::Vessel;
use super::scalar::{Jet, Scalar};
use super::thermal_time::{Inside, stretch};

/// [`Course::forward`] of each of `courses`, with its k in `k` (in the unit of [`Parameters::k`]) and its workspace in `ws`.
pub fn forward(courses: &[&Course], p: &Parameters, k: &[f64], ws: &mut [Workspace<f64>]) {
    all(courses, p, |i| k[i], ws);
}

/// The same with slopes along ln k.
pub fn forward_with_slopes(courses: &[&Course], p: &Parameters, k: &[f64], ws: &mut [Workspace<Jet>]) {
    all(courses, p, |i| Jet::new(k[i], k[i]), ws);
}

fn all<N: Scalar>(courses: &[&Course], p: &Parameters, k: impl Fn(usize) -> N, ws: &mut [Workspace<N>]) {
    stages(courses, p, ws);
    let (dough, with_preferment, vessel) = (Dough(p), DoughWithPreferment(p), Vessel(p));
    let (mut doughs, mut with_preferments, mut vessels) =
        (Waiting::default(), Waiting::default(), Waiting::default());
    for (i, course) in courses.iter().enumerate() {
        for (j, output) in course.outputs.iter().enumerate() {
            let at = (i, j);
            match course.question(p, k(i), output, &ws[i]) {
                Question::Dough(moment) => doughs.add(&dough, at, moment, put(ws)),
                Question::DoughWithPreferment(moment, ripening) => {
                    with_preferments.add(&with_preferment, at, (moment, ripening), put(ws));
                }
                Question::Preferment(ripening) => vessels.add(&vessel, at, ripening, put(ws)),
                Question::Known(value) => ws[i].answers[j] = Answer::plain(N::constant(value)),
            }
        }
    }
    doughs.finish(&dough, put(ws));
    with_preferments.finish(&with_preferment, put(ws));
    vessels.finish(&vessel, put(ws));
}

/// Puts an answer where it belongs: to a course and an output.
fn put<N, T>(ws: &mut [Workspace<N>]) -> impl FnMut((usize, usize), &T, Answer<N>) {
    |(course, output), _, found| ws[course].answers[output] = found
}

/// All stages of all courses.
fn stages<N: Scalar>(courses: &[&Course], p: &Parameters, ws: &mut [Workspace<N>]) {
    courses.iter().zip(ws.iter_mut()).for_each(|(course, ws)| course.begin(p, ws));
    let step = Inside(&p.rate);
    let mut waiting = Waiting::default();
    let deepest = courses.iter().map(|course| course.segments.len()).max().unwrap_or(0);
    for depth in 0..deepest {
        for (i, course) in courses.iter().enumerate().filter(|(_, course)| depth < course.segments.len()) {
            let stage = course.stage(p, depth, &ws[i]);
            waiting.add(&step, i, stage, |i, stage, found| {
                ws[i].pass(found.or_else(|| stretch(&p.rate, stage)));
            });
        }
        waiting.finish(&step, |i, stage, found| ws[i].pass(found.or_else(|| stretch(&p.rate, stage))));
    }
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
        let mut these: Vec<&Course> = courses.iter().collect();
        let mut together = vec![Workspace::default(); courses.len()];
        let mut as_numbers = vec![Workspace::default(); courses.len()];
        // What an earlier evaluation left must not matter.
        these.reverse();
        forward_with_slopes(&these, &p, &ks, &mut together);
        these.reverse();
        forward_with_slopes(&these, &p, &ks, &mut together);
        forward(&these, &p, &ks, &mut as_numbers);
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
