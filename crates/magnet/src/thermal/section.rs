//! A magnet's section as heat sees it: iron, winding, what lies between them, the plate behind and the workpiece.

use crate::magnet::winding::Winding;
use crate::magnet::{Iron, Magnet, Substance as Part};
use crate::material::{CELSIUS_ZERO_K, Thermal, soft, solid};
use crate::thermal::ThermalError;
use crate::thermal::cooling::contact::{dry_contact, filled_gap};
use crate::thermal::cooling::winding_conductivity::{Strand, winding_conductivity};
use crate::thermal::setting::{Cooling, Mounting, Setting};
use coilwright_fem::drawing::Drawing;
use coilwright_fem::drawing::Outline;
use coilwright_fem::drawing::Symmetry;
use coilwright_fem::heat::Contact;
use coilwright_fem::heat::Substance;
use std::f64::consts::PI;

/// What a region is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Role {
    Air,
    Iron,
    Winding,
    /// Bobbin, insulation or resin between winding and iron.
    Lining,
    /// The plate it is bolted to.
    Wall,
    Workpiece,
}

/// An axis-parallel box.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Extent {
    pub(crate) x: [f64; 2],
    pub(crate) y: [f64; 2],
}

/// A region of the section.
#[derive(Clone, Debug)]
pub(crate) struct Region {
    pub(crate) role: Role,
    pub(crate) extent: Extent,
    substance: Option<Substance>,
}

/// The section, ready to be meshed.
#[derive(Clone, Debug)]
pub(crate) struct Section {
    pub(crate) drawing: Drawing,
    /// By region; 0 is the air.
    pub(crate) regions: Vec<Region>,
    pub(crate) contacts: Vec<Contact>,
    /// From the solver's watts (per metre, half the magnet) to the magnet's.
    pub(crate) scale: f64,
    /// Outer surface of the whole magnet over that of the slice: the two ends of a planar one.
    pub(crate) ends: f64,
    /// The magnet's own box, plate and workpiece not counted.
    pub(crate) body: Extent,
}

/// Closest distance at which two parts count as touching, m.
const TOUCH_M: f64 = 1e-6;
/// Elements across the smaller of half-width and height.
const ACROSS: f64 = 7.0;

impl Extent {
    fn of(outline: &Outline) -> Self {
        let mut e = Self { x: [f64::INFINITY, f64::NEG_INFINITY], y: [f64::INFINITY, f64::NEG_INFINITY] };
        for (p, _) in &outline.0 {
            e.x = [e.x[0].min(p[0]), e.x[1].max(p[0])];
            e.y = [e.y[0].min(p[1]), e.y[1].max(p[1])];
        }
        e
    }

    fn with(self, other: Self) -> Self {
        Self {
            x: [self.x[0].min(other.x[0]), self.x[1].max(other.x[1])],
            y: [self.y[0].min(other.y[0]), self.y[1].max(other.y[1])],
        }
    }

    pub(crate) fn contains(&self, p: [f64; 2]) -> bool {
        let inside = |v: f64, range: [f64; 2]| v > range[0] - 1e-9 && v < range[1] + 1e-9;
        inside(p[0], self.x) && inside(p[1], self.y)
    }

    pub(crate) fn width(&self) -> f64 {
        self.x[1] - self.x[0]
    }

    pub(crate) fn height(&self) -> f64 {
        self.y[1] - self.y[0]
    }
}

