//! Pieces or trays wanted, on the command line.

use crate::advice::scaling::{USUAL_G_PER_CM2, Wanted, scaled};
use crate::dough::Batch;

use super::failure::Failure;

/// Pieces or trays wanted.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = "How much")]
pub struct WantedArgs {
    /// So many pieces (or trays), each of --piece-g; the recipe is scaled to them
    #[arg(long, value_name = "N")]
    pub pieces: Option<f64>,
    /// A tray's size in cm, such as 30x40: a piece is then what fills it
    #[arg(long, value_name = "CMxCM")]
    pub tray: Option<String>,
    /// Dough on a tray, in g for each cm²
    #[arg(long, value_name = "G", default_value_t = USUAL_G_PER_CM2)]
    pub per_cm2: f64,
    /// Dough that stays in the bowl and on the bench, in percent
    #[arg(long, value_name = "PERCENT", default_value_t = 1.0)]
    pub loss: f64,
}

impl WantedArgs {
    /// A completed plan made for what is wanted; `given` is the plan before it was completed.
    pub fn apply(&self, given: &Batch, complete: Batch) -> Result<Batch, Failure> {
        let tray_g = self.tray.as_deref().map(|t| self.tray_g(t)).transpose()?;
        if self.pieces.is_none() && tray_g.is_none() {
            return Ok(complete);
        }
        let call = |why: String| Err(Failure::Call(why));
        if given.flour_g.is_some() && given.water_g.is_none() {
            return call("flour_g and --pieces both say how much: leave one out".into());
        }
        if tray_g.is_some() && given.piece_g.is_some() {
            return call("--tray and piece_g both say what a piece weighs: leave one out".into());
        }
        let pieces = self.pieces.unwrap_or(1.0);
        if !(0.1..=100_000.0).contains(&pieces) {
            return call(format!("--pieces {pieces}: a number of pieces is wanted"));
        }
        if !(0.0..=50.0).contains(&self.loss) {
            return call(format!("--loss {}: 0 to 50 percent are wanted", self.loss));
        }
        Ok(scaled(&complete, &Wanted { pieces, piece_g: tray_g, loss: self.loss / 100.0 })?)
    }

    fn tray_g(&self, text: &str) -> Result<f64, Failure> {
        let wrong = || Failure::Call(format!("--tray '{text}': two lengths in cm are wanted, such as 30x40"));
        let (a, b) = text.split_once(['x', 'X']).ok_or_else(wrong)?;
        let side =
            |t: &str| t.trim().parse::<f64>().ok().filter(|l| (1.0..=500.0).contains(l)).ok_or_else(wrong);
        if !(0.05..=5.0).contains(&self.per_cm2) {
            return Err(Failure::Call(format!("--per-cm2 {}: 0.05 to 5 g are wanted", self.per_cm2)));
        }
        Ok((side(a)? * side(b)? * self.per_cm2).round())
    }
}
