//! Geometry that cannot be: every fault at once, with numbers, at its place.

use coilwright_magnet::diagnostic::{Diagnostic, Severity};
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::sheet::Sheet;

fn faults(text: &str) -> Vec<Diagnostic> {
    let sheet = Sheet::parse(text, "test").unwrap_or_else(|faults| panic!("{faults:?}")).0;
    Magnet::complete(&sheet).err().unwrap_or_default()
}

fn says(faults: &[Diagnostic], part: &str) {
    assert!(faults.iter().any(|f| f.message.contains(part)), "no \"{part}\" in {faults:#?}");
}

#[test]
fn a_pot_with_everything_wrong_reports_everything() {
    let text = "form = \"pot\"\n[body]\nouter_diameter = \"60 mm\"\nheight = \"36 mm\"\npole_diameter = \"54 mm\"\n\
                inner_diameter = \"53 mm\"\nback = \"37 mm\"\nmaterial = \"unobtainium\"\n\
                [winding]\nwire = \"0.4 furlong\"\nturns = 100\n[drive]\nvoltage = \"12 V\"\n\
                [workpiece]\nmaterial = \"cheese\"\n";
    let found = faults(text);
    says(&found, "the pole's radius (27.0000 mm) is not less than the shell's inner radius (26.5000 mm)");
    says(&found, "the back's thickness (37.0000 mm) is not less than the height (36.0000 mm)");
    says(&found, "no room is left for the winding");
    says(&found, "unobtainium");
    says(&found, "cheese");
    says(&found, "furlong");
    assert!(found.iter().all(|f| f.severity == Severity::Fault && f.file == "test" && !f.hint.is_empty()));
    let line = |part: &str| {
        let fault = found.iter().find(|f| f.message.contains(part)).unwrap();
        fault.line_and_column(text).unwrap().0
    };
    assert_eq!((line("the pole's radius"), line("unobtainium"), line("cheese")), (5, 8, 15));
}

#[test]
fn windings_that_do_not_fit() {
    let pot = "form = \"pot\"\n[body]\nouter_diameter = \"60 mm\"\nheight = \"36 mm\"\npole_diameter = \"24 mm\"\n\
               inner_diameter = \"53 mm\"\nback = \"6 mm\"\n[winding]\nampere_turns = \"900 A\"\n";
    assert!(faults(pot).is_empty());
    says(&faults(&format!("{pot}inner_diameter = \"18 mm\"\n")), "overlaps the iron");
    says(&faults(&format!("{pot}start = \"3 mm\"\n")), "overlaps the iron");
    says(&faults(&format!("{pot}length = \"32 mm\"\n")), "overlaps the iron");
    says(&faults(&format!("{pot}bobbin_wall = \"8 mm\"\n")), "no room is left");
    let horseshoe = "form = \"horseshoe\"\n[body]\nleg_width = \"15 mm\"\nleg_length = \"40 mm\"\nleg_spacing = \"25 mm\"\n\
                     depth = \"30 mm\"\n[winding]\nampere_turns = \"900 A\"\n";
    assert!(faults(horseshoe).is_empty());
    // Wider than the leg and half the spacing on either side: the two coils would meet.
    says(&faults(&format!("{horseshoe}outer_diameter = \"41 mm\"\n")), "overlaps");
}

#[test]
fn bars_with_small_heads() {
    let bar = "form = \"bar\"\n[body]\ncore_diameter = \"12 mm\"\ncore_length = \"60 mm\"\n";
    let coil = "[winding]\nampere_turns = \"900 A\"\n";
    says(
        &faults(&format!("{bar}head_diameter = \"10 mm\"\n{coil}")),
        "the core's radius (6.0000 mm) is not less than the head's radius (5.0000 mm)",
    );
    says(&faults(&format!("{bar}head_thickness = \"4 mm\"\n{coil}")), "diameter of the head is missing");
    says(&faults(&format!("{bar}hole_diameter = \"12 mm\"\n{coil}")), "the hole's radius");
    let thick = "head_diameter = \"30 mm\"\nhead_thickness = \"61 mm\"\n";
    says(&faults(&format!("{bar}{thick}{coil}")), "the head (61.0000 mm) is not less than");
    says(
        &faults(&format!("{bar}{coil}inner_diameter = \"11 mm\"\n")),
        "the winding's inner radius (5.5000 mm)",
    );
    let headed =
        format!("{bar}head_diameter = \"30 mm\"\nhead_thickness = \"4 mm\"\n{coil}start = \"3 mm\"\n");
    says(&faults(&headed), "the winding overlaps the head");
}

