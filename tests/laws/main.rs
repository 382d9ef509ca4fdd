//! Laws that the physics and the log posterior keep whatever the numbers are.

mod advice;
mod beliefs;
mod cases;
mod coordinates;
mod gradient;
mod kitchen;
mod physics;
mod posterior;
mod second;
mod stage;
