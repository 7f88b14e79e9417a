//! From what is known of a winding to all of it, with what was assumed and what contradicts.

use crate::magnet::winding::contradiction::{Contradiction, MEAN_TURN_RELATIVE_STANDARD};
use crate::magnet::winding::error::WindingError;
use crate::magnet::winding::window::Window;
use crate::magnet::winding::{Winding, fit};
use crate::material::{CELSIUS_ZERO_K, Conductor};
use crate::quantity::{Dimension, Quantity};
use crate::uncertainty::band::Band;
use crate::wire::{Grade, Wire, nearest_preferred_m};
use std::f64::consts::FRAC_PI_4;

/// Share of the window over the enamel in a wild winding of round wire, and its relative standard uncertainty.
/// With usual enamel it gives the 0.45 to 0.5 of copper of common practice; less in thin wire.
pub(crate) const WILD_FILL: f64 = 0.58;
pub(crate) const WILD_FILL_RELATIVE_STANDARD: f64 = 0.12;
/// The same as share of copper where the wire is not known.
const WILD_COPPER_FILL: f64 = 0.475;
const WILD_COPPER_FILL_RELATIVE_STANDARD: f64 = 0.15;

/// How many standard uncertainties two statements may differ before they contradict.
const COVERAGE: f64 = 2.0;
const ROOM_K: f64 = 20.0 + CELSIUS_ZERO_K;

/// What is known of a winding. Tolerances are those of the sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct WindingInputs {
    /// Where the winding lies; from the form.
    pub window: Window,
    /// Number of equal coils in series, each with such a window (2 for a horseshoe wound on both legs).
    pub coils: f64,
    /// Copper or aluminium.
    pub conductor: &'static Conductor,
    /// Wires in hand.
    pub parallel: f64,
    /// The wire.
    pub wire: Option<Wire>,
    /// Turns, all coils together.
    pub turns: Option<Quantity>,
    /// Layers in each coil.
    pub layers: Option<f64>,
    /// Conductor area over window area.
    pub fill_factor: Option<Quantity>,
    /// Measured resistance, Ω.
    pub resistance: Option<Quantity>,
    /// Temperature at which it was measured, K.
    pub resistance_at_k: f64,
    /// Factor on the conductor's resistivity; 1 unless another is tried.
    pub resistivity_factor: f64,
    /// Factor on the length of the mean turn; 1 unless another is tried.
    pub mean_turn_factor: f64,
}

impl WindingInputs {
    /// Nothing known but the window: one coil, one wire in hand, resistance at 20 °C.
    pub fn new(window: Window, conductor: &'static Conductor) -> Self {
        Self {
            window,
            coils: 1.0,
            conductor,
            parallel: 1.0,
            wire: None,
            turns: None,
            layers: None,
            fill_factor: None,
            resistance: None,
            resistance_at_k: ROOM_K,
            resistivity_factor: 1.0,
            mean_turn_factor: 1.0,
        }
    }

    fn mean_turn_length_m(&self) -> f64 {
        self.mean_turn_factor * self.window.mean_turn_length_m()
    }
}

/// A value or word the sheet does not hold.
#[derive(Clone, Debug, PartialEq)]
pub struct Assumed {
    /// Path in the sheet where it can be given.
    pub path: &'static str,
    /// What a person calls it.
    pub label: &'static str,
    /// The value in SI; none where it is a word.
    pub value: Option<f64>,
    /// Kind of the value.
    pub dimension: Dimension,
    /// Standard uncertainty of the value.
    pub standard: f64,
    /// The word, or empty.
    pub word: String,
    /// Why.
    pub reason: String,
    /// It follows from what the sheet holds, and is as sure as that: no uncertain input of its own.
    pub follows: bool,
}

impl From<&Assumed> for crate::magnet::assumption::Assumption {
    fn from(assumed: &Assumed) -> Self {
        let value = assumed.value.map(|value| crate::uncertainty::measure::Measure {
            value,
            dimension: assumed.dimension,
            band: (assumed.standard > 0.0).then(|| Band::assumed(value, assumed.standard)),
        });
        Self {
            path: assumed.path.into(),
            label: assumed.label.into(),
            value,
            word: assumed.word.clone(),
            reason: assumed.reason.clone(),
        }
    }
}

/// The winding with what was assumed and what contradicts.
#[derive(Clone, Debug, PartialEq)]
pub struct Completion {
    /// The winding.
    pub winding: Winding,
    /// What the sheet did not say.
    pub assumptions: Vec<Assumed>,
    /// What to mind.
    pub contradictions: Vec<Contradiction>,
}

