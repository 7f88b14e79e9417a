//! The audit against facts of the trade (common practice, no source) and closed forms.

#![allow(clippy::unwrap_used)] // a test may stop where anything is amiss

use coilwright_bench::audit::audit;
use coilwright_bench::readings::{self, Readings};
use coilwright_magnet::answers::answer::{Answer, Value};
use coilwright_magnet::sheet::Sheet;

/// A bobbin of 52 Ω with a nameplate of 14 W at 24 V.
const COIL: &str = "sheet = 1\nform = \"coil\"\n[winding]\ninner_diameter = \"20 mm\"\nouter_diameter = \"40 mm\"\n\
    length = \"30 mm\"\nresistance = \"52 ohm ± 1 %\"\nresistance_at = \"20 °C ± 1 K\"\n[drive]\nvoltage = \"24 V\"\n";
const PLATE: &str = "[nameplate]\nvoltage = \"24 V\"\npower = \"14 W\"\n";

fn sheet(text: &str) -> Sheet {
    Sheet::parse(text, "test").unwrap().0
}

fn read(csv: &str) -> Readings {
    readings::read(csv.as_bytes(), &readings::Options::default()).unwrap()
}

fn number(answer: &Answer, key: &str) -> f64 {
    answer.number(key).unwrap_or_else(|| panic!("no {key} in {:?}", answer.groups))
}

fn texts(answer: &Answer, title: &str) -> Vec<String> {
    let group = answer.groups.iter().find(|g| g.title == title);
    let items = group.map(|g| g.items.iter()).into_iter().flatten();
    items
        .map(|i| match &i.value {
            Value::Text(text) => text.clone(),
            Value::Number(m) => m.value.to_string(),
        })
        .collect()
}

/// 24 V on 52 Ω is 11 W, while 14 W at 24 V needs 41 Ω: one of the two is wrong, and a supply and an ohmmeter that
/// agree settle it (common practice, no source; the arithmetic is Ohm's law).
#[test]
fn watts_against_ohms() {
    let answer = audit(&sheet(&format!("{COIL}{PLATE}")), None).unwrap();
    assert!((number(&answer, "power_computed") - 24.0 * 24.0 / 52.0).abs() < 1e-6);
    assert!((number(&answer, "resistance_nameplate_power") - 576.0 / 14.0).abs() < 1e-9);
    // u: 5 % and 1 % as rectangular half-widths, the ohmmeter's temperature 1 K of 254.5.
    let (claimed, at): (f64, f64) = (576.0 / 14.0, 1.0 / 254.5 / 3f64.sqrt());
    let u = (claimed * 0.05 / 3f64.sqrt()).hypot(52.0 * (0.01 / 3f64.sqrt()).hypot(at));
    assert!((number(&answer, "deviation_nameplate_power") - (claimed - 52.0) / u).abs() < 0.06);
    assert!(answer.summary.contains("14 W") && answer.summary.contains("is wrong"), "{}", answer.summary);
    assert!(answer.summary.contains("settle it"), "{}", answer.summary);
    // With the supply's volts and amperes on the ohmmeter's side it is settled.
    let readings = read("voltage V, current A\n12.00,0.231\n24.00,0.462\n");
    let answer = audit(&sheet(&format!("{COIL}{PLATE}")), Some(&readings)).unwrap();
    assert!(
        answer.summary.contains("14 W") && answer.summary.contains("cannot be true"),
        "{}",
        answer.summary
    );
    assert!(answer.summary.contains("agree, which settles it"), "{}", answer.summary);
    // Or on the nameplate's.
    let readings = read("voltage V, current A\n12.00,0.292\n24.00,0.583\n");
    let answer = audit(&sheet(&format!("{COIL}{PLATE}")), Some(&readings)).unwrap();
    assert!(answer.summary.starts_with("The sheet's 52 Ω cannot be true"), "{}", answer.summary);
}

