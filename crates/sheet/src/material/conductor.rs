//! Copper and aluminium as conductors of a winding.

use super::{CELSIUS_ZERO_K, Status, Thermal, UnknownName, names};
use serde::Deserialize;
use std::sync::LazyLock;

/// A conductor of a winding.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Conductor {
    /// Name.
    pub name: String,
    /// Other names it is found by.
    #[serde(default)]
    pub aliases: Vec<String>,
    /// Resistivity at 20 °C, Ω m.
    pub resistivity_20_ohm_m: f64,
    /// Relative standard uncertainty of the resistivity.
    pub resistivity_relative_standard: f64,
    /// Inferred zero-resistance constant k, °C (IEC 60034-1): resistance goes as k + t.
    pub zero_resistance_celsius: f64,
    /// Where the values come from.
    pub source: String,
    /// How far to trust them.
    pub status: Status,
    /// For heat and mass.
    pub thermal: Thermal,
}

impl Conductor {
    /// Resistance at a temperature (K) over that at 20 °C: (k + t)/(k + 20), t in °C (IEC 60034-1, 8.6.2).
    pub fn resistance_factor(&self, kelvin: f64) -> f64 {
        let k = self.zero_resistance_celsius;
        (k + kelvin - CELSIUS_ZERO_K) / (k + 20.0)
    }

    /// Temperature (K) at which the resistance is `factor` times that at 20 °C.
    pub fn temperature_of_factor(&self, factor: f64) -> f64 {
        let k = self.zero_resistance_celsius;
        factor * (k + 20.0) - k + CELSIUS_ZERO_K
    }

    /// Resistivity at a temperature (K), Ω m.
    pub fn resistivity_ohm_m(&self, kelvin: f64) -> f64 {
        self.resistivity_20_ohm_m * self.resistance_factor(kelvin)
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    conductor: Vec<Conductor>,
}

static LIBRARY: LazyLock<Vec<Conductor>> = LazyLock::new(|| {
    let file: File = toml::from_str(include_str!("../../data/conductor.toml"))
        .expect("data/conductor.toml is well formed");
    file.conductor
});

/// The conductor of that name; case, blanks and hyphens do not matter.
pub fn conductor(name: &str) -> Result<&'static Conductor, UnknownName> {
    names::find("conductor", name, &LIBRARY, |c| {
        std::iter::once(c.name.as_str()).chain(c.aliases.iter().map(String::as_str)).collect()
    })
}

/// Names of the conductors.
pub fn conductor_names() -> impl Iterator<Item = &'static str> {
    LIBRARY.iter().map(|c| c.name.as_str())
}
