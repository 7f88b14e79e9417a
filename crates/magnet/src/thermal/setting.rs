//! What surrounds a magnet and fills it, as far as heat is concerned: from the sheet, the rest assumed.

use crate::diagnostic::Diagnostic;
use crate::magnet::assumption::Assumption;
use crate::magnet::heat_factors::HeatFactors;
use crate::magnet::{Magnet, Reader};
use crate::material::{CELSIUS_ZERO_K, Solid, Thermal, ThermalClass, solid, solid_names, thermal_class};
use crate::quantity::{Dimension, UnitSystem};
use crate::sheet::Sheet;
use crate::thermal::cooling::contact::{Estimate, cold_plate, dry_contact, filled_gap};
use crate::uncertainty::input::Input;

/// What carries the heat away.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cooling {
    /// Natural convection and radiation.
    StillAir,
    /// A stream past all outer surfaces, m/s.
    ForcedAir(f64),
    /// The back to a coolant, the rest to still air.
    ColdPlate {
        /// Temperature of the coolant, K.
        coolant_k: f64,
        /// From the back to the coolant, W/K.
        conductance_w_k: f64,
    },
    /// Nothing leaves.
    Adiabatic,
}

/// How the magnet is held.
#[derive(Clone, Debug, PartialEq)]
pub enum Mounting {
    /// Free in the air, face down.
    Hanging,
    /// Standing on its back, face up, on a bench of wood.
    OnItsBack,
    /// Bolted by its back under a plate, face down.
    Bolted(Wall),
}

/// The plate a magnet is bolted to.
#[derive(Clone, Debug, PartialEq)]
pub struct Wall {
    /// Side of the square, m.
    pub length_m: f64,
    /// m.
    pub thickness_m: f64,
    /// What it is made of.
    pub thermal: Thermal,
    /// Of its surface.
    pub emissivity: f64,
}

/// The highest temperature the insulation is made for.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// Name, such as `class B`.
    pub name: String,
    /// K.
    pub kelvin: f64,
}

/// Which of the scales a calibration has found, with its own uncertainty.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Calibrated {
    /// The heat given off: correlations, emissivity, joint to the mount, the plate's size.
    pub outside: bool,
    /// The heat that passes from the wires to the iron.
    pub winding: bool,
    /// The heat stored.
    pub capacity: bool,
}

/// Everything beside the magnet itself that decides its temperatures.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// Temperature of the air and of what is near, K.
    pub ambient_k: f64,
    /// Temperature of the magnet when it is first switched on, K, if it is another.
    pub start_k: Option<f64>,
    /// What carries the heat away.
    pub cooling: Cooling,
    /// How it is held.
    pub mounting: Mounting,
    /// Of the outer surface.
    pub emissivity: f64,
    /// What lies between winding and iron.
    pub lining: &'static Solid,
    /// What lies between the wires.
    pub filler: &'static Solid,
    /// Between lining or winding and iron, W/(m² K); none if cast.
    pub inner_joint: Option<Estimate>,
    /// Between back and mount, W/(m² K).
    pub mount_joint: Estimate,
    /// Factor on all heat given off, from a calibration.
    pub conductance_scale: f64,
    /// Factor on all heat stored, from a calibration.
    pub capacity_scale: f64,
    /// Factor on what conducts heat from the wires to the iron, from a calibration.
    pub winding_scale: f64,
    /// What a calibration has found, so that what is typical of it no longer counts.
    pub calibrated: Calibrated,
    /// The insulation's limit.
    pub limit: Limit,
    /// Whether the workpiece is attached.
    pub workpiece: bool,
    /// Factors to vary.
    pub factors: HeatFactors,
}

/// A setting with what was uncertain and assumed on the way.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The setting.
    pub setting: Setting,
    /// What is uncertain.
    pub inputs: Vec<Input>,
    /// What was assumed.
    pub assumptions: Vec<Assumption>,
}