/// Copper at 250 °C has 1.9 times the resistance it has at 20 °C (IEC 60034-1: (234.5 + 250)/(234.5 + 20)): two readings
/// farther apart contradict each other, whatever else agrees with one of them; nearer ones may be of a warm winding.
#[test]
fn readings_that_contradict_each_other() {
    for (csv, lines) in [
        ("voltage V, current A\n12.00,0.231\n24.00,0.462\n24.00,0.162\n", ["line 2", "line 4"]),
        ("resistance ohm\n52.1\n5.2\n", ["line 3", "line 2"]),
    ] {
        let answer = audit(&sheet(COIL), Some(&read(csv))).unwrap();
        let told =
            |text: &str| answer.summary.contains(text) || answer.warnings.iter().any(|w| w.contains(text));
        assert!(told("contradict each other"), "{}", answer.summary);
        assert!(lines.iter().all(|line| told(line)), "{} {:?}", answer.summary, answer.warnings);
    }
    let warm = audit(&sheet(COIL), Some(&read("voltage V, current A\n12.00,0.231\n24.00,0.30\n"))).unwrap();
    assert!(!warm.summary.contains("contradict each other"), "{}", warm.summary);
}

/// Volts and amperes of opposite signs, and the one without the other, are no winding's (Ohm's law): each line is named, and a
/// supply that is off is not.
#[test]
fn rows_that_no_winding_draws_are_named() {
    let readings = read("voltage V, current A\n24,0.462\n-24,0.462\n0,0.462\n24,0\n0,0\n-24,-0.462\n");
    let told = texts(&audit(&sheet(COIL), Some(&readings)).unwrap(), "The meter may be wrong");
    let of = |line: &str, why: &str| told.iter().any(|text| text.contains(line) && text.contains(why));
    assert!(
        of("line 3,", "opposite signs") && of("line 4,", "without volts") && of("line 5,", "no current"),
        "{told:?}"
    );
    assert_eq!(told.iter().filter(|text| text.contains("left out")).count(), 3, "{told:?}");
}

#[test]
fn a_nameplate_that_agrees() {
    let plate = PLATE.replace("14 W", "11 W");
    let answer = audit(&sheet(&format!("{COIL}{plate}")), None).unwrap();
    assert!(
        answer.summary.starts_with("All ") && answer.summary.contains(" comparisons agree"),
        "{}",
        answer.summary
    );
    // 9 W is what 52 Ω takes at 24 V once it is at 77 °C, inside class B: a rating may be meant warm.
    let warm = PLATE.replace("14 W", "9 W");
    let answer = audit(&sheet(&format!("{COIL}{warm}")), None).unwrap();
    assert_eq!(number(&answer, "deviation_power"), 0.0);
    // 7 W would take 82 Ω: 168 °C, warmer than class B allows (254.5 · 1.58 − 234.5).
    let hot = PLATE.replace("14 W", "7 W");
    let answer = audit(&sheet(&format!("{COIL}{hot}")), None).unwrap();
    assert!(number(&answer, "deviation_power") < -2.0);
}

/// Wire and turns: 52 Ω of 0.3 mm copper on a mean turn of π·30 mm. By ρ = 17.241 nΩ m (IEC 60028) a turn has
/// 17.241e-9 · 0.094248/7.0686e-8 = 22.99 mΩ, so 2262 turns; 1500 turns would have 34.5 Ω.
#[test]
fn wire_and_turns_against_the_ohmmeter() {
    let wound =
        |turns: u32| COIL.replace("[drive]", &format!("wire = \"0.3 mm grade 1\"\nturns = {turns}\n[drive]"));
    let answer = audit(&sheet(&wound(2262)), None).unwrap();
    assert!(
        (number(&answer, "resistance_wire") - 52.0).abs() < 0.1,
        "{}",
        number(&answer, "resistance_wire")
    );
    assert!(number(&answer, "deviation_wire").abs() < 0.1);
    let answer = audit(&sheet(&wound(1500)), None).unwrap();
    assert!((number(&answer, "resistance_wire") - 34.48).abs() < 0.1);
    assert!(answer.summary.contains("is wrong"), "{}", answer.summary);
}

/// Copper rises by 0.39 % per kelvin: 52 Ω at 20 °C are 62.2 Ω at 70 °C (IEC 60034-1: 304.5/254.5).
#[test]
fn temperatures_are_corrected_for() {
    let readings = read("resistance ohm, winding °C\n62.22,70\n");
    let answer = audit(&sheet(COIL), Some(&readings)).unwrap();
    assert!((number(&answer, "resistance_readings_ohmmeter") - 52.0).abs() < 0.01);
    assert!(
        number(&answer, "deviation_readings_ohmmeter").abs() < 0.2
            || number(&answer, "deviation_ohmmeter").abs() < 0.2
    );
}

