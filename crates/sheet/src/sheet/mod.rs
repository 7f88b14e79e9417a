//! The sheet: the text that describes one magnet, its drive, its surroundings and its workpiece.
//!
//! [`Sheet::parse`] reads it and reports every fault at once, each with its place, its cause and how to mend it.
//! What passes is a map from dotted path (`body.pole_diameter`) to a value in SI with a tolerance. Whether the
//! numbers make a magnet (a pole narrower than its shell) is seen when the form is built.

mod check;
mod correlation;
mod json_schema;
mod keys;
mod material;
mod outline;
mod read;
mod region;
mod schema;
mod suggest;

pub use suggest::nearest;
mod syntax;
mod template;
mod value;

pub use correlation::Correlation;
pub use json_schema::json_schema;
pub use material::{OwnLaw, OwnMaterial};
pub use region::{Node, Region};
pub use schema::Form;
pub use template::template;
pub use value::{TEMPERATURES_K, beyond_reason};

use crate::diagnostic::Diagnostic;
use crate::quantity::{Dimension, Quantity};
use schema::{Key, Kind};
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;
use value::{Datum, Raw};

/// Version of the sheet's format: the number after `sheet =`.
pub const SHEET_VERSION: u32 = 1;

/// Largest sheet that is read, in bytes.
pub const LARGEST_SHEET: usize = 1 << 20;

/// One magnet's description, checked.
#[derive(Clone, Debug)]
pub struct Sheet {
    file: Arc<str>,
    text: Arc<str>,
    form: Form,
    entries: BTreeMap<String, Entry>,
    /// Where the tables and blocks begin.
    places: BTreeMap<String, Range<usize>>,
    regions: Vec<Region>,
    materials: Vec<OwnMaterial>,
}

#[derive(Clone, Debug)]
struct Entry {
    datum: Datum,
    /// `None` if it was set after the text was read.
    span: Option<Range<usize>>,
}

impl Sheet {
    /// Reads and checks a sheet. `Ok` carries remarks; `Err` carries every fault (and remark) found.
    ///
    /// `file` is the name to report; nothing is opened.
    pub fn parse(text: &str, file: &str) -> Result<(Self, Vec<Diagnostic>), Vec<Diagnostic>> {
        read::sheet(text, file)
    }

    /// The same from the bytes of a file, which may turn out not to be UTF-8.
    pub fn parse_bytes(bytes: &[u8], file: &str) -> Result<(Self, Vec<Diagnostic>), Vec<Diagnostic>> {
        match read::utf8(bytes) {
            Ok(text) => Self::parse(text, file),
            Err(fault) => Err(vec![fault.at(file, None)]),
        }
    }

    /// The kind of magnet.
    pub fn form(&self) -> Form {
        self.form
    }

    /// What the user calls it, or the form's word.
    pub fn name(&self) -> &str {
        self.word("name").unwrap_or(self.form.word())
    }

    /// The quantity at a path, if it is given.
    pub fn quantity(&self, path: &str) -> Option<Quantity> {
        debug_assert!(known(path).dimension().is_some(), "`{path}` is not a quantity");
        match self.entries.get(path)?.datum {
            Datum::Quantity(q) => Some(q),
            _ => None,
        }
    }

    /// The value at a path in SI, if it is given.
    pub fn value(&self, path: &str) -> Option<f64> {
        self.quantity(path).map(|q| q.value)
    }

    /// The word or text at a path, if it is given.
    pub fn word(&self, path: &str) -> Option<&str> {
        debug_assert!(!matches!(known(path).kind, Kind::Quantity(_) | Kind::Flag), "`{path}` is not a word");
        match &self.entries.get(path)?.datum {
            Datum::Word(word) => Some(word),
            _ => None,
        }
    }

    /// The flag at a path, if it is given.
    pub fn flag(&self, path: &str) -> Option<bool> {
        debug_assert!(known(path).kind == Kind::Flag, "`{path}` is not a flag");
        match self.entries.get(path)?.datum {
            Datum::Flag(flag) => Some(flag),
            _ => None,
        }
    }

    /// Whether a path is given, or anything under a table such as `workpiece`.
    pub fn has(&self, path: &str) -> bool {
        let under = |p: &String| p.strip_prefix(path).is_some_and(|rest| rest.starts_with('.'));
        match path {
            "region" => !self.regions.is_empty(),
            "material" => !self.materials.is_empty(),
            _ => self.entries.contains_key(path) || self.entries.keys().any(under),
        }
    }

