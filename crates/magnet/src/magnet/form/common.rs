//! What the forms share: iron, workpiece, keeper.

use crate::magnet::envelope::span;
use crate::magnet::form::coverage::Shape;
use crate::magnet::form::section::Section;
use crate::magnet::size::Size;
use crate::magnet::{Factor, Iron, OWN_STEEL, Part, Plate, Pole, Reader, Substance, WORKPIECE_STEEL};
use crate::material::{Electrical, SteelLaw, soft, soft_names};
use crate::quantity::{Dimension, UnitSystem};
use crate::sheet::{Form, OwnLaw, OwnMaterial, Sheet};
use coilwright_fem::drawing::Mirror;
use coilwright_fem::drawing::Outline;
use coilwright_fem::drawing::Symmetry;

/// What is taken for steel of which nothing is known.
const USUAL_STEEL: &str = "low-carbon steel";

/// The soft material a path names, from the sheet's own or the library's.
pub(crate) fn iron(r: &mut Reader<'_>, path: &str, label: &str) -> Iron {
    let name =
        r.word_or_assume(path, label, USUAL_STEEL, "not given; most machined magnets are of mild steel");
    let iron = named_iron(r, path, &name);
    let laminated = ["body", "workpiece"]
        .iter()
        .filter(|table| path.split('.').next() == Some(table))
        .any(|table| r.sheet.flag(&format!("{table}.laminated")) == Some(true));
    if laminated { Iron { electrical: None, ..iron } } else { iron }
}

/// How a material of the user's own conducts: as the sheet says, or as any steel does.
fn own_electrical(own: &OwnMaterial) -> Option<Electrical> {
    let usual = soft(USUAL_STEEL).ok()?.electrical;
    let given = own.resistivity_ohm_m.map(|resistivity_20_ohm_m| Electrical {
        resistivity_20_ohm_m,
        relative_standard: own.resistivity_tolerance.unwrap_or(0.0) / 3f64.sqrt(),
        ..usual
    });
    (!own.laminated).then(|| given.unwrap_or(usual))
}

/// What a calibration says of a steel: factors on the field it needs and on its saturation, and whether their own
/// tolerances stand for what else would be doubted of each.
#[derive(Clone, Copy)]
struct Calibrated {
    field: f64,
    saturation: f64,
    sure: [bool; 2],
}

/// The calibration of a steel by its name: the magnet's own, or the workpiece's where that is another. Any other steel is
/// as it was before.
fn calibrated(r: &mut Reader<'_>, name: &str) -> Calibrated {
    let (paths, label) = if own_steel(r.sheet).as_deref() == Some(name) {
        (OWN_STEEL, "")
    } else if canonical(r.sheet.word("workpiece.material").unwrap_or(USUAL_STEEL)) == name {
        (WORKPIECE_STEEL, "workpiece's ")
    } else {
        return Calibrated { field: 1.0, saturation: 1.0, sure: [false; 2] };
    };
    let sure = paths.map(|path| r.sheet.quantity(path).is_some_and(|q| q.half_width > 0.0));
    let field = r.given(paths[0], &format!("{label}steel scale")).unwrap_or(1.0);
    let saturation = r.given(paths[1], &format!("{label}saturation scale")).unwrap_or(1.0);
    Calibrated { field, saturation, sure }
}

/// The steel that a calibration is of: the body's, or in a free profile that of the first region of steel.
fn own_steel(sheet: &Sheet) -> Option<String> {
    if sheet.form() != Form::Profile {
        return Some(canonical(sheet.word("body.material").unwrap_or(USUAL_STEEL)));
    }
    let magnetic = |name: &str| soft(name).is_ok() || sheet.own_materials().iter().any(|m| m.name == name);
    let mut named = sheet.regions().iter().filter_map(|region| region.material.as_deref());
    named.find(|m| magnetic(m)).map(canonical)
}

/// A material's name as the library has it.
fn canonical(name: &str) -> String {
    soft(name).map_or_else(|_| name.to_owned(), |m| m.name.clone())
}