/// Two-wire leads of 0.4 Ω on a winding of 5 Ω, and an ammeter that shows 20 mA at nothing.
#[test]
fn the_meter_is_suspected() {
    let low = COIL.replace("52 ohm ± 1 %", "5.40 ohm ± 0.5 %")
        + "[instruments.volts]\nof_reading = \"0.1 %\"\nresolution = \"1 mV\"\n\
        [instruments.amperes]\nof_reading = \"0.1 %\"\nresolution = \"1 mA\"\n";
    let readings = read("voltage V by volts, current A by amperes\n1.000,0.200\n2.500,0.500\n5.000,1.000\n");
    let answer = audit(&sheet(&low), Some(&readings)).unwrap();
    let suspects = texts(&answer, "The meter may be wrong").join(" ");
    assert!(suspects.contains("its own leads"), "{suspects}");
    let zero = read(
        "voltage V by volts, current A by amperes\n1.000,0.220\n2.500,0.520\n5.000,1.020\n7.500,1.520\n",
    );
    let answer = audit(&sheet(&low), Some(&zero)).unwrap();
    assert!(texts(&answer, "The meter may be wrong").join(" ").contains("misses the origin"));
    let idle = read("current A, field mT @ r=0mm z=1mm\n0.000,1.8\n1.000,20.0\n");
    let answer = audit(&sheet(COIL), Some(&idle)).unwrap();
    assert!(texts(&answer, "The meter may be wrong").join(" ").contains("zero the probe"));
}

#[test]
fn nothing_to_compare_says_what_to_add() {
    let bare =
        COIL.replace("resistance = \"52 ohm ± 1 %\"\nresistance_at = \"20 °C ± 1 K\"\n", "turns = 800\n");
    let answer = audit(&sheet(&bare), None).unwrap();
    assert!(answer.summary.starts_with("Nothing to compare"), "{}", answer.summary);
    let wanted = texts(&answer, "To add").join(" ");
    assert!(wanted.contains("[nameplate]") && wanted.contains("winding.resistance"), "{wanted}");
}

/// A pot of 65 mm cannot pull 20 kN: all of its face at 2.15 T pulls π/4 · 65² mm² · B²/(2µ0) = 6.1 kN (Maxwell's
/// stress, an upper bound of any pot of that size).
#[test]
fn a_pull_that_no_pot_of_that_size_has() {
    let pot = include_str!("../../../examples/gantry-pot.sheet.toml");
    let with = |pull: &str| {
        audit(&sheet(&pot.replace("pull = \"1200 N\"", &format!("pull = \"{pull}\""))), None).unwrap()
    };
    let answer = with("20 kN");
    assert!(number(&answer, "deviation_pull") > 3.0);
    let bound = number(&answer, "pull_bound");
    assert!(bound < 6.1e3 && number(&answer, "pull_best") < bound);
    let all = format!("{} {}", answer.summary, answer.warnings.join(" "));
    assert!(all.contains("cannot be true for this size"), "{all}");
    let answer = with("400 N");
    assert_eq!(number(&answer, "deviation_pull"), 0.0);
    // The demonstration sheet's own nameplate: 24 V times 0.55 A is 13.2 W, not 18 W.
    assert!((number(&answer, "plate_volts_amperes") - 13.2).abs() < 1e-9);
    assert!(answer.summary.starts_with("The nameplate's 18 W at 24 V cannot be true"), "{}", answer.summary);
}

/// Doubling the power of a magnet does not double its field (common practice, no source): √2 in a linear one, and hardly
/// more where the steel's permeability still rises.
#[test]
fn doubling_the_power_does_not_double_the_field() {
    use coilwright_magnet::answers::question::FieldQuestion;
    use coilwright_magnet::answers::question::Question;
    use coilwright_magnet::model::ask::answer;
    let field = |text: &str, volts: f64| {
        let mut sheet = sheet(text);
        sheet.set_value("drive.voltage", volts);
        answer(&sheet, &Question::Field(FieldQuestion::default())).unwrap().number("face_maximum").unwrap()
    };
    let double = 24.0 * 2f64.sqrt();
    let linear = field(COIL, double) / field(COIL, 24.0);
    assert!((linear - 2f64.sqrt()).abs() < 1e-3, "{linear}");
    let pot = include_str!("../../../examples/gantry-pot.sheet.toml");
    let pot = field(pot, double) / field(pot, 24.0);
    assert!((pot - 2f64.sqrt()).abs() < 0.01, "{pot}");
}

