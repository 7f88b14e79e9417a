//! Starting sheets: every key of a form with what it means, the needed ones filled in with numbers that work.

use super::schema::{Form, KEYS, Key, Kind, TABLES};
use crate::quantity::Dimension;
use std::fmt::Write;

/// A commented sheet of this form, ready to be read. What may be left out stands behind a `#`, with what is
/// assumed instead.
pub fn template(form: Form) -> String {
    let mut out = String::from(
        "# Lengths and all else carry a unit and may carry a tolerance: \"28 mm ± 0.2 mm\", \"24 V +/- 0.5 %\".\n\
         # A line behind a # is not read: take the # away (and the one before its [heading]) and put your value in.\n",
    );
    for (table, heading) in TABLES.iter().filter(|(table, _)| *table != "calibration") {
        let keys: Vec<&Key> = KEYS.iter().filter(|k| k.table() == *table && k.forms.contain(form)).collect();
        if keys.is_empty() {
            continue;
        }
        if !table.is_empty() {
            let any = keys.iter().any(|k| filled_in(form, k.path).is_some());
            let lead = if any { "" } else { "# " };
            let name = table.replace('*', "gaussmeter");
            let _ = write!(out, "\n# {heading}.\n{lead}[{name}]\n");
        }
        for key in keys {
            line(&mut out, form, key);
        }
    }
    if form == Form::Profile {
        out.push_str(REGIONS);
    }
    out.push_str(OWN_STEEL);
    out
}

fn line(out: &mut String, form: Form, key: &Key) {
    let given = filled_in(form, key.path);
    let lead = if given.is_some() { "" } else { "# " };
    let value = given.or_else(|| suggested(form, key.path)).unwrap_or(key.example);
    let instead = match key.assumed {
        "" => String::new(),
        assumed => format!(" (if left out: {assumed})"),
    };
    let words = match key.kind {
        Kind::Word(words) if words.len() < 6 => format!(": {}", words.join(" | ")),
        Kind::WordOr(words, _) => format!(": {}", words.join(" | ")),
        _ => String::new(),
    };
    let assignment = format!("{lead}{} = {}", key.leaf(), literal(key.kind, value));
    let _ = writeln!(out, "{assignment:<44} # {}{words}{instead}", key.doc);
}

/// The value as TOML has it.
pub(super) fn literal(kind: Kind, value: &str) -> String {
    let bare = match kind {
        Kind::Flag => true,
        Kind::Quantity(Dimension::Count | Dimension::Ratio) => value.parse::<f64>().is_ok(),
        _ => false,
    };
    if bare { value.to_owned() } else { format!("\"{value}\"") }
}

/// What the starting sheet of a form says.
fn filled_in(form: Form, path: &str) -> Option<&'static str> {
    let common = match path {
        "sheet" => Some("1"),
        "name" => Some("my magnet"),
        "form" => Some(form.word()),
        "workpiece.gap" => Some("0.1 mm ± 0.03 mm"),
        "surroundings.temperature" => Some("20 °C ± 2 K"),
        "probe.active_diameter" => Some("2 mm"),
        "probe.standoff" => Some("1 mm ± 0.1 mm"),
        _ => None,
    };
    common.or_else(|| values(form).iter().find(|(p, _)| *p == path).map(|(_, v)| *v))
}

