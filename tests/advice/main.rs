//! The advice against brute force, against a refit, on the clock, and on the wall.

mod best;
mod clock;
mod kitchen;
mod mid_course;
mod wall;
