//! What every outer side of a section gives its heat to.

use crate::magnet::Magnet;
use crate::material::solid;
use crate::thermal::cooling::air::Air;
use crate::thermal::cooling::{Orientation, Surface, coefficient};
use crate::thermal::section::{Role, Section};
use crate::thermal::setting::{Cooling, Mounting, Setting, back_area_m2};
use coilwright_fem::drawing::Symmetry;
use coilwright_fem::heat::Side;
use std::f64::consts::PI;

/// Which way a side looks in the drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Aspect {
    Top,
    Bottom,
    /// Away from the axis.
    Side,
    /// Towards the axis: the wall of a hole, or of the space between two legs.
    Bore,
    /// The back, where it stands on something.
    Mount,
}

const ASPECTS: [Aspect; 5] = [Aspect::Top, Aspect::Bottom, Aspect::Side, Aspect::Bore, Aspect::Mount];

/// One surface and what it gives heat to.
#[derive(Clone, Debug)]
pub(crate) struct Exchange {
    pub(crate) ambient_k: f64,
    law: Law,
    /// On everything: the surface's ends that are not drawn, a calibration.
    scale: f64,
}

#[derive(Clone, Debug)]
enum Law {
    Air { surface: Surface, air: Air, convection: f64 },
    Fixed(f64),
}

impl Exchange {
    /// W/(m² K) at a surface temperature in K; NaN where none is possible.
    pub(crate) fn coefficient(&self, kelvin: f64) -> f64 {
        self.scale
            * match &self.law {
                Law::Fixed(h) => *h,
                Law::Air { surface, air, convection } => coefficient(surface, kelvin, self.ambient_k, *air)
                    .map_or(f64::NAN, |h| convection * h.convective + h.radiative),
            }
    }

    /// The same to be kept.
    pub(crate) fn law(&self) -> Box<dyn Fn(f64) -> f64 + Sync + Send> {
        let own = self.clone();
        Box::new(move |kelvin| own.coefficient(kelvin))
    }

    /// Relative standard uncertainty of its convective part there, and a remark if outside the correlation's range.
    pub(crate) fn doubt(&self, kelvin: f64) -> Option<(f64, Option<String>)> {
        let Law::Air { surface, air, .. } = &self.law else { return None };
        let h = coefficient(surface, kelvin, self.ambient_k, *air).ok()?;
        Some((h.relative_uncertainty, h.outside_range))
    }
}

/// Number of the film of a side, or none where no heat passes.
pub(crate) fn film_of(section: &Section, setting: &Setting, side: &Side) -> Option<usize> {
    if setting.cooling == Cooling::Adiabatic {
        return None;
    }
    let aspect = aspect(section, setting, side);
    let at = ASPECTS.iter().position(|a| *a == aspect)?;
    Some(side.region * ASPECTS.len() + at)
}

fn aspect(section: &Section, setting: &Setting, side: &Side) -> Aspect {
    let [x, y] = side.outward;
    let own = own(section.regions[side.region].role);
    if y > 0.7 {
        Aspect::Top
    } else if y < -0.7 {
        let stands =
            matches!(setting.cooling, Cooling::ColdPlate { .. }) || setting.mounting == Mounting::OnItsBack;
        let on_floor = side.middle[1] < section.body.y[0] + 1e-6;
        if own && on_floor && stands { Aspect::Mount } else { Aspect::Bottom }
    } else if x > 0.0 {
        Aspect::Side
    } else {
        Aspect::Bore
    }
}

/// Whether a hand can touch a side.
pub(crate) fn touchable(section: &Section, setting: &Setting, side: &Side) -> bool {
    let own = own(section.regions[side.region].role);
    own && !matches!(aspect(section, setting, side), Aspect::Mount | Aspect::Bore)
}

/// The films of a section, by the numbers of [`film_of`].
pub(crate) fn films(section: &Section, magnet: &Magnet, setting: &Setting) -> Vec<Exchange> {
    let mut films = Vec::new();
    for region in 0..section.regions.len() {
        for aspect in ASPECTS {
            films.push(film(section, magnet, setting, region, aspect));
        }
    }
    films
}

