//! The invented kitchens: made alike from a seed, plausible, independent of the closed forms that they check.

#[path = "simulate/demo_data.rs"]
mod demo_data;
#[path = "simulate/integrator.rs"]
mod integrator;
#[path = "simulate/kitchens.rs"]
mod kitchens;
