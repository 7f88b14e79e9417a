//! A winding of round enamelled wires as one homogeneous medium.
//!
//! Two steps, both exact for what they describe: a coated cylinder conducts across its axis like a plain one
//! of `k_e [(1+ν) k_c + (1-ν) k_e] / [(1-ν) k_c + (1+ν) k_e]`, ν the conductor's share of its area (Hashin
//! and Rosen's composite cylinder, 1964), and equal cylinders in a regular hexagonal array conduct by the
//! truncated Rayleigh series of Perrins, McKenzie and McPhedran, Proc. R. Soc. A 369 (1979) 207 (constants
//! from memory, checked by a multipole solution). A wild winding lies between that and the lower bound of
//! Hashin and Shtrikman (1962), which is Maxwell Garnett's formula; the band spans both. Along the wires the
//! shares conduct side by side.

use crate::thermal::cooling::error::CoolingError;

/// Wire and what lies between the wires: conductivities in W/(m K), areas as shares of the winding's window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strand {
    /// Conductor (copper 385 to 400).
    pub conductor: f64,
    /// Enamel (0.2 to 0.26; typical, unsourced).
    pub enamel: f64,
    /// Between the wires: air, varnish or resin.
    pub filler: f64,
    /// Conductor area over window area.
    pub conductor_share: f64,
    /// Area of the enamelled wires over window area, at least the conductor's and below a hexagonal array's
    /// 0.9069.
    pub wire_share: f64,
}

/// Effective conductivities in W/(m K).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WindingConductivity {
    /// Along the wires (around the coil).
    pub along: f64,
    /// Across the wires, hexagonal array.
    pub across: f64,
    /// Across, lower bound for any arrangement (Hashin–Shtrikman).
    pub across_low: f64,
}

/// Effective conductivity along and across the wires.
///
/// # Errors
/// Conductivities not positive; shares that do not fit into each other or exceed the densest packing.
pub fn winding_conductivity(strand: &Strand) -> Result<WindingConductivity, CoolingError> {
    for k in [strand.conductor, strand.enamel, strand.filler] {
        if !(k.is_finite() && k > 0.0) {
            return Err(CoolingError::Conductivity(k));
        }
    }
    let (inner, outer) = (strand.conductor_share, strand.wire_share);
    if !(inner.is_finite() && inner > 0.0 && inner <= outer) {
        return Err(CoolingError::Share(inner));
    }
    // Densest packing of equal circles: π / (2 √3).
    if !(outer.is_finite() && outer < 0.906_899_682) {
        return Err(CoolingError::Share(outer));
    }
    let wire = coated(strand.conductor, strand.enamel, inner / outer);
    Ok(WindingConductivity {
        along: inner * strand.conductor + (outer - inner) * strand.enamel + (1.0 - outer) * strand.filler,
        across: hexagonal(wire, strand.filler, outer),
        across_low: coated(wire, strand.filler, outer),
    })
}

/// Conductivity through wound layers with a sheet of insulation between them: layers and sheets in series,
/// per pitch. `layer` is the layers' own conductivity and `pitch_m` the distance from layer to layer, sheet
/// included.
///
/// # Errors
/// Conductivities not positive, or a sheet as thick as the pitch.
pub fn layered(layer: f64, pitch_m: f64, sheet: f64, sheet_thickness_m: f64) -> Result<f64, CoolingError> {
    for k in [layer, sheet] {
        if !(k.is_finite() && k > 0.0) {
            return Err(CoolingError::Conductivity(k));
        }
    }
    let share = sheet_thickness_m / pitch_m;
    if !(0.0..1.0).contains(&share) {
        return Err(CoolingError::Share(share));
    }
    Ok(1.0 / ((1.0 - share) / layer + share / sheet))
}

/// Cylinder of conductivity `core` that fills `share` of a shell of conductivity `shell`.
fn coated(core: f64, shell: f64, share: f64) -> f64 {
    shell * ((1.0 + share) * core + (1.0 - share) * shell) / ((1.0 - share) * core + (1.0 + share) * shell)
}

/// Hexagonal array of cylinders of area share `f`.
fn hexagonal(cylinder: f64, matrix: f64, f: f64) -> f64 {
    if cylinder == matrix {
        return matrix;
    }
    let t = (matrix + cylinder) / (matrix - cylinder);
    let f6 = f.powi(6);
    let denominator = t + f - 0.075_422 * f6 * t / (t * t - 1.060_283 * f6 * f6) - 0.000_076 * f6 * f6 / t;
    matrix * (1.0 - 2.0 * f / denominator)
}
