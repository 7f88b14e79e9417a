//! Series as line charts: one panel for each kind of quantity over a common abscissa, with 95 % bands.
//!
//! The SVG is written here rather than by a charting crate: text is measured with the font that is drawn, ids carry a
//! prefix so that several figures can stand on one page, and nothing but plain attributes is used, so that a figure
//! looks the same inline, in a file, on paper and as PNG.

mod draw;
mod map;
mod plan;
mod png;
mod ramp;
mod ticks;

pub(crate) use map::{closed as shade, strengths, svg as map_svg};
pub use plan::Curves;
pub use png::png;

use coilwright_magnet::quantity::UnitSystem;

/// Why there is no chart.
#[derive(Debug, thiserror::Error)]
pub enum ChartError {
    /// Nothing finite to draw.
    #[error("the series `{0}` has no point that could be drawn")]
    Empty(String),
    /// The rasteriser refused.
    #[error("the chart could not be turned into pixels: {0}")]
    Raster(String),
}

/// One SVG figure of the same series of one or several magnets, as a document of its own.
///
/// `prefix` begins every id in the figure and must differ between figures of one page (letters, digits, `-`).
pub fn svg(curves: &[Curves<'_>], units: UnitSystem, prefix: &str) -> Result<String, ChartError> {
    plan::plan(curves, units).map(|plan| draw::draw(&plan, prefix, Setting::File))
}

/// The same to stand inside a page about one magnet, which says whose it is and has a background of its own.
pub(crate) fn inline_svg(curves: Curves<'_>, units: UnitSystem, prefix: &str) -> Result<String, ChartError> {
    plan::plan(&[curves], units).map(|plan| draw::draw(&plan, prefix, Setting::Page))
}

/// Where a figure stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Setting {
    /// In a file of its own.
    File,
    /// In a page.
    Page,
}

#[cfg(test)]
mod tests;