    /// Sets a path from the text that a sheet would have (`--set path=text`), with the same checks; no text takes away what
    /// stands there.
    pub fn set(&mut self, path: &str, text: &str) -> Result<(), Diagnostic> {
        let path = path.trim();
        if text.trim().is_empty() && self.entries.contains_key(path) && !matches!(path, "form" | "sheet") {
            self.entries.remove(path);
            return Ok(());
        }
        let (table, leaf) = path.rsplit_once('.').unwrap_or(("", path));
        let Some(key) = schema::find(path) else {
            let message = format!("a sheet has no key `{}`", suggest::cut(path));
            return Err(Diagnostic::fault(message, suggest::for_key(table, leaf, Some(self.form))));
        };
        if matches!(path, "form" | "sheet") {
            return Err(Diagnostic::fault(format!("`{path}` cannot be set"), "begin another sheet"));
        }
        if !key.forms.contain(self.form) {
            let hint = match suggest::keys_of(table, self.form).as_str() {
                "" => String::new(),
                keys => format!("keys of [{table}]: {keys}"),
            };
            return Err(Diagnostic::fault(
                format!("`{path}` does not apply to form \"{}\"", self.form),
                hint,
            ));
        }
        let datum = value::read(key, path, &Raw::of_argument(text, key.kind))
            .map_err(|wrong| Diagnostic::fault(wrong.message, wrong.hint))?;
        let mut changed = self.clone();
        changed.entries.insert(path.to_owned(), Entry { datum, span: None });
        match check::contradictions(&changed).into_iter().next() {
            Some(fault) => Err(Diagnostic::fault(fault.message, fault.hint)),
            None => {
                *self = changed;
                Ok(())
            }
        }
    }

    /// Sets a number in SI without any check, keeping its tolerance; for derivatives of answers.
    pub fn set_value(&mut self, path: &str, si: f64) {
        let key = known(path);
        let Some(dimension) = key.dimension() else { return };
        let (half_width, span) = match self.entries.get(path) {
            Some(Entry { datum: Datum::Quantity(q), span }) => (q.half_width, span.clone()),
            _ => (0.0, None),
        };
        let datum = Datum::Quantity(Quantity { value: si, half_width, dimension });
        self.entries.insert(path.to_owned(), Entry { datum, span });
    }

    /// Takes over another sheet's table, such as `workpiece`, instead of its own.
    ///
    /// # Errors
    /// An entry does not apply to this form, or names a material that only the other sheet has; nothing is changed then.
    pub fn take_table(&mut self, table: &str, from: &Self) -> Result<(), Diagnostic> {
        let under = |path: &str| path.strip_prefix(table).is_some_and(|rest| rest.starts_with('.'));
        let mut changed = self.clone();
        changed.entries.retain(|path, _| !under(path));
        for (path, entry) in from.entries.iter().filter(|(path, _)| under(path)) {
            let key = known(path);
            if !key.forms.contain(self.form) {
                let message = format!("`{path}` does not apply to form \"{}\"", self.form);
                return Err(Diagnostic::fault(message, ""));
            }
            if let Datum::Word(word) = &entry.datum
                && from.materials.iter().any(|own| own.name == *word)
            {
                let message = format!("`{path}` is \"{word}\", a material of `{}` alone", from.file);
                return Err(Diagnostic::fault(message, "give both sheets that [[material]]"));
            }
            changed.entries.insert(path.clone(), Entry { datum: entry.datum.clone(), span: None });
        }
        match check::contradictions(&changed).into_iter().next() {
            Some(fault) => Err(Diagnostic::fault(fault.message, fault.hint)),
            None => {
                *self = changed;
                Ok(())
            }
        }
    }

    /// Whether a path stands here as it does in another sheet: the same value with the same tolerance, or in neither.
    pub fn agrees(&self, other: &Self, path: &str) -> bool {
        self.entries.get(path).map(|entry| &entry.datum) == other.entries.get(path).map(|entry| &entry.datum)
    }

    /// Takes a path out.
    pub fn remove(&mut self, path: &str) {
        self.entries.remove(path);
    }

    /// Every path that is given, in alphabetical order.
    pub fn paths(&self) -> impl Iterator<Item = &str> {
        self.entries.keys().map(String::as_str)
    }

    /// A fault at a path's place in the text; or at its table's, or at the whole file.
    ///
    /// `region.NAME` and `material.NAME` are the places of those blocks.
    pub fn fault(&self, path: &str, message: impl Into<String>, hint: impl Into<String>) -> Diagnostic {
        Diagnostic::fault(message, hint).at(&self.file, self.place(path))
    }

    /// A remark placed as [`Sheet::fault`] is.
    pub fn remark(&self, path: &str, message: impl Into<String>, hint: impl Into<String>) -> Diagnostic {
        Diagnostic::remark(message, hint).at(&self.file, self.place(path))
    }

    fn place(&self, path: &str) -> Option<Range<usize>> {
        if let Some(entry) = self.entries.get(path) {
            return entry.span.clone();
        }
        let mut table = path;
        loop {
            if let Some(place) = self.places.get(table) {
                return Some(place.clone());
            }
            table = table.rsplit_once('.')?.0;
        }
    }

    /// The `[[region]]` blocks of form `profile`.
    pub fn regions(&self) -> &[Region] {
        &self.regions
    }

    /// The `[[material]]` blocks.
    pub fn own_materials(&self) -> &[OwnMaterial] {
        &self.materials
    }

    /// The text that was read.
    pub fn source_text(&self) -> &str {
        &self.text
    }

    /// The file's name as it was given.
    pub fn file(&self) -> &str {
        &self.file
    }
}

/// What kind of quantity stands at a path; none if no sheet has a number there.
pub fn number_at(path: &str) -> Option<Dimension> {
    schema::find(path)?.dimension()
}

/// The key of a path that the program itself names.
fn known(path: &str) -> &'static Key {
    static NONE: Key = schema::KEYS[0];
    let key = schema::find(path);
    debug_assert!(key.is_some(), "`{path}` is not in the schema");
    key.unwrap_or(&NONE)
}
