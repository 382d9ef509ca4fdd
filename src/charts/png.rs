//! A figure as PNG, with the bundled font, so that it looks the same everywhere.

use std::sync::{Arc, LazyLock};

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};

use super::error::ChartError;
use super::figure::Figure;
use super::lettering::FONT;
use super::theme::Scheme;

static FONTS: LazyLock<Arc<fontdb::Database>> = LazyLock::new(|| {
    let mut fonts = fontdb::Database::new();
    fonts.load_font_data(FONT.to_vec());
    Arc::new(fonts)
});

impl Figure {
    /// The picture as PNG; `scale` 2 gives two dots to a pixel, for sharp screens and paper.
    pub fn png(&self, scheme: Scheme, scale: f32) -> Result<Vec<u8>, ChartError> {
        let failed = |reason: String| ChartError::Png { chart: self.title.clone(), reason };
        let options = Options { fontdb: Arc::clone(&FONTS), ..Options::default() };
        let tree = Tree::from_str(&self.fixed_svg(scheme), &options).map_err(|e| failed(e.to_string()))?;
        let size = tree.size().to_int_size().scale_by(scale);
        let mut pixels = size
            .and_then(|size| Pixmap::new(size.width(), size.height()))
            .ok_or_else(|| failed(format!("a scale of {scale} gives no picture")))?;
        resvg::render(&tree, Transform::from_scale(scale, scale), &mut pixels.as_mut());
        pixels.encode_png().map_err(|e| failed(e.to_string()))
    }
}