#[test]
fn permanent_magnets_that_cannot_be() {
    let ring = "form = \"ring\"\n[body]\nouter_diameter = \"60 mm\"\ninner_diameter = \"61 mm\"\nthickness = \"8 mm\"\n\
                grade = \"N4Z\"\n";
    let found = faults(ring);
    says(&found, "the inner radius (30.5000 mm) is not less than the outer radius (30.0000 mm)");
    says(&found, "N4Z");
    assert_eq!(found.len(), 2, "{found:#?}");
    let cup = "form = \"potted-disc\"\n[body]\nouter_diameter = \"25 mm\"\nheight = \"8 mm\"\nwall = \"2 mm\"\nback = \"2.5 mm\"\n\
               grade = \"N42\"\n";
    assert!(faults(cup).is_empty());
    says(&faults(&format!("{cup}magnet_thickness = \"6 mm\"\n")), "stands out of the cup");
    says(&faults(&format!("{cup}magnet_diameter = \"21.5 mm\"\n")), "the magnet's radius");
    says(&faults(&cup.replace("back = \"2.5 mm\"\n", "magnet_thickness = \"9 mm\"\n")), "no room for a back");
}

#[test]
fn regions_that_say_nothing_or_too_much() {
    let outline = "outline = [[\"1 mm\", \"0 mm\"], [\"2 mm\", \"0 mm\"], [\"2 mm\", \"1 mm\"]]\n";
    let region = |name: &str, rest: &str| format!("[[region]]\nname = \"{name}\"\n{outline}{rest}\n");
    let text = [
        "form = \"profile\"\n[profile]\nsymmetry = \"axial\"\n".to_string(),
        region("empty", ""),
        region("both", "material = \"relay iron\"\nampere_turns = \"5 A\""),
        region("mixed", "remanence = \"1 T\"\nampere_turns = \"5 A\""),
        region("odd", "material = \"unobtainium\""),
        region("blank", "material = \"N42\""),
        region("empty", "material = \"air\""),
        region("fine", "material = \"copper\"\nampere_turns = \"5 A\""),
    ]
    .concat();
    let found = faults(&text);
    for part in [
        "region \"empty\": it has neither",
        "region \"both\": iron that carries a current",
        "region \"mixed\": it cannot have both",
        "region \"odd\": unknown soft material",
        "region \"blank\": a permanent magnet's direction",
        "region \"empty\": two regions have this name",
    ] {
        says(&found, part);
    }
    assert_eq!(found.len(), 6, "{found:#?}");
    let lines: Vec<usize> = found.iter().map(|f| f.line_and_column(&text).unwrap().0).collect();
    assert!(lines.windows(2).all(|l| l[0] < l[1]), "{lines:?}");
}

#[test]
fn a_workpiece_in_the_magnet() {
    let square = |name: &str, y: [f64; 2], rest: &str| {
        let [a, b] = y.map(|y| format!("\"{y} mm\""));
        format!(
            "[[region]]\nname = \"{name}\"\noutline = [[\"0 mm\", {a}], [\"9 mm\", {a}], [\"9 mm\", {b}], [\"0 mm\", {b}]]\n\
             material = \"relay iron\"\n{rest}"
        )
    };
    let at = |y: [f64; 2]| {
        let head = "form = \"profile\"\n[profile]\nsymmetry = \"axial\"\n";
        let moving = "body = \"workpiece\"\n";
        faults(&[head.into(), square("core", [0.0, 20.0], ""), square("plate", y, moving)].concat())
    };
    assert!(at([20.0, 25.0]).is_empty());
    says(&at([19.9, 25.0]), "region \"plate\": it is pulled, and overlaps \"core\"");
}
