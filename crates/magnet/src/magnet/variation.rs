//! What is not exactly known about a magnet, and the magnet as it would be if some of that were otherwise.
//!
//! Bands move one thing at a time, samples move all at once; both move the same things in the same way.

use crate::diagnostic::Diagnostic;
use crate::magnet::heat_factors::HeatFactors;
use crate::magnet::winding::variant::Unsaid;
use crate::magnet::{Iron, Magnet, Substance};
use crate::material::Electrical;
use crate::sheet::Sheet;
use crate::uncertainty::band::assumed_otherwise;
use crate::uncertainty::input::Input;

/// What is known of how something is spread.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// A value with a standard uncertainty.
    Gaussian,
    /// Limits and nothing else: a tolerance.
    Rectangular,
}

/// One way in which a magnet may differ from what was taken, independent of all others.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// Path in the sheet to which it belongs.
    pub path: String,
    /// What a person calls it.
    pub label: String,
    /// How it is spread.
    pub shape: Shape,
    what: What,
}

/// What is not sure of a steel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OfSteel {
    /// The field that it needs.
    Field,
    /// Its saturation.
    Saturation,
}

#[derive(Clone, Debug, PartialEq)]
enum What {
    /// The sheet's entry at the path, SI.
    Entry { value: f64, standard: f64, limits: [f64; 2] },
    /// The winding.
    Winding(Unsaid),
    /// Field that an iron needs, by its relative standard uncertainty.
    Field { iron: String, relative: f64 },
    /// Saturation of an iron.
    Saturation { iron: String, relative: f64 },
    /// Resistivity of an iron, by its relative standard uncertainty.
    Resistivity { iron: String, relative: f64 },
    /// Pull in space over that of what is drawn, by its standard uncertainty.
    InSpace { standard: f64 },
    /// Factors of heat one standard uncertainty higher.
    Heat(HeatFactors),
}

/// A magnet that differs.
#[derive(Clone, Debug)]
pub struct Varied {
    /// Its sheet.
    pub sheet: Sheet,
    /// The magnet.
    pub magnet: Magnet,
    /// Factors of heat.
    pub factors: HeatFactors,
}

impl Way {
    /// An entry of a sheet, given with a tolerance or assumed.
    pub(crate) fn entry(sheet: &Sheet, input: &Input) -> Self {
        Self {
            path: input.path.clone(),
            label: input.label.clone(),
            shape: if sheet.has(&input.path) { Shape::Rectangular } else { Shape::Gaussian },
            what: What::Entry { value: input.value, standard: input.standard, limits: input.limits },
        }
    }

    /// Something of heat that stands in no sheet, by its factors one standard uncertainty higher.
    pub(crate) fn heat(path: &str, label: &str, higher: HeatFactors) -> Self {
        Self { path: path.into(), label: label.into(), shape: Shape::Gaussian, what: What::Heat(higher) }
    }

    /// For an entry of the sheet its value and standard uncertainty, SI.
    pub fn of_entry(&self) -> Option<(f64, f64)> {
        match self.what {
            What::Entry { value, standard, .. } => Some((value, standard)),
            _ => None,
        }
    }

    /// Whether it can be so many standard uncertainties off: nothing stops it before.
    pub(crate) fn can_move(&self, deviates: f64) -> bool {
        match self.what {
            What::Entry { value, standard, limits: [least, most] } => {
                let there = otherwise(self.shape, value, standard, deviates);
                (least..=most).contains(&there)
            }
            _ => true,
        }
    }

    /// For what is not sure of a steel: its name, what that is, and the relative standard uncertainty.
    pub fn of_steel(&self) -> Option<(&str, OfSteel, f64)> {
        match &self.what {
            What::Field { iron, relative } => Some((iron, OfSteel::Field, *relative)),
            What::Saturation { iron, relative } => Some((iron, OfSteel::Saturation, *relative)),
            _ => None,
        }
    }

