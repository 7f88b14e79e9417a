//! Permanent-magnet grades: a straight recoil line down to a knee.

use super::{CELSIUS_ZERO_K, MU0, Status, Thermal, UnknownName, names};
use serde::Deserialize;
use std::sync::LazyLock;

/// A grade of permanent-magnet material at one temperature. In the second quadrant B = Br + µ0 µrec H down to
/// the knee; a magnet driven past it does not come back.
#[derive(Clone, Debug, PartialEq)]
pub struct PermanentMagnet {
    /// Grade, such as `N42` or `N42SH`.
    pub name: String,
    /// Temperature of the values below, K.
    pub temperature_k: f64,
    /// Remanence Br, T: the middle of the grade's range.
    pub remanence_t: f64,
    /// Half the grade's range of Br, T.
    pub remanence_half_width_t: f64,
    /// Coercivity HcB, A/m, guaranteed minimum (positive).
    pub coercivity_a_per_m: f64,
    /// Intrinsic coercivity HcJ, A/m, guaranteed minimum (positive).
    pub intrinsic_coercivity_a_per_m: f64,
    /// Recoil permeability, relative.
    pub recoil_permeability: f64,
    /// Greatest energy product, J/m³: least and largest of the grade.
    pub energy_product_j_per_m3: (f64, f64),
    /// Knee of the demagnetisation curve as a fraction of HcJ: below 1, the squarer the closer to it.
    pub knee_fraction: f64,
    /// Temperature coefficient of Br, 1/K.
    pub remanence_per_k: f64,
    /// Temperature coefficient of HcJ, 1/K.
    pub intrinsic_coercivity_per_k: f64,
    /// Highest working temperature of the grade, K; less for thin magnets.
    pub highest_temperature_k: f64,
    /// Where the values come from.
    pub source: String,
    /// How far to trust them.
    pub status: Status,
    /// For heat and mass.
    pub thermal: Thermal,
}

impl PermanentMagnet {
    /// The same grade at another temperature: Br and HcJ move linearly from their values here, HcB stays the
    /// lesser of its own share and HcJ. Trust it between about −40 °C and the highest working temperature.
    pub fn at_temperature(&self, kelvin: f64) -> Self {
        let rise = kelvin - self.temperature_k;
        let remanence = (1.0 + self.remanence_per_k * rise).max(0.0);
        let intrinsic = (1.0 + self.intrinsic_coercivity_per_k * rise).max(0.0);
        let intrinsic_coercivity_a_per_m = self.intrinsic_coercivity_a_per_m * intrinsic;
        Self {
            temperature_k: kelvin,
            remanence_t: self.remanence_t * remanence,
            remanence_half_width_t: self.remanence_half_width_t * remanence,
            coercivity_a_per_m: (self.coercivity_a_per_m * remanence).min(intrinsic_coercivity_a_per_m),
            intrinsic_coercivity_a_per_m,
            energy_product_j_per_m3: (
                self.energy_product_j_per_m3.0 * remanence * remanence,
                self.energy_product_j_per_m3.1 * remanence * remanence,
            ),
            // The coefficients are per kelvin of the value at the reference temperature.
            remanence_per_k: if remanence > 0.0 { self.remanence_per_k / remanence } else { 0.0 },
            intrinsic_coercivity_per_k: if intrinsic > 0.0 {
                self.intrinsic_coercivity_per_k / intrinsic
            } else {
                0.0
            },
            ..self.clone()
        }
    }

    /// Field of the knee, A/m, negative: a demagnetising field stronger than this loses magnetisation.
    pub fn knee_field_a_per_m(&self) -> f64 {
        -self.knee_fraction * self.intrinsic_coercivity_a_per_m
    }

    /// Flux density at the knee, T; negative if the knee lies in the third quadrant, where no magnet by itself
    /// gets to.
    pub fn knee_flux_density_t(&self) -> f64 {
        self.remanence_t + MU0 * self.recoil_permeability * self.knee_field_a_per_m()
    }

    /// Whether a temperature is above the highest working temperature.
    pub fn is_too_hot(&self, kelvin: f64) -> bool {
        kelvin > self.highest_temperature_k
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    thermal: std::collections::BTreeMap<String, Thermal>,
    family: std::collections::BTreeMap<String, Family>,
    grade: Vec<Entry>,
    suffix: Vec<Suffix>,
}

/// What the grades of one material share.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Family {
    recoil_permeability: f64,
    knee_fraction: f64,
    remanence_percent_per_k: f64,
    intrinsic_coercivity_percent_per_k: f64,
    highest_celsius: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    name: String,
    #[serde(default)]
    aliases: Vec<String>,
    family: String,
    remanence_t: (f64, f64),
    coercivity_ka_per_m: f64,
    intrinsic_coercivity_ka_per_m: f64,
    energy_product_kj_per_m3: (f64, f64),
    highest_celsius: Option<f64>,
    source: String,
    status: Status,
}