/// Turns, resistance and drive follow from the window: 0.4 mm wire of grade 2 at 90 % of square packing.
fn values(form: Form) -> &'static [(&'static str, &'static str)] {
    match form {
        Form::Pot => &[
            ("body.outer_diameter", "62 mm ± 0.1 mm"),
            ("body.height", "34 mm ± 0.1 mm"),
            ("body.pole_diameter", "25 mm ± 0.1 mm"),
            ("body.inner_diameter", "54 mm ± 0.2 mm"),
            ("body.back", "6.4 mm ± 0.2 mm"),
            ("winding.turns", "2300 ± 40"),
            ("winding.wire", "0.315 mm grade 2"),
            ("winding.resistance", "63.2 ohm ± 1 %"),
            ("drive.voltage", "24 V ± 0.5 %"),
            ("workpiece.diameter", "74 mm"),
            ("workpiece.thickness", "10 mm ± 0.1 mm"),
        ],
        Form::Bar => &[
            ("body.core_diameter", "12 mm ± 0.1 mm"),
            ("body.core_length", "60 mm ± 0.2 mm"),
            ("winding.turns", "1800 ± 30"),
            ("winding.wire", "0.4 mm grade 2"),
            ("winding.resistance", "16.7 ohm ± 1 %"),
            ("winding.inner_diameter", "13 mm ± 0.2 mm"),
            ("winding.outer_diameter", "30 mm ± 0.5 mm"),
            ("winding.start", "5 mm ± 0.2 mm"),
            ("winding.length", "50 mm ± 0.3 mm"),
            ("drive.voltage", "12 V ± 0.5 %"),
            ("workpiece.diameter", "40 mm"),
            ("workpiece.thickness", "6 mm ± 0.1 mm"),
        ],
        Form::Coil => &[
            ("winding.turns", "1700 ± 20"),
            ("winding.wire", "0.4 mm grade 2"),
            ("winding.resistance", "22 ohm ± 1 %"),
            ("winding.inner_diameter", "20 mm ± 0.2 mm"),
            ("winding.outer_diameter", "40 mm ± 0.5 mm"),
            ("winding.length", "40 mm ± 0.3 mm"),
            ("drive.voltage", "12 V ± 0.5 %"),
            ("workpiece.diameter", "40 mm"),
            ("workpiece.thickness", "6 mm ± 0.1 mm"),
        ],
        Form::Horseshoe => &[
            ("body.leg_width", "15 mm ± 0.1 mm"),
            ("body.leg_length", "40 mm ± 0.2 mm"),
            ("body.leg_spacing", "25 mm ± 0.2 mm"),
            ("body.yoke", "15 mm ± 0.2 mm"),
            ("body.depth", "30 mm ± 0.2 mm"),
            ("winding.turns", "1600 ± 20"),
            ("winding.wire", "0.5 mm grade 2"),
            ("winding.resistance", "17.7 ohm ± 2 %"),
            ("drive.voltage", "12 V ± 0.5 %"),
            ("workpiece.shape", "plate"),
            ("workpiece.width", "70 mm"),
            ("workpiece.thickness", "15 mm ± 0.1 mm"),
        ],
        Form::ECore => &[
            ("body.centre_width", "20 mm ± 0.1 mm"),
            ("body.window_width", "12 mm ± 0.2 mm"),
            ("body.leg_length", "40 mm ± 0.2 mm"),
            ("body.back", "10 mm ± 0.2 mm"),
            ("body.depth", "30 mm ± 0.2 mm"),
            ("winding.turns", "1000 ± 20"),
            ("winding.wire", "0.5 mm grade 2"),
            ("winding.resistance", "12 ohm ± 2 %"),
            ("drive.voltage", "12 V ± 0.5 %"),
            ("workpiece.shape", "plate"),
            ("workpiece.width", "80 mm"),
            ("workpiece.thickness", "10 mm ± 0.1 mm"),
        ],
        Form::Disc => &[
            ("body.diameter", "20 mm ± 0.1 mm"),
            ("body.thickness", "10 mm ± 0.1 mm"),
            ("body.remanence", "1.30 T ± 2 %"),
            ("body.recoil_permeability", "1.05 ± 0.02"),
            ("workpiece.diameter", "40 mm"),
            ("workpiece.thickness", "6 mm ± 0.1 mm"),
        ],
        Form::Ring => &[
            ("body.outer_diameter", "60 mm ± 0.5 mm"),
            ("body.inner_diameter", "24 mm ± 0.3 mm"),
            ("body.thickness", "8 mm ± 0.1 mm"),
            ("body.remanence", "0.38 T ± 3 %"),
            ("body.recoil_permeability", "1.08 ± 0.03"),
            ("workpiece.diameter", "70 mm"),
            ("workpiece.thickness", "4 mm ± 0.1 mm"),
        ],
        Form::PottedDisc => &[
            ("body.outer_diameter", "25 mm ± 0.1 mm"),
            ("body.height", "8 mm ± 0.1 mm"),
            ("body.wall", "2 mm ± 0.1 mm"),
            ("body.back", "2.5 mm ± 0.2 mm"),
            ("body.magnet_diameter", "18 mm ± 0.1 mm"),
            ("body.remanence", "1.25 T ± 2 %"),
            ("body.recoil_permeability", "1.05 ± 0.02"),
            ("workpiece.diameter", "40 mm"),
            ("workpiece.thickness", "6 mm ± 0.1 mm"),
        ],
        Form::Profile => &[("profile.symmetry", "axial")],
    }
}

