//! The pages: what each shows, and what its forms do.

pub mod batch;
pub mod next;
pub mod overview;
pub mod record;
pub mod sheet;
mod sheet_found;
