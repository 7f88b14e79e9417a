//! From text to a checked sheet, collecting every fault on the way.

use super::schema::{self, Form, KEYS, Key, Kind};
use super::suggest::{self, cut};
use super::value::{self, Datum, Raw, Wrong};
use super::{Entry, LARGEST_SHEET, SHEET_VERSION, Sheet, check, material, region, syntax};
use crate::diagnostic::{Diagnostic, Severity};
use std::collections::BTreeMap;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Most faults that are listed.
const MOST_FAULTS: usize = 50;

/// So many faults, and reading stops: this is not a sheet.
const ENOUGH: usize = 200;

/// The text of a file's bytes.
pub(super) fn utf8(bytes: &[u8]) -> Result<&str, Diagnostic> {
    size(bytes.len())?;
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(Diagnostic::fault("the file is UTF-16, not UTF-8", "save it as UTF-8"));
    }
    std::str::from_utf8(bytes).map_err(|e| {
        let at = e.valid_up_to();
        let line = bytes[..at].iter().filter(|b| **b == b'\n').count() + 1;
        let byte = bytes.get(at).copied().unwrap_or(0);
        Diagnostic::fault(
            format!("the file is not UTF-8: byte 0x{byte:02X} at offset {at}, line {line}"),
            "save it as UTF-8; `um`, `+/-` and `degC` serve for `µm`, `±` and `°C`",
        )
    })
}

fn size(bytes: usize) -> Result<(), Diagnostic> {
    if bytes <= LARGEST_SHEET {
        return Ok(());
    }
    let message = format!("the file has {bytes} bytes; a sheet has {LARGEST_SHEET} at most");
    Err(Diagnostic::fault(message, "give readings and long tables in files of their own"))
}

/// Reads and checks a whole sheet.
pub(super) fn sheet(text: &str, file: &str) -> Result<(Sheet, Vec<Diagnostic>), Vec<Diagnostic>> {
    if let Err(fault) = size(text.len()) {
        return Err(vec![fault.at(file, None)]);
    }
    let (mended, broken) = syntax::mended(text);
    let sound = broken.is_empty();
    let (root, errors) = DeTable::parse_recoverable(&mended);
    let mut reader = Reader::new(text, file);
    for f in broken.into_iter().chain(syntax::duplicates(&errors, text)) {
        reader.fault(f.span, f.message, f.hint);
    }
    reader.form = reader.form_of(root.get_ref());
    reader.table("", root.get_ref());
    if sound && !root.get_ref().contains_key("form") {
        let words = Form::ALL.map(Form::word).join(", ");
        let fault = Diagnostic::fault(
            "the sheet does not say its form",
            format!("write `form = \"pot\"`, or {words}"),
        );
        reader.out.push(fault.at(file, None));
    }

    let Reader { form, entries, places, regions, materials, mut out, .. } = reader;
    let form_known = form.is_some();
    let sheet = Sheet {
        file: file.into(),
        text: text.into(),
        form: form.unwrap_or(Form::Pot),
        entries,
        places,
        regions,
        materials,
    };
    if form_known {
        out.extend(check::contradictions(&sheet));
        if sound {
            out.extend(check::missing(&sheet));
        }
    }
    out.extend(check::remarks(&sheet));
    finish(sheet, out)
}

fn finish(sheet: Sheet, mut out: Vec<Diagnostic>) -> Result<(Sheet, Vec<Diagnostic>), Vec<Diagnostic>> {
    out.sort_by_key(|d| d.span.as_ref().map_or(usize::MAX, |s| s.start));
    out.dedup();
    if out.iter().all(|d| d.severity == Severity::Remark) {
        return Ok((sheet, out));
    }
    if out.len() > MOST_FAULTS {
        let more = out.len() - MOST_FAULTS;
        // The faults come first when not all can be listed.
        out.sort_by_key(|d| d.severity == Severity::Remark);
        out.truncate(MOST_FAULTS);
        out.push(
            Diagnostic::fault(format!("and {more} faults more"), "mend these first").at(&sheet.file, None),
        );
    }
    Err(out)
}

/// Collects entries and faults.
pub(super) struct Reader<'t> {
    text: &'t str,
    file: &'t str,
    pub(super) form: Option<Form>,
    entries: BTreeMap<String, Entry>,
    places: BTreeMap<String, Range<usize>>,
    regions: Vec<region::Region>,
    materials: Vec<material::OwnMaterial>,
    out: Vec<Diagnostic>,
}

impl<'t> Reader<'t> {
    fn new(text: &'t str, file: &'t str) -> Self {
        Self {
            text,
            file,
            form: None,
            entries: BTreeMap::new(),
            places: BTreeMap::new(),
            regions: Vec::new(),
            materials: Vec::new(),
            out: Vec::new(),
        }
    }

