//! Profile: a free list of regions, later ones painted over earlier ones. Heights are counted from the drawing's own
//! origin. What is pulled, if anything, is one of the regions.
//!
//! A region's current is positive along φ in an axial drawing, which is into its page, and out of the page in an x–y
//! drawing, where the solver counts into the page.

use crate::magnet::form::common;
use crate::magnet::form::overlap::overlap;
use crate::magnet::form::section::Section;
use crate::magnet::{Part, Reader, Substance};
use crate::material::{conductor, permanent, soft, solid};
use crate::sheet::Region;
use coilwright_fem::drawing::Curve;
use coilwright_fem::drawing::Mirror;
use coilwright_fem::drawing::Outline;
use coilwright_fem::drawing::Symmetry;

/// Recoil permeability where a region gives only its remanence.
const USUAL_RECOIL: f64 = 1.05;
/// Solids of the thermal library that iron's law would be wanted for.
const MAGNETIC_SOLIDS: [&str; 1] = ["steel"];

pub(crate) fn draw(r: &mut Reader<'_>) -> Section {
    let sheet = r.sheet;
    let planar = sheet.word("profile.symmetry") == Some("planar");
    let depth_m = if planar { r.need("profile.depth", "depth") } else { 1.0 };
    let symmetry = match (planar, sheet.word("profile.mirror")) {
        (false, _) => Symmetry::Axial,
        (true, None) => Symmetry::Planar,
        (true, Some("flux crosses")) => Symmetry::PlanarHalf(Mirror::FluxCrosses),
        (true, Some(_)) => Symmetry::PlanarHalf(Mirror::FluxStays),
    };
    let sense = if planar { -1.0 } else { 1.0 };
    let mut parts = Vec::new();
    for (k, region) in sheet.regions().iter().enumerate() {
        if sheet.regions()[..k].iter().any(|other| other.name == region.name) {
            fault(r, region, "two regions have this name", "give each its own: answers are by name");
        }
        if let Some(substance) = substance(r, region, sense) {
            parts.push(Part {
                name: region.name.clone(),
                outline: outline(region),
                substance,
                is_workpiece: region.body.as_deref() == Some("workpiece"),
            });
        }
    }
    for (region, other) in overlapping(sheet.regions()) {
        fault(
            r,
            region,
            &format!("it is pulled, and overlaps \"{}\"", other.name),
            "leave a gap, or let them touch; a part that moves with it is marked `body = \"workpiece\"` too",
        );
    }
    for table in ["winding", "drive"].into_iter().filter(|t| sheet.has(t)) {
        r.warnings.push(format!("[{table}] is not used: a profile's currents are its regions' ampere-turns"));
    }
    let extent = |d: fn(&crate::sheet::Node) -> f64| {
        sheet.regions().iter().flat_map(|g| &g.outline).map(d).fold(0.0, |m: f64, v| m.max(v.abs()))
    };
    let reach_m = extent(|n| n.x);
    Section {
        symmetry,
        depth_m,
        parts,
        face_m: 0.0,
        sizes: Vec::new(),
        poles: Vec::new(),
        window: None,
        reach_m,
        ample_thickness_m: reach_m,
    }
}

/// Regions that are pulled, with what they overlap and does not move with them.
fn overlapping(regions: &[Region]) -> Vec<(&Region, &Region)> {
    let (pulled, fixed): (Vec<_>, Vec<_>) = regions.iter().partition(|g| g.body.is_some());
    let meet = |a: &Region, b: &Region| overlap(&outline(a), &outline(b));
    pulled.iter().flat_map(|a| fixed.iter().filter(|b| meet(a, b)).map(|b| (*a, *b))).collect()
}

fn outline(region: &Region) -> Outline {
    let curve = |centre: Option<(f64, f64)>, ccw| match centre {
        Some((x, y)) => Curve::Arc { centre: [x, y], ccw },
        None => Curve::Line,
    };
    Outline(region.outline.iter().map(|n| ([n.x, n.y], curve(n.arc_centre, n.arc_ccw))).collect())
}

fn fault(r: &mut Reader<'_>, region: &Region, message: &str, hint: &str) {
    let path = format!("region.{}", region.name);
    let place = Some(region.span.clone());
    let diagnostic = r.sheet.fault(&path, format!("region \"{}\": {message}", region.name), hint);
    r.faults.push(diagnostic.at(r.sheet.file(), place));
}

/// What fills a region; nothing after a fault.
fn substance(r: &mut Reader<'_>, region: &Region, sense: f64) -> Option<Substance> {
    let material = region.material.as_deref();
    let own = |name: &str| r.sheet.own_materials().iter().any(|m| m.name == name);
    let idle = material.is_some_and(|name| !own(name) && not_magnetic(name));
    if let Some(remanence) = region.remanence {
        if region.ampere_turns.is_some() {
            fault(r, region, "it cannot have both a remanence and ampere-turns", "draw two regions");
            return None;
        }
        if material.is_some() {
            fault(
                r,
                region,
                "a permanent magnet's law is its remanence and recoil permeability",
                "remove `material`, or the remanence",
            );
            return None;
        }
        let recoil_permeability = region.recoil_permeability.unwrap_or(USUAL_RECOIL);
        if recoil_permeability < 1.0 {
            fault(r, region, "its recoil permeability is less than that of vacuum", "1.03 to 1.1 are usual");
            return None;
        }
        let remanence_t = [remanence.0, remanence.1];
        return Some(Substance::Permanent {
            remanence_t,
            recoil_permeability,
            knee_t: None,
            density_kg_per_m3: None,
        });
    }
    match (region.ampere_turns, material) {
        (Some(own), _) if material.is_none() || idle => Some(Substance::AmpereTurns(sense * own)),
        (Some(_), _) => {
            fault(
                r,
                region,
                "iron that carries a current is not computed",
                "draw the conductor as its own region",
            );
            None
        }
        (None, Some(_)) if idle => Some(Substance::Vacuum),
        (None, Some(name)) if !own(name) && soft(name).is_err() && permanent(name).is_ok() => {
            fault(
                r,
                region,
                "a permanent magnet's direction is missing",
                "replace `material` by `remanence`",
            );
            None
        }
        (None, Some(name)) => {
            let before = r.faults.len();
            let iron = common::named_iron(r, "region.material", name);
            for fault in &mut r.faults[before..] {
                fault.span = Some(region.span.clone());
                fault.message = format!("region \"{}\": {}", region.name, fault.message);
            }
            Some(Substance::Iron(iron))
        }
        (None, None) => {
            fault(
                r,
                region,
                "it has neither material nor ampere-turns nor remanence",
                "write `material = \"air\"` if it is a hole",
            );
            None
        }
    }
}

/// Air, copper, brass, potting: whatever the libraries know that has no magnetisation to speak of.
fn not_magnetic(name: &str) -> bool {
    let magnetic = |s: &str| MAGNETIC_SOLIDS.contains(&s);
    name == "vacuum" || conductor(name).is_ok() || solid(name).is_ok_and(|s| !magnetic(&s.name))
}