/// Likely emissivity and its standard uncertainty.
const EMISSIVITY: (f64, f64) = (0.8, 0.12);
/// The same of a plate of steel, and of other metals: bare they radiate little (0.05 to 0.2), anodised or painted much
/// (thermography tables).
const STEEL_PLATE: (f64, f64) = (0.7, 0.15);
const METAL_PLATE: (f64, f64) = (0.3, 0.2);
/// Of polished silver or copper (tables of any text on heat transfer, from memory).
const LEAST_EMISSIVITY: f64 = 0.02;
/// Thickness of air that a loose and a varnished winding leave on each side, m (common practice, no source).
const LOOSE_M: f64 = 0.1e-3;
const VARNISHED_M: f64 = 0.05e-3;
const ROOM_K: f64 = 20.0 + CELSIUS_ZERO_K;

const OUTSIDE: &str = "calibration.thermal_conductance_scale";
const CAPACITY: &str = "calibration.heat_capacity_scale";
const WINDING: &str = "calibration.winding_conductance_scale";
/// What a scale of the heat given off has in it.
const OUTSIDE_INPUTS: [&str; 6] = [
    "surroundings.plate_emissivity",
    "surroundings.emissivity",
    "surroundings.air_speed",
    "surroundings.cooling_conductance",
    "surroundings.plate_length",
    "surroundings.plate_thickness",
];

/// Cooling and mounting of a sheet in words, as `calibration.surroundings` has them.
pub fn surroundings(sheet: &Sheet) -> String {
    let word = |path: &str, usual| sheet.word(path).unwrap_or(usual).to_owned();
    word("surroundings.cooling", USUAL_COOLING) + ", " + &word("surroundings.mounting", USUAL_MOUNTING)
}

/// How far a room may be from that, K (common practice, no source).
const ROOM_STANDARD_K: f64 = 2.0;
const USUAL_COOLING: &str = "still air";
const USUAL_MOUNTING: &str = "hanging";

impl Setting {
    /// Read a sheet's surroundings; `workpiece`: with the workpiece attached.
    ///
    /// # Errors
    /// Every fault found.
    pub fn read(sheet: &Sheet, magnet: &Magnet, workpiece: bool) -> Result<Reading, Vec<Diagnostic>> {
        let mut r = Reader::new(sheet);
        let ambient_k = r.or_assume(
            "surroundings.temperature",
            "temperature of the surroundings",
            (ROOM_K, ROOM_STANDARD_K),
            Dimension::Temperature,
            "not given; a room",
        );
        let emissivity = r.or_assume(
            "surroundings.emissivity",
            "emissivity of the outer surface",
            EMISSIVITY,
            Dimension::Ratio,
            "painted or oxidised (thermography tables); bright zinc or nickel would be 0.05 to 0.3",
        );
        let limit = limit(&mut r);
        let mounting = mounting(&mut r, magnet);
        let cooling = cooling(&mut r, magnet, ambient_k, &limit);
        let filling = r.word_or_assume(
            "winding.impregnation",
            "what fills the winding",
            "none",
            "not given; air between the wires is the warmest case",
        );
        let (lining, filler) = match filling.as_str() {
            "epoxy" => ("epoxy", "epoxy"),
            "varnish" => ("polyamide", "varnish"),
            _ => ("polyamide", "air"),
        };
        let (Ok(lining), Ok(filler), Ok(air)) = (solid(lining), solid(filler), solid("air")) else {
            r.fault("winding.impregnation", "the materials' data are incomplete", "");
            return Err(r.faults);
        };
        let air = air.thermal.conductivity_w_per_mk;
        let inner_joint = match filling.as_str() {
            "epoxy" => None,
            "varnish" => filled_gap(VARNISHED_M, air).ok(),
            _ => filled_gap(LOOSE_M, air).ok(),
        };
        let held = surroundings(sheet);
        let elsewhere = sheet.word("calibration.surroundings").filter(|found_in| *found_in != held);
        let conductance_scale = match elsewhere {
            Some(found_in) => {
                r.assumptions.push(Assumption {
                    path: OUTSIDE.into(),
                    label: "scale of the heat given off".into(),
                    value: None,
                    word: "1".into(),
                    reason: format!("the calibration holds for \"{found_in}\", not for \"{held}\""),
                });
                1.0
            }
            None => r.given(OUTSIDE, "scale of the heat given off").unwrap_or(1.0),
        };
        let capacity_scale = r.given(CAPACITY, "scale of the heat stored").unwrap_or(1.0);
        let winding_scale =
            r.given(WINDING, "scale of the heat that passes from wires to iron").unwrap_or(1.0);
        let found = |path: &str| sheet.quantity(path).is_some_and(|q| q.half_width > 0.0);
        let calibrated = Calibrated {
            outside: elsewhere.is_none() && found(OUTSIDE),
            winding: found(WINDING),
            capacity: found(CAPACITY),
        };
        if calibrated.outside {
            r.inputs.retain(|input| !OUTSIDE_INPUTS.contains(&input.path.as_str()));
        }
        if !r.faults.is_empty() {
            return Err(r.faults);
        }
        let setting = Self {
            ambient_k,
            start_k: None,
            cooling,
            mounting,
            emissivity,
            lining,
            filler,
            inner_joint,
            mount_joint: dry_contact(),
            conductance_scale,
            capacity_scale,
            winding_scale,
            calibrated,
            limit,
            workpiece,
            factors: HeatFactors::default(),
        };
        // Nothing radiates more than a black body, and no bare metal less than this.
        for input in r.inputs.iter_mut().filter(|input| input.path.ends_with("emissivity")) {
            input.limits = [LEAST_EMISSIVITY.min(input.value), 1.0];
        }
        Ok(Reading { setting, inputs: r.inputs, assumptions: r.assumptions })
    }

