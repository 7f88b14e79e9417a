//! A chart as pixels. The fonts come with the program, so a machine without any shows the same picture.

use super::ChartError;
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree};
use std::sync::Arc;

/// Pixels per SVG unit: sharp on paper and on fine screens.
const ZOOM: f32 = 2.0;

/// An SVG of [`super::svg`] as a PNG file's bytes.
pub fn png(svg: &str) -> Result<Vec<u8>, ChartError> {
    let raster = |error: &dyn std::fmt::Display| ChartError::Raster(error.to_string());
    let mut options = Options { font_family: "Noto Sans".into(), ..Options::default() };
    let fonts = Arc::make_mut(&mut options.fontdb);
    fonts.load_font_data(notosans::REGULAR_TTF.to_vec());
    fonts.load_font_data(notosans::BOLD_TTF.to_vec());
    fonts.set_sans_serif_family("Noto Sans");
    let tree = Tree::from_str(svg, &options).map_err(|error| raster(&error))?;
    let size = tree.size().to_int_size().scale_by(ZOOM).ok_or_else(|| raster(&"no size"))?;
    let mut pixels = Pixmap::new(size.width(), size.height()).ok_or_else(|| raster(&"no size"))?;
    resvg::render(&tree, Transform::from_scale(ZOOM, ZOOM), &mut pixels.as_mut());
    pixels.encode_png().map_err(|error| raster(&error))
}
