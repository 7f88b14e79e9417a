//! Round winding wire: read from text such as `0.4 mm grade 2` or `AWG 27`, with its size over the enamel.

mod parse;
mod sizes;

pub use parse::WireError;
pub use sizes::{awg_diameter_m, preferred_diameters_m};

use std::f64::consts::PI;

/// How thick the enamel is (IEC 60317-0-1); grade 1 and 2 are about what the American trade calls single and
/// heavy build.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Grade {
    /// No enamel.
    Bare,
    /// Thin.
    One,
    /// Usual for coils at mains voltage.
    Two,
    /// Thick.
    Three,
}

impl std::fmt::Display for Grade {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Grade::Bare => "bare",
            Grade::One => "grade 1",
            Grade::Two => "grade 2",
            Grade::Three => "grade 3",
        })
    }
}

/// One round wire. All tolerances are half-widths of an even distribution.
#[derive(Clone, Debug, PartialEq)]
pub struct Wire {
    /// Short name, such as `0.400 mm grade 2` or `AWG 27 grade 1`.
    pub name: String,
    /// Gauge number, if it was named by one (0, −1, −2, −3 for 0, 00, 000, 0000).
    pub awg: Option<i32>,
    /// Diameter of the conductor, m.
    pub diameter_m: f64,
    /// Half-width of its tolerance, m: as given, otherwise the standard's.
    pub diameter_half_width_m: f64,
    /// Enamel.
    pub grade: Grade,
    /// The text named no grade, and grade 1 is assumed.
    pub grade_is_assumed: bool,
    /// Diameter over the enamel, m: middle between least and greatest.
    pub overall_diameter_m: f64,
    /// Half the distance between least and greatest overall diameter, m.
    pub overall_half_width_m: f64,
    /// How the overall diameter was found; names the source and says if it is interpolated.
    pub overall_source: String,
}

impl Wire {
    /// From text: a diameter, `CuL` and a diameter (in mm if it names no unit), `AWG n` or `SWG n`, then optionally
    /// `± tolerance`, then optionally `bare` or `grade 1|2|3` (`G1`, ...).
    pub fn parse(text: &str) -> Result<Self, WireError> {
        parse::wire(text)
    }

    /// Wire of any conductor diameter (m) in a grade, with the standard's tolerance. The diameter must lie
    /// between 0.01 mm and 15 mm.
    pub fn new(diameter_m: f64, grade: Grade) -> Result<Self, WireError> {
        if !(sizes::SMALLEST_M..=sizes::LARGEST_M).contains(&diameter_m) {
            return Err(WireError::Size { diameter_mm: 1e3 * diameter_m });
        }
        let overall = sizes::overall(diameter_m, grade);
        Ok(Self {
            name: format!("{} mm {grade}", sizes::millimetres(diameter_m)),
            awg: None,
            diameter_m,
            diameter_half_width_m: sizes::conductor_tolerance_m(diameter_m),
            grade,
            grade_is_assumed: false,
            overall_diameter_m: 0.5 * (overall.least_m + overall.greatest_m),
            overall_half_width_m: 0.5 * (overall.greatest_m - overall.least_m),
            overall_source: overall.source,
        })
    }

    /// Wire of an American gauge number, −3 (0000) to 50.
    pub fn awg(number: i32, grade: Grade) -> Result<Self, WireError> {
        if !(-3..=50).contains(&number) {
            return Err(WireError::Gauge { number });
        }
        let wire = Self::new(awg_diameter_m(number), grade)?;
        Ok(Self { name: format!("AWG {} {grade}", sizes::awg_name(number)), awg: Some(number), ..wire })
    }

    /// Wire of a British gauge number, 0 to 50 (BS 3737:1964, from memory).
    pub fn swg(number: i32, grade: Grade) -> Result<Self, WireError> {
        let diameter_m = sizes::swg_diameter_m(number).ok_or(WireError::BritishGauge { number })?;
        let wire = Self::new(diameter_m, grade)?;
        Ok(Self { name: format!("SWG {number} {grade}"), ..wire })
    }

    /// Cross-section of the conductor, m².
    pub fn conductor_area_m2(&self) -> f64 {
        0.25 * PI * self.diameter_m * self.diameter_m
    }

    /// Cross-section over the enamel, m².
    pub fn overall_area_m2(&self) -> f64 {
        0.25 * PI * self.overall_diameter_m * self.overall_diameter_m
    }

    /// Resistance per length for a conductor of that resistivity, Ω/m.
    pub fn resistance_ohm_per_m(&self, resistivity_ohm_m: f64) -> f64 {
        resistivity_ohm_m / self.conductor_area_m2()
    }

    /// Relative standard uncertainty of the resistance per length from the diameter alone: 2 δd/(√3 d).
    pub fn resistance_relative_standard(&self) -> f64 {
        2.0 * self.diameter_half_width_m / (3f64.sqrt() * self.diameter_m)
    }
}

/// The preferred sizes of IEC 60317-0-1 in one grade, thinnest first.
pub fn standard_wires(grade: Grade) -> impl Iterator<Item = Wire> {
    preferred_diameters_m().filter_map(move |d| Wire::new(d, grade).ok())
}

/// Gauges AWG 50 to 0000 in one grade, thinnest first.
pub fn awg_wires(grade: Grade) -> impl Iterator<Item = Wire> {
    (-3..=50).rev().filter_map(move |n| Wire::awg(n, grade).ok())
}

/// The preferred size nearest to a conductor diameter (m) by ratio.
pub fn nearest_preferred_m(diameter_m: f64) -> f64 {
    let distance = |d: f64| (d / diameter_m).ln().abs();
    preferred_diameters_m().min_by(|a, b| distance(*a).total_cmp(&distance(*b))).unwrap_or(diameter_m)
}