impl Section {
    /// Draw a wound magnet.
    pub(crate) fn of(magnet: &Magnet, winding: &Winding, setting: &Setting) -> Result<Self, ThermalError> {
        let boxes: Vec<Extent> = magnet.parts.iter().map(|p| Extent::of(&p.outline)).collect();
        let body = boxes.iter().copied().reduce(Extent::with).ok_or(ThermalError::Missing("parts"))?;
        let half = matches!(magnet.symmetry, Symmetry::PlanarHalf(_));
        let axial = magnet.symmetry == Symmetry::Axial;
        let scale = magnet.depth_m * if half { 2.0 } else { 1.0 };
        let copper = winding_substance(magnet, winding, setting, scale)?;

        let air = Region { role: Role::Air, extent: body, substance: None };
        let mut regions = vec![air];
        let mut outlines = Vec::new();
        let mut paint = |regions: &mut Vec<Region>, role, outline: Outline, substance| {
            regions.push(Region { role, extent: Extent::of(&outline), substance: Some(substance) });
            outlines.push(outline);
        };
        let irons: Vec<Extent> = (magnet.parts.iter().zip(&boxes))
            .filter(|(p, _)| matches!(p.substance, Part::Iron(_)))
            .map(|(_, b)| *b)
            .collect();
        let lining = plain(&setting.lining.thermal, setting, setting.factors.lining * setting.winding_scale);
        for (part, extent) in magnet.parts.iter().zip(&boxes) {
            if let Part::Conductors { .. } = part.substance {
                let around = lined(*extent, &irons, body);
                if around != *extent {
                    paint(&mut regions, Role::Lining, Outline::rectangle(around.x, around.y), lining);
                }
            }
        }
        for part in &magnet.parts {
            match &part.substance {
                Part::Iron(iron) => {
                    let steel = plain(&steel(iron)?, setting, 1.0);
                    paint(&mut regions, Role::Iron, part.outline.clone(), steel);
                }
                Part::Conductors { .. } => paint(&mut regions, Role::Winding, part.outline.clone(), copper),
                _ => {}
            }
        }
        if let (Mounting::Bolted(wall), false) =
            (&setting.mounting, matches!(setting.cooling, Cooling::ColdPlate { .. } | Cooling::Adiabatic))
        {
            // A square is taken as a disc of its area, and in a slice as a strip of its area.
            let reach =
                if axial { wall.length_m / PI.sqrt() } else { 0.5 * wall.length_m.powi(2) / magnet.depth_m };
            let outline = Outline::rectangle([0.0, reach], [body.y[0] - wall.thickness_m, body.y[0]]);
            paint(&mut regions, Role::Wall, outline, plain(&wall.thermal, setting, 1.0));
        }
        if let (Some(plate), true) = (&magnet.workpiece, setting.workpiece) {
            let outline = Outline::rectangle(plate.x_m, [magnet.face_m, magnet.face_m + plate.thickness_m]);
            paint(&mut regions, Role::Workpiece, outline, plain(&steel(&plate.iron)?, setting, 1.0));
        }

        let all = regions[1..].iter().map(|r| r.extent).fold(body, Extent::with);
        let centre = [0.0, 0.5 * (all.y[0] + all.y[1])];
        let radius = 1.1 * all.x[1].hypot(0.5 * all.height());
        let mut drawing = Drawing::new(magnet.symmetry, centre, radius);
        drawing.growth = 0.6;
        drawing.size_max_m = body.x[1].min(body.height()) / ACROSS;
        for (k, outline) in outlines.into_iter().enumerate() {
            drawing.paint(k + 1, outline);
        }
        let ends = if axial {
            1.0
        } else {
            // Half the section's outside against the section itself, twice.
            let round = 2.0 * body.width() + body.height();
            1.0 + 2.0 * body.width() * body.height() / (round * magnet.depth_m)
        };
        let contacts = contacts(&regions, magnet, setting)?;
        Ok(Self { drawing, regions, contacts, scale, ends, body })
    }

    pub(crate) fn substances(&self) -> Vec<Option<Substance>> {
        self.regions.iter().map(|r| r.substance).collect()
    }

    /// Numbers of the regions of a role.
    pub(crate) fn of_role(&self, role: Role) -> impl Iterator<Item = usize> + '_ {
        (0..self.regions.len()).filter(move |&k| self.regions[k].role == role)
    }
}

fn plain(thermal: &Thermal, setting: &Setting, conductivity_factor: f64) -> Substance {
    let capacity = thermal.volumetric_heat_j_per_m3k() * setting.capacity_scale * setting.factors.capacity;
    Substance::plain(thermal.conductivity_w_per_mk * conductivity_factor, capacity)
}

/// Steel of a name; a material of the sheet's own is taken for ordinary steel.
fn steel(iron: &Iron) -> Result<Thermal, ThermalError> {
    if let Ok(known) = soft(&iron.name) {
        return Ok(known.thermal);
    }
    solid("steel").map(|s| s.thermal).map_err(|_| ThermalError::Missing("thermal data of steel"))
}

/// Likely conductivity across a winding and its relative standard uncertainty: between the hexagonal array and the
/// lower bound, with 15 % for enamel and filler (typical, unsourced).
pub(crate) fn across(winding: &Winding, setting: &Setting) -> Result<(f64, f64), ThermalError> {
    let enamel = solid("enamel").map_err(|_| ThermalError::Missing("thermal data of enamel"))?;
    // A sheet that overfills its window is told so by the winding's answer; heat goes on with the densest packing.
    let wire_share = winding.overall_fill.min(0.88);
    let strand = Strand {
        conductor: winding.conductor.thermal.conductivity_w_per_mk,
        enamel: enamel.thermal.conductivity_w_per_mk,
        filler: setting.filler.thermal.conductivity_w_per_mk,
        conductor_share: winding.fill_factor.min(0.98 * wire_share),
        wire_share,
    };
    let found = winding_conductivity(&strand)?;
    let middle = 0.5 * (found.across + found.across_low);
    let spread = (found.across - found.across_low) / (12f64.sqrt() * middle);
    Ok((middle, spread.hypot(0.15)))
}