/// The invented pot's readings against its own sheet: nothing contradicts; a pull with a digit lost does.
#[test]
fn readings_against_physics() {
    let pot = sheet(include_str!("../../../examples/gantry-pot.sheet.toml"));
    let csv = include_str!("../../../examples/readings/gantry-pot.csv");
    let answer = audit(&pot, Some(&read(csv))).unwrap();
    assert!(
        number(&answer, "deviation_column_1").abs() < 3.0
            && number(&answer, "deviation_column_2").abs() < 3.0
    );
    let lost = csv.replace(",531.5,0.35", ",53.5,0.35");
    assert_ne!(lost, csv);
    let answer = audit(&pot, Some(&read(&lost))).unwrap();
    assert!(number(&answer, "deviation_column_2") < -3.0);
    let all = format!("{} {}", answer.summary, answer.warnings.join(" "));
    let line = lost.lines().position(|l| l.contains(",53.5,0.35")).unwrap() + 1;
    assert!(all.contains(&format!("Line {line} of the readings")), "{all}");
    assert!(all.contains("repeating it settles it"), "{all}");
    // Gauss for millitesla: the header is to blame, not a line.
    let gauss = csv.replace("field mT", "field G");
    assert_ne!(gauss, csv);
    let answer = audit(&pot, Some(&read(&gauss))).unwrap();
    let all = format!("{} {}", answer.summary, answer.warnings.join(" "));
    assert!(all.contains("a look at the meter's display settles it"), "{all}");
}

/// A probe held 0.6 mm farther off than its sheet says, in a sheet that is otherwise sure of everything: computed at
/// the greater height by the field command itself.
#[test]
fn a_probe_in_another_place_is_suspected() {
    use coilwright_magnet::answers::question::FieldQuestion;
    use coilwright_magnet::answers::question::Question;
    use coilwright_magnet::model::ask::answer;
    let text = COIL
        .replace("resistance =", "turns = 1000\nresistance =")
        .replace("voltage = \"24 V\"", "current = \"0.5 A\"")
        + "[probe]\nstandoff = \"1 mm ± 0.1 mm\"\n[instruments.teslameter]\nof_reading = \"0.2 %\"\nresolution = \"0.01 mT\"\n\
           [instruments.ammeter]\nof_reading = \"0.1 %\"\nresolution = \"1 mA\"\n";
    let sheet = sheet(&text);
    let radii = [0.0, 5.0, 9.0, 11.0, 15.0, 19.0];
    let at = radii.map(|r| (1e-3 * r, 1.6e-3)).to_vec();
    let field = answer(&sheet, &Question::Field(FieldQuestion { at, ..FieldQuestion::default() })).unwrap();
    let mut csv = "current A, r mm, field mT\n".to_owned();
    for (k, r) in radii.iter().enumerate() {
        csv += &format!("0.500,{r},{:.2}\n", 1e3 * number(&field, &format!("b_z_{}", k + 1)));
    }
    let answer = audit(&sheet, Some(&read(&csv))).unwrap();
    let suspects = texts(&answer, "The meter may be wrong").join(" ");
    assert!(suspects.contains("mm farther from the face than `probe.standoff` says"), "{suspects}");
}