    /// A name that no other way of the magnet has; for an entry its path.
    pub fn name(&self) -> String {
        match self.what {
            What::Entry { .. } => self.path.clone(),
            _ => format!("{}, {}", self.path, self.label),
        }
    }
}

/// Every way in which the magnet of a sheet may differ, as far as the magnet itself knows.
pub fn ways(sheet: &Sheet, magnet: &Magnet) -> Vec<Way> {
    let uncertain = magnet.inputs.iter().filter(|i| i.standard > 0.0);
    let mut found: Vec<Way> = uncertain.map(|input| Way::entry(sheet, input)).collect();
    found.extend(magnet.excitation.iter().flat_map(|e| &e.variants).map(|v| Way {
        path: v.path.into(),
        label: v.label.into(),
        shape: if v.of.has_limits() { Shape::Rectangular } else { Shape::Gaussian },
        what: What::Winding(v.of),
    }));
    for iron in irons(magnet) {
        let mut add = |of: &str, label: &str, relative: f64, what: What| {
            if relative > 0.0 {
                found.push(Way {
                    path: format!("material.{}.{of}", iron.name),
                    label: format!("{label} of {}", iron.name),
                    shape: Shape::Gaussian,
                    what,
                });
            }
        };
        let name = || iron.name.clone();
        let (field, saturation) = (iron.field_relative_standard, iron.saturation_relative_standard);
        add("field", "permeability", field, What::Field { iron: name(), relative: field });
        add("saturation", "saturation", saturation, What::Saturation { iron: name(), relative: saturation });
    }
    if let Some(plate) = magnet.workpiece.as_ref().filter(|p| p.in_space.standard > 0.0) {
        found.push(Way {
            path: "workpiece.shape".into(),
            label: "what the drawing leaves out of three dimensions".into(),
            shape: Shape::Rectangular,
            what: What::InSpace { standard: plate.in_space.standard },
        });
    }
    found
}

/// The ways in which its irons may conduct otherwise, which nothing but a field in time sees.
pub fn ways_of_conduction(magnet: &Magnet) -> Vec<Way> {
    let way = |(iron, electrical): (Iron, Electrical)| {
        let relative = electrical.relative_standard;
        (relative > 0.0).then(|| Way {
            path: format!("material.{}.resistivity", iron.name),
            label: format!("resistivity of {}", iron.name),
            shape: Shape::Gaussian,
            what: What::Resistivity { iron: iron.name, relative },
        })
    };
    conductors(magnet).into_iter().filter_map(way).collect()
}

/// The different irons in which eddies flow, by name.
pub fn conductors(magnet: &Magnet) -> Vec<(Iron, Electrical)> {
    let mut found: Vec<(Iron, Electrical)> = Vec::new();
    for iron in magnet.irons().chain(magnet.workpiece.iter().map(|p| &p.iron)) {
        if let Some(electrical) = iron.electrical.filter(|_| !found.iter().any(|f| f.0.name == iron.name)) {
            found.push((iron.clone(), electrical));
        }
    }
    found
}

