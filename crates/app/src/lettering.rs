//! How wide a text is in the font of charts and drawings (Noto Sans, shipped by the `notosans` crate under the OFL 1.1).

use skrifa::instance::{LocationRef, Size};
use skrifa::{FontRef, MetadataProvider};

/// Font families, the measured one first, then what systems have.
pub(crate) const FAMILIES: &str = "Noto Sans, Segoe UI, Roboto, Helvetica, Arial, DejaVu Sans, sans-serif";

/// Width of a line in pixels at a font size in pixels.
pub(crate) fn width(text: &str, size: f64, bold: bool) -> f64 {
    let bytes = if bold { notosans::BOLD_TTF } else { notosans::REGULAR_TTF };
    // Half an em for each character is what one would guess without a font.
    let Ok(font) = FontRef::new(bytes) else { return 0.5 * size * text.chars().count() as f64 };
    let metrics = font.glyph_metrics(Size::new(size as f32), LocationRef::default());
    let charmap = font.charmap();
    let advance = |c: char| charmap.map(c).and_then(|glyph| metrics.advance_width(glyph));
    text.chars().map(|c| advance(c).map_or(0.6 * size, f64::from)).sum()
}

/// Breaks a text into lines no wider than `most` pixels, at spaces.
pub(crate) fn lines(text: &str, size: f64, bold: bool, most: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if width(&format!("{line} {word}"), size, bold) <= most => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_grow_with_text_and_size() {
        assert!(width("iiii", 12.0, false) < width("mmmm", 12.0, false));
        assert!((width("pull", 24.0, false) / width("pull", 12.0, false) - 2.0).abs() < 0.02);
        assert_eq!(width("", 12.0, false), 0.0);
    }

    #[test]
    fn lines_break_at_spaces() {
        let broken = lines("one two three four", 12.0, false, width("three four", 12.0, false) + 1.0);
        assert_eq!(broken, ["one two", "three four"]);
        assert_eq!(lines("indivisible", 12.0, false, 1.0), ["indivisible"]);
    }

    /// Every sign that labels use has a glyph.
    #[test]
    fn the_font_has_our_signs() {
        let font = FontRef::new(notosans::REGULAR_TTF).unwrap();
        for sign in "µΩ±²³×·…–\u{2212}°≤≥≈Δ".chars() {
            assert!(font.charmap().map(sign).is_some(), "{sign}");
        }
    }
}