    /// The form, if it is given and known; all else depends on it.
    fn form_of(&self, root: &DeTable<'_>) -> Option<Form> {
        Form::from_word(root.get("form")?.get_ref().as_str()?)
    }

    fn table(&mut self, path: &str, table: &DeTable<'_>) {
        for (key, value) in table {
            if self.out.len() >= ENOUGH {
                return;
            }
            let leaf = key.get_ref().as_ref();
            let span = key.span();
            if leaf.contains('.') {
                let message = format!("`\"{}\"` is one key with a dot in it", cut(leaf));
                self.fault(span, message, "write it without quotes");
                continue;
            }
            let full = if path.is_empty() { leaf.to_owned() } else { format!("{path}.{leaf}") };
            match full.as_str() {
                "region" => self.blocks("region", span, value),
                "material" => self.blocks("material", span, value),
                _ => self.item(path, leaf, full, span, value),
            }
        }
    }

    fn item(
        &mut self,
        table: &str,
        leaf: &str,
        path: String,
        span: Range<usize>,
        value: &Spanned<DeValue<'_>>,
    ) {
        if let Some(key) = schema::find(&path) {
            self.places.insert(path.clone(), span.clone());
            return self.key(key, path, span, value);
        }
        let inner = value.get_ref().as_table();
        if schema::is_table(&path) {
            match inner {
                Some(_) if !self.applies(&path) => {
                    let form = self.form.map_or("", Form::word);
                    let message = format!("a \"{form}\" has no [{path}]");
                    self.fault(span, message, suggest::for_table("", self.form));
                }
                Some(inner) => {
                    self.places.insert(path.clone(), span);
                    self.table(&path, inner);
                }
                None => {
                    let hint = format!("write `[{path}]` on a line of its own and its keys below");
                    self.fault(span, format!("`{path}` is a table, not a value"), hint);
                }
            }
            return;
        }
        let shown = cut(&path);
        match inner {
            Some(_) => self.fault(
                span,
                format!("a sheet has no table [{shown}]"),
                suggest::for_table(leaf, self.form),
            ),
            None => {
                let hint = suggest::for_key(table, leaf, self.form);
                self.fault(span, format!("`{shown}` is not a key of a sheet"), hint);
            }
        }
    }

    /// Whether any key of a table applies to the form.
    fn applies(&self, table: &str) -> bool {
        let Some(form) = self.form else { return true };
        let head = table.split('.').next().unwrap_or(table);
        KEYS.iter().any(|key| key.path.split('.').next() == Some(head) && key.forms.contain(form))
    }

    fn key(&mut self, key: &'static Key, path: String, span: Range<usize>, value: &Spanned<DeValue<'_>>) {
        if let Some(form) = self.form.filter(|form| !key.forms.contain(*form)) {
            let keys = suggest::keys_of(key.table(), form);
            let drawn = match (form, key.table()) {
                (Form::Profile, "workpiece") => "draw it as a region with `body = \"workpiece\"`; ",
                _ => "",
            };
            let hint = format!("{drawn}keys of [{}] for a \"{form}\": {keys}", key.table());
            return self.fault(span, format!("`{path}` does not apply to form \"{form}\""), hint);
        }
        match value::read(key, &path, &Raw::of(value.get_ref())) {
            Ok(Datum::Quantity(q)) if path == "sheet" && q.value != f64::from(SHEET_VERSION) => {
                let message =
                    format!("this is version {} of a sheet; version {SHEET_VERSION} is understood", q.value);
                self.fault(value.span(), message, "write `sheet = 1`, or use the release that wrote it");
            }
            Ok(datum) => {
                self.entries.insert(path, Entry { datum, span: Some(value.span()) });
            }
            Err(wrong) => self.wrong(wrong, value),
        }
    }

    /// `[[region]]` and `[[material]]`.
    fn blocks(&mut self, kind: &'static str, span: Range<usize>, value: &Spanned<DeValue<'_>>) {
        let Some(list) = value.get_ref().as_array() else {
            return self.fault(
                span,
                format!("`{kind}` is not a list of tables"),
                format!("write `[[{kind}]]`"),
            );
        };
        for (index, block) in list.iter().enumerate() {
            let Some(table) = block.get_ref().as_table() else {
                self.fault(
                    block.span(),
                    format!("`{kind}` is not a list of tables"),
                    format!("write `[[{kind}]]`"),
                );
                continue;
            };
            // The parser gives a block the span of its heading.
            let place = block.span();
            self.places.entry(kind.to_owned()).or_insert_with(|| place.clone());
            self.places.insert(format!("{kind}.{index}"), place.clone());
            if let Some(name) = table.get("name").and_then(|n| n.get_ref().as_str()) {
                self.places.insert(format!("{kind}.{name}"), place.clone());
            }
            if kind == "region" {
                if let Some(region) = region::read(self, table, place) {
                    self.regions.push(region);
                }
            } else if let Some(material) = material::read(self, table, place) {
                self.materials.push(material);
            }
        }
    }

