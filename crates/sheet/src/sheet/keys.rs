//! The one table of what a sheet may say.

use super::schema::{Form, Key, Kind, Range};
use crate::quantity::Dimension;
use Form::{Bar, Coil, Disc, ECore, Horseshoe, Pot, PottedDisc, Profile, Ring};
use Kind::{AnyQuantity, Curve, Flag, Outline, Quantity, Text, Vector, Word, WordOr};
use Range::{Any, NotNegative, Share, ShareOrNone};

/// The tables of a sheet in the order a person fills them in, with a heading each.
pub(crate) const TABLES: &[(&str, &str)] = &[
    ("", ""),
    ("body", "The iron, or the permanent magnet"),
    ("profile", "What the regions are drawn in"),
    ("winding", "The coil"),
    ("drive", "How the coil is fed"),
    ("nameplate", "What the maker claims; for the audit"),
    ("workpiece", "What is held"),
    ("keeper", "A soft bar or plate across the poles"),
    ("surroundings", "Where it stands"),
    ("probe", "The gaussmeter's probe"),
    ("clamp", "What takes the coil's energy at switch-off"),
    ("backup", "What holds when the mains fail"),
    ("limits", "What must not be exceeded"),
    ("accuracy", "How closely to compute"),
    ("instruments.*", "An instrument's accuracy; NAME is yours to choose"),
    ("calibration", "Written by a fit to readings; not by hand"),
];

const ELECTRIC: &[Form] = &[Pot, Bar, Coil, Horseshoe, ECore, Profile];
/// All but a drawing of one's own, whose regions hold the workpiece too.
const FORMED: &[Form] = &[Pot, Bar, Coil, Horseshoe, ECore, Disc, Ring, PottedDisc];
const WOUND: &[Form] = &[Pot, Bar, Coil, Horseshoe, ECore];
const PERMANENT: &[Form] = &[Disc, Ring, PottedDisc];
const FORMS: &[&str] =
    &["pot", "bar", "coil", "horseshoe", "e-core", "disc", "ring", "potted-disc", "profile"];

const LENGTH: Kind = Quantity(Dimension::Length);
const RATIO: Kind = Quantity(Dimension::Ratio);
const CURRENT: Kind = Quantity(Dimension::Current);
const VOLTAGE: Kind = Quantity(Dimension::Voltage);
const POWER: Kind = Quantity(Dimension::Power);
const RESISTANCE: Kind = Quantity(Dimension::Resistance);
const TEMPERATURE: Kind = Quantity(Dimension::Temperature);
const TIME: Kind = Quantity(Dimension::Time);
const MASS: Kind = Quantity(Dimension::Mass);
const FLUX_DENSITY: Kind = Quantity(Dimension::FluxDensity);
/// Thermal classes of insulation, IEC 60085.
const CLASS: Kind = WordOr(&["A", "E", "B", "F", "H", "N", "R"], Dimension::Temperature);

const fn key(path: &'static str, kind: Kind, doc: &'static str, example: &'static str) -> Key {
    Key::new(path, kind, doc, example)
}