/// Relative standard uncertainties of a material of the user's own, of the field it needs and of its saturation: as the
/// sheet limits them, or as for any steel whose melt was not measured.
fn own_doubt(r: &mut Reader<'_>, own: &OwnMaterial, sure: [bool; 2]) -> (f64, f64) {
    let usual =
        soft(USUAL_STEEL).map_or((0.0, 0.0), |m| (m.relative_standard, m.saturation_relative_standard));
    let saturates = !matches!(own.law, OwnLaw::Linear { .. });
    let mut one = |given: Option<f64>, usual: f64, leaf: &str, label: &str| {
        if let Some(half_width) = given {
            return half_width / 3f64.sqrt();
        }
        let path = format!("material.{}.{leaf}", own.name);
        let (label, word) =
            (format!("{label} of {}", own.name), format!("± {:.0} % standard", 100.0 * usual));
        let reason = format!("no {leaf} is given: as for {USUAL_STEEL}, whose melts differ as much");
        r.listed(&path, &label, &word, &reason);
        usual
    };
    // A calibration with a tolerance says how sure the law is.
    let field =
        if sure[0] { 0.0 } else { one(own.field_tolerance, usual.0, "field_tolerance", "field strength") };
    let saturation = if saturates && !sure[1] {
        one(own.saturation_tolerance, usual.1, "saturation_tolerance", "saturation")
    } else {
        0.0
    };
    (field, saturation)
}

pub(crate) fn named_iron(r: &mut Reader<'_>, path: &str, name: &str) -> Iron {
    let of = calibrated(r, &canonical(name));
    let own = r.sheet.own_materials().iter().find(|m| m.name == name).cloned();
    let untouched = of.field == 1.0 && of.saturation == 1.0;
    let scaled = |law: SteelLaw| if untouched { law } else { law.scaled(of.field, of.saturation) };
    if let Some(own) = own {
        let law = match &own.law {
            OwnLaw::Table { h, b } => SteelLaw::table(h, b),
            OwnLaw::Arctangent { js, mu_r0 } => SteelLaw::arctangent(*js, *mu_r0),
            OwnLaw::Linear { mu_r } => SteelLaw::linear(*mu_r),
        };
        return match law {
            Ok(law) => {
                let (field_relative_standard, saturation_relative_standard) = own_doubt(r, &own, of.sure);
                Iron {
                    name: name.into(),
                    law: scaled(law),
                    field_relative_standard,
                    saturation_relative_standard,
                    coercivity_a_per_m: None,
                    electrical: own_electrical(&own),
                }
            }
            Err(e) => {
                r.fault(path, format!("the material `{name}` has no usable law: {e}"), "mend its table");
                no_iron(name)
            }
        };
    }
    match soft(name) {
        Ok(m) => Iron {
            name: m.name.clone(),
            law: scaled(m.law.clone()),
            // A calibration with a tolerance says how sure the field is; the library's scatter is spent.
            field_relative_standard: if of.sure[0] { 0.0 } else { m.relative_standard },
            saturation_relative_standard: if of.sure[1] { 0.0 } else { m.saturation_relative_standard },
            coercivity_a_per_m: m.coercivity_a_per_m,
            electrical: Some(m.electrical),
        },
        Err(e) => {
            let known: Vec<&str> = soft_names().collect();
            r.fault(
                path,
                e.to_string(),
                format!("known are {}; or describe your own in a [[material]] table", known.join(", ")),
            );
            no_iron(name)
        }
    }
}

/// Stands for a material that could not be found; the fault already keeps it from being used.
fn no_iron(name: &str) -> Iron {
    Iron {
        name: name.into(),
        law: SteelLaw::Linear { mu_r: 1.0 },
        field_relative_standard: 0.0,
        saturation_relative_standard: 0.0,
        coercivity_a_per_m: None,
        electrical: None,
    }
}

/// The workpiece; where the sheet names none, one that does not throttle the magnet, nearly touching.
pub(crate) fn workpiece(r: &mut Reader<'_>, section: &Section) -> Plate {
    let reach = section.reach_m;
    let path = if r.sheet.has("workpiece.width") { "workpiece.width" } else { "workpiece.diameter" };
    let half = 0.5
        * r.or_assume(
            path,
            "width of the workpiece",
            (2.4 * reach, 0.0),
            Dimension::Length,
            "larger than the face",
        );
    let ample = section.ample_thickness_m;
    let thickness_m = r.or_assume(
        "workpiece.thickness",
        "thickness of the workpiece",
        (1.5 * ample, 0.0),
        Dimension::Length,
        "thick enough not to throttle the magnet",
    );
    let (x_m, in_space) = match section.symmetry {
        Symmetry::Axial => in_front_of_round(r, section, half, path, thickness_m),
        _ => in_front_of_long(r, section, half),
    };
    let gap_m = gap(r);
    let iron = iron(r, "workpiece.material", "material of the workpiece");
    Plate { x_m, thickness_m, gap_m, iron, in_space }
}