    /// Whether gravity points from the back to the face.
    pub fn face_down(&self) -> bool {
        !matches!(self.mounting, Mounting::OnItsBack)
    }

    /// Speed of the air past the magnet, m/s.
    pub fn air_speed_m_s(&self) -> f64 {
        if let Cooling::ForcedAir(speed) = self.cooling { speed } else { 0.0 }
    }

    /// The lowest temperature the winding can have without current, K.
    pub fn coldest_k(&self) -> f64 {
        match self.cooling {
            Cooling::ColdPlate { coolant_k, .. } => coolant_k.min(self.ambient_k),
            _ => self.ambient_k,
        }
    }
}

/// Class of a winding of which nothing is said (common practice, no source).
pub const USUAL_CLASS: ThermalClass = ThermalClass { name: "B", limit_k: 130.0 + CELSIUS_ZERO_K };

fn limit(r: &mut Reader<'_>) -> Limit {
    for path in ["winding.thermal_class", "nameplate.thermal_class"] {
        if let Some(kelvin) = r.sheet.value(path) {
            return Limit { name: Dimension::Temperature.text(kelvin, None, UnitSystem::Si), kelvin };
        }
        if let Some(class) = r.sheet.word(path).and_then(thermal_class) {
            return Limit { name: format!("class {}", class.name), kelvin: class.limit_k };
        }
    }
    r.assumptions.push(Assumption {
        path: "winding.thermal_class".into(),
        label: "thermal class".into(),
        value: None,
        word: USUAL_CLASS.name.into(),
        reason: "not given; 130 °C is the least that today's enamels are made for (common practice)".into(),
    });
    Limit { name: format!("class {}", USUAL_CLASS.name), kelvin: USUAL_CLASS.limit_k }
}

fn cooling(r: &mut Reader<'_>, magnet: &Magnet, ambient_k: f64, limit: &Limit) -> Cooling {
    let word =
        r.word_or_assume("surroundings.cooling", "what carries the heat away", USUAL_COOLING, "not given");
    match word.as_str() {
        "forced air" => Cooling::ForcedAir(r.or_assume(
            "surroundings.air_speed",
            "speed of the air",
            (2.0, 0.7),
            Dimension::Speed,
            "a small fan close by (common practice)",
        )),
        "cold plate" => {
            let coolant_k = r.or_assume(
                "surroundings.coolant_temperature",
                "temperature of the coolant",
                (ambient_k, 0.0),
                Dimension::Temperature,
                "as the surroundings",
            );
            if coolant_k >= limit.kelvin {
                let text = |k: f64| Dimension::Temperature.text(k, None, UnitSystem::Si);
                r.fault(
                    "surroundings.coolant_temperature",
                    format!(
                        "the coolant is at {}, no less than the insulation's {}",
                        text(coolant_k),
                        text(limit.kelvin)
                    ),
                    "it would heat the magnet; check the unit or the thermal class",
                );
            }
            let plate = cold_plate();
            let area = back_area_m2(magnet);
            let (value, standard) = (plate.value * area, area * (plate.high - plate.low) / 12f64.sqrt());
            let conductance_w_k = r.or_assume(
                "surroundings.cooling_conductance",
                "conductance to the coolant",
                (value, standard.min(0.4 * value)),
                Dimension::ThermalConductance,
                "a plate with pressed-in tubes, by its area (typical, unsourced)",
            );
            Cooling::ColdPlate { coolant_k, conductance_w_k }
        }
        "adiabatic" => Cooling::Adiabatic,
        _ => Cooling::StillAir,
    }
}

