//! The winding's answer against hand computation.

use coilwright_magnet::answers::answer::{Answer, Value};
use coilwright_magnet::answers::question::{FieldQuestion, Question};
use coilwright_magnet::answers::winding::answer;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::magnet::variation::{Way, varied, ways};
use coilwright_magnet::model::ask;
use coilwright_magnet::sheet::{Form, Sheet, template};
use coilwright_magnet::uncertainty::measure::Measure;

/// Mean diameter 30 mm, 1000 turns of 0.4 mm bare wire.
const COIL: &str = "form = \"coil\"\n[winding]\ninner_diameter = \"20 mm\"\nouter_diameter = \"40 mm\"\n\
                    length = \"40 mm\"\nturns = 1000\nwire = \"0.4 mm bare\"\n";
const DRIVE: &str = "[drive]\nvoltage = \"12 V\"\n";

fn asked(text: &str) -> Answer {
    let sheet = Sheet::parse(text, "test").expect("a sheet").0;
    let magnet = Magnet::complete(&sheet).unwrap_or_else(|faults| panic!("{faults:?}"));
    answer(&sheet, &magnet).expect("an answer")
}

fn number<'a>(answer: &'a Answer, key: &str) -> &'a Measure {
    let mut items = answer.groups.iter().flat_map(|g| &g.items);
    match &items.find(|i| i.key == key).unwrap_or_else(|| panic!("no {key}")).value {
        Value::Number(measure) => measure,
        Value::Text(text) => panic!("{key} is {text}"),
    }
}

fn relative(answer: &Answer, key: &str) -> f64 {
    let measure = number(answer, key);
    measure.band.as_ref().map_or(0.0, |b| b.standard / measure.value)
}

fn near(got: f64, want: f64, tolerance: f64) {
    assert!((got / want - 1.0).abs() < tolerance, "{got} for {want}");
}

/// R = ρ l/A with the standard annealed copper of IEC 60028, 1/58 Ω mm²/m, by hand: l = 1000 π 30 mm = 94.248 m,
/// A = 0.12566 mm², R = 12.931 Ω. Hot: (234.5 + 100)/(234.5 + 20) (IEC 60034-1). 8890 kg/m³ (IEC 60028).
#[test]
fn by_hand() {
    let a = asked(&format!("{COIL}{DRIVE}"));
    for (key, want) in [
        ("turns", 1000.0),
        ("wire_diameter", 0.4e-3),
        ("mean_turn_length", 94.2478e-3),
        ("wire_length", 94.2478),
        ("conductor_mass", 0.105288),
        ("resistance_20", 12.9310),
        ("resistance", 12.9310),
        ("resistance_100", 16.9958),
        ("voltage", 12.0),
        ("current", 0.928002),
        ("power", 11.1360),
        ("current_density", 7.38480e6),
        ("ampere_turns", 928.002),
        ("fill_factor", 0.314159),
        ("turns_per_layer", 100.0),
        ("layers", 10.0),
    ] {
        near(number(&a, key).value, want, 1e-5);
    }
    assert!(a.summary.starts_with("1000 turns of 0.400 mm bare wire, 12.9"), "{}", a.summary);
    assert!(a.summary.ends_with(" at 12 V."), "{}", a.summary);
    let mut keys: Vec<&str> = a.groups.iter().flat_map(|g| &g.items).map(|i| i.key.as_str()).collect();
    keys.sort_unstable();
    let count = keys.len();
    keys.dedup();
    assert_eq!(keys.len(), count, "keys are unique");
}