/// Where the drawing of a round magnet has its workpiece, and what it leaves out.
fn in_front_of_round(
    r: &mut Reader<'_>,
    section: &Section,
    half: f64,
    path: &str,
    thickness_m: f64,
) -> ([f64; 2], Factor) {
    let offset_m = r.given("workpiece.offset", "distance of the workpiece from the middle").unwrap_or(0.0);
    let shape = if path == "workpiece.width" {
        let length = r.or_assume(
            "workpiece.length",
            "length of the workpiece",
            (2.0 * half, 0.0),
            Dimension::Length,
            "a square: as long as it is wide",
        );
        Shape::Rectangle { half_width_m: half, half_length_m: 0.5 * length }
    } else {
        Shape::Disc { radius_m: half }
    };
    let ring = shape.ring(&section.poles, offset_m);
    let [inside, outside] = ring.x_m;
    if ring.of_pole <= 0.0 || outside <= inside {
        r.fault(
            if offset_m > 0.0 { "workpiece.offset" } else { path },
            "the workpiece covers nothing of the pole: there is no pull to compute",
            "bring it over the pole",
        );
        return ([0.0, half], Factor::ONE);
    }
    if ring.of_pole < 1.0 - 1e-9 && thickness_m < section.ample_thickness_m {
        let text = |m: f64| Dimension::Length.text(m, None, UnitSystem::Si);
        r.fault(
            "workpiece.thickness",
            format!(
                "a workpiece of {} whose edge lies across the pole is not computed: so thin, its saturation decides, in three \
                 dimensions",
                text(thickness_m)
            ),
            format!("cover the pole wholly, or take at least {}", text(section.ample_thickness_m)),
        );
    }
    if ring.factor != Factor::ONE {
        let percent = |share: f64| format!("{:.0} %", 100.0 * share);
        let covered = match ring.of_outer {
            Some(share) => {
                format!("{} of the pole and {} of the outer ring", percent(ring.of_pole), percent(share))
            }
            None => format!("{} of the pole", percent(ring.of_pole)),
        };
        let word = format!("a ring of {:.1} to {:.1} mm radius", 1e3 * inside, 1e3 * outside);
        r.listed(
            "workpiece.shape",
            "what stands for the workpiece",
            &format!(
                "{word}, its pull times {:.2} ± {:.2}",
                ring.factor.value,
                3f64.sqrt() * ring.factor.standard
            ),
            &format!("it covers {covered}, as the workpiece does; three dimensions are not solved"),
        );
    }
    (ring.x_m, ring.factor)
}

/// What a slice of a long magnet pulls too much, relative to its pole's width over its depth: for one horseshoe 3 to 5 %
/// (finite elements in three dimensions); taken between none and twice that.
const ENDS: f64 = 0.08;

/// The same of a magnet of which a slice is drawn.
fn in_front_of_long(r: &mut Reader<'_>, section: &Section, half: f64) -> ([f64; 2], Factor) {
    let depth = section.depth_m;
    if r.sheet.value("workpiece.length").is_some_and(|length| length < depth * (1.0 - 1e-9)) {
        r.fault(
            "workpiece.length",
            "a workpiece shorter than the magnet is deep is not computed: it would take three dimensions",
            "give at least the body's depth, or leave `length` out",
        );
    }
    if r.sheet.value("workpiece.offset").is_some_and(|offset| offset > 0.0) {
        r.fault(
            "workpiece.offset",
            "a workpiece beside the middle of such a magnet is not computed: only half of the magnet is drawn",
            "leave `offset` out",
        );
    }
    for pole in &section.poles {
        if half < pole.x_m[1] * (1.0 - 1e-9) {
            let covers = if half <= pole.x_m[0] { "misses" } else { "does not cover all of" };
            r.warnings.push(format!(
                "the workpiece, {:.1} mm wide, {covers} the {} from {:.1} to {:.1} mm from the middle",
                2e3 * half,
                pole.name,
                1e3 * pole.x_m[0],
                1e3 * pole.x_m[1]
            ));
        }
    }
    ([0.0, half], ends(section))
}

/// Pull over that of a slice, for what spreads at the ends of a magnet's depth.
fn ends(section: &Section) -> Factor {
    // A leg that the mirror cuts is drawn by half.
    let width = |p: &Pole| if p.x_m[0] == 0.0 { 2.0 * p.x_m[1] } else { p.x_m[1] - p.x_m[0] };
    let widest = section.poles.iter().map(width).fold(0.0, f64::max);
    Factor::between([(1.0 - ENDS * widest / section.depth_m).max(0.5), 1.0])
}

