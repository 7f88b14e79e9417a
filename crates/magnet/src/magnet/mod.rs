//! A magnet with everything decided: what the sheet says, and what it leaves open and is assumed.

pub mod assumption;
pub mod envelope;
pub(crate) mod form;
pub mod heat_factors;
mod mass;
pub mod size;
pub mod variation;
pub mod winding;

use crate::diagnostic::Diagnostic;
use crate::magnet::assumption::Assumption;
use crate::magnet::size::Size;
use crate::magnet::winding::Winding;
use crate::magnet::winding::complete::WindingInputs;
use crate::magnet::winding::contradiction::Contradiction;
use crate::magnet::winding::variant::Variant;
use crate::material::{Electrical, SteelLaw};
use crate::quantity::Dimension;
use crate::sheet::{Form, Sheet};
use crate::uncertainty::band::Band;
use crate::uncertainty::input::{ANY, Input};
use crate::uncertainty::measure::Measure;
use crate::watch::Watch;
use coilwright_fem::drawing::Outline;
use coilwright_fem::drawing::Symmetry;

/// A magnet ready to be drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Magnet {
    /// Name from the sheet.
    pub name: String,
    /// Its form.
    pub form: Form,
    /// How its drawing is continued to space.
    pub symmetry: Symmetry,
    /// Depth of a planar magnet, m; 1 for an axial one (whose numbers are for all round).
    pub depth_m: f64,
    /// The magnet's parts, later ones painted over earlier ones.
    pub parts: Vec<Part>,
    /// Height of the face above the drawing's origin, m.
    pub face_m: f64,
    /// Where the poles meet the face, from the middle outwards.
    pub poles: Vec<Pole>,
    /// Lengths of the sheet where a drawing shows them.
    pub sizes: Vec<Size>,
    /// The winding and its drive; none for permanent magnets.
    pub excitation: Option<Excitation>,
    /// What is held.
    pub workpiece: Option<Plate>,
    /// The bar or plate that bridges the poles.
    pub keeper: Option<Plate>,
    /// Uniform applied field along the axis, T.
    pub applied_t: f64,
    /// Whether the field has to be solved as a free profile: the workpiece is one of the parts.
    pub free: bool,
    /// What is uncertain.
    pub inputs: Vec<Input>,
    /// What was assumed.
    pub assumptions: Vec<Assumption>,
    /// What to mind.
    pub warnings: Vec<String>,
    /// Who waits for what is computed of it.
    pub watch: Watch,
}

/// A part of the magnet's section.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Name, such as `pole` or `wall`.
    pub name: String,
    /// Its section, in metres, in the drawing's coordinates.
    pub outline: Outline,
    /// What it is made of.
    pub substance: Substance,
    /// Whether it is what is pulled (free profiles only).
    pub is_workpiece: bool,
}

/// What fills a part.
#[derive(Clone, Debug, PartialEq)]
pub enum Substance {
    /// Air, brass, potting: nothing magnetic.
    Vacuum,
    /// The winding's conductors: `share` of all ampere-turns (negative: the return side).
    Conductors {
        /// Share of the ampere-turns.
        share: f64,
    },
    /// Conductors with ampere-turns of their own, A (free profiles).
    AmpereTurns(f64),
    /// Iron.
    Iron(Iron),
    /// A permanent magnet.
    Permanent {
        /// Remanence along x and y, T.
        remanence_t: [f64; 2],
        /// Recoil permeability, relative.
        recoil_permeability: f64,
        /// Flux density along the magnetisation below which the magnet is past its knee, T.
        knee_t: Option<f64>,
        /// Density, kg/m³, where its grade is known.
        density_kg_per_m3: Option<f64>,
    },
}

/// Soft magnetic iron.
#[derive(Clone, Debug, PartialEq)]
pub struct Iron {
    /// Name of the material.
    pub name: String,
    /// Its law.
    pub law: SteelLaw,
    /// Relative standard uncertainty of the field it needs.
    pub field_relative_standard: f64,
    /// Relative standard uncertainty of its saturation.
    pub saturation_relative_standard: f64,
    /// Coercivity and its half-width, A/m, where known.
    pub coercivity_a_per_m: Option<(f64, f64)>,
    /// How it conducts eddies; none where it is laminated.
    pub electrical: Option<Electrical>,
}

/// Where a pole meets the face.
#[derive(Clone, Debug, PartialEq)]
pub struct Pole {
    /// Name, such as `centre pole`.
    pub name: String,
    /// From and to along x, m.
    pub x_m: [f64; 2],
    /// Height of its end, m.
    pub y_m: f64,
}

impl Pole {
    /// Its middle: the axis or mirror for a pole that starts there, else half-way across, m.
    pub fn middle_m(&self) -> f64 {
        if self.x_m[0] == 0.0 { 0.0 } else { 0.5 * (self.x_m[0] + self.x_m[1]) }
    }
}

