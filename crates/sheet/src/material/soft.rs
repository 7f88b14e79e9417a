//! Soft magnetic materials of the library.

use super::{Electrical, Status, SteelLaw, Thermal, UnknownName, names};
use serde::Deserialize;
use std::sync::LazyLock;

/// A soft magnetic material: its curve, how far to trust it, and what eddies and heat need.
#[derive(Clone, Debug, PartialEq)]
pub struct SoftMaterial {
    /// Name.
    pub name: String,
    /// Other names it is found by.
    pub aliases: Vec<String>,
    /// H(B) at room temperature, first magnetisation.
    pub law: SteelLaw,
    /// Saturation polarisation Js, T.
    pub saturation_t: f64,
    /// Relative standard uncertainty of Js.
    pub saturation_relative_standard: f64,
    /// Coercivity and the half-width of its band, A/m, where known.
    pub coercivity_a_per_m: Option<(f64, f64)>,
    /// Relative standard uncertainty of the field needed for a given polarisation (the 'steel scale').
    pub relative_standard: f64,
    /// Where the curve comes from.
    pub source: String,
    /// How far to trust it.
    pub status: Status,
    /// For eddies.
    pub electrical: Electrical,
    /// For heat.
    pub thermal: Thermal,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    material: Vec<Entry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    name: String,
    #[serde(default)]
    aliases: Vec<String>,
    saturation_t: f64,
    saturation_relative_standard: f64,
    coercivity_a_per_m: Option<(f64, f64)>,
    relative_standard: f64,
    source: String,
    status: Status,
    h_a_per_m: Vec<f64>,
    b_t: Vec<f64>,
    electrical: Electrical,
    thermal: Thermal,
}

static LIBRARY: LazyLock<Vec<SoftMaterial>> = LazyLock::new(|| {
    let file: File =
        toml::from_str(include_str!("../../data/soft.toml")).expect("data/soft.toml is well formed");
    file.material.into_iter().map(material).collect()
});

fn material(entry: Entry) -> SoftMaterial {
    let law = SteelLaw::table_with_saturation(&entry.h_a_per_m, &entry.b_t, entry.saturation_t)
        .unwrap_or_else(|e| panic!("data/soft.toml, {}: {e}", entry.name));
    SoftMaterial {
        name: entry.name,
        aliases: entry.aliases,
        law,
        saturation_t: entry.saturation_t,
        saturation_relative_standard: entry.saturation_relative_standard,
        coercivity_a_per_m: entry.coercivity_a_per_m,
        relative_standard: entry.relative_standard,
        source: entry.source,
        status: entry.status,
        electrical: entry.electrical,
        thermal: entry.thermal,
    }
}

/// The soft material of that name; case, blanks and hyphens do not matter.
pub fn soft(name: &str) -> Result<&'static SoftMaterial, UnknownName> {
    names::find("soft material", name, &LIBRARY, |m| {
        std::iter::once(m.name.as_str()).chain(m.aliases.iter().map(String::as_str)).collect()
    })
}

/// Names of the soft materials.
pub fn soft_names() -> impl Iterator<Item = &'static str> {
    LIBRARY.iter().map(|m| m.name.as_str())
}
