//! What else a baker may ask of `fit`.

use std::path::PathBuf;

use clap::ValueEnum;

/// What else a fit is asked.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = "What else to ask")]
pub struct FitQuestions {
    /// Which model foretells your rises best: rival forms, lots alike, drift, and a plain regression
    #[arg(long)]
    pub compare: bool,
    /// Does the model make rises like yours, do its intervals hold, what do its answers hang on
    #[arg(long)]
    pub check: bool,
    /// What the records cannot tell yet, and what to measure next
    #[arg(long)]
    pub gaps: bool,
    /// Whether vigour may drift over dates [auto: as the last --compare found]
    #[arg(long, value_enum, default_value = "auto")]
    pub drift: DriftChoice,
    /// One fit for every kitchen of the logbook
    #[arg(long, conflicts_with_all = ["compare", "check", "gaps"])]
    pub all_kitchens: bool,
    /// Kitchens learn from one another: their priors are those of all of them together
    #[arg(long, requires = "all_kitchens")]
    pub pool: bool,
    /// Folder for the charts of --check
    #[arg(long, value_name = "DIR", default_value = "check")]
    pub out: PathBuf,
}

/// Whether vigour may drift.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum DriftChoice {
    /// As the last comparison found; not at all without one
    Auto,
    /// Yes
    On,
    /// No
    Off,
}
