//! Says in a sheet's terms what the text's syntax lacks, and sets broken lines aside so that the rest is checked.

use super::suggest::cut;
use std::borrow::Cow;
use std::ops::Range;
use toml::de::{DeTable, Error};

/// A fault of syntax with its place.
pub(super) struct SyntaxFault {
    pub(super) span: Range<usize>,
    pub(super) message: String,
    pub(super) hint: String,
}

/// Longest text that is read again without its broken lines; in a longer one the first is reported.
const LONGEST_MENDED: usize = 1 << 16;

/// Most broken lines, and most duplicates, that are told apart.
const MOST: usize = 50;

/// The text with its broken lines blanked out (all offsets stay as they are), and what was wrong with them.
///
/// A line that cannot be read spoils the parser's view of what follows; without it the rest can be checked.
pub(super) fn mended(text: &str) -> (Cow<'_, str>, Vec<SyntaxFault>) {
    let mut mended = Cow::Borrowed(text);
    let mut found = Vec::new();
    loop {
        let (_, errors) = DeTable::parse_recoverable(&mended);
        let place = |e: &Error| e.span().unwrap_or(text.len()..text.len());
        let first = errors.iter().filter(|e| !is_duplicate(e)).min_by_key(|e| place(e).start);
        let Some(error) = first else { return (mended, found) };
        let span = place(error);
        let span = span.start.min(text.len())..span.end.min(text.len());
        let (span, broken) = broken_part(&mended, span);
        found.push(explain(error.message(), &span, text));
        let part = &mended[broken.clone()];
        if found.len() == MOST || text.len() > LONGEST_MENDED || part.trim().is_empty() {
            return (mended, found);
        }
        let blank: String = part.bytes().map(|b| if b == b'\n' { '\n' } else { ' ' }).collect();
        mended.to_mut().replace_range(broken, &blank);
    }
}

/// Keys and tables that are given twice.
pub(super) fn duplicates(errors: &[Error], text: &str) -> Vec<SyntaxFault> {
    let named = |error: &Error| {
        let span = error.span()?;
        let name = cut(text.get(span.clone())?);
        let heading = text.get(line_at(text, span.start))?.trim_start().starts_with('[');
        let (message, hint) = if heading {
            (format!("the table `{name}` is opened twice"), "put its keys together under one heading")
        } else {
            (format!("`{name}` is given twice"), "keep one of the two lines")
        };
        Some(SyntaxFault { span, message, hint: hint.into() })
    };
    errors.iter().filter(|e| is_duplicate(e)).take(MOST).filter_map(named).collect()
}

fn is_duplicate(error: &Error) -> bool {
    error.message().starts_with("duplicate key")
}

/// Where to point, and what to leave out, for an error at this place.
fn broken_part(text: &str, span: Range<usize>) -> (Range<usize>, Range<usize>) {
    let line = line_at(text, span.start);
    // A list or table left open some lines above shows only where the next key begins.
    let mut above = line.clone();
    for _ in 0..MOST {
        if above.start == 0 {
            break;
        }
        above = line_at(text, above.start - 1);
        let content = &text[above.clone()];
        if is_heading(content) {
            break;
        }
        if is_assignment(content) {
            if is_left_open(content) {
                return (
                    value_at(content, &above),
                    up_to(text, &above, |l| is_heading(l) || is_assignment(l)),
                );
            }
            break;
        }
    }
    let content = &text[line.clone()];
    if content.trim_start().starts_with('[') {
        // Without its heading a table's keys would seem to belong to the table before.
        return (span, up_to(text, &line, is_heading));
    }
    if is_left_open(content) {
        return (value_at(content, &line), up_to(text, &line, |l| is_heading(l) || is_assignment(l)));
    }
    (span, line)
}

/// Where the value of a line stands.
fn value_at(content: &str, line: &Range<usize>) -> Range<usize> {
    let after = content.find('=').map_or(0, |i| i + 1);
    let spaces = content[after..].len() - content[after..].trim_start().len();
    line.start + after + spaces..line.start + content.trim_end().len().max(after + spaces)
}

/// Whether a list, a table or a text over several lines begins here and does not end here.
fn is_left_open(line: &str) -> bool {
    let Some((_, value)) = line.split_once('=') else { return false };
    let more = |open: char, close: char| value.matches(open).count() > value.matches(close).count();
    more('[', ']') || more('{', '}') || ["\"\"\"", "'''"].iter().any(|q| value.matches(q).count() == 1)
}

/// From this line to the end of the last one before a beginning.
fn up_to(text: &str, line: &Range<usize>, is_beginning: impl Fn(&str) -> bool) -> Range<usize> {
    let mut end = line.end;
    while end < text.len() {
        let next = line_at(text, end + 1);
        if is_beginning(&text[next.clone()]) {
            break;
        }
        end = next.end;
    }
    line.start..end
}

fn is_heading(line: &str) -> bool {
    let line = line.trim_start();
    line.starts_with('[') && line.trim_start_matches('[').starts_with(|c: char| c.is_alphabetic())
}

fn is_assignment(line: &str) -> bool {
    line.split_once('=').is_some_and(|(key, _)| {
        let key = key.trim();
        !key.is_empty() && key.chars().all(|c| c.is_alphanumeric() || "_-. ".contains(c))
    })
}