/// R ∝ ρ l N/d²: relative uncertainties add in squares (JCGM 100:2008, 5.1.6): resistivity 0.5 %, mean turn 1 %,
/// turns 1.732 %/√3, wire ± 1 % of its diameter. A held voltage gives a current and a power as uncertain as R; the
/// turns cancel from the ampere-turns.
#[test]
fn bands_of_a_product() {
    let sure = COIL.replace("0.4 mm bare", "0.4 mm ± 0.004 mm bare");
    let text = sure.replace("turns = 1000", "turns = \"1000 ± 17.3205\"");
    let a = asked(&format!("{text}{DRIVE}"));
    let wire = 2.0 * 0.01 / 3f64.sqrt();
    let per_turn = (0.005f64.powi(2) + 0.01f64.powi(2) + wire * wire).sqrt();
    let all = per_turn.hypot(0.01);
    for key in ["resistance_20", "resistance_100", "current", "power"] {
        near(relative(&a, key), all, 0.02);
    }
    near(relative(&a, "ampere_turns"), per_turn, 0.02);
    near(relative(&a, "turns"), 0.01, 1e-6);
    near(relative(&a, "mean_turn_length"), 0.01, 1e-6);
    near(relative(&a, "wire_diameter"), 0.5 * wire, 1e-6);
    assert_eq!(relative(&a, "voltage"), 0.0);
    let band = number(&a, "ampere_turns").band.as_ref().unwrap();
    assert_eq!(band.contributors[0].path, "winding.wire");
    assert!(band.contributors[0].effect > 0.0, "thicker wire carries more current");
    assert!(band.contributors.iter().all(|c| c.path != "winding.turns"));
    // The same winding under a held current.
    let held = asked(&format!("{text}[drive]\ncurrent = \"1 A ± 3.4641 %\"\n"));
    near(relative(&held, "ampere_turns"), 0.02f64.hypot(0.01), 1e-6);
    near(relative(&held, "voltage"), 0.02f64.hypot(all), 0.02);
    near(relative(&held, "power"), 0.04f64.hypot(all), 0.02);
}

/// Where the resistance is measured and the turns follow from it, the current is sure and the turns are not:
/// N = R A/(ρ l).
#[test]
fn turns_that_follow_are_as_unsure_as_the_wire() {
    let text = COIL
        .replace("turns = 1000", "resistance = \"12.9310 ohm\"\nresistance_at = \"20 °C\"")
        .replace("0.4 mm", "0.4 mm ± 0.004 mm");
    let a = asked(&format!("{text}{DRIVE}"));
    near(number(&a, "turns").value, 1000.0, 1e-5);
    let unsure = (0.005f64.powi(2) + 0.01f64.powi(2) + (0.02f64 / 3f64.sqrt()).powi(2)).sqrt();
    near(relative(&a, "turns"), unsure, 0.02);
    near(relative(&a, "ampere_turns"), unsure, 0.02);
    assert_eq!(relative(&a, "current"), 0.0);
    assert_eq!(relative(&a, "resistance_20"), 0.0);
    assert!(!a.next_measurements.is_empty());
    // And the magnet as field and pull vary it says the same.
    let sheet = Sheet::parse(&format!("{text}{DRIVE}"), "test").unwrap().0;
    let magnet = Magnet::complete(&sheet).unwrap();
    let ways = ways(&sheet, &magnet);
    let effects = ways.iter().map(|way| {
        let at = |x| varied(&sheet, &magnet, std::slice::from_ref(way), &[x]).unwrap().magnet.ampere_turns();
        0.5 * (at(1.0) - at(-1.0)) / magnet.ampere_turns()
    });
    near(effects.map(|e| e * e).sum::<f64>().sqrt(), unsure, 0.02);
    // All at once, diameter of the wire up and resistivity down: N = R A/(ρ l), the current as it was.
    let deviate = |way: &Way| match way.label.as_str() {
        "diameter of the wire" => 1.0,
        "resistivity of the conductor" => -2.0,
        _ => 0.0,
    };
    let deviates: Vec<f64> = ways.iter().map(deviate).collect();
    let moved = varied(&sheet, &magnet, &ways, &deviates).unwrap().magnet.excitation.unwrap();
    let wire = 1.0 + 0.01 / 3f64.sqrt();
    near(moved.turns / magnet.excitation.as_ref().unwrap().turns, wire * wire / (1.0 - 2.0 * 0.005), 1e-9);
    near(moved.current_a.unwrap(), magnet.excitation.unwrap().current_a.unwrap(), 1e-12);
}

