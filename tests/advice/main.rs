//! The advice against brute force, against a refit, and on the clock.

mod best;
mod clock;
mod kitchen;
mod mid_course;