/// A winding's mean temperature from its resistance can be 20 K above its surface (common practice, no source): a thick
/// bobbin in still air. What its resistance gives is what an ohmmeter would find (IEC 60034-1, 234.5 for copper).
#[test]
fn a_winding_is_hotter_inside_than_out() {
    use coilwright_magnet::answers::question::HeatQuestion;
    use coilwright_magnet::answers::question::Question;
    use coilwright_magnet::model::ask::answer;
    let text = COIL
        .replace("outer_diameter = \"40 mm\"", "outer_diameter = \"70 mm\"")
        .replace("length = \"30 mm\"", "length = \"40 mm\"")
        .replace("52 ohm", "20 ohm")
        + "[surroundings]\ntemperature = \"20 °C ± 1 K\"\n";
    let heat = answer(&sheet(&text), &Question::Heat(HeatQuestion::default())).unwrap();
    let (mean, surface) = (number(&heat, "winding_mean"), number(&heat, "surface_temperature"));
    assert!(
        mean - surface > 20.0 && number(&heat, "hot_spot") > mean,
        "{mean} K inside, {surface} K outside"
    );
    // An audit of readings at that temperature says how warm the winding was, not its surface.
    let ohm = 20.0 * (234.5 + mean - 273.15) / 254.5;
    let readings = read(&format!("resistance ohm, winding °C\n{ohm:.2},{:.1}\n", mean - 273.15));
    let within = audit(&sheet(&text), Some(&readings)).unwrap();
    assert!((number(&within, "resistance_readings_ohmmeter") - 20.0).abs() < 0.02);
    let readings = read(&format!("resistance ohm, winding °C\n{ohm:.2},{:.1}\n", surface - 273.15));
    let without = audit(&sheet(&text), Some(&readings)).unwrap();
    assert!(number(&without, "resistance_readings_ohmmeter") > 21.0);
}

/// Class and duty against the hot spot that `heat` computes; a winding of ten times the power cannot keep class B.
#[test]
fn a_thermal_class_that_cannot_be_kept() {
    let pot = include_str!("../../../examples/gantry-pot.sheet.toml");
    let answer = audit(&sheet(pot), None).unwrap();
    assert_eq!(number(&answer, "deviation_thermal"), 0.0);
    assert!((number(&answer, "thermal_limit") - 403.15).abs() < 1e-9); // class B: 130 °C (IEC 60085)
    let at = |volts: &str| {
        let hot = pot.replace("voltage = \"24 V\"\npower", &format!("voltage = \"{volts}\"\npower"));
        assert_ne!(hot, pot);
        audit(&sheet(&hot), None).unwrap()
    };
    let answer = at("60 V");
    assert!(
        number(&answer, "deviation_thermal") > 3.0 && number(&answer, "thermal_hot_spot") > 403.15 + 20.0
    );
    let all = |answer: &Answer| format!("{} {}", answer.summary, answer.warnings.join(" "));
    assert!(all(&answer).contains("class B at 100 % duty cannot be true"), "{}", all(&answer));
    assert!(all(&at("240 V")).contains("the winding burns"), "{}", all(&at("240 V")));
}

/// A nameplate of volts and watts alone is judged by heat too, for some class and duty that are said: 28 V on a small pot
/// that sheds a few watts (common practice, no source) is far beyond class B.
#[test]
fn continuous_heat_is_always_judged() {
    let text = "form = \"pot\"\n[body]\nouter_diameter = \"40 mm\"\nheight = \"26 mm\"\npole_diameter = \"16 mm\"\n\
                [winding]\nturns = 900\nresistance = \"18 ohm\"\n[drive]\nvoltage = \"28 V\"\n[nameplate]\n\
                voltage = \"28 V\"\npower = \"43 W\"\n";
    let sheet = Sheet::parse(text, "test").unwrap_or_else(|f| panic!("{f:?}")).0;
    let found = audit(&sheet, None).unwrap();
    let said = format!("{} {:?}", found.summary, found.groups);
    assert!(said.contains("class B (assumed) at 100 % duty (assumed)"), "{said}");
    assert!(found.summary.contains("cannot be true"), "{said}");
}

/// What a summary gives as the likely cause.
fn cause(answer: &Answer) -> String {
    texts(answer, "What would explain it").first().cloned().unwrap_or_default()
}

/// Volts and amperes taken on a winding at 70 °C: 52 Ω cold have 52 · 304.5/254.5 = 62.2 Ω (IEC 60034-1).
#[test]
fn a_winding_that_warmed_is_named_as_the_cause() {
    let readings = read("voltage V, current A\n24.00,0.3858\n12.00,0.1929\n");
    let answer = audit(&sheet(COIL), Some(&readings)).unwrap();
    assert!(cause(&answer).starts_with("at about 70 °C"), "{} / {}", cause(&answer), answer.summary);
    assert!(answer.summary.contains("A likely cause: at about 70 °C"), "{}", answer.summary);
}

