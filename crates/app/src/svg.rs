//! Writing SVG: escaped text, short numbers, elements with plain attributes.

use std::fmt::{Display, Write};

/// Text between tags or in a double-quoted attribute. Characters that XML 1.0 does not allow become U+FFFD.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' | '\n' | '\r' => out.push(' '),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

/// A coordinate: hundredths of a pixel are finer than any screen.
pub(crate) fn px(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.into() }
}

/// An SVG document in the making.
#[derive(Default)]
pub(crate) struct Svg(String);

impl Svg {
    /// An opening tag.
    pub(crate) fn open(&mut self, name: &str, attributes: &[(&str, &dyn Display)]) {
        self.tag(name, attributes, ">\n");
    }

    /// A closing tag.
    pub(crate) fn close(&mut self, name: &str) {
        let _ = writeln!(self.0, "</{name}>");
    }

    /// An element without content.
    pub(crate) fn leaf(&mut self, name: &str, attributes: &[(&str, &dyn Display)]) {
        self.tag(name, attributes, "/>\n");
    }

    /// An element with text.
    pub(crate) fn text(&mut self, name: &str, attributes: &[(&str, &dyn Display)], text: &str) {
        self.tag(name, attributes, ">");
        let _ = writeln!(self.0, "{}</{name}>", escape(text));
    }

    /// The document.
    pub(crate) fn finish(self) -> String {
        self.0
    }

    fn tag(&mut self, name: &str, attributes: &[(&str, &dyn Display)], end: &str) {
        let _ = write!(self.0, "<{name}");
        for (key, value) in attributes {
            let _ = write!(self.0, " {key}=\"{}\"", escape(&value.to_string()));
        }
        self.0.push_str(end);
    }
}
