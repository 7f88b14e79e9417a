//! The font of a page within it: each face cut down to the characters that the page has, so that it looks the same everywhere
//! and its drawings are lettered in what they were measured for.

use crate::chart::ChartError;
use allsorts::binary::read::ReadScope;
use allsorts::font_data::FontData;
use allsorts::subset::{CmapTarget, SubsetProfile, subset};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use skrifa::{FontRef, MetadataProvider};
use std::collections::BTreeSet;
use std::fmt::{Debug, Write};

/// The faces that a page uses: file, weight, style.
const FACES: [(&[u8], u16, &str); 3] = [
    (notosans::REGULAR_TTF, 400, "normal"),
    (notosans::BOLD_TTF, 700, "normal"),
    (notosans::ITALIC_TTF, 400, "italic"),
];

/// The rules of style that bring the faces with them, for a page of these words.
pub(super) fn embedded(words: &str) -> Result<String, ChartError> {
    let characters: BTreeSet<char> = words.chars().collect();
    let mut rules = String::new();
    for (file, weight, style) in FACES {
        let face = STANDARD.encode(cut_down(file, &characters)?);
        let _ = writeln!(
            rules,
            "@font-face{{font-family:\"Noto Sans\";font-weight:{weight};font-style:{style};\
             src:url(data:font/ttf;base64,{face}) format(\"truetype\")}}"
        );
    }
    Ok(rules)
}

/// A font file with no more than these characters, and the sign for those that it lacks.
fn cut_down(file: &[u8], characters: &BTreeSet<char>) -> Result<Vec<u8>, ChartError> {
    let charmap = FontRef::new(file).map_err(refused)?.charmap();
    let found = characters.iter().filter_map(|c| u16::try_from(charmap.map(*c)?.to_u32()).ok());
    let glyphs: BTreeSet<u16> = [0].into_iter().chain(found).collect();
    let glyphs: Vec<u16> = glyphs.into_iter().collect();
    let font = ReadScope::new(file).read::<FontData<'_>>().map_err(refused)?;
    let tables = font.table_provider(0).map_err(refused)?;
    subset(&tables, &glyphs, &SubsetProfile::Minimal, CmapTarget::Unicode).map_err(refused)
}

fn refused(why: impl Debug) -> ChartError {
    ChartError::Lettering(format!("{why:?}"))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests")]

    use super::*;
    use skrifa::instance::{LocationRef, Size};

    /// Letters that are asked for are there, as wide as they were; others are not; and little is carried along.
    #[test]
    fn a_face_keeps_its_letters() {
        let characters: BTreeSet<char> = "Pulls 746 N ± Ω µ".chars().collect();
        for (file, ..) in FACES {
            let cut = cut_down(file, &characters).unwrap();
            assert!(cut.len() < 20_000 && cut.len() < file.len() / 8, "{}", cut.len());
            let [whole, less] = [file, &cut].map(|bytes| {
                let font = FontRef::new(bytes).unwrap();
                let metrics = font.glyph_metrics(Size::new(16.0), LocationRef::default());
                let width = |c: char| font.charmap().map(c).and_then(|glyph| metrics.advance_width(glyph));
                ("Pulls746N±Ωµ".chars().map(width).collect::<Vec<_>>(), width('Q'))
            });
            assert!(whole.0 == less.0 && less.0.iter().all(Option::is_some), "{:?}", less.0);
            assert!(whole.1.is_some() && less.1.is_none());
        }
    }
}