/// The gap to the workpiece, m: what the sheet gives includes the coating; what is assumed does not, and the coating comes
/// on top.
fn gap(r: &mut Reader<'_>) -> f64 {
    let path = "workpiece.gap";
    let coating = r.sheet.value("workpiece.coating").unwrap_or(0.0);
    if let Some(gap_m) = r.given(path, "gap") {
        let text = |m: f64| Dimension::Length.text(m, None, UnitSystem::Si);
        if coating >= gap_m {
            r.fault(
                "workpiece.coating",
                format!("the coating of {} does not fit into the gap of {}", text(coating), text(gap_m)),
                "`gap` is the whole distance from face to steel, coating included; give the whole, or leave `gap` out",
            );
        } else if coating > 0.0 {
            r.warnings.push(format!(
                "the gap of {} is taken as a whole: the coating of {} is part of it",
                text(gap_m),
                text(coating)
            ));
        }
        return gap_m;
    }
    let reason = if coating > 0.0 {
        "ground or turned faces in contact, beside the coating (common practice)"
    } else {
        "ground or turned faces in contact (common practice)"
    };
    let bare_m = r.or_assume(path, "gap", (0.1e-3, 0.04e-3), Dimension::Length, reason);
    bare_m + r.given("workpiece.coating", "coating of the workpiece").unwrap_or(0.0)
}

/// The keeper, if the sheet has one.
pub(crate) fn keeper(r: &mut Reader<'_>, section: &Section) -> Option<Plate> {
    if !r.sheet.has("keeper") {
        return None;
    }
    let path = if r.sheet.has("keeper.width") { "keeper.width" } else { "keeper.outer_diameter" };
    let outer = 0.5
        * r.or_assume(
            path,
            "width of the keeper",
            (2.0 * section.reach_m, 0.0),
            Dimension::Length,
            "as wide as the face",
        );
    let inner = 0.5 * r.given("keeper.inner_diameter", "inner diameter of the keeper").unwrap_or(0.0);
    r.must_be_less(
        "keeper.inner_diameter",
        (inner, "the keeper's inner radius"),
        (outer, "its outer radius"),
    );
    let thickness_m = r.need("keeper.thickness", "thickness of the keeper");
    let gap_m = r.or_assume(
        "keeper.gap",
        "gap under the keeper",
        (0.1e-3, 0.04e-3),
        Dimension::Length,
        "faces in contact (common practice)",
    );
    let iron = iron(r, "keeper.material", "material of the keeper");
    // A bar is as far from the disc that is drawn as a workpiece of its shape.
    let (x_m, in_space) = match section.symmetry {
        Symmetry::Axial if r.sheet.has("keeper.width") => {
            let bar = Shape::Rectangle { half_width_m: outer, half_length_m: outer };
            let ring = bar.ring(&section.poles, 0.0);
            r.listed(
                "keeper.length",
                "length of the keeper",
                "as long as wide",
                "a square; no length is given",
            );
            (ring.x_m, ring.factor)
        }
        Symmetry::Axial => ([inner, outer], Factor::ONE),
        _ => ([inner, outer], ends(section)),
    };
    Some(Plate { x_m, thickness_m, gap_m, iron, in_space })
}

/// The lengths of the body, of a winding about the axis, and of what is in front of the face.
pub(crate) fn sizes(section: &Section, workpiece: Option<&Plate>) -> Vec<Size> {
    let mut sizes = section.sizes.clone();
    let wound = section.parts.iter().find(|part| matches!(part.substance, Substance::Conductors { .. }));
    if let (Some(part), Symmetry::Axial) = (wound, section.symmetry) {
        let [[inner, outer], [start, end]] = [0, 1].map(|axis| span([&part.outline], axis));
        sizes.push(Size::diameter("winding.inner_diameter", inner, end));
        sizes.push(Size::diameter("winding.outer_diameter", outer, start));
        sizes.push(Size::along("winding.length", -outer, [start, end]));
    }
    if let Some(plate) = workpiece {
        let from = section.face_m + plate.gap_m;
        let [_, edge] = plate.x_m;
        let path = if section.symmetry == Symmetry::Axial { "workpiece.diameter" } else { "workpiece.width" };
        sizes.push(Size {
            is_diameter: path.ends_with("diameter"),
            ..Size::across(path, [-edge, edge], from + plate.thickness_m)
        });
        sizes.push(Size::along("workpiece.thickness", edge, [from, from + plate.thickness_m]));
        sizes.push(Size::along("workpiece.gap", edge, [section.face_m, from]));
    }
    sizes
}

/// A rectangle of iron.
pub(crate) fn iron_part(name: &str, x_m: [f64; 2], y_m: [f64; 2], iron: &Iron) -> Part {
    Part {
        name: name.into(),
        outline: Outline::rectangle(x_m, y_m),
        substance: Substance::Iron(iron.clone()),
        is_workpiece: false,
    }
}

/// The symmetry of a planar form, of which only a slice is computed.
pub(crate) fn planar(r: &mut Reader<'_>, mirror: Mirror) -> Symmetry {
    r.warnings.push(
        "computed as a slice of a long magnet: the flux that spreads at the two ends of its depth is not counted"
            .into(),
    );
    Symmetry::PlanarHalf(mirror)
}
