//! The winding as it would be if what no tolerance of the sheet covers were a little different.

use crate::magnet::winding::Winding;
use crate::magnet::winding::complete::{WindingInputs, complete};
use crate::magnet::winding::contradiction::MEAN_TURN_RELATIVE_STANDARD;
use crate::magnet::winding::error::WindingError;

/// Something about a winding that no tolerance of the sheet covers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsaid {
    /// Resistivity of the conductor.
    Resistivity,
    /// Length of the mean turn.
    MeanTurn,
    /// Diameter of a named wire.
    WireDiameter,
    /// Diameter of a named wire over its enamel.
    Enamel,
}

/// A winding with one thing one standard uncertainty higher.
#[derive(Clone, Debug, PartialEq)]
pub struct Variant {
    /// What differs.
    pub of: Unsaid,
    /// Path in the sheet to which the thing belongs.
    pub path: &'static str,
    /// What a person calls it.
    pub label: &'static str,
    /// The winding then.
    pub winding: Winding,
}

impl Unsaid {
    const ALL: [(Self, &'static str, &'static str); 4] = [
        (Self::Resistivity, "winding.conductor", "resistivity of the conductor"),
        (Self::MeanTurn, "winding.window", "length of the mean turn"),
        (Self::WireDiameter, "winding.wire", "diameter of the wire"),
        (Self::Enamel, "winding.wire", "diameter over the enamel"),
    ];

    /// Whether limits are all that is known of it: those of the wire's standard.
    pub fn has_limits(self) -> bool {
        matches!(self, Self::WireDiameter | Self::Enamel)
    }

    /// Move it by so many standard uncertainties.
    fn apply(self, inputs: &mut WindingInputs, deviate: f64) {
        match (self, &mut inputs.wire) {
            (Self::Resistivity, _) => {
                inputs.resistivity_factor += deviate * inputs.conductor.resistivity_relative_standard;
            }
            (Self::MeanTurn, _) => inputs.mean_turn_factor += deviate * MEAN_TURN_RELATIVE_STANDARD,
            (Self::WireDiameter, Some(wire)) => {
                wire.diameter_m += deviate * wire.diameter_half_width_m / 3f64.sqrt();
            }
            (Self::Enamel, Some(wire)) => {
                wire.overall_diameter_m += deviate * wire.overall_half_width_m / 3f64.sqrt();
            }
            (Self::WireDiameter | Self::Enamel, None) => {}
        }
    }
}

/// The winding with several such things moved at once, each by so many standard uncertainties. It is completed anew, so
/// it does not matter which quantities were given and which follow.
pub fn varied(inputs: &WindingInputs, deviates: &[(Unsaid, f64)]) -> Result<Winding, WindingError> {
    let mut moved = inputs.clone();
    for (unsaid, deviate) in deviates {
        unsaid.apply(&mut moved, *deviate);
    }
    Ok(complete(&moved)?.winding)
}

/// Variants for resistivity, mean turn, diameter of a named wire and its enamel.
pub fn variants(inputs: &WindingInputs) -> Result<Vec<Variant>, WindingError> {
    Unsaid::ALL
        .into_iter()
        .filter(|(of, ..)| inputs.wire.is_some() || !of.has_limits())
        .map(|(of, path, label)| Ok(Variant { of, path, label, winding: varied(inputs, &[(of, 1.0)])? }))
        .collect()
}