/// Complete a winding: turns and wire are taken as given where they are; otherwise turns follow from resistance and
/// wire, or the wire from resistance and turns, or either from the fill factor, which is assumed only if nothing
/// else serves. Whatever is given beyond that is compared with what follows.
pub fn complete(inputs: &WindingInputs) -> Result<Completion, WindingError> {
    check(inputs)?;
    let known = Known::new(inputs);
    let mut assumptions = Vec::new();
    let (turns, area) = known.turns_and_area(&mut assumptions)?;

    let wire_is_given = inputs.wire.is_some();
    let wire = match &inputs.wire {
        Some(wire) => {
            if wire.grade_is_assumed {
                assumptions.push(word(
                    "enamel",
                    "grade 1",
                    "the wire's text names no grade; the thinner enamel is assumed",
                ));
            }
            wire.clone()
        }
        None => inferred_wire(area, &mut assumptions)?,
    };
    let window_area = inputs.coils * inputs.window.area_m2();
    let strands = inputs.parallel * turns;
    let mean_turn = inputs.mean_turn_length_m();
    let from_wire = known.resistance_ohm(turns, area);
    let turns_per_layer = (inputs.window.length_m() / wire.overall_diameter_m + 1e-6).floor().max(1.0);
    let winding = Winding {
        window: inputs.window,
        coils: inputs.coils,
        conductor: inputs.conductor,
        parallel: inputs.parallel,
        turns,
        turns_per_layer: (turns_per_layer / inputs.parallel).max(1.0 / inputs.parallel),
        layers: (strands / inputs.coils / turns_per_layer - 1e-9).ceil(),
        mean_turn_length_m: mean_turn,
        wire_length_m: strands * mean_turn,
        conductor_mass_kg: strands * mean_turn * area * inputs.conductor.thermal.density_kg_per_m3,
        resistance_20_ohm: known.resistance_20.unwrap_or(from_wire),
        fill_factor: strands * area / window_area,
        overall_fill: strands * wire.overall_area_m2() / window_area,
        resistance_contributors: known.resistance_contributors(),
        wire,
        wire_is_given,
    };
    let mut contradictions = known.contradictions(&winding, from_wire);
    contradictions.extend(fit::remarks(&winding));
    Ok(Completion { winding, assumptions, contradictions })
}

/// The inputs as plain numbers.
struct Known<'a> {
    inputs: &'a WindingInputs,
    turns: Option<f64>,
    /// Conductor area of one wire, m².
    area: Option<f64>,
    resistance_20: Option<f64>,
    fill: Option<f64>,
}

impl<'a> Known<'a> {
    fn new(inputs: &'a WindingInputs) -> Self {
        Self {
            inputs,
            turns: inputs.turns.map(|q| q.value),
            area: inputs.wire.as_ref().map(Wire::conductor_area_m2),
            resistance_20: inputs
                .resistance
                .map(|q| q.value / inputs.conductor.resistance_factor(inputs.resistance_at_k)),
            fill: inputs.fill_factor.map(|q| q.value),
        }
    }

    fn window_area(&self) -> f64 {
        self.inputs.coils * self.inputs.window.area_m2()
    }

    /// Resistance per turn times conductor area: ρ l / n, Ω m².
    fn turn_constant(&self) -> f64 {
        let resistivity = self.inputs.resistivity_factor * self.inputs.conductor.resistivity_20_ohm_m;
        resistivity * self.inputs.mean_turn_length_m() / self.inputs.parallel
    }

    fn resistance_ohm(&self, turns: f64, area: f64) -> f64 {
        self.turn_constant() * turns / area
    }

    /// Turns, and conductor area of one wire, from two of the four.
    fn turns_and_area(&self, assumed: &mut Vec<Assumed>) -> Result<(f64, f64), WindingError> {
        let n = self.inputs.parallel;
        let copper = |fill: f64| fill * self.window_area() / n;
        let turns_follow = |assumed: &mut Vec<Assumed>, turns: f64, relative: f64, reason: &str| {
            assumed.push(follows("winding.turns", "turns", turns, relative, Dimension::Count, reason));
        };
        Ok(match (self.turns, self.area, self.resistance_20, self.fill) {
            (Some(turns), Some(area), ..) => (turns, area),
            (Some(turns), None, Some(ohm), _) => (turns, self.turn_constant() * turns / ohm),
            (None, Some(area), Some(ohm), _) => {
                let turns = ohm * area / self.turn_constant();
                let sure = self.resistance_relative().hypot(self.wire_resistance_relative());
                turns_follow(
                    assumed,
                    turns,
                    sure,
                    "from the measured resistance, the wire and the mean turn",
                );
                (turns, area)
            }
            (Some(turns), None, None, fill) => {
                let fill = self.fill_or_assumed(fill, assumed);
                (turns, copper(fill) / turns)
            }
            (None, Some(area), None, None) if self.inputs.layers.is_some() => {
                let turns = self.turns_in_layers(self.inputs.layers.unwrap_or(0.0));
                turns_follow(assumed, turns, 0.03, "from the layers, the wire and the length of the window");
                (turns, area)
            }
            (None, Some(area), None, fill) => {
                let relative = self.fill_relative();
                let fill = self.fill_or_assumed(fill, assumed);
                let turns = copper(fill) / area;
                turns_follow(assumed, turns, relative, "from the wire, the window and the fill factor");
                (turns, area)
            }
            (None, None, Some(ohm), fill) => {
                let relative = 0.5 * self.fill_relative();
                let fill = self.fill_or_assumed(fill, assumed);
                let area = (self.turn_constant() * copper(fill) / ohm).sqrt();
                let turns = copper(fill) / area;
                turns_follow(assumed, turns, relative, "from the resistance, the window and the fill factor");
                (turns, area)
            }
            (None, None, None, _) => return Err(WindingError::NotEnough),
        })
    }