fn mounting(r: &mut Reader<'_>, magnet: &Magnet) -> Mounting {
    let word = r.word_or_assume(
        "surroundings.mounting",
        "how it is held",
        USUAL_MOUNTING,
        "not given; free in the air, face down",
    );
    match word.as_str() {
        "on its back" => Mounting::OnItsBack,
        "bolted" => {
            let across = 2.0 * reach_m(magnet);
            let length_m = r.or_assume(
                "surroundings.plate_length",
                "side of the plate it is bolted to",
                (2.0 * across, 0.4 * across),
                Dimension::Length,
                "twice as wide as the magnet",
            );
            let thickness_m = r.or_assume(
                "surroundings.plate_thickness",
                "thickness of that plate",
                (8e-3, 2e-3),
                Dimension::Length,
                "common practice",
            );
            let name = r.word_or_assume(
                "surroundings.plate_material",
                "material of that plate",
                "steel",
                "not given",
            );
            match crate::material::soft(&name).map(|s| s.thermal).or_else(|_| solid(&name).map(|s| s.thermal))
            {
                Ok(thermal) => {
                    let steel = crate::material::soft(&name).is_ok() || name == "steel";
                    let emissivity = r.or_assume(
                        "surroundings.plate_emissivity",
                        "emissivity of that plate",
                        if steel { STEEL_PLATE } else { METAL_PLATE },
                        Dimension::Ratio,
                        "by its material; bare metal would be less, paint or anodising more",
                    );
                    return Mounting::Bolted(Wall { length_m, thickness_m, thermal, emissivity });
                }
                Err(e) => {
                    let known: Vec<&str> = solid_names().collect();
                    r.fault(
                        "surroundings.plate_material",
                        e.to_string(),
                        format!("known are {}", known.join(", ")),
                    );
                }
            }
            Mounting::Hanging
        }
        _ => Mounting::Hanging,
    }
}

/// Largest distance of any part from the axis or mirror, m.
pub(crate) fn reach_m(magnet: &Magnet) -> f64 {
    magnet.parts.iter().flat_map(|p| &p.outline.0).map(|n| n.0[0].abs()).fold(0.0, f64::max)
}

/// Area of the back by which the magnet is held, m².
pub(crate) fn back_area_m2(magnet: &Magnet) -> f64 {
    use coilwright_fem::drawing::Symmetry;
    let low = magnet.parts.iter().flat_map(|p| &p.outline.0).map(|n| n.0[1]).fold(f64::INFINITY, f64::min);
    let on_floor = magnet.parts.iter().filter(|p| p.outline.0.iter().any(|n| n.0[1] < low + 1e-6));
    let spans = on_floor.map(|p| {
        let xs = || p.outline.0.iter().map(|n| n.0[0]);
        (xs().fold(f64::INFINITY, f64::min), xs().fold(0.0, f64::max))
    });
    match magnet.symmetry {
        Symmetry::Axial => spans.map(|(a, b)| std::f64::consts::PI * (b * b - a * a)).sum(),
        Symmetry::PlanarHalf(_) => spans.map(|(a, b)| 2.0 * (b - a) * magnet.depth_m).sum(),
        Symmetry::Planar => spans.map(|(a, b)| (b - a) * magnet.depth_m).sum(),
    }
}