/// A plate or disc in front of the face.
#[derive(Clone, Debug, PartialEq)]
pub struct Plate {
    /// From and to along x, m.
    pub x_m: [f64; 2],
    /// Thickness, m.
    pub thickness_m: f64,
    /// Distance from the face, m.
    pub gap_m: f64,
    /// What it is made of.
    pub iron: Iron,
    /// Pull in space over that of what is drawn.
    pub in_space: Factor,
}

/// A factor that is not exactly known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factor {
    /// Its best estimate.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard: f64,
}

impl Factor {
    /// Nothing to be multiplied.
    pub const ONE: Self = Self { value: 1.0, standard: 0.0 };

    /// Known by its limits alone (JCGM 100:2008, 4.3.7).
    pub(crate) fn between([low, high]: [f64; 2]) -> Self {
        Self { value: 0.5 * (low + high), standard: 0.5 * (high - low) / 3f64.sqrt() }
    }
}

/// What drives the flux.
#[derive(Clone, Debug, PartialEq)]
pub struct Excitation {
    /// The completed winding; none if only ampere-turns are given.
    pub winding: Option<Winding>,
    /// What the sheet says twice and differently.
    pub contradictions: Vec<Contradiction>,
    /// Current, A; none if only ampere-turns are given.
    pub current_a: Option<f64>,
    /// Voltage at the supply, V, if the winding is known.
    pub voltage_v: Option<f64>,
    /// What feeds the winding; none if only ampere-turns are given.
    pub supply: Option<Supply>,
    /// Resistance of the leads, Ω.
    pub lead_ohm: f64,
    /// Temperature of the winding, K.
    pub kelvin: f64,
    /// Ampere-turns with their sign: positive gives a north pole in the middle of the face.
    pub ampere_turns: f64,
    /// What the winding was completed from; none if only ampere-turns are given.
    pub inputs: Option<WindingInputs>,
    /// The winding with each thing that no tolerance of the sheet covers one standard uncertainty higher.
    pub variants: Vec<Variant>,
    /// Number of turns for quantities per winding; 1 if unknown.
    pub turns: f64,
}

impl Excitation {
    /// Another winding on the same supply, at the same temperature.
    pub fn with_winding(&self, winding: Winding) -> Self {
        let Some(supply) = self.supply else { return self.clone() };
        let current_a = supply.current_a(winding.resistance_ohm(self.kelvin));
        Self {
            current_a: Some(current_a),
            voltage_v: Some(winding.voltage_v(current_a, supply.lead_ohm, self.kelvin)),
            ampere_turns: self.ampere_turns.signum() * winding.ampere_turns(current_a),
            turns: winding.turns,
            winding: Some(winding),
            ..self.clone()
        }
    }
}

/// A supply: voltage, current and power, of which it gives as much as none of the three is exceeded.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Supply {
    /// Most voltage, V; infinite if it holds a current whatever it takes.
    pub voltage_v: f64,
    /// Most current, A; infinite if it holds a voltage whatever flows.
    pub current_a: f64,
    /// Most power, W, leads included; infinite if there is no limit.
    pub power_w: f64,
    /// Resistance of the leads, Ω.
    pub lead_ohm: f64,
}

impl Supply {
    /// Current (A) into a coil of that resistance (Ω).
    pub fn current_a(&self, coil_ohm: f64) -> f64 {
        let ohm = coil_ohm + self.lead_ohm;
        (self.voltage_v / ohm).min(self.current_a).min((self.power_w / ohm).sqrt())
    }

    /// How much more current the next of its three would let flow than the one that decides, as a ratio; infinite without a
    /// second.
    pub fn margin(&self, coil_ohm: f64) -> f64 {
        let ohm = coil_ohm + self.lead_ohm;
        let mut most = [self.voltage_v / ohm, self.current_a, (self.power_w / ohm).sqrt()];
        most.sort_by(f64::total_cmp);
        most[1] / most[0]
    }

    /// Which of its three decides that current.
    pub fn binding(&self, coil_ohm: f64) -> &'static str {
        let current_a = self.current_a(coil_ohm);
        if current_a >= self.voltage_v / (coil_ohm + self.lead_ohm) {
            "voltage"
        } else if current_a >= self.current_a {
            "current"
        } else {
            "power"
        }
    }
}

/// Reads a sheet and notes what is uncertain, assumed or wrong on the way.
#[derive(Debug)]
pub struct Reader<'a> {
    /// The sheet.
    pub sheet: &'a Sheet,
    /// What is uncertain.
    pub inputs: Vec<Input>,
    /// What was assumed.
    pub assumptions: Vec<Assumption>,
    /// What is wrong.
    pub faults: Vec<Diagnostic>,
    /// What to mind.
    pub warnings: Vec<String>,
}

impl<'a> Reader<'a> {
    /// Start reading.
    pub fn new(sheet: &'a Sheet) -> Self {
        Self { sheet, inputs: Vec::new(), assumptions: Vec::new(), faults: Vec::new(), warnings: Vec::new() }
    }

    /// A number that may stand in the sheet.
    pub fn given(&mut self, path: &str, label: &str) -> Option<f64> {
        let q = self.sheet.quantity(path)?;
        if q.half_width > 0.0 {
            self.note_input(path, label, (q.value, q.standard_uncertainty()), (q.dimension, ANY));
        }
        Some(q.value)
    }

