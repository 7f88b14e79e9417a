//! The winding as it would be if what no tolerance of the sheet covers were a little different.

use super::{MEAN_TURN_RELATIVE_STANDARD, Winding, WindingError, WindingInputs, complete};

/// A winding with one thing one standard uncertainty higher.
#[derive(Clone, Debug, PartialEq)]
pub struct Variant {
    /// Path in the sheet to which the thing belongs.
    pub path: &'static str,
    /// What a person calls it.
    pub label: &'static str,
    /// The winding then.
    pub winding: Winding,
}

/// Variants for resistivity, mean turn, diameter of a named wire and its enamel. Each is completed anew, so it does
/// not matter which quantities were given and which follow.
pub fn variants(inputs: &WindingInputs) -> Result<Vec<Variant>, WindingError> {
    let resistivity_factor = 1.0 + inputs.conductor.resistivity_relative_standard;
    let mean_turn_factor = 1.0 + MEAN_TURN_RELATIVE_STANDARD;
    let mut changed = vec![
        (
            "winding.conductor",
            "resistivity of the conductor",
            WindingInputs { resistivity_factor, ..inputs.clone() },
        ),
        ("winding.window", "length of the mean turn", WindingInputs { mean_turn_factor, ..inputs.clone() }),
    ];
    if let Some(wire) = &inputs.wire {
        let mut thicker = wire.clone();
        thicker.diameter_m += wire.diameter_half_width_m / 3f64.sqrt();
        changed.push((
            "winding.wire",
            "diameter of the wire",
            WindingInputs { wire: Some(thicker), ..inputs.clone() },
        ));
        let mut coated = wire.clone();
        coated.overall_diameter_m += wire.overall_half_width_m / 3f64.sqrt();
        changed.push((
            "winding.wire",
            "diameter over the enamel",
            WindingInputs { wire: Some(coated), ..inputs.clone() },
        ));
    }
    changed
        .into_iter()
        .map(|(path, label, inputs)| Ok(Variant { path, label, winding: complete(&inputs)?.winding }))
        .collect()
}