/// Better examples than the table's for what is left out.
fn suggested(form: Form, path: &str) -> Option<&'static str> {
    Some(match (form, path) {
        (_, "workpiece.width") => "60 mm",
        (Form::Horseshoe | Form::ECore, "workpiece.diameter") => "80 mm",
        (Form::PottedDisc, "keeper.outer_diameter" | "keeper.width") => "30 mm",
        (Form::PottedDisc, "body.magnet_thickness") => "5 mm ± 0.1 mm",
        (Form::Horseshoe, "winding.length") => "36 mm",
        (Form::ECore, "winding.length") => "38 mm",
        (Form::Horseshoe | Form::ECore, "winding.start") => "16 mm",
        (Form::Horseshoe, "winding.inner_diameter") => "16 mm",
        (Form::Horseshoe, "winding.outer_diameter") => "36 mm",
        _ => return None,
    })
}

/// A core, its coil and a plate above it.
const REGIONS: &str = r#"
# The regions: closed outlines of [r, z] (or [x, y]), corners in order. An arc starts at a node written
# ["r", "z", "arc", "r of its centre", "z of its centre"]; "arc ccw" and "arc cw" say which way round.
[[region]]
name = "core"
outline = [["0 mm", "0 mm"], ["6 mm", "0 mm"], ["6 mm", "60 mm"], ["0 mm", "60 mm"]]
material = "low-carbon steel"

[[region]]
name = "coil"
outline = [["6.5 mm", "5 mm"], ["15 mm", "5 mm"], ["15 mm", "55 mm"], ["6.5 mm", "55 mm"]]
ampere_turns = "1200 A"

[[region]]
name = "plate"
outline = [["0 mm", "60.1 mm"], ["20 mm", "60.1 mm"], ["20 mm", "66.1 mm"], ["0 mm", "66.1 mm"]]
material = "low-carbon steel"
body = "workpiece"                           # marks what is pulled

# [[region]]
# name = "magnet"                            # a permanent magnet, magnetised along z
# outline = [["0 mm", "-10 mm"], ["6 mm", "-10 mm"], ["6 mm", "-1 mm"], ["0 mm", "-1 mm"]]
# remanence = "1.3 T"                        # or ["0 T", "1.3 T"], along r and z
# recoil_permeability = 1.05
"#;

const OWN_STEEL: &str = r#"
# A steel of your own; name it wherever a material is named. One of the three laws.
# [[material]]
# name = "my steel"
# table = [["0 A/m", "0 T"], ["200 A/m", "0.8 T"], ["1000 A/m", "1.4 T"], ["10 kA/m", "1.8 T"]]
# saturation = "2.1 T"                       # polarisation, with the next line
# initial_permeability = 1500
# permeability = 1000
# field_tolerance = "20 %"                   # how sure the field strength is (if left out: as for low-carbon steel)
# saturation_tolerance = "3 %"               # how sure the saturation is (if left out: as for low-carbon steel)
"#;
