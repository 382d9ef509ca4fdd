//! What can go wrong when a chart is drawn.

use std::io;

use plotters::drawing::DrawingAreaErrorKind;
use thiserror::Error;

/// Why a chart was not drawn.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ChartError {
    /// The data hold nothing that this chart could show.
    #[error("{chart}: nothing to draw yet; it needs {needs}")]
    NothingToDraw {
        /// The chart's title.
        chart: String,
        /// What to record so that it can be drawn.
        needs: &'static str,
    },
    /// The drawing library refused.
    #[error("{0}")]
    Drawing(String),
    /// The SVG could not be turned into a PNG.
    #[error("{chart}: the PNG could not be made: {reason}")]
    Png {
        /// The chart's title.
        chart: String,
        /// What the rasteriser said.
        reason: String,
    },
}

impl From<DrawingAreaErrorKind<io::Error>> for ChartError {
    fn from(error: DrawingAreaErrorKind<io::Error>) -> Self {
        Self::Drawing(error.to_string())
    }
}