/// Every key, table by table.
pub(crate) const KEYS: &[Key] = &[
    key("sheet", Quantity(Dimension::Count), "version of this format", "1"),
    key("name", Text, "what you call the magnet", "my magnet").assumed("the form"),
    key("form", Word(FORMS), "kind of magnet", "pot").required(&Form::ALL),
    key("notes", Text, "anything worth remembering", "bought second-hand"),
    key("invented", Flag, "true if the data are made up", "true").assumed("false"),
    // body
    key("body.outer_diameter", LENGTH, "outside diameter", "50 mm ± 0.1 mm")
        .only(&[Pot, Ring, PottedDisc])
        .required(&[Pot, Ring, PottedDisc]),
    key("body.height", LENGTH, "overall height, face to back", "30 mm ± 0.1 mm")
        .only(&[Pot, PottedDisc])
        .required(&[Pot, PottedDisc]),
    key("body.pole_diameter", LENGTH, "diameter of the centre pole", "20 mm ± 0.1 mm")
        .only(&[Pot])
        .assumed("a pole of a good pot's proportions"),
    key("body.inner_diameter", LENGTH, "bore of the shell, or of the ring", "44 mm ± 0.2 mm")
        .only(&[Pot, Ring])
        .required(&[Ring])
        .excludes(&["body.wall"])
        .assumed("a wall with the area of the pole"),
    key("body.wall", LENGTH, "thickness of the shell's wall", "3 mm ± 0.1 mm")
        .only(&[Pot, PottedDisc])
        .excludes(&["body.inner_diameter"])
        .assumed("a wall with the area of the pole"),
    key("body.back", LENGTH, "thickness of the back", "5 mm ± 0.5 mm")
        .only(&[Pot, ECore, PottedDisc])
        .assumed("a back that carries the flux of the pole"),
    key("body.pole_recess", LENGTH, "how far the pole is set back from the rim", "0 mm")
        .only(&[Pot])
        .range(NotNegative)
        .assumed("0 mm"),
    key("body.core_diameter", LENGTH, "diameter of the core", "12 mm ± 0.1 mm").only(&[Bar]).required(&[Bar]),
    key("body.core_length", LENGTH, "length of the core, face to far end", "60 mm ± 0.2 mm")
        .only(&[Bar])
        .required(&[Bar]),
    key("body.hole_diameter", LENGTH, "hole through the pole or core", "5 mm")
        .only(&[Pot, Bar])
        .assumed("no hole"),
    key("body.head_diameter", LENGTH, "diameter of a flange at the far end", "30 mm")
        .only(&[Bar])
        .assumed("no flange"),
    key("body.head_thickness", LENGTH, "thickness of that flange", "5 mm").only(&[Bar]).assumed("no flange"),
    key("body.face_diameter", LENGTH, "diameter of a pole shoe at the face", "18 mm")
        .only(&[Bar])
        .assumed("no shoe"),
    key("body.face_thickness", LENGTH, "thickness of that shoe", "4 mm").only(&[Bar]).assumed("no shoe"),
    key("body.leg_width", LENGTH, "width of one leg", "15 mm ± 0.1 mm").only(&[Horseshoe]),
    key("body.leg_diameter", LENGTH, "diameter of legs of round bar", "16 mm ± 0.1 mm")
        .only(&[Horseshoe])
        .excludes(&["body.leg_width", "body.depth"]),
    key("body.centre_width", LENGTH, "width of the centre leg", "20 mm ± 0.1 mm")
        .only(&[ECore])
        .required(&[ECore]),
    key("body.outer_width", LENGTH, "width of one outer leg", "10 mm ± 0.1 mm")
        .only(&[ECore])
        .assumed("half the centre leg"),
    key("body.window_width", LENGTH, "clear width between centre and outer leg", "12 mm ± 0.2 mm")
        .only(&[ECore])
        .required(&[ECore]),
    key("body.leg_length", LENGTH, "length of the legs, face to yoke", "40 mm ± 0.2 mm")
        .only(&[Horseshoe, ECore])
        .required(&[Horseshoe, ECore]),
    key("body.leg_spacing", LENGTH, "clear distance between the legs", "25 mm ± 0.2 mm")
        .only(&[Horseshoe])
        .required(&[Horseshoe]),
    key("body.yoke", LENGTH, "thickness of the yoke", "15 mm ± 0.2 mm")
        .only(&[Horseshoe])
        .assumed("as a leg"),
    key("body.depth", LENGTH, "depth of the iron, across the drawing", "30 mm ± 0.2 mm")
        .only(&[Horseshoe, ECore])
        .required(&[ECore]),
    key("body.diameter", LENGTH, "diameter of the disc", "20 mm ± 0.1 mm").only(&[Disc]).required(&[Disc]),
    key("body.thickness", LENGTH, "thickness, along the magnetisation", "10 mm ± 0.1 mm")
        .only(&[Disc, Ring])
        .required(&[Disc, Ring]),
    key("body.magnet_diameter", LENGTH, "diameter of the magnet in the cup", "24 mm")
        .only(&[PottedDisc])
        .assumed("the cup's bore less a gap"),
    key("body.magnet_thickness", LENGTH, "thickness of the magnet in the cup", "5 mm")
        .only(&[PottedDisc])
        .assumed("the cup's depth"),
    key("body.grade", Text, "permanent-magnet grade", "N42").only(PERMANENT).excludes(&["body.remanence"]),
    key("body.remanence", FLUX_DENSITY, "remanence, where no grade is given", "1.30 T ± 2 %")
        .only(PERMANENT)
        .excludes(&["body.grade"]),
    key("body.recoil_permeability", RATIO, "relative recoil permeability", "1.05 ± 0.02")
        .only(PERMANENT)
        .excludes(&["body.grade"])
        .assumed("1.05"),
    key("body.material", Text, "steel of the shell, core or cup", "free-machining steel")
        .only(&[Pot, Bar, Horseshoe, ECore, PottedDisc])
        .assumed("a low-carbon steel"),
    key("body.pole_material", Text, "steel of the centre pole", "relay iron")
        .only(&[Pot])
        .assumed("as the shell"),
    key("body.laminated", Flag, "true if its iron is stacked of thin sheets, so that no eddies flow", "true")
        .only(&[Pot, Bar, Horseshoe, ECore])
        .assumed("solid iron"),
    // profile
    key("profile.symmetry", Word(&["axial", "planar"]), "r–z about an axis, or x–y with a depth", "axial")
        .only(&[Profile])
        .required(&[Profile]),
    key("profile.depth", LENGTH, "depth across a planar drawing", "30 mm").only(&[Profile]),
    key(
        "profile.mirror",
        Word(&["flux stays", "flux crosses"]),
        "what a planar drawing's x = 0 is",
        "flux stays",
    )
    .only(&[Profile])
    .assumed("no mirror"),
    // winding
    key("winding.turns", Quantity(Dimension::Count), "number of turns", "1000 ± 20")
        .only(ELECTRIC)
        .assumed("from resistance and wire"),
    key("winding.wire", Text, "wire: bare diameter and grade, or gauge", "0.4 mm grade 2")
        .only(ELECTRIC)
        .assumed("from resistance and window"),
    key("winding.conductor", Word(&["copper", "aluminium"]), "metal of the wire", "copper")
        .only(ELECTRIC)
        .assumed("copper"),
    key("winding.parallel", Quantity(Dimension::Count), "wires in hand", "1").only(ELECTRIC).assumed("1"),
    key("winding.resistance", RESISTANCE, "measured resistance", "25 ohm ± 1 %").only(ELECTRIC),
    key("winding.resistance_at", TEMPERATURE, "winding temperature at that measurement", "20 °C ± 2 K")
        .only(ELECTRIC)
        .assumed("20 °C"),
    key("winding.fill_factor", RATIO, "conductor area over window area", "0.5 ± 0.05")
        .only(ELECTRIC)
        .range(Share)
        .assumed("by common practice for the wire"),
    key("winding.layers", Quantity(Dimension::Count), "number of layers", "10").only(ELECTRIC),
    key("winding.inner_diameter", LENGTH, "inside of the winding", "21 mm ± 0.2 mm")
        .only(WOUND)
        .required(&[Coil])
        .assumed("what the iron leaves"),
    key("winding.outer_diameter", LENGTH, "outside of the winding", "43 mm ± 0.5 mm")
        .only(WOUND)
        .required(&[Coil])
        .assumed("what the iron leaves"),
    key("winding.start", LENGTH, "height of its lower end above the magnet's back", "5.5 mm ± 0.2 mm")
        .only(WOUND)
        .range(NotNegative)
        .assumed("what the iron leaves"),
    key("winding.length", LENGTH, "length along the axis", "23.5 mm ± 0.2 mm")
        .only(WOUND)
        .required(&[Coil])
        .assumed("what the iron leaves"),
    key("winding.bobbin_wall", LENGTH, "insulation or bobbin between winding and iron", "0.5 mm ± 0.2 mm")
        .only(WOUND)
        .range(NotNegative)
        .assumed("0.5 mm all round"),
    key("winding.ampere_turns", Quantity(Dimension::AmpereTurns), "instead of turns and drive", "900 A")
        .only(ELECTRIC)
        .range(NotNegative)
        .excludes(&["winding.turns", "drive.voltage", "drive.current"]),
    key(
        "winding.direction",
        Word(&["clockwise", "counter-clockwise"]),
        "current's sense, looking at the face",
        "counter-clockwise",
    )
    .only(ELECTRIC)
    .assumed("counter-clockwise: north at the face's centre"),
    key("winding.thermal_class", CLASS, "insulation class, or its temperature", "F")
        .only(ELECTRIC)
        .assumed("B"),
    key("winding.impregnation", Word(&["none", "varnish", "epoxy"]), "what fills the winding", "none")
        .only(ELECTRIC)
        .assumed("none"),
    // drive
    key("drive.voltage", VOLTAGE, "supply voltage", "24 V ± 0.5 %")
        .only(ELECTRIC)
        .range(NotNegative)
        .excludes(&["drive.current", "winding.ampere_turns"]),
    key("drive.current", CURRENT, "supply current, instead of a voltage", "1 A ± 1 %")
        .only(ELECTRIC)
        .range(NotNegative)
        .excludes(&["drive.voltage", "winding.ampere_turns"]),
    key("drive.lead_resistance", RESISTANCE, "both leads together", "50 mohm ± 20 mohm")
        .only(ELECTRIC)
        .range(NotNegative)
        .assumed("0 ohm"),
    key("drive.voltage_limit", VOLTAGE, "the supply's voltage limit", "30 V").only(ELECTRIC).assumed("none"),
    key("drive.current_limit", CURRENT, "the supply's current limit", "3 A").only(ELECTRIC).assumed("none"),
    key("drive.power_limit", POWER, "the supply's power limit", "60 W").only(ELECTRIC).assumed("none"),
    key("drive.duty", RATIO, "on-time over cycle time", "40 %").only(ELECTRIC).range(Share).assumed("100 %"),
    key("drive.cycle_time", TIME, "one on and one off together", "5 min").only(ELECTRIC),
    key("drive.on_time", TIME, "how long it is on", "2 min").only(ELECTRIC),
    key("drive.temperature", TEMPERATURE, "winding temperature the answers are for", "60 °C ± 5 K")
        .only(ELECTRIC)
        .assumed("as the surroundings"),
    key("drive.polarity", Word(&["normal", "reversed"]), "how the leads are connected", "normal")
        .only(ELECTRIC)
        .assumed("normal"),
    key("drive.profile", Text, "CSV file of the drive against time", "lift-cycle.csv").only(ELECTRIC),
    // nameplate
    key("nameplate.voltage", VOLTAGE, "rated voltage", "24 V").only(ELECTRIC),
    key("nameplate.current", CURRENT, "rated current", "0.5 A").only(ELECTRIC),
    key("nameplate.power", POWER, "rated power", "12 W").only(ELECTRIC),
    key("nameplate.resistance", RESISTANCE, "rated resistance", "48 ohm").only(ELECTRIC),
    key("nameplate.pull", Quantity(Dimension::Force), "rated pull", "500 N"),
    key("nameplate.flux_density", FLUX_DENSITY, "rated flux density at the face", "0.3 T"),
    key("nameplate.duty", RATIO, "rated duty", "100 %").only(ELECTRIC).range(Share),
    key("nameplate.thermal_class", CLASS, "rated insulation class, or its temperature", "B").only(ELECTRIC),
    key("nameplate.mass", MASS, "stated mass", "0.3 kg"),
    key("nameplate.price", RATIO, "price, in one currency for all that are compared", "24.50"),
    // workpiece
    key("workpiece.shape", Word(&["disc", "plate"]), "round, or rectangular", "disc")
        .assumed("disc")
        .only(FORMED),
    key("workpiece.diameter", LENGTH, "diameter of a disc", "60 mm")
        .excludes(&["workpiece.width"])
        .only(FORMED),
    key("workpiece.width", LENGTH, "width of a plate", "80 mm")
        .excludes(&["workpiece.diameter"])
        .only(FORMED),
    key("workpiece.length", LENGTH, "length of a plate, across its width", "120 mm")
        .excludes(&["workpiece.diameter"])
        .assumed("a round magnet's plate is square; a long one's covers its depth")
        .only(FORMED),
    key(
        "workpiece.offset",
        LENGTH,
        "from the magnet's axis to the middle of a plate, along its width",
        "12 mm",
    )
    .range(NotNegative)
    .assumed("in the middle")
    .only(FORMED),
    key("workpiece.thickness", LENGTH, "thickness", "8 mm ± 0.1 mm").only(FORMED),
    key("workpiece.gap", LENGTH, "face to workpiece, coating and roughness included", "0.1 mm ± 0.03 mm")
        .only(FORMED),
    key(
        "workpiece.coating",
        LENGTH,
        "paint or plating: part of `gap` where that is given, on top of the assumed one where not",
        "20 um ± 10 um",
    )
    .range(NotNegative)
    .only(FORMED),
    key("workpiece.material", Text, "steel of the workpiece", "low-carbon steel")
        .assumed("a low-carbon steel")
        .only(FORMED),
    key("workpiece.laminated", Flag, "true if it is stacked of thin sheets, as an armature may be", "true")
        .assumed("solid iron")
        .only(FORMED),
    key("workpiece.friction", RATIO, "coefficient of friction, for shear", "0.15 ± 0.05").range(NotNegative),
    key(
        "workpiece.face",
        Word(&["level", "vertical"]),
        "how the face stands; on a vertical one a load slips first",
        "vertical",
    )
    .assumed("level"),
    key("workpiece.mass", MASS, "mass to be held", "0.5 kg"),
    // keeper
    key("keeper.outer_diameter", LENGTH, "diameter of a round keeper", "50 mm").excludes(&["keeper.width"]),
    key("keeper.width", LENGTH, "width of a bar", "50 mm").excludes(&["keeper.outer_diameter"]),
    key("keeper.inner_diameter", LENGTH, "hole in a round keeper", "10 mm").assumed("no hole"),
    key("keeper.thickness", LENGTH, "thickness", "6 mm"),
    key("keeper.gap", LENGTH, "face to keeper", "0.1 mm ± 0.05 mm"),
    key("keeper.material", Text, "steel of the keeper", "low-carbon steel").assumed("a low-carbon steel"),
    // surroundings
    key("surroundings.temperature", TEMPERATURE, "of the air and of what is near", "20 °C ± 2 K")
        .assumed("20 °C"),
    key(
        "surroundings.cooling",
        Word(&["still air", "forced air", "cold plate", "adiabatic"]),
        "what carries the heat away",
        "still air",
    )
    .assumed("still air"),
    key("surroundings.air_speed", Quantity(Dimension::Speed), "of forced air", "2 m/s"),
    key("surroundings.mounting", Word(&["hanging", "on its back", "bolted"]), "how it is held", "hanging")
        .assumed("hanging"),
    key("surroundings.plate_length", LENGTH, "side of the plate it is bolted to", "200 mm"),
    key("surroundings.plate_thickness", LENGTH, "thickness of that plate", "10 mm"),
    key("surroundings.plate_material", Text, "material of that plate", "aluminium"),
    key("surroundings.plate_emissivity", RATIO, "of that plate's surface", "0.1 ± 0.05")
        .range(Share)
        .assumed("by its material"),
    key("surroundings.coolant_temperature", TEMPERATURE, "of the cold plate's coolant", "18 °C"),
    key(
        "surroundings.cooling_conductance",
        Quantity(Dimension::ThermalConductance),
        "from the magnet's back to the coolant",
        "5 W/K",
    ),
    key("surroundings.emissivity", RATIO, "of the outer surface", "0.9 ± 0.05")
        .range(Share)
        .assumed("by the finish"),
    key("surroundings.applied_field", FLUX_DENSITY, "uniform field along the axis", "50 uT")
        .range(Any)
        .assumed("none"),
    // probe
    key("probe.active_diameter", LENGTH, "diameter of the sensing area", "2 mm").range(NotNegative),
    key("probe.standoff", LENGTH, "sensing element above the face", "1 mm ± 0.1 mm").range(NotNegative),
    key("probe.depth", LENGTH, "sensing element behind the tip", "0.5 mm ± 0.1 mm").range(NotNegative),
    key("probe.angle", Quantity(Dimension::Angle), "tilt from the normal", "0 deg ± 3 deg")
        .range(Any)
        .assumed("0 deg"),
    // clamp
    key("clamp.kind", Word(&["diode", "resistor", "zener", "none"]), "part across the coil", "diode")
        .only(ELECTRIC)
        .assumed("diode"),
    key("clamp.resistance", RESISTANCE, "of the resistor", "100 ohm").only(ELECTRIC),
    key("clamp.voltage", VOLTAGE, "of the diode or zener", "0.8 V").only(ELECTRIC),
    // backup
    key("backup.kind", Word(&["converter", "battery"]), "what feeds the coil on backup", "converter")
        .only(ELECTRIC)
        .assumed("a converter, which holds its voltage"),
    key(
        "backup.chemistry",
        Word(&["lead", "nickel", "lithium", "capacitor"]),
        "what stores the energy: how much less it gives when emptied quickly",
        "lead",
    )
    .only(ELECTRIC)
    .assumed("lead"),
    key("backup.hold_time", TIME, "how long it must hold", "10 min").only(ELECTRIC),
    key("backup.energy", Quantity(Dimension::StoredEnergy), "stored energy when new", "12 Wh").only(ELECTRIC),
    key("backup.depth_of_discharge", RATIO, "share that may be taken", "80 %").only(ELECTRIC).range(Share),
    key("backup.efficiency", RATIO, "of the conversion", "85 %").only(ELECTRIC).range(Share),
    key("backup.ageing", RATIO, "capacity left at the end of life", "80 %").only(ELECTRIC).range(Share),
    key("backup.voltage", VOLTAGE, "that a converter holds, or a battery's nominal one", "24 V")
        .only(ELECTRIC),
    key("backup.internal_resistance", RESISTANCE, "of the battery", "50 mohm")
        .only(ELECTRIC)
        .range(NotNegative)
        .assumed("by its energy"),
    // limits
    key("limits.temperature", TEMPERATURE, "hot spot of the winding", "130 °C")
        .assumed("by the thermal class"),
    key("limits.surface_temperature", TEMPERATURE, "what a hand may touch", "60 °C"),
    key("limits.current", CURRENT, "coil current", "2 A"),
    key("limits.power", POWER, "coil power", "40 W"),
    key("limits.mass", MASS, "mass of the magnet", "1 kg"),
    key("limits.safety_factor", RATIO, "pull over the weight of the workpiece, at least", "3"),
    key("limits.code", Text, "whose rule the safety factor is", "the hall's own rule"),
    // lot
    key(
        "lot.varies",
        Text,
        "what differs from unit to unit of a lot, and how far either way",
        "winding.turns ± 20; body.pole_diameter ± 0.1 mm",
    ),
    key("lot.pulls", Text, "measured pulls of some units, at one gap and drive", "712 N; 698 N; 731 N"),
    // accuracy
    key("accuracy.field", RATIO, "numerical error of a field", "0.3 %").range(Share).assumed("0.3 %"),
    key("accuracy.pull", RATIO, "numerical error of a pull", "0.3 %").range(Share).assumed("0.3 %"),
    // instruments
    key("instruments.*.of_reading", RATIO, "share of the reading", "0.5 %").range(ShareOrNone),
    key("instruments.*.counts", Quantity(Dimension::Count), "counts of the last digit", "3")
        .range(NotNegative),
    key("instruments.*.resolution", AnyQuantity, "size of the last digit", "0.1 mT"),
    key("instruments.*.offset", AnyQuantity, "zero error", "0.2 mT"),
    // calibration
    key("calibration.date", Text, "when it was made", "2025-01-31"),
    key("calibration.readings", Text, "file it was made from", "bench.csv"),
    key("calibration.checksum", Text, "of that file", "5f1c"),
    key("calibration.thermal_conductance_scale", RATIO, "factor on the heat given off", "1.05 ± 0.03")
        .assumed("1"),
    key("calibration.heat_capacity_scale", RATIO, "factor on the heat stored", "0.98 ± 0.04").assumed("1"),
    key(
        "calibration.winding_conductance_scale",
        RATIO,
        "factor on the heat that passes from the wires to the iron",
        "0.9 ± 0.1",
    )
    .assumed("1"),
    key(
        "calibration.surroundings",
        Text,
        "cooling and mounting for which the factor on the heat given off holds",
        "still air, hanging",
    ),
    key(
        "calibration.correlation",
        Text,
        "how the errors of quantities found by the same fit go together",
        "workpiece.gap ~ winding.turns: -0.83",
    ),
    key(
        "calibration.before",
        Text,
        "entries as they were before any fit, from which a second one starts",
        "winding.turns = 1900 ± 100; workpiece.gap = 0.15 mm ± 0.05 mm",
    ),
    key("calibration.rows", Text, "which readings were used, by a hash of each", "5f1c09ab 77d2e410"),
    key("calibration.steel_scale", RATIO, "factor on the field the magnet's own steel needs", "0.97 ± 0.01")
        .assumed("1"),
    key(
        "calibration.saturation_scale",
        RATIO,
        "factor on the saturation of the magnet's own steel",
        "1.01 ± 0.01",
    )
    .assumed("1"),
    key(
        "calibration.workpiece_steel_scale",
        RATIO,
        "factor on the field the workpiece's steel needs, where that is another",
        "1.1 ± 0.2",
    )
    .assumed("1"),
    key(
        "calibration.workpiece_saturation_scale",
        RATIO,
        "factor on the saturation of the workpiece's steel, where that is another",
        "0.99 ± 0.02",
    )
    .assumed("1"),
];