fn film(section: &Section, magnet: &Magnet, setting: &Setting, region: usize, aspect: Aspect) -> Exchange {
    let r = &section.regions[region];
    let calibration = setting.conductance_scale * setting.factors.outside;
    if aspect == Aspect::Mount {
        let (ambient_k, conductance) = match setting.cooling {
            Cooling::ColdPlate { coolant_k, conductance_w_k } => {
                (coolant_k, conductance_w_k / back_area_m2(magnet))
            }
            _ => (setting.ambient_k, bench(magnet, setting)),
        };
        return Exchange { ambient_k, law: Law::Fixed(conductance), scale: calibration };
    }
    let axial = magnet.symmetry == Symmetry::Axial;
    let own = own(r.role);
    let across = 2.0 * r.extent.x[1];
    let height = if own { section.body.height() } else { r.extent.height() };
    let looks_up = (aspect == Aspect::Bottom) == setting.face_down();
    let (orientation, length_m) = match aspect {
        Aspect::Side if axial => (Orientation::VerticalCylinder { diameter_m: across }, height),
        Aspect::Side | Aspect::Bore => (Orientation::Vertical, height),
        // Area over perimeter.
        _ => {
            let length =
                if axial { 0.25 * across } else { 0.5 * across * magnet.depth_m / (across + magnet.depth_m) };
            (if looks_up { Orientation::LooksUp } else { Orientation::LooksDown }, length)
        }
    };
    // The walls of a hole see each other.
    let emissivity = match (aspect, r.role, &setting.mounting) {
        (Aspect::Bore, ..) => 0.0,
        (_, Role::Wall, Mounting::Bolted(wall)) => wall.emissivity,
        _ => setting.emissivity,
    };
    let ends = if own { section.ends } else { 1.0 };
    Exchange {
        ambient_k: setting.ambient_k,
        law: Law::Air {
            surface: Surface { orientation, length_m: length_m.max(1e-4), emissivity },
            air: Air { speed_m_s: setting.air_speed_m_s(), ..Air::default() },
            convection: setting.factors.convection,
        },
        scale: calibration * ends,
    }
}

/// Conductance from the back into a bench of wood, W/(m² K): a joint, and then a disc on a half-space, 4 k a
/// (Carslaw and Jaeger, section 8.2; steady).
fn bench(magnet: &Magnet, setting: &Setting) -> f64 {
    let radius = (back_area_m2(magnet) / PI).sqrt();
    let wood = solid("wood").map_or(0.13, |s| s.thermal.conductivity_w_per_mk);
    let into = 4.0 * wood / (PI * radius);
    let joint = setting.mount_joint.value * setting.factors.mount;
    1.0 / (1.0 / into + 1.0 / joint)
}

/// Key and label of a kind of surface, and whether a surface is one.
type Kind = (&'static str, &'static str, fn(Role, Aspect) -> bool);

/// Heat that leaves a body by each kind of surface: key, label, W.
pub(crate) fn paths(
    steady: &crate::thermal::snapshot::Steady,
    roles: &[Role],
) -> Vec<(&'static str, &'static str, f64)> {
    let kinds: [Kind; 6] = [
        ("heat_side", "by the sides", |r, a| own(r) && matches!(a, Aspect::Side | Aspect::Bore)),
        ("heat_face", "by the face and what looks the same way", |r, a| own(r) && a == Aspect::Top),
        ("heat_back", "by the back", |r, a| own(r) && a == Aspect::Bottom),
        ("heat_mount", "by the back into what it stands on", |r, a| own(r) && a == Aspect::Mount),
        ("heat_plate", "by the plate it is bolted to", |r, _| r == Role::Wall),
        ("heat_workpiece", "by the workpiece", |r, _| r == Role::Workpiece),
    ];
    let of = |kind: fn(Role, Aspect) -> bool| {
        (steady.surfaces.iter().enumerate())
            .filter(|(k, _)| kind(roles[k / ASPECTS.len()], ASPECTS[k % ASPECTS.len()]))
            .map(|(_, s)| s[0])
            .sum::<f64>()
    };
    kinds.iter().map(|&(key, label, kind)| (key, label, of(kind))).filter(|p| p.2 != 0.0).collect()
}

fn own(role: Role) -> bool {
    !matches!(role, Role::Wall | Role::Workpiece)
}