/// Whichever limit is met first: Ohm's and Joule's laws with leads of 1 Ω.
#[test]
fn supplies_have_limits() {
    let coil = format!("{COIL}[drive]\nlead_resistance = \"1 ohm\"\n");
    let with = |drive: &str| asked(&format!("{coil}{drive}"));
    let ohm = 12.9310 + 1.0;
    near(number(&with("voltage = \"12 V\"\n"), "current").value, 12.0 / ohm, 1e-5);
    let limited = |drive: &str| {
        let sheet = Sheet::parse(&format!("{coil}{drive}"), "test").unwrap().0;
        let magnet = Magnet::complete(&sheet).unwrap();
        (magnet.excitation.as_ref().unwrap().current_a.unwrap(), magnet.warnings)
    };
    let (current, warnings) = limited("voltage = \"12 V\"\ncurrent_limit = \"0.5 A\"\n");
    near(current, 0.5, 1e-12);
    assert!(warnings.iter().any(|w| w.contains("current limit")), "{warnings:?}");
    let (current, warnings) = limited("current = \"1 A\"\nvoltage_limit = \"10 V\"\n");
    near(current, 10.0 / ohm, 1e-5);
    assert!(warnings.iter().any(|w| w.contains("voltage limit")), "{warnings:?}");
    let (current, warnings) = limited("voltage = \"12 V\"\npower_limit = \"5 W\"\n");
    near(current, (5.0 / ohm).sqrt(), 1e-5);
    assert!(warnings.iter().any(|w| w.contains("power limit")), "{warnings:?}");
    let (current, warnings) = limited("voltage = \"12 V\"\ncurrent_limit = \"3 A\"\n");
    near(current, 12.0 / ohm, 1e-5);
    assert!(!warnings.iter().any(|w| w.contains("limit")), "{warnings:?}");
}

#[test]
fn every_wound_form_has_an_answer() {
    for form in [Form::Pot, Form::Bar, Form::Coil, Form::Horseshoe, Form::ECore] {
        let a = asked(&template(form));
        assert!(a.warnings.is_empty(), "{form}: {:?}", a.warnings);
        let stated = |key: &str| number(&a, key).value;
        near(stated("ampere_turns"), stated("turns") * stated("current"), 1e-12);
        near(stated("voltage"), stated("current") * stated("resistance"), 1e-12);
        assert!(stated("overall_fill") > 0.3 && stated("overall_fill") < 0.9069, "{form}");
        assert!(relative(&a, "ampere_turns") > 0.0, "{form}");
    }
}

#[test]
fn where_there_is_no_winding_that_is_said() {
    let none = |text: &str| {
        let sheet = Sheet::parse(text, "test").unwrap().0;
        let magnet = Magnet::complete(&sheet).unwrap();
        answer(&sheet, &magnet).unwrap_err().remove(0)
    };
    assert!(none(&template(Form::Disc)).hint.contains("permanent magnet"));
    assert!(none(&template(Form::Profile)).hint.contains("regions"));
    let only = COIL.replace("turns = 1000\nwire = \"0.4 mm bare\"", "ampere_turns = \"900 A\"");
    let fault = none(&only);
    assert!(fault.message.contains("ampere-turns alone") && fault.hint.contains("`turns`"), "{fault}");
    assert!(fault.line_and_column(&only).is_some());
}

/// Round wires nested in hexagonal packing, by hand: in 10 mm × 40 mm wire of 0.4 mm lies in 1 + 24 · 2/√3 = 28 layers
/// of 100, every other one shorter by one: 2786. What finds no room is said first, whatever was asked.
#[test]
fn turns_that_find_no_room_are_said_first() {
    let said = |turns: u32, question: &Question| {
        let text = COIL.replace("turns = 1000", &format!("turns = {turns}")) + DRIVE;
        let sheet = Sheet::parse(&text, "test").expect("a sheet").0;
        ask::answer(&sheet, question).unwrap_or_else(|e| panic!("{e:?}")).summary
    };
    for question in [Question::Winding, Question::Field(FieldQuestion::default())] {
        let lacking = said(2800, &question);
        assert!(
            lacking.starts_with("The winding does not fit: at most 2786 of its 2800 turns find room. "),
            "{lacking}"
        );
        assert!(!said(2786, &question).contains("does not fit"));
    }
}