    /// Turns that whole layers of the wire hold, all coils.
    fn turns_in_layers(&self, layers: f64) -> f64 {
        let overall = self.inputs.wire.as_ref().map_or(f64::INFINITY, |w| w.overall_diameter_m);
        let per_layer = (self.inputs.window.length_m() / overall + 1e-6).floor();
        self.inputs.coils * layers * per_layer / self.inputs.parallel
    }

    fn fill_or_assumed(&self, fill: Option<f64>, assumed: &mut Vec<Assumed>) -> f64 {
        if let Some(fill) = fill {
            return fill;
        }
        let (value, reason) = match &self.inputs.wire {
            Some(wire) => (
                WILD_FILL * wire.conductor_area_m2() / wire.overall_area_m2(),
                format!(
                    "wild winding of round wire: {WILD_FILL:.2} over the enamel, of which {:.2} is conductor \
                     (common practice)",
                    wire.conductor_area_m2() / wire.overall_area_m2()
                ),
            ),
            None => {
                (WILD_COPPER_FILL, "wild winding of round wire: 0.45 to 0.5 (common practice)".to_string())
            }
        };
        assumed.push(Assumed {
            path: "winding.fill_factor",
            label: "fill factor (conductor)",
            value: Some(value),
            dimension: Dimension::Ratio,
            standard: self.fill_relative() * value,
            word: String::new(),
            reason,
            follows: false,
        });
        value
    }

    /// Relative standard uncertainty of the fill factor, given or to be assumed.
    fn fill_relative(&self) -> f64 {
        match (&self.inputs.fill_factor, &self.inputs.wire) {
            (Some(fill), _) => fill.standard_uncertainty() / fill.value,
            (None, Some(_)) => WILD_FILL_RELATIVE_STANDARD,
            (None, None) => WILD_COPPER_FILL_RELATIVE_STANDARD,
        }
    }

    fn turns_relative(&self) -> f64 {
        self.inputs.turns.map_or(0.0, |q| q.standard_uncertainty() / q.value)
    }

    fn resistance_relative(&self) -> f64 {
        self.inputs.resistance.map_or(0.0, |q| q.standard_uncertainty() / q.value)
    }

    /// Relative standard uncertainty of the resistance of so many turns: wire, resistivity, mean turn.
    fn wire_resistance_relative(&self) -> f64 {
        self.wire_contributors().iter().map(|(_, _, u)| u * u).sum::<f64>().sqrt()
    }

    fn wire_contributors(&self) -> Vec<(&'static str, &'static str, f64)> {
        let mut parts = vec![
            (
                "winding.conductor",
                "resistivity of the conductor",
                self.inputs.conductor.resistivity_relative_standard,
            ),
            ("winding.window", "length of the mean turn", MEAN_TURN_RELATIVE_STANDARD),
        ];
        if let Some(wire) = &self.inputs.wire {
            parts.push(("winding.wire", "diameter of the wire", wire.resistance_relative_standard()));
        }
        parts
    }

    fn resistance_contributors(&self) -> Vec<(&'static str, &'static str, f64)> {
        if self.inputs.resistance.is_some() { Vec::new() } else { self.wire_contributors() }
    }