/// The same ohms, said to be cold, against wire and turns that give 52 Ω at 20 °C: true at 70 °C.
#[test]
fn ohms_taken_hot_are_named_as_the_cause() {
    let hot = COIL
        .replace("52 ohm ± 1 %", "62.2 ohm ± 1 %")
        .replace("[drive]", "wire = \"0.3 mm ± 0.001 mm grade 1\"\nturns = 2262\n[drive]");
    let hot = hot.replace("0.3 mm ± 0.001 mm grade 1", "0.3 mm grade 1");
    let readings = read("voltage V, current A\n24.00,0.4615\n12.00,0.2308\n");
    let answer = audit(&sheet(&hot), Some(&readings)).unwrap();
    assert!(cause(&answer).contains("true at about 70 °C"), "{} / {}", cause(&answer), answer.summary);
}

/// 44 W on 52 Ω are those of 48 V (48²/52 = 44.3, Ohm's law), not of the 24 V that the plate says.
#[test]
fn a_plate_of_another_voltage_is_named_as_the_cause() {
    let plate = PLATE.replace("14 W", "44 W");
    let answer = audit(&sheet(&format!("{COIL}{plate}")), None).unwrap();
    assert!(cause(&answer).contains("48 V"), "{} / {}", cause(&answer), answer.summary);
    // A plate that is merely wrong fits no other voltage, nor one whose numbers fit different ones.
    let answer = audit(&sheet(&format!("{COIL}{PLATE}")), None).unwrap();
    assert_eq!(cause(&answer), "");
    let apart = format!("{plate}current = \"0.5 A\"\n");
    assert_eq!(cause(&audit(&sheet(&format!("{COIL}{apart}")), None).unwrap()), "");
}

/// A supply set to 24 V that holds 0.3 A: 15.6 V on the cold winding of 52 Ω, more as it warms.
#[test]
fn a_limit_at_work_is_named_as_the_cause() {
    let readings = read("voltage V, current A\n15.6,0.300\n16.4,0.300\n17.0,0.300\n");
    let answer = audit(&sheet(&format!("{COIL}{PLATE}")), Some(&readings)).unwrap();
    assert!(
        cause(&answer).contains("its current limit is at work"),
        "{} / {}",
        cause(&answer),
        answer.summary
    );
}

/// 24 000 V beside 0.46 A, where 24 V are set: the volts are millivolts.
#[test]
fn a_unit_is_named_as_the_cause() {
    let readings = read("voltage V, current A\n24000,0.4615\n12000,0.2308\n");
    let answer = audit(&sheet(COIL), Some(&readings)).unwrap();
    assert!(
        cause(&answer).contains("the voltage column is a thousand times too large"),
        "{}",
        cause(&answer)
    );
    let readings = read("voltage V, current A\n24.00,461.5\n12.00,230.8\n");
    let answer = audit(&sheet(COIL), Some(&readings)).unwrap();
    assert!(
        cause(&answer).contains("the current column is a thousand times too large"),
        "{}",
        cause(&answer)
    );
}

/// A teslameter whose zero is 3 mT off is blamed as a whole, and no line.
#[test]
fn an_offset_is_named_before_a_line() {
    use coilwright_magnet::answers::question::{FieldQuestion, Question};
    let coil = sheet(COIL);
    let heights = [1.0, 3.0, 5.0, 8.0, 12.0, 16.0];
    let question =
        FieldQuestion { at: heights.map(|z| (0.0, 1e-3 * z)).to_vec(), ..FieldQuestion::default() };
    let field = coilwright_magnet::model::ask::answer(&coil, &Question::Field(question)).unwrap();
    let mut csv = String::from("r mm, z mm, field mT\n");
    for (k, z) in heights.iter().enumerate() {
        let b = number(&field, &format!("b_abs_{}", k + 1));
        csv += &format!("0,{z},{:.3}\n", 1e3 * b + 3.0);
    }
    let answer = audit(&coil, Some(&read(&csv))).unwrap();
    assert!(answer.summary.contains("are off alike, by 3."), "{}", answer.summary);
}
