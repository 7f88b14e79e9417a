//! The winding: turns, layers, wire length, mass, resistance and current, from whatever of them is known.
//!
//! The winding is taken to fill its window evenly, so its mean turn is the one through the middle of the window.
//! Then two equations tie everything together, N turns of n wires in hand with conductor area A each, window area
//! S, mean turn length l, resistivity ρ:
//!
//! - resistance R = ρ N l / (n A)
//! - fill factor F = N n A / S
//!
//! so any two of turns, wire, resistance and fill factor give the others; more than two may contradict each other.

pub mod complete;
pub mod contradiction;
pub mod error;
pub mod fit;
pub mod variant;
pub mod window;

use crate::magnet::winding::window::Window;

use crate::material::Conductor;
use crate::wire::Wire;

/// A completed winding at 20 °C. Every field is for all coils in series together unless it says otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Winding {
    /// Where it lies (each coil has one such window).
    pub window: Window,
    /// Number of equal coils in series.
    pub coils: f64,
    /// Copper or aluminium.
    pub conductor: &'static Conductor,
    /// The wire: named in the sheet, or the round wire that follows from the rest.
    pub wire: Wire,
    /// Whether the wire was named.
    pub wire_is_given: bool,
    /// Wires in hand.
    pub parallel: f64,
    /// Turns, all coils together. Not rounded.
    pub turns: f64,
    /// Whole turns that lie side by side in one layer of one coil.
    pub turns_per_layer: f64,
    /// Layers in one coil, the last one begun counted whole.
    pub layers: f64,
    /// Length of the mean turn, m.
    pub mean_turn_length_m: f64,
    /// Length of wire, m; wires in hand counted each.
    pub wire_length_m: f64,
    /// Mass of the conductor without enamel, kg.
    pub conductor_mass_kg: f64,
    /// Resistance at 20 °C, Ω: the measured one if there is one.
    pub resistance_20_ohm: f64,
    /// Conductor area over window area.
    pub fill_factor: f64,
    /// Area over the enamel over window area.
    pub overall_fill: f64,
    /// What makes the resistance uncertain beside the tolerances of the sheet's own numbers (turns, window, fill
    /// factor, measured resistance): path, label and relative standard uncertainty. Empty if it was measured.
    pub resistance_contributors: Vec<(&'static str, &'static str, f64)>,
}

impl Winding {
    /// Conductor area that carries the current of one turn, m².
    pub fn turn_area_m2(&self) -> f64 {
        self.parallel * self.wire.conductor_area_m2()
    }

    /// Resistance at a uniform winding temperature (K), Ω.
    pub fn resistance_ohm(&self, kelvin: f64) -> f64 {
        self.resistance_20_ohm * self.conductor.resistance_factor(kelvin)
    }

    /// Relative standard uncertainty of the resistance from [`Winding::resistance_contributors`] together.
    pub fn resistance_relative_standard(&self) -> f64 {
        self.resistance_contributors.iter().map(|(_, _, u)| u * u).sum::<f64>().sqrt()
    }

    /// Current (A) at a supply voltage through leads of some resistance, winding at a temperature (K).
    pub fn current_a(&self, voltage_v: f64, lead_ohm: f64, kelvin: f64) -> f64 {
        voltage_v / (self.resistance_ohm(kelvin) + lead_ohm)
    }

    /// Supply voltage (V) for a current.
    pub fn voltage_v(&self, current_a: f64, lead_ohm: f64, kelvin: f64) -> f64 {
        current_a * (self.resistance_ohm(kelvin) + lead_ohm)
    }

    /// Heat set free in the winding (W), leads not counted.
    pub fn power_w(&self, current_a: f64, kelvin: f64) -> f64 {
        current_a * current_a * self.resistance_ohm(kelvin)
    }

    /// Current density in the conductor (A/m²).
    pub fn current_density_a_per_m2(&self, current_a: f64) -> f64 {
        current_a / self.turn_area_m2()
    }

    /// Ampere-turns, all coils together.
    pub fn ampere_turns(&self, current_a: f64) -> f64 {
        self.turns * current_a
    }
}

/// Power (W) that ampere-turns need in a window at a fill factor, whatever the wire: P = ρ l (NI)²/(F S).
pub fn power_for_ampere_turns_w(
    ampere_turns: f64,
    window: &Window,
    fill_factor: f64,
    conductor: &Conductor,
    kelvin: f64,
) -> f64 {
    conductor.resistivity_ohm_m(kelvin) * window.mean_turn_length_m() * ampere_turns * ampere_turns
        / (fill_factor * window.area_m2())
}
