//! What a key of the sheet is: its path, kind, range and the forms it applies to. The table of them all is
//! [`KEYS`]; reading, checks, suggestions, starting sheets and the editors' schema derive from it.

use crate::quantity::Dimension;
use std::fmt;

pub(crate) use super::keys::{KEYS, MATERIAL_KEYS, REGION_KEYS, TABLES};

/// The kind of magnet a sheet describes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Form {
    /// Steel shell with a back, a centre pole and a winding between them.
    Pot,
    /// Coil on a straight core, with or without a head and a pole shoe.
    Bar,
    /// Coil without iron.
    Coil,
    /// Two legs on a yoke (planar, with a depth).
    Horseshoe,
    /// Three legs on a back, wound on the centre one (planar, with a depth).
    ECore,
    /// Permanent-magnet disc.
    Disc,
    /// Permanent-magnet ring.
    Ring,
    /// Permanent-magnet disc in a steel cup.
    PottedDisc,
    /// A free list of regions in r–z or x–y.
    Profile,
}

impl Form {
    /// Every form.
    pub const ALL: [Self; 9] = [
        Self::Pot,
        Self::Bar,
        Self::Coil,
        Self::Horseshoe,
        Self::ECore,
        Self::Disc,
        Self::Ring,
        Self::PottedDisc,
        Self::Profile,
    ];

    /// The word that stands for it in a sheet.
    pub fn word(self) -> &'static str {
        match self {
            Self::Pot => "pot",
            Self::Bar => "bar",
            Self::Coil => "coil",
            Self::Horseshoe => "horseshoe",
            Self::ECore => "e-core",
            Self::Disc => "disc",
            Self::Ring => "ring",
            Self::PottedDisc => "potted-disc",
            Self::Profile => "profile",
        }
    }

    /// The form of that name.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|f| f.word() == word)
    }
}

impl fmt::Display for Form {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// The forms that a key applies to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Forms(u16);

impl Forms {
    pub(crate) const NONE: Self = Self(0);
    pub(crate) const ALL: Self = Self(0x1ff);

    pub(crate) const fn of(forms: &[Form]) -> Self {
        let (mut bits, mut i) = (0, 0);
        while i < forms.len() {
            bits |= 1 << forms[i] as u16;
            i += 1;
        }
        Self(bits)
    }

    pub(crate) fn contain(self, form: Form) -> bool {
        self.0 & (1 << form as u16) != 0
    }
}

/// What a value is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Kind {
    /// A number of this dimension.
    Quantity(Dimension),
    /// One of these words.
    Word(&'static [&'static str]),
    /// One of these words, or a number of this dimension.
    WordOr(&'static [&'static str], Dimension),
    /// Any text, or a date.
    Text,
    /// A number with a unit of any dimension, kept as text.
    AnyQuantity,
    /// `true` or `false`.
    Flag,
    /// A closed outline: a list of nodes.
    Outline,
    /// Two numbers of this dimension, along r|x and z|y; one alone is along z|y.
    Vector(Dimension),
    /// A list of pairs of H and B.
    Curve,
}

/// Which numbers are allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Range {
    Any,
    /// Greater than zero.
    Positive,
    NotNegative,
    /// Greater than zero, at most one.
    Share,
    /// Zero to one.
    ShareOrNone,
    /// 1, 2, 3, ...
    Whole,
}

/// One key of the sheet.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Key {
    /// Dotted path; a `*` stands for one name of the user's choice.
    pub(crate) path: &'static str,
    pub(crate) kind: Kind,
    pub(crate) range: Range,
    pub(crate) forms: Forms,
    pub(crate) required: Forms,
    /// One short phrase.
    pub(crate) doc: &'static str,
    /// As it stands in a sheet, without quotes.
    pub(crate) example: &'static str,
    /// What is taken where it is not given; empty if nothing is.
    pub(crate) assumed: &'static str,
    /// Paths that may not stand beside it, and why.
    pub(crate) excludes: &'static [&'static str],
}

impl Key {
    pub(crate) const fn new(
        path: &'static str,
        kind: Kind,
        doc: &'static str,
        example: &'static str,
    ) -> Self {
        let range = match kind {
            Kind::Quantity(Dimension::Count) => Range::Whole,
            Kind::Quantity(_) => Range::Positive,
            _ => Range::Any,
        };
        Self {
            path,
            kind,
            range,
            forms: Forms::ALL,
            required: Forms::NONE,
            doc,
            example,
            assumed: "",
            excludes: &[],
        }
    }

    pub(crate) const fn only(mut self, forms: &[Form]) -> Self {
        self.forms = Forms::of(forms);
        self
    }

    pub(crate) const fn required(mut self, forms: &[Form]) -> Self {
        self.required = Forms::of(forms);
        self
    }

    pub(crate) const fn range(mut self, range: Range) -> Self {
        self.range = range;
        self
    }

    pub(crate) const fn assumed(mut self, assumed: &'static str) -> Self {
        self.assumed = assumed;
        self
    }

    pub(crate) const fn excludes(mut self, paths: &'static [&'static str]) -> Self {
        self.excludes = paths;
        self
    }

    /// The table it stands in, such as `body` or `instruments.*`; empty at the top.
    pub(crate) fn table(&self) -> &'static str {
        self.path.rsplit_once('.').map_or("", |(table, _)| table)
    }

    /// Its name within the table.
    pub(crate) fn leaf(&self) -> &'static str {
        self.path.rsplit_once('.').map_or(self.path, |(_, leaf)| leaf)
    }

    /// The dimension, if it can hold a number.
    pub(crate) fn dimension(&self) -> Option<Dimension> {
        match self.kind {
            Kind::Quantity(d) | Kind::WordOr(_, d) => Some(d),
            _ => None,
        }
    }
}

/// The key of a path.
pub(crate) fn find(path: &str) -> Option<&'static Key> {
    KEYS.iter().find(|key| matches(key.path, path))
}

/// Whether a pattern (with `*` for a free name) is that path.
fn matches(pattern: &str, path: &str) -> bool {
    let mut segments = path.split('.');
    pattern.split('.').all(|p| segments.next().is_some_and(|s| p == s || (p == "*" && !s.is_empty())))
        && segments.next().is_none()
}

/// Whether something of the schema stands under this table.
pub(crate) fn is_table(path: &str) -> bool {
    let depth = path.split('.').count();
    KEYS.iter().any(|key| {
        let mut segments = key.path.split('.');
        let head: Vec<_> = segments.by_ref().take(depth).collect();
        segments.next().is_some() && matches(&head.join("."), path)
    })
}
