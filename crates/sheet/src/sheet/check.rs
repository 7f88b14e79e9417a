//! What only the whole sheet can tell: contradictions, and what is missing.

use super::Sheet;
use super::schema::{Form, KEYS, Range};
use crate::diagnostic::Diagnostic;
use crate::quantity::Dimension;

/// Keys that may not stand beside each other.
pub(super) fn contradictions(sheet: &Sheet) -> Vec<Diagnostic> {
    let mut out = Vec::new();
    for key in KEYS.iter().filter(|key| sheet.has(key.path)) {
        for other in key.excludes.iter().filter(|other| sheet.has(other)) {
            // Each pair once, at the one that stands later in the text.
            let (first, second) = later_last(sheet, key.path, other);
            let message = format!("`{second}` cannot stand beside `{first}`");
            let hint = match (first.min(second), first.max(second)) {
                ("drive.current", "drive.voltage") => {
                    "keep what the supply holds constant; its other limit is `current_limit` or `voltage_limit`"
                }
                (a, b) if [a, b].contains(&"winding.ampere_turns") => {
                    "`ampere_turns` replaces turns and drive; keep the one or the others"
                }
                _ => "one follows from the other; keep the one you measured",
            };
            let fault = sheet.fault(second, message, hint);
            if !out.contains(&fault) {
                out.push(fault);
            }
        }
    }
    for (shape, wrong, right) in [("disc", "width", "diameter"), ("plate", "diameter", "width")] {
        let wrong = format!("workpiece.{wrong}");
        if sheet.word("workpiece.shape") == Some(shape) && sheet.has(&wrong) {
            let message = format!("`{wrong}` does not apply to a {shape}");
            out.push(sheet.fault(&wrong, message, format!("a {shape} has a {right}; or change `shape`")));
        }
    }
    if sheet.form() == Form::Profile && sheet.word("profile.symmetry") == Some("axial") {
        for path in ["profile.depth", "profile.mirror"].into_iter().filter(|p| sheet.has(p)) {
            out.push(sheet.fault(
                path,
                format!("`{path}` does not apply to axial symmetry"),
                "remove the line",
            ));
        }
    }
    if sheet.form() != Form::Profile && !sheet.regions().is_empty() {
        let message = format!("a \"{}\" has no [[region]]", sheet.form());
        out.push(sheet.fault("region", message, "they belong to form \"profile\""));
    }
    let materials = sheet.own_materials();
    for (i, material) in materials.iter().enumerate() {
        if materials[..i].iter().any(|m| m.name == material.name) {
            let message = format!("the material \"{}\" is given twice", material.name);
            out.push(
                Diagnostic::fault(message, "give each its own name")
                    .at(sheet.file(), Some(material.span.clone())),
            );
        }
    }
    out.extend(off_side(sheet));
    out.extend(sheet.correlations().err());
    out
}

fn later_last<'a>(sheet: &Sheet, a: &'a str, b: &'a str) -> (&'a str, &'a str) {
    let start =
        |path: &str| sheet.entries.get(path).and_then(|e| e.span.as_ref()).map_or(usize::MAX, |s| s.start);
    let ordered = (start(a), a) <= (start(b), b);
    if ordered { (a, b) } else { (b, a) }
}

/// Regions that reach beyond the axis or the mirror.
fn off_side(sheet: &Sheet) -> Vec<Diagnostic> {
    let axial = sheet.word("profile.symmetry") == Some("axial");
    if sheet.form() != Form::Profile || !(axial || sheet.has("profile.mirror")) {
        return Vec::new();
    }
    let (axis, line) = if axial { ("r", "the axis") } else { ("x", "the mirror") };
    let beyond = |r: &&super::Region| {
        r.outline.iter().any(|n| n.x < 0.0) || super::outline::least_x(&r.outline) < -1e-12
    };
    sheet
        .regions()
        .iter()
        .filter(beyond)
        .map(|region| {
            Diagnostic::fault(
                format!("the outline of \"{}\" reaches beyond {line}, to negative {axis}", region.name),
                format!("draw the side with {axis} ≥ 0 only"),
            )
            .at(sheet.file(), Some(region.span.clone()))
        })
        .collect()
}

/// What the form needs and the sheet does not say; a key that is there but faulty is not missing.
pub(super) fn missing(sheet: &Sheet) -> Vec<Diagnostic> {
    let form = sheet.form();
    let absent = |path: &str| !sheet.places.contains_key(path);
    let mut out = Vec::new();
    let mut need = |path: &str, message: String, hint: String| {
        // Point at the table it should stand in, or else at the form that asks for it.
        let table = path.rsplit_once('.').map_or("", |(table, _)| table);
        out.push(sheet.fault(if absent(table) { "form" } else { table }, message, hint));
    };
    for key in KEYS.iter().filter(|key| key.required.contain(form) && absent(key.path)) {
        let hint =
            format!("write `{} = \"{}\"` under [{}]: {}", key.leaf(), key.example, key.table(), key.doc);
        need(key.path, format!("`{}` is missing; a \"{form}\" needs it", key.path), hint);
    }
    let permanent = matches!(form, Form::Disc | Form::Ring | Form::PottedDisc);
    if permanent && absent("body.grade") && absent("body.remanence") {
        let hint = "write `grade = \"N42\"` or `remanence = \"1.30 T ± 2 %\"` under [body]".to_owned();
        need("body.grade", "neither `body.grade` nor `body.remanence` is given".into(), hint);
    }
    if form == Form::Horseshoe && absent("body.leg_diameter") {
        let [width, depth] = ["body.leg_width", "body.depth"].map(absent);
        if width || depth {
            let (path, example) =
                if width { ("body.leg_width", "15 mm ± 0.1 mm") } else { ("body.depth", "30 mm ± 0.2 mm") };
            let leaf = path.trim_start_matches("body.");
            let hint = format!(
                "write `{leaf} = \"{example}\"` under [body]; legs of round bar have a `leg_diameter` instead of both"
            );
            need(path, format!("`{path}` is missing; a \"{form}\" needs it"), hint);
        }
    }
    if form == Form::Profile {
        if sheet.word("profile.symmetry") == Some("planar") && absent("profile.depth") {
            let hint = "write `depth = \"30 mm\"` under [profile]".to_owned();
            need("profile.depth", "`profile.depth` is missing; a planar drawing needs it".into(), hint);
        }
        if absent("region") {
            let hint = "add a [[region]] for each part, with `name`, `outline` and `material`".to_owned();
            need("region", "a \"profile\" without a [[region]] is empty".into(), hint);
        }
    }
    out
}

/// What is allowed but deserves a second look.
pub(super) fn remarks(sheet: &Sheet) -> Vec<Diagnostic> {
    let mut out = Vec::new();
    if !sheet.places.contains_key("sheet") {
        out.push(sheet.remark(
            "sheet",
            "the sheet does not say its version; 1 is taken",
            "begin it with `sheet = 1`",
        ));
    }
    for key in KEYS.iter().filter(|k| k.range == Range::Positive && k.dimension() == Some(Dimension::Length))
    {
        if let Some(q) = sheet.quantity(key.path).filter(|q| q.half_width >= q.value) {
            let message = format!("the tolerance of `{}` is as large as its value ({q})", key.path);
            out.push(sheet.remark(key.path, message, "is the unit of the tolerance right?"));
        }
    }
    out
}