/// Byte range of the line that holds this byte.
fn line_at(text: &str, at: usize) -> Range<usize> {
    let bytes = text.as_bytes();
    let at = at.min(bytes.len());
    let start = bytes[..at].iter().rposition(|b| *b == b'\n').map_or(0, |i| i + 1);
    let end = bytes[at..].iter().position(|b| *b == b'\n').map_or(bytes.len(), |i| at + i);
    start..end
}

fn explain(library: &str, span: &Range<usize>, text: &str) -> SyntaxFault {
    let line = text.get(line_at(text, span.start)).unwrap_or("").trim();
    let (message, hint) = of_line(line)
        .or_else(|| match line.split_once('=') {
            Some((key, value)) => of_assignment(key.trim(), value.split('#').next().unwrap_or("").trim()),
            None => of_heading(line),
        })
        .unwrap_or_else(|| by_kind(library, line));
    SyntaxFault { span: span.clone(), message, hint }
}

type Words = (String, String);

fn of_line(line: &str) -> Option<Words> {
    if line.contains(|c: char| c.is_control() && c != '\t') {
        return Some(("the line holds a control character".into(), "retype the line".into()));
    }
    if line.contains(['“', '”', '‘', '’', '„', '«', '»']) {
        return Some(("there are typographic quotation marks".into(), "use the plain ones: \" \"".into()));
    }
    if line.split(['"', '\'', '=']).next().is_some_and(|head| head.contains(':')) {
        return Some((format!("`{}` has a colon", cut(line)), "write `key = \"value\"`".into()));
    }
    None
}

fn of_assignment(key: &str, value: &str) -> Option<Words> {
    let shown = cut(key);
    if key.is_empty() {
        return Some(("there is no key before the `=`".into(), "write `key = \"value\"`".into()));
    }
    if value.is_empty() {
        return Some((format!("`{shown}` has no value"), format!("write `{shown} = \"...\"`")));
    }
    if value.starts_with('=') {
        return Some(("there are two `=`".into(), "write `key = \"value\"`".into()));
    }
    let bare = |c: char| c.is_alphanumeric() || "+-.±".contains(c);
    if value.starts_with(bare) {
        let value = cut(value);
        return Some((format!("`{value}` must stand in quotes"), format!("write `{shown} = \"{value}\"`")));
    }
    if is_left_open(&format!("={value}")) {
        let (what, end) = match value.chars().next() {
            Some('{') => ("`{ }`", "}"),
            Some('[') => ("list", "]"),
            _ => ("text", "the three quotation marks it began with"),
        };
        let commas = if end.len() == 1 { " and put commas between its items" } else { "" };
        return Some((
            format!("the {what} after `{shown}` does not end"),
            format!("close it with {end}{commas}"),
        ));
    }
    if let Some(quote) = value.chars().next().filter(|c| "\"'".contains(*c)) {
        let Some((inside, rest)) = value[1..].split_once(quote) else {
            return Some((
                "the closing quotation mark is missing".into(),
                format!("end the text with {quote}"),
            ));
        };
        if inside.contains('\\') {
            let hint = "write it twice, or use single quotes ' '".into();
            return Some(("a backslash in the text is not understood".into(), hint));
        }
        if !rest.trim().is_empty() {
            let message = format!("`{}` stands after the closing quotation mark", cut(rest.trim()));
            return Some((
                message,
                "put the whole value within one pair of quotes, and remarks after a #".into(),
            ));
        }
    }
    if key.contains(' ') && !key.contains(['"', '\'']) {
        return Some((
            format!("the key `{shown}` contains a space"),
            format!("write `{}`", shown.replace(' ', "_")),
        ));
    }
    None
}

fn of_heading(line: &str) -> Option<Words> {
    if !line.starts_with('[') {
        return None;
    }
    let (open, close) = if line.starts_with("[[") { ("[[", "]]") } else { ("[", "]") };
    let name = cut(line.split('#').next().unwrap_or("").trim_matches(['[', ']', ' ']));
    let right = format!("{open}{name}{close}");
    let plain = !name.is_empty() && name.chars().all(|c| c.is_alphanumeric() || "_-.".contains(c));
    let hint = if plain { format!("write `{right}`") } else { "write `[body]`, `[winding]`, ...".into() };
    Some((format!("the heading `{}` is not well formed", cut(line)), hint))
}

/// When the line itself does not tell, by what the parser missed.
fn by_kind(library: &str, line: &str) -> Words {
    let has = |words: &[&str]| words.iter().any(|w| library.contains(w));
    let (message, hint) = if has(&["recurs"]) {
        ("lists or tables are nested too deeply", "no sheet needs more than four levels")
    } else if has(&["array"]) {
        ("the list is not well formed", "write `[\"a\", \"b\"]`, with commas between the items")
    } else if has(&["inline table"]) {
        ("the `{ }` is not well formed", "write `{ a = \"1\", b = \"2\" }`")
    } else if has(&["string", "quote", "escape"]) {
        ("the text in quotes is not well formed", "close it with the quotation mark it began with")
    } else {
        let message = format!("`{}` is neither a heading nor a key with a value", cut(line));
        return (message, "write `[heading]`, `key = \"value\"`, or put a # before a remark".into());
    };
    (message.into(), hint.into())
}