    /// The values of a block's keys that passed; unknown keys and faulty values are reported.
    ///
    /// Outlines, vectors and curves are left to the caller.
    pub(super) fn block<'a, 'i>(&mut self, keys: &'static [Key], table: &'a DeTable<'i>) -> Block<'a, 'i> {
        let mut block = Block { plain: BTreeMap::new(), lists: BTreeMap::new() };
        for (name, value) in table {
            let name_text = name.get_ref().as_ref();
            let Some(key) = keys.iter().find(|k| k.leaf() == name_text) else {
                let hint = match suggest::nearest(name_text, keys.iter().map(|k| k.leaf())) {
                    Some(meant) => format!("did you mean `{meant}`?"),
                    None => format!("keys: {}", keys.iter().map(|k| k.leaf()).collect::<Vec<_>>().join(", ")),
                };
                let kind = keys.first().map_or("", |k| k.table());
                self.fault(name.span(), format!("`{}` is not a key of a {kind}", cut(name_text)), hint);
                continue;
            };
            match key.kind {
                Kind::Outline | Kind::Vector(_) | Kind::Curve => {
                    block.lists.insert(key.leaf(), value);
                }
                _ => match value::read(key, key.path, &Raw::of(value.get_ref())) {
                    Ok(datum) => {
                        if let Datum::Quantity(q) = datum {
                            self.no_tolerance(&q, key.path, value);
                        }
                        block.plain.insert(key.leaf(), datum);
                    }
                    Err(wrong) => {
                        block.plain.insert(key.leaf(), Datum::Flag(false));
                        self.wrong(wrong, value);
                    }
                },
            }
        }
        block
    }

    /// A quantity without a tolerance, read from an item of a list; `path` is for the message.
    pub(super) fn exact(
        &mut self,
        key: &Key,
        path: &str,
        dimension: crate::quantity::Dimension,
        value: &Spanned<DeValue<'_>>,
    ) -> Option<f64> {
        match value::quantity(key, path, dimension, &Raw::of(value.get_ref())) {
            Ok(q) => self.no_tolerance(&q, path, value).then_some(q.value),
            Err(wrong) => {
                self.wrong(wrong, value);
                None
            }
        }
    }

    fn no_tolerance(
        &mut self,
        q: &crate::quantity::Quantity,
        path: &str,
        value: &Spanned<DeValue<'_>>,
    ) -> bool {
        if q.half_width > 0.0 {
            let message = format!("`{path}` cannot carry a tolerance");
            self.fault(value.span(), message, "leave the `±` out; regions and materials are taken as exact");
        }
        q.half_width == 0.0
    }

    pub(super) fn wrong(&mut self, wrong: Wrong, value: &Spanned<DeValue<'_>>) {
        let span = self.within(wrong.range, value);
        self.fault(span, wrong.message, wrong.hint);
    }

    /// Place in the file of a range within a value's text; the whole value if the text has escapes.
    fn within(&self, range: Option<Range<usize>>, value: &Spanned<DeValue<'_>>) -> Range<usize> {
        let span = value.span();
        let inner = || {
            let range = range?;
            let decoded = value.get_ref().as_str()?;
            let raw = self.text.get(span.clone())?;
            let quotes = if raw.starts_with("\"\"\"") || raw.starts_with("'''") { 3 } else { 1 };
            let plain = raw.get(quotes..quotes + decoded.len())? == decoded && !range.is_empty();
            plain.then(|| span.start + quotes + range.start..span.start + quotes + range.end)
        };
        inner().unwrap_or(span)
    }

    pub(super) fn fault(&mut self, span: Range<usize>, message: impl Into<String>, hint: impl Into<String>) {
        self.out.push(Diagnostic::fault(message, hint).at(self.file, Some(span)));
    }
}

/// What a `[[region]]` or `[[material]]` says.
pub(super) struct Block<'a, 'i> {
    plain: BTreeMap<&'static str, Datum>,
    pub(super) lists: BTreeMap<&'static str, &'a Spanned<DeValue<'i>>>,
}

impl Block<'_, '_> {
    pub(super) fn number(&self, leaf: &str) -> Option<f64> {
        match self.plain.get(leaf)? {
            Datum::Quantity(q) => Some(q.value),
            _ => None,
        }
    }

    pub(super) fn word(&self, leaf: &str) -> Option<String> {
        match self.plain.get(leaf)? {
            Datum::Word(w) => Some(w.clone()),
            _ => None,
        }
    }

    pub(super) fn flag(&self, leaf: &str) -> Option<bool> {
        match self.plain.get(leaf)? {
            Datum::Flag(flag) => Some(*flag),
            _ => None,
        }
    }

    /// Whether the key is there, faulty or not.
    pub(super) fn has(&self, leaf: &str) -> bool {
        self.plain.contains_key(leaf) || self.lists.contains_key(leaf)
    }
}
