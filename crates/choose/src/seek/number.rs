//! Numbers that a search can aim at or be limited by.

use crate::topic::Asked;
use coilwright_magnet::model::rough::{Rough, Wanted};
use coilwright_magnet::quantity::Dimension;
use coilwright_magnet::sheet::nearest;

/// One of the numbers.
#[derive(Debug)]
pub struct Number {
    /// Its word.
    pub key: &'static str,
    /// Another word for it.
    pub also: &'static str,
    /// What a person reads.
    pub label: &'static str,
    /// Kind of quantity.
    pub dimension: Dimension,
    /// What a magnet with the least of it is called.
    pub least: &'static str,
    /// What one with the most of it is called.
    pub most: &'static str,
    /// Which answer has it settled, and under which key; none where the drawing alone tells.
    pub(crate) settled: Option<(Asked, &'static str)>,
    /// Where it is among the provisional numbers.
    pub(crate) rough: fn(&Rough) -> f64,
    /// What has to be solved for it.
    pub(crate) wanted: Wanted,
}

impl Number {
    /// All of them, in the order in which they are shown.
    pub fn all() -> &'static [Self] {
        &NUMBERS
    }
}

const NONE: Wanted = Wanted { pull: false, pull_warm: false, field: false, heat: false };
const HEAT: Wanted = Wanted { heat: true, ..NONE };

/// In the order in which they are shown.
pub(crate) const NUMBERS: [Number; 16] = [
    Number {
        key: "pull",
        also: "holding_force",
        label: "pull",
        dimension: Dimension::Force,
        least: "weakest",
        most: "strongest",
        settled: Some((Asked::Pull, "pull")),
        rough: |n| n.pull_n,
        wanted: Wanted { pull: true, ..NONE },
    },
    Number {
        key: "pull_warm",
        also: "warm_pull",
        label: "pull, warm",
        dimension: Dimension::Force,
        least: "weakest, warm",
        most: "strongest, warm",
        settled: Some((Asked::Heat, "pull_steady")),
        rough: |n| n.pull_warm_n,
        wanted: Wanted { pull_warm: true, ..NONE },
    },
    Number {
        key: "field",
        also: "flux_density",
        label: "field over the face",
        dimension: Dimension::FluxDensity,
        least: "least field",
        most: "most field",
        settled: Some((Asked::Field, "face_maximum")),
        rough: |n| n.field_t,
        wanted: Wanted { field: true, ..NONE },
    },
    Number {
        key: "hot_spot",
        also: "temperature",
        label: "hot spot, in time",
        dimension: Dimension::Temperature,
        least: "coolest",
        most: "hottest",
        settled: Some((Asked::Heat, "hot_spot_steady")),
        rough: |n| n.hot_spot_k,
        wanted: HEAT,
    },
    Number {
        key: "surface_temperature",
        also: "surface",
        label: "hottest to touch, in time",
        dimension: Dimension::Temperature,
        least: "coolest to touch",
        most: "hottest to touch",
        settled: Some((Asked::Heat, "surface_temperature_steady")),
        rough: |n| n.surface_k,
        wanted: HEAT,
    },
    Number {
        key: "mass",
        also: "weight",
        label: "mass, iron and wire",
        dimension: Dimension::Mass,
        least: "lightest",
        most: "heaviest",
        settled: None,
        rough: |n| n.mass_kg,
        wanted: NONE,
    },
    Number {
        key: "power",
        also: "power_cold",
        label: "power, cold",
        dimension: Dimension::Power,
        least: "thriftiest",
        most: "most power",
        settled: Some((Asked::Winding, "power")),
        rough: |n| n.power_w,
        wanted: NONE,
    },
    Number {
        key: "power_warm",
        also: "warm_power",
        label: "power, warm",
        dimension: Dimension::Power,
        least: "thriftiest, warm",
        most: "most power, warm",
        settled: Some((Asked::Heat, "power_steady")),
        rough: |n| n.power_warm_w,
        wanted: HEAT,
    },
    Number {
        key: "current",
        also: "current_cold",
        label: "current, cold",
        dimension: Dimension::Current,
        least: "least current",
        most: "most current",
        settled: Some((Asked::Winding, "current")),
        rough: |n| n.current_a,
        wanted: NONE,
    },
    Number {
        key: "current_density",
        also: "density",
        label: "current density, cold",
        dimension: Dimension::CurrentDensity,
        least: "least current density",
        most: "most current density",
        settled: Some((Asked::Winding, "current_density")),
        rough: |n| n.current_density_a_per_m2,
        wanted: NONE,
    },
    Number {
        key: "ampere_turns",
        also: "ampereturns",
        label: "ampere-turns, cold",
        dimension: Dimension::AmpereTurns,
        least: "least ampere-turns",
        most: "most ampere-turns",
        settled: Some((Asked::Winding, "ampere_turns")),
        rough: |n| n.ampere_turns,
        wanted: NONE,
    },
    Number {
        key: "turns",
        also: "windings",
        label: "turns",
        dimension: Dimension::Count,
        least: "fewest turns",
        most: "most turns",
        settled: Some((Asked::Winding, "turns")),
        rough: |n| n.turns,
        wanted: NONE,
    },
    Number {
        key: "conductor_mass",
        also: "copper",
        label: "mass of conductor",
        dimension: Dimension::Mass,
        least: "least conductor",
        most: "most conductor",
        settled: Some((Asked::Winding, "conductor_mass")),
        rough: |n| n.conductor_mass_kg,
        wanted: NONE,
    },
    Number {
        key: "wire_length",
        also: "wire",
        label: "length of wire",
        dimension: Dimension::Length,
        least: "least wire",
        most: "most wire",
        settled: Some((Asked::Winding, "wire_length")),
        rough: |n| n.wire_length_m,
        wanted: NONE,
    },
    Number {
        key: "resistance",
        also: "ohms",
        label: "resistance at 20 °C",
        dimension: Dimension::Resistance,
        least: "least resistance",
        most: "most resistance",
        settled: Some((Asked::Winding, "resistance_20")),
        rough: |n| n.resistance_20_ohm,
        wanted: NONE,
    },
    Number {
        key: "volume",
        also: "room",
        label: "room it takes up",
        dimension: Dimension::Volume,
        least: "smallest",
        most: "largest",
        settled: None,
        rough: |n| n.volume_m3,
        wanted: NONE,
    },
];

/// The number of a word, blanks and hyphens as good as underscores; its place in the list.
pub(crate) fn find(word: &str) -> Option<usize> {
    let word = word.trim().to_lowercase().replace([' ', '-'], "_");
    NUMBERS.iter().position(|n| n.key == word || n.also == word)
}

/// What to say of a word that names no number.
pub(crate) fn unknown(word: &str) -> (String, String) {
    let nearest = nearest(word.trim(), NUMBERS.iter().flat_map(|n| [n.key, n.also]));
    let all: Vec<String> = NUMBERS.iter().map(|n| n.key.replace('_', " ")).collect();
    let hint = match nearest {
        Some(name) => format!("did you mean `{}`? There are {}", name.replace('_', " "), all.join(", ")),
        None => format!("there are {}", all.join(", ")),
    };
    (format!("there is no number `{}` to search by", word.trim()), hint)
}
