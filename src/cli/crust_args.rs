//! What a baker types after `crust`.

use std::path::PathBuf;

/// `crust`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright crust
  doughwright crust --of ripeness")]
pub struct CrustArgs {
    /// What is to be explained: the score, or the verdict under, ready or over
    #[arg(long, value_name = "COLUMN", default_value = "crust_score", value_parser = ["crust_score", "ripeness"])]
    pub of: String,
    /// Folder for the charts
    #[arg(long, value_name = "DIR", default_value = "crust")]
    pub out: PathBuf,
}
