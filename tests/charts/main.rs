//! The charts, looked at as a reader would: is everything inside the picture, can every label be read, is the same
//! picture drawn every time.

mod data;
mod edges;
mod inputs;
mod layout;
mod pictures;
mod statistics;
mod words;
