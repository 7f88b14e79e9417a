//! Solids and gases as heat sees them: insulation, potting, plates.

use super::{Status, Thermal, UnknownName, names};
use serde::Deserialize;
use std::sync::LazyLock;

/// A material through which heat flows.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Solid {
    /// Name.
    pub name: String,
    /// Other names it is found by.
    #[serde(default)]
    pub aliases: Vec<String>,
    /// Conductivity, density, specific heat.
    pub thermal: Thermal,
    /// Where the values come from.
    pub source: String,
    /// How far to trust the conductivity.
    pub status: Status,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    solid: Vec<Solid>,
}

static LIBRARY: LazyLock<Vec<Solid>> = LazyLock::new(|| {
    let file: File =
        toml::from_str(include_str!("../../data/solid.toml")).expect("data/solid.toml is well formed");
    file.solid
});

/// The solid of that name; case, blanks and hyphens do not matter.
pub fn solid(name: &str) -> Result<&'static Solid, UnknownName> {
    names::find("material", name, &LIBRARY, |s| {
        std::iter::once(s.name.as_str()).chain(s.aliases.iter().map(String::as_str)).collect()
    })
}

/// Names of the solids.
pub fn solid_names() -> impl Iterator<Item = &'static str> {
    LIBRARY.iter().map(|s| s.name.as_str())
}