/// The magnet of a sheet with everything moved by so many standard uncertainties, way by way.
///
/// # Errors
/// There is no such magnet: a winding that no longer fits, a pole wider than its shell.
pub fn varied(
    sheet: &Sheet,
    magnet: &Magnet,
    ways: &[Way],
    deviates: &[f64],
) -> Result<Varied, Vec<Diagnostic>> {
    let moves = || ways.iter().zip(deviates).filter(|(_, x)| **x != 0.0);
    let mut moved = sheet.clone();
    for (way, x) in moves() {
        if let What::Entry { value, standard, limits: [least, most] } = way.what {
            let there = otherwise(way.shape, value, standard, *x);
            // What is pushed against a stop is as far from it on average as it would be without, on the side that is left.
            let back = if there > most { 2.0 * most - there } else { 2.0 * least - there };
            moved.set_value(&way.path, if way.can_move(*x) { there } else { back });
        }
    }
    let entries = moves().any(|(way, _)| matches!(way.what, What::Entry { .. }));
    let mut magnet = if entries { Magnet::complete(&moved)?.watched(&magnet.watch) } else { magnet.clone() };
    let mut factors = HeatFactors::default();
    let mut unsaid = Vec::new();
    for (way, &x) in moves() {
        match &way.what {
            What::Entry { .. } => {}
            What::Winding(of) => unsaid.push((*of, x)),
            What::Field { iron, relative } => scale(&mut magnet, iron, (relative.ln_1p() * x).exp(), 1.0),
            // However unlikely, no steel loses more than half.
            What::Saturation { iron, relative } => {
                scale(&mut magnet, iron, 1.0, (1.0 + relative * x).max(0.5));
            }
            What::Resistivity { iron, relative } => {
                let factor = (relative.ln_1p() * x).exp();
                for iron in irons_mut(&mut magnet).filter(|i| i.name == *iron) {
                    if let Some(electrical) = &mut iron.electrical {
                        electrical.resistivity_20_ohm_m *= factor;
                    }
                }
            }
            What::InSpace { standard } => {
                let plates = magnet.workpiece.iter_mut().chain(&mut magnet.keeper);
                plates.for_each(|plate| plate.in_space.value += standard * x);
            }
            What::Heat(higher) => factors = turned(&factors, higher, x),
        }
    }
    if let (Some(excitation), false) = (&mut magnet.excitation, unsaid.is_empty())
        && let Some(inputs) = &excitation.inputs
    {
        let rewound = crate::magnet::winding::variant::varied(inputs, &unsaid)
            .map_err(|e| vec![moved.fault("winding", e.to_string(), "its tolerances are too wide")])?;
        *excitation = excitation.with_winding(rewound);
    }
    Ok(Varied { sheet: moved, magnet, factors })
}

/// A value moved by so many standard uncertainties; what a tolerance would carry past nothing stops before it.
fn otherwise(shape: Shape, value: f64, standard: f64, deviates: f64) -> f64 {
    let moved = match shape {
        Shape::Gaussian => assumed_otherwise(value, standard, deviates),
        Shape::Rectangular => value + deviates * standard,
    };
    // Limits wider than the value itself do not turn a length or a resistance round.
    if value > 0.0 { moved.max(LEAST * value) } else { moved }
}

/// What is left of a value at least, however wide its tolerance.
const LEAST: f64 = 0.05;

/// Factors times others to a power.
fn turned(factors: &HeatFactors, by: &HeatFactors, power: f64) -> HeatFactors {
    let one = |of: fn(&HeatFactors) -> f64| of(factors) * of(by).powf(power);
    HeatFactors {
        outside: one(|k| k.outside),
        convection: one(|k| k.convection),
        joints: one(|k| k.joints),
        mount: one(|k| k.mount),
        lining: one(|k| k.lining),
        winding: one(|k| k.winding),
        capacity: one(|k| k.capacity),
    }
}

/// The different irons of a magnet, by name.
fn irons(magnet: &Magnet) -> Vec<Iron> {
    let of_plates = magnet.workpiece.iter().chain(magnet.keeper.iter()).map(|p| &p.iron);
    let mut found: Vec<Iron> = Vec::new();
    for iron in magnet.irons().chain(of_plates) {
        if !found.iter().any(|f| f.name == iron.name) {
            found.push(iron.clone());
        }
    }
    found
}

/// All its irons, wherever they are.
fn irons_mut(magnet: &mut Magnet) -> impl Iterator<Item = &mut Iron> {
    let of_parts = magnet.parts.iter_mut().filter_map(|p| match &mut p.substance {
        Substance::Iron(i) => Some(i),
        _ => None,
    });
    let plates = magnet.workpiece.iter_mut().chain(magnet.keeper.iter_mut());
    of_parts.chain(plates.map(|p| &mut p.iron))
}

/// Scale the law of an iron wherever it is.
fn scale(magnet: &mut Magnet, name: &str, field: f64, saturation: f64) {
    for iron in irons_mut(magnet).filter(|i| i.name == name) {
        iron.law = iron.law.scaled(field, saturation);
    }
}
