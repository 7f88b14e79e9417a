//! Every form's starting sheet becomes a magnet; areas balance; poles have the polarity that is promised.

use coilwright_fem::drawing::{Drawing, Outline};
use coilwright_fem::law::{Linear, Medium};
use coilwright_fem::solve::Ladder;
use coilwright_magnet::magnet::winding::window::Window;
use coilwright_magnet::magnet::{Magnet, Part, Substance};
use coilwright_magnet::sheet::{Form, Sheet, template};
use std::sync::Arc;

fn sheet(text: &str) -> Sheet {
    Sheet::parse(text, "test").unwrap_or_else(|faults| panic!("{faults:?}")).0
}

fn magnet(text: &str) -> Magnet {
    Magnet::complete(&sheet(text)).unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// Corners of a part's bounding rectangle: x from, to, y from, to.
fn extent(part: &Part) -> [f64; 4] {
    part.outline.0.iter().fold(
        [f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY],
        |[a, b, c, d], ([x, y], _)| [a.min(*x), b.max(*x), c.min(*y), d.max(*y)],
    )
}

fn part(magnet: &Magnet, name: &str) -> [f64; 4] {
    extent(magnet.parts.iter().find(|p| p.name == name).unwrap_or_else(|| panic!("no part {name}")))
}

fn near(got: f64, want: f64) {
    assert!((got - want).abs() < 1e-12 + 1e-9 * want.abs(), "{got} for {want}");
}

#[test]
fn starting_sheets_complete() {
    for form in Form::ALL {
        let magnet = magnet(&template(form));
        assert_eq!(magnet.form, form);
        let top = magnet.parts.iter().map(|p| extent(p)[3]).fold(f64::NEG_INFINITY, f64::max);
        if form == Form::Profile {
            assert!(magnet.free && magnet.parts.iter().any(|p| p.is_workpiece));
            continue;
        }
        near(magnet.face_m, top);
        for pole in &magnet.poles {
            assert!(pole.x_m[0] < pole.x_m[1] && pole.y_m <= magnet.face_m, "{form}: {pole:?}");
        }
        assert!(
            magnet.poles.windows(2).all(|p| p[0].x_m[1] < p[1].x_m[0]),
            "{form}: from the middle outwards"
        );
        assert!(magnet.workpiece.as_ref().is_some_and(|w| w.gap_m > 0.0 && w.thickness_m > 0.0));
        let permanent = matches!(form, Form::Disc | Form::Ring | Form::PottedDisc);
        assert_eq!(magnet.excitation.is_none(), permanent, "{form}");
        if let Some(e) = &magnet.excitation {
            assert!(e.ampere_turns > 0.0 && e.current_a.is_some_and(|a| a > 0.0), "{form}");
        }
        // Conductors never lie in iron.
        let iron = |p: &&Part| matches!(p.substance, Substance::Iron(_));
        for wound in magnet.parts.iter().filter(|p| matches!(p.substance, Substance::Conductors { .. })) {
            let a = extent(wound);
            for solid in magnet.parts.iter().filter(iron) {
                let b = extent(solid);
                let apart =
                    a[1] <= b[0] + 1e-9 || b[1] <= a[0] + 1e-9 || a[3] <= b[2] + 1e-9 || b[3] <= a[2] + 1e-9;
                assert!(apart, "{form}: {} in {}", wound.name, solid.name);
            }
        }
    }
}

/// What flows through the pole returns through the wall, and passes the back in a cylinder at the pole's edge: equal
/// areas, since B has no sources.
#[test]
fn pot_is_balanced() {
    let text = "form = \"pot\"\n[body]\nouter_diameter = \"65 mm\"\nheight = \"35 mm\"\nhole_diameter = \"6 mm\"\n\
                [winding]\nampere_turns = \"900 A\"";
    let m = magnet(text);
    let (pole, wall, back) = (part(&m, "pole"), part(&m, "wall"), part(&m, "back"));
    near(wall[1] * wall[1] - wall[0] * wall[0], pole[1] * pole[1] - pole[0] * pole[0]);
    near(2.0 * pole[1] * back[3], pole[1] * pole[1] - pole[0] * pole[0]);
    for path in ["body.pole_diameter", "body.wall", "body.back", "winding.bobbin_wall"] {
        assert_eq!(m.assumptions.iter().filter(|a| a.path == path).count(), 1, "{path}");
        assert!(m.inputs.iter().any(|i| i.path == path && i.standard > 0.0), "{path}");
    }
    // The winding fills the slot but for the bobbin's wall.
    let wound = part(&m, "winding");
    near(wound[0], pole[1] + 0.5e-3);
    near(wound[1], wall[0] - 0.5e-3);
    near(wound[2], back[3] + 0.5e-3);
    near(wound[3], 35e-3 - 0.5e-3);
}

#[test]
fn e_core_and_horseshoe_are_balanced() {
    let e = magnet(
        "form = \"e-core\"\n[body]\ncentre_width = \"20 mm\"\nwindow_width = \"12 mm\"\nleg_length = \"40 mm\"\n\
         depth = \"30 mm\"\n[winding]\nampere_turns = \"1000 A\"",
    );
    let (centre, outer, back) = (part(&e, "centre leg"), part(&e, "outer leg"), part(&e, "back"));
    near(outer[1] - outer[0], centre[1]);
    near(back[3], centre[1]);
    near(outer[0] - centre[1], 12e-3);
    let h = magnet(
        "form = \"horseshoe\"\n[body]\nleg_width = \"15 mm\"\nleg_length = \"40 mm\"\nleg_spacing = \"25 mm\"\n\
         depth = \"30 mm\"\n[winding]\nampere_turns = \"1000 A\"\nouter_diameter = \"36 mm\"",
    );
    near(part(&h, "yoke")[3], 15e-3);
    // Two coils; both sides of the leg alike, the currents opposite, the leg between them.
    let (inner, outer, leg) =
        (part(&h, "winding, inner side"), part(&h, "winding, outer side"), part(&h, "leg"));
    near(inner[1] - inner[0], outer[1] - outer[0]);
    near(leg[0] - inner[1], outer[0] - leg[1]);
    near(outer[1] - inner[0], 36e-3);
    let shares: f64 = h
        .parts
        .iter()
        .map(|p| if let Substance::Conductors { share } = p.substance { share } else { 0.0 })
        .sum();
    near(shares, 0.0);
}

/// Turns of both coils count together, and a turn goes round the leg: 2 (15 + 30) mm and quarter circles.
#[test]
fn horseshoe_turns_go_round_a_leg() {
    let m = magnet(&template(Form::Horseshoe));
    let winding = m.excitation.unwrap().winding.unwrap();
    assert_eq!((winding.coils, winding.turns), (2.0, 1600.0));
    let Window::Racetrack { clearance_m, build_m, .. } = winding.window else {
        panic!("{:?}", winding.window)
    };
    near(winding.mean_turn_length_m, 0.09 + 2.0 * std::f64::consts::PI * (clearance_m + 0.5 * build_m));
}

/// Solve with iron of constant permeability and no plate; the flux density upwards at points just off the face.
fn upwards(m: &Magnet, at_x: &[f64]) -> Vec<f64> {
    let top = m.parts.iter().map(extent).fold(0.0, |t: f64, e| t.max(e[1]).max(e[3]));
    let mut drawing = Drawing::new(m.symmetry, [0.0, 0.5 * m.face_m], 2.0 * top);
    let mut media = vec![Medium::vacuum()];
    for part in &m.parts {
        let e = extent(part);
        let area = (e[1] - e[0]) * (e[3] - e[2]);
        assert_eq!(part.outline, Outline::rectangle([e[0], e[1]], [e[2], e[3]]));
        drawing.paint(media.len(), part.outline.clone());
        media.push(match &part.substance {
            Substance::Conductors { share } => {
                Medium::vacuum().with_current_density(share * m.ampere_turns() / area)
            }
            Substance::Iron(_) => Medium::of(Linear::relative(1000.0)),
            Substance::Permanent { remanence_t, recoil_permeability, .. } => {
                Medium::of(Linear::relative(*recoil_permeability)).with_remanence(*remanence_t)
            }
            other => panic!("{other:?}"),
        });
    }
    let ladder = Ladder::climb(&drawing, Arc::new(media), 0.0).expect("a linear field");
    let probe = ladder.probe();
    at_x.iter().map(|x| probe.at([*x, m.face_m + 0.5e-3]).b_t[1]).collect()
}

/// Right-hand rule: counter-clockwise current, seen looking at the face, makes its middle a north pole.
#[test]
fn poles_have_the_promised_polarity() {
    for form in Form::ALL.into_iter().filter(|f| *f != Form::Profile) {
        let m = magnet(&template(form));
        let middles: Vec<f64> = m.poles.iter().map(|p| 0.5 * (p.x_m[0] + p.x_m[1])).collect();
        let b = upwards(&m, &middles);
        assert!(b[0] > 1e-3, "{form}: {b:?}");
        assert_eq!(Magnet::polarity(b[0]), "north");
        assert!(b[1..].iter().all(|b| *b < -1e-3), "{form}: {b:?}");
        if m.excitation.is_some() {
            let mut reversed = sheet(&template(form));
            reversed.set("drive.polarity", "reversed").unwrap();
            let turned = upwards(&Magnet::complete(&reversed).unwrap(), &middles);
            for (a, b) in turned.iter().zip(&b) {
                assert!((a + b).abs() < 1e-9 + 1e-6 * b.abs(), "{form}: {a} {b}");
            }
            reversed.set("winding.direction", "clockwise").unwrap();
            assert!(Magnet::complete(&reversed).unwrap().ampere_turns() > 0.0);
        }
    }
}

#[test]
fn bar_takes_head_and_shoe() {
    let base = "form = \"bar\"\n[body]\ncore_diameter = \"12 mm\"\ncore_length = \"60 mm\"\n";
    let coil = "[winding]\nampere_turns = \"500 A\"\n";
    // Nothing known of the coil: as thick as half the core, full length.
    let plain = magnet(&format!("{base}{coil}"));
    let wound = part(&plain, "winding");
    near(2.0 * wound[1], 24e-3);
    near(wound[3], 59.5e-3);
    // Head and shoe: the coil lies between them, as far out as the larger.
    let headed = magnet(&format!(
        "{base}head_diameter = \"30 mm\"\nface_diameter = \"18 mm\"\nface_thickness = \"4 mm\"\n{coil}"
    ));
    let (head, shoe, wound) = (part(&headed, "head"), part(&headed, "pole shoe"), part(&headed, "winding"));
    // The core's flux spreads through the head at the core's edge: π r² = 2 π r t.
    near(head[3], 3e-3);
    near(shoe[2], 56e-3);
    near(wound[1], 15e-3);
    near(wound[2], head[3] + 0.5e-3);
    near(wound[3], shoe[2] - 0.5e-3);
    near(headed.poles[0].x_m[1], 9e-3);
    // A coil longer than its core is the face.
    let long = magnet(&format!("{base}{coil}start = \"2 mm\"\nlength = \"60 mm\"\n"));
    near(long.face_m, 62e-3);
    near(long.poles[0].y_m, 60e-3);
    assert!(long.warnings.iter().any(|w| w.contains("proud")), "{:?}", long.warnings);
    // Turns and wire need room: 1000 turns of 0.5 mm² over the enamel at 0.58, 50 mm long.
    let drive = "[drive]\nvoltage = \"12 V\"\n";
    let winding = "[winding]\nturns = 1000\nwire = \"0.5 mm grade 1\"\nlength = \"50 mm\"\ninner_diameter = \"13 mm\"\n";
    let counted = magnet(&format!("{base}{winding}{drive}"));
    let e = counted.excitation.as_ref().unwrap();
    let completed = e.winding.as_ref().unwrap();
    assert!((completed.overall_fill - 0.58).abs() < 1e-9, "{}", completed.overall_fill);
    // The same from the resistance that these turns have.
    let measured =
        winding.replace("turns = 1000", &format!("resistance = \"{:.6} ohm\"", completed.resistance_20_ohm));
    let again = magnet(&format!("{base}{measured}{drive}"));
    assert!((part(&again, "winding")[1] / part(&counted, "winding")[1] - 1.0).abs() < 1e-5);
    assert!((again.excitation.unwrap().turns / 1000.0 - 1.0).abs() < 1e-4);
}

/// Grade N42 between 1.28 and 1.32 T (the grade's range in the library); −0.12 %/K.
#[test]
fn grades_follow_the_temperature() {
    let text = "form = \"disc\"\n[body]\ndiameter = \"20 mm\"\nthickness = \"10 mm\"\ngrade = \"N42\"\n";
    let remanence = |m: &Magnet| match &m.parts[0].substance {
        Substance::Permanent { remanence_t, knee_t, .. } => {
            assert!(knee_t.is_some());
            assert_eq!(remanence_t[0], 0.0);
            remanence_t[1]
        }
        other => panic!("{other:?}"),
    };
    let cold = magnet(text);
    let warm = magnet(&format!("{text}[surroundings]\ntemperature = \"60 degC ± 5 K\"\n"));
    near(remanence(&warm) / remanence(&cold), 1.0 - 0.0012 * 40.0);
    assert!(cold.inputs.iter().any(|i| i.path == "body.remanence"));
    let hot = magnet(&format!("{text}[surroundings]\ntemperature = \"150 degC\"\n"));
    assert!(hot.warnings.iter().any(|w| w.contains("highest working temperature")), "{:?}", hot.warnings);
    // A remanence that is tried beside the grade counts.
    let mut tried = sheet(text);
    tried.set_value("body.remanence", 1.0);
    near(remanence(&Magnet::complete(&tried).unwrap()), 1.0);
}

#[test]
fn coil_has_its_upper_end_as_face() {
    let text = "form = \"coil\"\n[winding]\ninner_diameter = \"20 mm\"\nouter_diameter = \"40 mm\"\nlength = \"40 mm\"\n\
                ampere_turns = \"1000 A\"\n";
    let m = magnet(text);
    near(m.face_m, 40e-3);
    assert_eq!(part(&m, "winding").map(|v| (1e6 * v).round()), [10e3, 20e3, 0.0, 40e3]);
    let raised = magnet(&format!("{text}start = \"5 mm\"\n"));
    near(raised.face_m, 45e-3);
}

/// Current out of the page of an x–y drawing, into that of an r–z drawing.
#[test]
fn profile_currents_have_their_sense() {
    let regions = "[[region]]\nname = \"wire\"\noutline = [[\"1 mm\", \"0 mm\"], [\"2 mm\", \"0 mm\"], [\"2 mm\", \"1 mm\"]]\n\
                   ampere_turns = \"5 A\"\n\
                   [[region]]\nname = \"hole\"\noutline = [[\"3 mm\", \"0 mm\"], [\"4 mm\", \"0 mm\"], [\"4 mm\", \"1 mm\"]]\n\
                   material = \"air\"\n";
    let axial = magnet(&format!("form = \"profile\"\n[profile]\nsymmetry = \"axial\"\n{regions}"));
    assert_eq!(axial.parts[0].substance, Substance::AmpereTurns(5.0));
    assert_eq!(axial.parts[1].substance, Substance::Vacuum);
    near(axial.face_m, 0.0);
    let planar = magnet(&format!(
        "form = \"profile\"\n[profile]\nsymmetry = \"planar\"\ndepth = \"20 mm\"\n{regions}"
    ));
    assert_eq!(planar.parts[0].substance, Substance::AmpereTurns(-5.0));
    near(planar.depth_m, 20e-3);
}

/// Wire that would not fill its window, even wound loosely, is not spread over it: a fifth of the turns lie close to the leg,
/// as of a bar magnet (common practice, no source).
#[test]
fn few_turns_do_not_fill_a_window() {
    for (form, turns) in [(Form::Horseshoe, "320"), (Form::ECore, "200"), (Form::Pot, "150")] {
        let mut few = sheet(&template(form));
        few.remove("winding.resistance");
        let full = Magnet::complete(&few).unwrap().excitation.unwrap().winding.unwrap();
        few.set("winding.turns", turns).unwrap();
        let magnet = Magnet::complete(&few).unwrap();
        let winding = magnet.excitation.unwrap().winding.unwrap();
        assert!(winding.window.depth_m() < 0.5 * full.window.depth_m(), "{form}: {:?}", winding.window);
        assert!(magnet.assumptions.iter().any(|a| a.path == "winding.outer_diameter"), "{form}");
        // Round wire wound wild: its enamelled circles fill 58 % of the section.
        let wire = few.word("winding.wire").unwrap();
        let wire = coilwright_magnet::wire::Wire::parse(wire).unwrap();
        let circles = winding.turns / winding.coils * wire.overall_area_m2();
        near(circles / winding.window.area_m2(), 0.58);
    }
}

/// Legs of round bar have the section of the squares that are drawn, and turns that are circles round the bar.
#[test]
fn a_horseshoe_of_round_bar_can_be_entered() {
    let mut round = sheet(&template(Form::Horseshoe));
    round.remove("body.leg_width");
    round.remove("body.depth");
    round.remove("winding.resistance");
    round.set("body.leg_diameter", "16 mm").unwrap();
    let m = Magnet::complete(&round).unwrap();
    let leg = part(&m, "leg");
    near((leg[1] - leg[0]) * m.depth_m, std::f64::consts::PI * 64e-6);
    // Middles as far apart as those of bars 25 mm clear of each other.
    near(leg[0] + leg[1], 25e-3 + 16e-3);
    let winding = m.excitation.unwrap().winding.unwrap();
    let depth = winding.window.depth_m();
    near(winding.mean_turn_length_m, std::f64::consts::PI * (16e-3 + 2.0 * 0.5e-3 + depth));
    assert!(m.warnings.iter().any(|w| w.contains("round legs")), "{:?}", m.warnings);
    let both = round.set("body.leg_width", "15 mm");
    assert!(both.is_err() || Magnet::complete(&round).is_err(), "a leg has one section");
}

/// A plate that reaches only one pole is answered, and said.
#[test]
fn a_plate_that_misses_a_pole_is_warned_of() {
    let mut narrow = sheet(&template(Form::ECore));
    narrow.set("workpiece.width", "30 mm").unwrap();
    let m = Magnet::complete(&narrow).unwrap();
    assert!(m.warnings.iter().any(|w| w.contains("misses the outer leg")), "{:?}", m.warnings);
}
