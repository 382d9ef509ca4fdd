//! The scale of `fit --all-kitchens`: invented kitchens baked by the model's own physics, put into a logbook, to be
//! fitted by the program itself.
//!
//! `cargo run --release --example kitchens_at_once -- LOGBOOK [KITCHENS] [BATCHES]` writes the logbook (1,000 kitchens of 200
//! batches unless said otherwise); then `doughwright --logbook LOGBOOK fit --all-kitchens --json` is what is measured.

use std::path::Path;

use doughwright::dough::Batch;
use doughwright::logbook::Logbook;
use doughwright::simulate::invented::{Difference, kitchen, recipes};
use doughwright::simulate::policy::Policy;
use doughwright::simulate::year::{Calendar, year};

fn main() {}
