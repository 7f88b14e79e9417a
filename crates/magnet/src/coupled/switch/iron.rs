//! What the magnet's iron keeps of its flux when the current is gone.

use crate::circuit::residual::{Coercivity, ResidualCircuit, ResidualPull, residual_pull};
use crate::coupled::operating_point::{Driven, Strength};
use crate::failure::Failure;
use crate::magnet::{Iron, Magnet, Part, Substance};
use crate::material::MU0;
use coilwright_fem::drawing::Symmetry;
use std::f64::consts::PI;

/// Flux density that soft iron keeps in a closed circuit, T (0.7 to 1.2 T; typical, unsourced).
const REMANENCE_T: f64 = 0.9;
/// How well a gap is known that the sheet gives without tolerance, as a factor.
const GAP_FACTOR: f64 = 2.0;

/// The iron of the pole.
fn pole_iron(magnet: &Magnet) -> Option<&Iron> {
    let at = magnet.poles.first().map(|p| 0.5 * (p.x_m[0] + p.x_m[1]))?;
    let irons = magnet.parts.iter().filter_map(|p| match &p.substance {
        Substance::Iron(i) => Some((p, i)),
        _ => None,
    });
    let spans = |p: &Part| {
        let xs = || p.outline.0.iter().map(|n| n.0[0]);
        xs().fold(f64::INFINITY, f64::min) <= at && at <= xs().fold(0.0, f64::max)
    };
    irons.filter(|(p, _)| spans(p)).map(|(_, i)| i).next_back()
}

/// Areas of both poles, m²; a pole without a partner returns its flux through the air.
fn pole_areas_m2(magnet: &Magnet) -> Option<([f64; 2], bool)> {
    let depth = magnet.depth_m;
    let area = |x: [f64; 2]| match magnet.symmetry {
        Symmetry::Axial => PI * (x[1] * x[1] - x[0] * x[0]),
        _ if x[0] == 0.0 => 2.0 * x[1] * depth,
        _ => (x[1] - x[0]) * depth,
    };
    match &magnet.poles[..] {
        [a, b, ..] => {
            let pair = if magnet.symmetry == Symmetry::Axial || b.x_m[0] == 0.0 { 1.0 } else { 2.0 };
            Some(([area(a.x_m), pair * area(b.x_m)], true))
        }
        [a] if magnet.symmetry == Symmetry::Axial => Some(([area(a.x_m); 2], false)),
        [a] => Some(([area(a.x_m); 2], true)),
        [] => None,
    }
}

/// Pull without current; none without iron.
pub(crate) fn residual(
    magnet: &Magnet,
    strength: &Strength,
    driven: &Driven<'_>,
) -> Result<Option<ResidualPull>, Failure> {
    let Some(((iron, plate), (areas, closed))) =
        pole_iron(magnet).zip(magnet.workpiece.as_ref()).zip(pole_areas_m2(magnet))
    else {
        return Ok(None);
    };
    let coercivity =
        iron.coercivity_a_per_m.map_or(Coercivity::UNKNOWN_STEEL, |(v, h)| Coercivity::with_band(v, h));
    let middles: Vec<f64> = magnet.poles.iter().map(|p| 0.5 * (p.x_m[0] + p.x_m[1])).collect();
    let apart = match middles[..] {
        [a, b, ..] => (b - a).abs(),
        [a] if closed => 2.0 * a,
        _ => 0.0,
    };
    let along = magnet.face_m * if closed { 2.0 } else { 1.0 };
    let area = areas[0].min(areas[1]);
    let gap = magnet.inputs.iter().find(|i| i.path == "workpiece.gap");
    let gap_factor = gap.map_or(GAP_FACTOR, |i| 1.0 + (2.0 * i.standard / i.value).clamp(0.05, 2.0));
    // Without a second pole the flux returns through the air: the circuit's reluctance by the field at little current.
    let (gap_m, pole_areas_m2) = if closed {
        (plate.gap_m, areas)
    } else {
        let i = strength.linkage.knots()[1];
        let flux = strength.linkage.value(i).unwrap_or(f64::NAN) / driven.excitation.turns;
        let reluctance = driven.excitation.turns * i / flux;
        (reluctance * MU0 * area, [area, 1e6 * area])
    };
    Ok(Some(residual_pull(
        &ResidualCircuit {
            iron_path_m: along + 2.0 * apart,
            iron_area_m2: area,
            pole_areas_m2,
            gap_m,
            gap_factor,
            remanence_t: REMANENCE_T,
        },
        &coercivity,
    )?))
}