/// A letter after a NdFeB grade: the same remanence, more intrinsic coercivity.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Suffix {
    letters: String,
    intrinsic_coercivity_ka_per_m: f64,
    highest_celsius: f64,
    /// Grades it is made in.
    grades: Vec<String>,
}

struct Library {
    magnets: Vec<PermanentMagnet>,
    aliases: Vec<Vec<String>>,
}

static LIBRARY: LazyLock<Library> = LazyLock::new(|| {
    let file: File = toml::from_str(include_str!("../../data/permanent.toml"))
        .expect("data/permanent.toml is well formed");
    let mut library = Library { magnets: Vec::new(), aliases: Vec::new() };
    for entry in &file.grade {
        library.magnets.push(magnet(entry, &file.family[&entry.family], file.thermal[&entry.family]));
        library.aliases.push(entry.aliases.clone());
    }
    for suffix in &file.suffix {
        for grade in &suffix.grades {
            let name = format!("{grade}{}", suffix.letters);
            if library.magnets.iter().any(|m| m.name == name) {
                continue;
            }
            let base = library.magnets.iter().find(|m| &m.name == grade);
            let base = base.unwrap_or_else(|| panic!("data/permanent.toml: no grade {grade}"));
            library.magnets.push(PermanentMagnet {
                name,
                intrinsic_coercivity_a_per_m: 1e3 * suffix.intrinsic_coercivity_ka_per_m,
                highest_temperature_k: suffix.highest_celsius + CELSIUS_ZERO_K,
                source: format!(
                    "remanence of {grade}, intrinsic coercivity by the usual suffix ladder; typical"
                ),
                status: Status::TypicalUnsourced,
                ..base.clone()
            });
            library.aliases.push(Vec::new());
        }
    }
    library
});

/// What is added to the half-range of a remanence without a source, relatively (our own estimate).
const UNSOURCED: f64 = 0.01;

fn magnet(entry: &Entry, family: &Family, thermal: Thermal) -> PermanentMagnet {
    let (low, high) = entry.remanence_t;
    // A range that no source stands behind may be off by as much as makers differ.
    let unsourced =
        if entry.status == Status::TypicalUnsourced { UNSOURCED * 0.5 * (low + high) } else { 0.0 };
    PermanentMagnet {
        name: entry.name.clone(),
        temperature_k: 20.0 + CELSIUS_ZERO_K,
        remanence_t: 0.5 * (low + high),
        remanence_half_width_t: 0.5 * (high - low) + unsourced,
        coercivity_a_per_m: 1e3 * entry.coercivity_ka_per_m,
        intrinsic_coercivity_a_per_m: 1e3 * entry.intrinsic_coercivity_ka_per_m,
        recoil_permeability: family.recoil_permeability,
        energy_product_j_per_m3: (
            1e3 * entry.energy_product_kj_per_m3.0,
            1e3 * entry.energy_product_kj_per_m3.1,
        ),
        knee_fraction: family.knee_fraction,
        remanence_per_k: 0.01 * family.remanence_percent_per_k,
        intrinsic_coercivity_per_k: 0.01 * family.intrinsic_coercivity_percent_per_k,
        highest_temperature_k: entry.highest_celsius.unwrap_or(family.highest_celsius) + CELSIUS_ZERO_K,
        source: entry.source.clone(),
        status: entry.status,
        thermal,
    }
}

/// The grade of that name, at 20 °C; case, blanks and hyphens do not matter.
pub fn permanent(name: &str) -> Result<&'static PermanentMagnet, UnknownName> {
    let wanted = names::plain(name);
    let found = LIBRARY.magnets.iter().zip(&LIBRARY.aliases).find(|(magnet, aliases)| {
        names::plain(&magnet.name) == wanted || aliases.iter().any(|a| names::plain(a) == wanted)
    });
    found
        .map(|(magnet, _)| magnet)
        .ok_or_else(|| names::unknown("permanent-magnet grade", name, permanent_names()))
}

/// Names of the grades.
pub fn permanent_names() -> impl Iterator<Item = &'static str> {
    LIBRARY.magnets.iter().map(|m| m.name.as_str())
}