    /// Each statement that was not needed, against what follows from the others.
    fn contradictions(&self, winding: &Winding, from_wire_ohm: f64) -> Vec<Contradiction> {
        let mut found = Vec::new();
        let mut compare = |about, label, dimension, unit: &str, stated: f64, implied: f64, relative: f64| {
            if (stated / implied).ln().abs() > COVERAGE * relative {
                let text = format!(
                    "{label}: {} {unit}stated, {} {unit}follows from the rest, a ratio of {:.3} where {:.1} % is \
                     all that tolerances explain",
                    digits(stated),
                    digits(implied),
                    stated / implied,
                    100.0 * COVERAGE * relative
                );
                found.push(Contradiction {
                    about,
                    label,
                    dimension,
                    stated,
                    implied,
                    relative_standard: relative,
                    text,
                });
            }
        };
        if let (Some(_), Some(_), Some(ohm)) = (self.turns, self.area, self.resistance_20) {
            let relative = self
                .wire_resistance_relative()
                .hypot(self.resistance_relative())
                .hypot(self.turns_relative());
            compare(
                "winding.resistance",
                "resistance at 20 °C",
                Dimension::Resistance,
                "Ω ",
                ohm,
                from_wire_ohm,
                relative,
            );
        }
        let fill_used = [self.turns.is_some(), self.area.is_some(), self.resistance_20.is_some()];
        if let Some(fill) = self.fill
            && fill_used.iter().filter(|used| **used).count() >= 2
        {
            // 3 %: a fill factor is rarely known better.
            let relative = self.fill_relative().hypot(0.03).hypot(self.wire_resistance_relative());
            let implied = winding.fill_factor;
            compare("winding.fill_factor", "fill factor", Dimension::Ratio, "", fill, implied, relative);
        }
        if let (Some(layers), true) = (self.inputs.layers, winding.wire_is_given) {
            // A layer may be short of a turn, and the last one is rarely full.
            let relative = 0.03 + 0.5 / layers;
            let implied = winding.turns / self.turns_in_layers(1.0);
            compare("winding.layers", "layers", Dimension::Count, "", layers, implied, relative);
        }
        found
    }
}

/// The round wire of a conductor area, with the nearest one on sale in the reason.
fn inferred_wire(area_m2: f64, assumed: &mut Vec<Assumed>) -> Result<Wire, WindingError> {
    let wire = Wire::new((area_m2 / FRAC_PI_4).sqrt(), Grade::One)?;
    let nearest = Wire::new(nearest_preferred_m(wire.diameter_m), Grade::One)?;
    assumed.push(Assumed {
        path: "winding.wire",
        label: "wire",
        value: Some(wire.diameter_m),
        dimension: Dimension::Length,
        standard: 0.0,
        word: wire.name.clone(),
        reason: format!(
            "the conductor that turns, resistance, window and fill factor leave; nearest preferred size {:.3} mm",
            1e3 * nearest.diameter_m
        ),
        follows: true,
    });
    assumed.push(word("enamel", "grade 1", "the wire is not given; the thinner enamel is assumed"));
    Ok(wire)
}

fn word(label: &'static str, word: &str, reason: &str) -> Assumed {
    Assumed {
        path: "winding.wire",
        label,
        value: None,
        dimension: Dimension::Ratio,
        standard: 0.0,
        word: word.into(),
        reason: reason.into(),
        follows: false,
    }
}

fn follows(
    path: &'static str,
    label: &'static str,
    value: f64,
    relative: f64,
    dimension: Dimension,
    reason: &str,
) -> Assumed {
    let standard = relative * value;
    Assumed {
        path,
        label,
        value: Some(value),
        dimension,
        standard,
        word: String::new(),
        reason: reason.into(),
        follows: true,
    }
}

/// Four significant digits.
fn digits(value: f64) -> String {
    let places = (3 - value.abs().log10().floor() as i32).clamp(0, 9) as usize;
    format!("{value:.places$}")
}

fn check(inputs: &WindingInputs) -> Result<(), WindingError> {
    inputs.window.check()?;
    let positive = |path, label, value: Option<f64>, expected, most: f64| match value {
        Some(value) if !(value > 0.0 && value <= most) => {
            Err(WindingError::Value { path, label, value, expected })
        }
        _ => Ok(()),
    };
    let number = "it must be positive";
    positive("winding.turns", "the number of turns", inputs.turns.map(|q| q.value), number, 1e9)?;
    positive("winding.layers", "the number of layers", inputs.layers, number, 1e6)?;
    positive("winding.parallel", "the number of wires in hand", Some(inputs.parallel), number, 1e4)?;
    positive("winding.turns", "the number of coils", Some(inputs.coils), number, 1e4)?;
    positive("winding.resistance", "the resistance", inputs.resistance.map(|q| q.value), number, 1e12)?;
    let zero_k = CELSIUS_ZERO_K - inputs.conductor.zero_resistance_celsius;
    if !(inputs.resistance_at_k > zero_k && inputs.resistance_at_k < 2000.0) {
        return Err(WindingError::Value {
            path: "winding.resistance_at",
            label: "the temperature of the measured resistance in kelvin",
            value: inputs.resistance_at_k,
            expected: "it must be a temperature at which a winding can be",
        });
    }
    let fill = inputs.fill_factor.map(|q| q.value);
    positive("winding.fill_factor", "the fill factor", fill, "it must lie between 0 and 1", 1.0)
}
