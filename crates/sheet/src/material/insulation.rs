//! Thermal classes of insulation.

use super::CELSIUS_ZERO_K;

/// A thermal class of electrical insulation (IEC 60085): the temperature it is made to be used at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThermalClass {
    /// Letter, or the number where there is none.
    pub name: &'static str,
    /// Its temperature, K.
    pub limit_k: f64,
}

/// IEC 60085, from memory.
const CLASSES: [(&str, f64); 9] = [
    ("Y", 90.0),
    ("A", 105.0),
    ("E", 120.0),
    ("B", 130.0),
    ("F", 155.0),
    ("H", 180.0),
    ("N", 200.0),
    ("R", 220.0),
    ("250", 250.0),
];

/// The class of a letter or number of degrees, such as `F` or `155`.
pub fn thermal_class(word: &str) -> Option<ThermalClass> {
    let word = word.trim();
    CLASSES
        .iter()
        .find(|(name, celsius)| name.eq_ignore_ascii_case(word) || word.parse() == Ok(*celsius))
        .map(|&(name, celsius)| ThermalClass { name, limit_k: celsius + CELSIUS_ZERO_K })
}

/// Names of the classes, coolest first.
pub fn thermal_class_names() -> impl Iterator<Item = &'static str> {
    CLASSES.iter().map(|(name, _)| *name)
}