/// The keys of a `[[region]]` block (form `profile`).
pub(crate) const REGION_KEYS: &[Key] = &[
    key("region.name", Text, "what it is", "core").required(&[Profile]),
    key("region.outline", Outline, "its corners in order, without crossing", "").required(&[Profile]),
    key("region.material", Text, "what it is made of", "low-carbon steel").assumed("air"),
    key(
        "region.ampere_turns",
        Quantity(Dimension::AmpereTurns),
        "into the page of r–z or out of x–y",
        "900 A",
    )
    .range(Any),
    key("region.remanence", Vector(Dimension::FluxDensity), "along r|x and z|y, or z|y alone", "1.3 T"),
    key("region.recoil_permeability", RATIO, "relative recoil permeability", "1.05").assumed("1.05"),
    key("region.body", Word(&["workpiece"]), "marks what is pulled", "workpiece"),
];

/// The keys of a `[[material]]` block.
pub(crate) const MATERIAL_KEYS: &[Key] = &[
    key("material.name", Text, "how other keys name it", "my steel").required(&Form::ALL),
    key("material.table", Curve, "pairs of H and B, both rising", "")
        .excludes(&["material.saturation", "material.permeability"]),
    key("material.saturation", FLUX_DENSITY, "saturation polarisation, with initial_permeability", "2.1 T")
        .excludes(&["material.permeability"]),
    key("material.initial_permeability", RATIO, "relative, at no field", "1500"),
    key("material.permeability", RATIO, "relative, whatever the field", "1000"),
    key("material.field_tolerance", RATIO, "limits of the field strength it needs, above and below", "20 %")
        .range(ShareOrNone)
        .assumed("as for low-carbon steel"),
    key("material.saturation_tolerance", RATIO, "limits of its saturation, above and below", "3 %")
        .range(ShareOrNone)
        .assumed("as for low-carbon steel"),
    key(
        "material.resistivity",
        Quantity(Dimension::Resistivity),
        "electrical, at 20 °C: what eddies meet as it switches",
        "0.17 uohm m",
    )
    .assumed("as for low-carbon steel"),
    key("material.resistivity_tolerance", RATIO, "limits of its resistivity, above and below", "15 %")
        .range(ShareOrNone)
        .assumed("none, if `resistivity` is given"),
    key("material.laminated", Flag, "true if it is stacked of thin sheets, so that no eddies flow", "true")
        .assumed("solid iron"),
];