/// The winding as one medium that generates 1 A² times its resistance at a factor of 1.
fn winding_substance(
    magnet: &Magnet,
    winding: &Winding,
    setting: &Setting,
    scale: f64,
) -> Result<Substance, ThermalError> {
    let whole = winding.coils * winding.window.volume_m3();
    // Of a planar magnet the slice holds less than the whole: its turns close beyond the two ends.
    let drawn = match magnet.symmetry {
        Symmetry::Axial => whole,
        _ => {
            let conductors = magnet.parts.iter().filter(|p| matches!(p.substance, Part::Conductors { .. }));
            let boxes = conductors.map(|p| Extent::of(&p.outline));
            scale * boxes.map(|b| b.width() * b.height()).sum::<f64>()
        }
    };
    let enamel = solid("enamel").map_err(|_| ThermalError::Missing("thermal data of enamel"))?;
    let wire_share = winding.overall_fill.min(1.0);
    let copper_share = winding.fill_factor.min(wire_share);
    let capacity = copper_share * winding.conductor.thermal.volumetric_heat_j_per_m3k()
        + (wire_share - copper_share) * enamel.thermal.volumetric_heat_j_per_m3k()
        + (1.0 - wire_share) * setting.filler.thermal.volumetric_heat_j_per_m3k();
    Ok(Substance {
        conductivity: [across(winding, setting)?.0 * setting.factors.winding * setting.winding_scale; 2],
        heat_capacity: capacity * whole / drawn * setting.capacity_scale * setting.factors.capacity,
        generation: winding.resistance_20_ohm / drawn,
        temperature_coefficient: 1.0 / (winding.conductor.zero_resistance_celsius + 20.0),
        reference_k: 20.0 + CELSIUS_ZERO_K,
    })
}

/// A winding's box, grown to the iron that faces it; where iron stands on both sides, also to the face.
fn lined(winding: Extent, irons: &[Extent], body: Extent) -> Extent {
    let overlap = |a: [f64; 2], b: [f64; 2]| a[0] < b[1] - TOUCH_M && a[1] > b[0] + TOUCH_M;
    let (mut left, mut right) = (f64::NEG_INFINITY, f64::INFINITY);
    let (mut below, mut above) = (f64::NEG_INFINITY, f64::INFINITY);
    for iron in irons {
        if overlap(iron.y, winding.y) {
            if iron.x[1] <= winding.x[0] + TOUCH_M {
                left = left.max(iron.x[1]);
            }
            if iron.x[0] >= winding.x[1] - TOUCH_M {
                right = right.min(iron.x[0]);
            }
        }
        if overlap(iron.x, winding.x) {
            if iron.y[1] <= winding.y[0] + TOUCH_M {
                below = below.max(iron.y[1]);
            }
            if iron.y[0] >= winding.y[1] - TOUCH_M {
                above = above.min(iron.y[0]);
            }
        }
    }
    let slot = left.is_finite() && right.is_finite();
    // An iron part farther away than the winding is deep is not its neighbour.
    let near = |edge: f64, from: f64| {
        let distance = (edge - from).abs();
        if distance > TOUCH_M && distance <= winding.width() { edge } else { from }
    };
    let above = if above.is_infinite() && slot { body.y[1] } else { above };
    Extent {
        x: [near(left, winding.x[0]), near(right, winding.x[1])],
        y: [near(below, winding.y[0]), near(above, winding.y[1])],
    }
}

/// Joints between regions that touch without being one.
fn contacts(regions: &[Region], magnet: &Magnet, setting: &Setting) -> Result<Vec<Contact>, ThermalError> {
    let joints = setting.factors.joints * setting.winding_scale;
    let gap = magnet.workpiece.as_ref().map_or(0.0, |p| p.gap_m);
    let air = solid("air").map_err(|_| ThermalError::Missing("thermal data of air"))?;
    let face = if gap > TOUCH_M {
        filled_gap(gap, air.thermal.conductivity_w_per_mk)?.value
    } else {
        dry_contact().value
    };
    let mut found = Vec::new();
    for a in 1..regions.len() {
        for b in a + 1..regions.len() {
            let conductance = match (regions[a].role, regions[b].role) {
                (Role::Workpiece, _) | (_, Role::Workpiece) => Some(face),
                (Role::Wall, _) | (_, Role::Wall) => Some(setting.mount_joint.value * setting.factors.mount),
                (Role::Iron, Role::Lining | Role::Winding) | (Role::Lining | Role::Winding, Role::Iron) => {
                    setting.inner_joint.as_ref().map(|j| j.value * joints)
                }
                _ => None,
            };
            found.extend(conductance.map(|conductance| Contact { regions: [a, b], conductance }));
        }
    }
    Ok(found)
}