    /// A number that has to stand in the sheet; its absence is noted as a fault and NaN goes on.
    pub fn need(&mut self, path: &str, label: &str) -> f64 {
        match self.given(path, label) {
            Some(value) => value,
            None => {
                self.fault(path, format!("{label} is missing"), format!("add `{path}`"));
                f64::NAN
            }
        }
    }

    /// A number from the sheet, or an assumed one with its standard uncertainty and the reason.
    pub fn or_assume(
        &mut self,
        path: &str,
        label: &str,
        (value, standard): (f64, f64),
        dimension: Dimension,
        reason: &str,
    ) -> f64 {
        self.or_assume_within(path, label, (value, standard), (dimension, ANY), reason)
    }

    /// The same of a number that can be no less and no more than its limits.
    pub fn or_assume_within(
        &mut self,
        path: &str,
        label: &str,
        (value, standard): (f64, f64),
        (dimension, limits): (Dimension, [f64; 2]),
        reason: &str,
    ) -> f64 {
        if let Some(value) = self.given(path, label) {
            return value;
        }
        if standard > 0.0 {
            self.note_input(path, label, (value, standard), (dimension, limits));
        }
        if self.assumptions.iter().any(|a| a.path == path) {
            return value;
        }
        let band = (standard > 0.0).then(|| Band::assumed(value, standard).cut(limits));
        self.assumptions.push(Assumption {
            path: path.into(),
            label: label.into(),
            value: Some(Measure { value, dimension, band }),
            word: String::new(),
            reason: reason.into(),
        });
        value
    }

    /// A word from the sheet, or an assumed one with the reason.
    pub fn word_or_assume(&mut self, path: &str, label: &str, word: &str, reason: &str) -> String {
        if let Some(word) = self.sheet.word(path) {
            return word.to_string();
        }
        self.listed(path, label, word, reason);
        word.to_string()
    }

    /// List what was assumed, in a word, once.
    pub fn listed(&mut self, path: &str, label: &str, word: &str, reason: &str) {
        if self.assumptions.iter().any(|a| a.path == path) {
            return;
        }
        self.assumptions.push(Assumption {
            path: path.into(),
            label: label.into(),
            value: None,
            word: word.into(),
            reason: reason.into(),
        });
    }

    /// Note a fault at a path.
    pub fn fault(&mut self, path: &str, message: impl Into<String>, hint: impl Into<String>) {
        let diagnostic = self.sheet.fault(path, message, hint);
        self.faults.push(diagnostic);
    }

    /// Note something uncertain.
    pub fn note_input(
        &mut self,
        path: &str,
        label: &str,
        (value, standard): (f64, f64),
        (dimension, limits): (Dimension, [f64; 2]),
    ) {
        if !self.inputs.iter().any(|i| i.path == path) {
            let (path, label) = (path.into(), label.into());
            self.inputs.push(Input { path, label, value, standard, dimension, limits });
        }
    }

    /// Note a fault if `a < b` does not hold.
    pub fn must_be_less(&mut self, path: &str, (a, a_label): (f64, &str), (b, b_label): (f64, &str)) {
        if a >= b {
            let mm = |v: f64| format!("{:.4} mm", 1e3 * v);
            self.fault(
                path,
                format!("{a_label} ({}) is not less than {b_label} ({})", mm(a), mm(b)),
                "measure both again, or check the units",
            );
        }
    }
}

/// Where a sheet holds the factors on the field that a steel needs, and on its saturation: of the magnet's own steel, and
/// of the workpiece's where that is another.
pub const OWN_STEEL: [&str; 2] = ["calibration.steel_scale", "calibration.saturation_scale"];
/// The same of the workpiece's.
pub const WORKPIECE_STEEL: [&str; 2] =
    ["calibration.workpiece_steel_scale", "calibration.workpiece_saturation_scale"];

impl Magnet {
    /// The same, for somebody who waits for what is computed of it.
    #[must_use]
    pub fn watched(mut self, watch: &Watch) -> Self {
        self.watch = watch.clone();
        self
    }

    /// The irons of its own parts, part by part.
    pub fn irons(&self) -> impl Iterator<Item = &Iron> {
        self.parts.iter().filter_map(|part| match &part.substance {
            Substance::Iron(iron) => Some(iron),
            _ => None,
        })
    }

    /// Whether anything stands in front of it, or is marked in a profile, that it could pull.
    pub fn pulls(&self) -> bool {
        self.workpiece.is_some() || self.parts.iter().any(|p| p.is_workpiece)
    }

    /// The magnet's ampere-turns with their sign, 0 without a winding.
    pub fn ampere_turns(&self) -> f64 {
        self.excitation.as_ref().map_or(0.0, |e| e.ampere_turns)
    }

    /// The polarity of a flux density that leaves the face.
    pub fn polarity(b_out_of_face_t: f64) -> &'static str {
        if b_out_of_face_t > 0.0 { "north" } else { "south" }
    }
}
