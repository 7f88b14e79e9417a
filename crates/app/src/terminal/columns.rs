//! Padding, wrapping and aligning by what a terminal shows, not by bytes.

use unicode_width::UnicodeWidthStr;

/// Text made `width` columns wide, on the left.
pub(super) fn pad(text: &str, width: usize) -> String {
    format!("{text}{}", " ".repeat(width.saturating_sub(text.width())))
}

/// Text made `width` columns wide, on the right.
pub(super) fn pad_left(text: &str, width: usize) -> String {
    format!("{}{text}", " ".repeat(width.saturating_sub(text.width())))
}

/// The widest of the texts, but no more than `most`.
pub(super) fn widest<'a>(texts: impl Iterator<Item = &'a str>, most: usize) -> usize {
    texts.map(UnicodeWidthStr::width).max().unwrap_or(0).min(most)
}

/// A space at which no line is broken (U+00A0).
const STAY: char = '\u{a0}';

/// A number and its unit stay on one line.
fn together(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let mut out = String::new();
    for (k, word) in words.iter().enumerate() {
        out.push_str(word);
        let Some(next) = words.get(k + 1) else { break };
        let number =
            word.trim_start_matches(['(', '≤', '±', '-', '+']).starts_with(|c: char| c.is_ascii_digit());
        let number = number && word.ends_with(|c: char| c.is_ascii_digit());
        let unit = next.trim_end_matches(['.', ',', ';', ':', ')']);
        let unit = (1..=5).contains(&unit.chars().count()) && !COMMON.contains(&unit);
        out.push(if number && unit { STAY } else { ' ' });
    }
    out
}

/// Short words that are no units.
const COMMON: [&str; 14] =
    ["and", "at", "by", "for", "from", "here", "in", "is", "of", "on", "or", "out", "the", "to"];

/// Text wrapped to `width` columns. The first line already stands at column `first`, the others are indented by
/// `rest`. Never narrower than 20 columns.
pub(super) fn fill(text: &str, width: usize, first: usize, rest: usize) -> String {
    let width = width.max(first.max(rest) + 20);
    let text = together(text);
    let ahead = " ".repeat(first);
    let hanging = " ".repeat(rest);
    let options = textwrap::Options::new(width)
        .initial_indent(&ahead)
        .subsequent_indent(&hanging)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    let wrapped = textwrap::fill(&text, options).replace(STAY, " ");
    wrapped.get(first..).unwrap_or_default().to_owned()
}

/// Numbers aligned at the decimal point, all equally wide.
pub(super) fn align_points(cells: &[String]) -> Vec<String> {
    let split = |cell: &str| -> (usize, usize) {
        let whole = cell.find(['.', 'e']).unwrap_or(cell.len());
        (cell[..whole].width(), cell[whole..].width())
    };
    let left = cells.iter().map(|cell| split(cell).0).max().unwrap_or(0);
    let right = cells.iter().map(|cell| split(cell).1).max().unwrap_or(0);
    cells
        .iter()
        .map(|cell| {
            let (whole, rest) = split(cell);
            format!("{}{cell}{}", " ".repeat(left - whole), " ".repeat(right - rest))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_stand_in_one_column() {
        let cells = ["412", "0.51", "33.5"].map(String::from);
        assert_eq!(align_points(&cells), ["412   ", "  0.51", " 33.5 "]);
    }

    #[test]
    fn text_hangs() {
        assert_eq!(fill("aaaa bbbb cccc dddd eeee", 26, 4, 6), "aaaa bbbb cccc dddd\n      eeee");
        assert_eq!(pad("Ω", 3), "Ω  ");
        assert_eq!(pad_left("Ω", 3), "  Ω");
    }
}
