//! A page to work in.
