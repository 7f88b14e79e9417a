//! Comparisons against the single answers that they are made of, hand calculation, and pairs of samples.
#![allow(clippy::unwrap_used, reason = "tests")]

use coilwright_choose::compare::{Question, Subject, compare};
use coilwright_choose::equal::disc_as_strong;
use coilwright_choose::nearest::pot_as_large;
use coilwright_choose::need::Need;
use coilwright_magnet::answers::answer::{Answer, State, Value};
use coilwright_magnet::answers::question::{self, PullQuestion};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::model::ask;
use coilwright_magnet::model::plain::Plain;
use coilwright_magnet::sheet::{Form, Sheet, template};
use coilwright_magnet::uncertainty::band::Band;
use coilwright_magnet::watch::Watch;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;

const RING: &str = include_str!("../../../examples/loudspeaker-ring.sheet.toml");

fn ring() -> Sheet {
    Sheet::parse(RING, "loudspeaker-ring.sheet.toml").unwrap().0
}

fn with(path: &str, text: &str) -> Sheet {
    let mut sheet = ring();
    sheet.set(path, text).unwrap();
    sheet
}

fn subject(name: &str, sheet: Sheet) -> Subject {
    Subject { name: name.into(), sheet }
}

fn band<'a>(answer: &'a Answer, key: &str) -> &'a Band {
    match &answer.item(key).unwrap().value {
        Value::Number(m) => m.band.as_ref().unwrap(),
        Value::Text(text) => panic!("{key}: {text}"),
    }
}

/// A magnet that burns may pull more than any other: it meets no need, stands last, and the sentence says why.
#[test]
fn what_burns_meets_no_need() {
    let pot = Sheet::parse(&template(Form::Pot), "pot").unwrap().0;
    let mut burning = pot.clone();
    burning.set("drive.voltage", "400 V").unwrap();
    let needs = vec![Need::parse("pull >= 100 N").unwrap()];
    let all = [subject("hot", burning), subject("cool", pot)];
    let found = compare(&all, &Question { needs, ..Question::default() }).unwrap();
    assert!(found.summary.starts_with("Meets every need: cool."), "{}", found.summary);
    assert!(found.summary.contains("hot: left on, its winding burns"), "{}", found.summary);
}

/// There is one way from a sheet to a number: what a comparison says of a magnet is what its own answer says.
#[test]
fn numbers_are_those_of_the_single_answers() {
    let thick = with("body.thickness", "20 mm ± 0.1 mm");
    let found =
        compare(&[subject("thin", ring()), subject("thick", thick.clone())], &Question::default()).unwrap();
    for (number, sheet) in [(1, ring()), (2, thick)] {
        let single = ask::answer(&sheet, &question::Question::Pull(PullQuestion::default())).unwrap();
        assert_eq!(found.number(&format!("pull_{number}")), single.number("pull"));
        assert_eq!(band(&found, &format!("pull_{number}")), band(&single, "pull"));
    }
    // π (36 mm)² 15 mm and the pull for every 10 cm³ of it, by hand.
    let room = std::f64::consts::PI * 0.036f64.powi(2) * 0.015;
    assert!((found.number("volume_1").unwrap() / room - 1.0).abs() < 1e-12);
    let per_room = found.number("pull_1").unwrap() / room * 10e-6;
    assert!((found.number("pull_per_room_1").unwrap() / per_room - 1.0).abs() < 1e-12);
    let more = found.number("pull_2").unwrap() - found.number("pull_1").unwrap();
    assert!((found.number("pull_2_more").unwrap() - more).abs() < 1e-9 && more > 0.0);
    // The remanence is the same ferrite's: the difference is surer than either pull.
    assert!(band(&found, "pull_2_more").standard < 0.3 * band(&found, "pull_1").standard);
    assert!(
        found.summary.contains("surely more") && !found.summary.contains("not surely"),
        "{}",
        found.summary
    );
    assert_eq!(found.item("power_1"), None, "no magnet has a winding: nothing is said of power");
}

/// The band of a difference against pairs of magnets drawn at random, each pair with the same deviates for what it shares
/// (JCGM 101:2008, 5.9), by the model's own numbers but none of the comparison's code.
#[test]
fn a_differences_band_is_that_of_sampled_pairs() {
    let thick = with("body.thickness", "20 mm ± 0.1 mm");
    let found =
        compare(&[subject("thin", ring()), subject("thick", thick.clone())], &Question::default()).unwrap();
    let pull = question::Question::Pull(PullQuestion::default());
    let (mut thin, mut thick) = (Plain::new(&ring(), &pull).unwrap(), Plain::new(&thick, &pull).unwrap());
    let names = |p: &Plain| p.ways().iter().map(|w| w.name()).collect::<Vec<_>>();
    assert_eq!(names(&thin), names(&thick));
    let own = thin.ways().iter().position(|w| w.path == "body.thickness").unwrap();
    let mut chance = Pcg64::seed_from_u64(7);
    // Rectangular, of standard deviation 1: all that is uncertain here are tolerances, but for two laws of steel.
    let mut deviate = || 3f64.sqrt() * (2.0 * chance.random::<f64>() - 1.0);
    let differences: Vec<f64> = (0..300)
        .map(|_| {
            let first: Vec<f64> = thin.ways().iter().map(|_| deviate()).collect();
            let mut second = first.clone();
            second[own] = deviate();
            let pull = |plain: &mut Plain, at: &[f64]| plain.numbers(at).unwrap()[0].1;
            pull(&mut thick, &second) - pull(&mut thin, &first)
        })
        .collect();
    let mean = differences.iter().sum::<f64>() / 300.0;
    let variance = differences.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / 299.0;
    let told = band(&found, "pull_2_more").standard;
    // A standard deviation of 300 samples is itself known to 4 % (1/√600); the rest is what first order leaves out.
    assert!((told / variance.sqrt() - 1.0).abs() < 0.15, "{told} for {}", variance.sqrt());
}

/// Two sheets of their own share the workpiece, and nothing of the magnet.
#[test]
fn two_sheets_share_the_workpiece_alone() {
    let (mut other, _) =
        Sheet::parse(&RING.replace("loudspeaker ring 72", "another ring 72"), "other.sheet.toml").unwrap();
    other.set("workpiece.gap", "2 mm").unwrap();
    let found = compare(&[subject("a", ring()), subject("b", other)], &Question::default()).unwrap();
    // The second stands at the first's gap, so that both pull alike ...
    assert_eq!(found.number("pull_1"), found.number("pull_2"));
    let difference = band(&found, "pull_2_more");
    let paths: Vec<&str> = difference.contributors.iter().map(|c| c.path.as_str()).collect();
    // ... and each has its own remanence, twice in the variance, while the one gap falls out.
    let remanence = |of: &Band| {
        of.contributors.iter().filter(|c| c.path == "body.remanence").map(|c| c.effect.powi(2)).sum::<f64>()
    };
    assert!((remanence(difference) / remanence(band(&found, "pull_1")) - 2.0).abs() < 1e-9);
    assert!(!paths.iter().any(|path| path.starts_with("workpiece.")), "{paths:?}");
    assert!(found.summary.contains("not surely more"), "{}", found.summary);
    assert!(found.assumptions.iter().any(|a| a.path == "workpiece" && a.word == "that of a"));
}

#[test]
fn needs_are_held_against_every_magnet() {
    let needs = ["pull >= 60 N at 0.2 mm", "volume <= 70 cm3", "power <= 5 W"];
    let needs: Vec<Need> = needs.iter().map(|text| Need::parse(text).unwrap()).collect();
    let subjects = [subject("thin", ring()), subject("thick", with("body.thickness", "20 mm"))];
    let question = Question { needs, ..Question::default() };
    let found = compare(&subjects, &question).unwrap();
    let states: Vec<(&str, State)> = found.limits.iter().map(|l| (l.key.as_str(), l.state)).collect();
    assert_eq!(
        states,
        [
            ("pull_1", State::Kept),
            ("volume_1", State::Kept),
            ("power_1", State::Kept),
            ("pull_2", State::Kept),
            ("volume_2", State::Exceeded),
            ("power_2", State::Kept),
        ]
    );
    assert!(found.summary.starts_with("Meets every need: thin. Misses a need: thick."), "{}", found.summary);
}

/// By mass and price, from the volume of a disc and a density, by hand; the mass's band is that of two lengths.
#[test]
fn a_disc_is_weighed_and_priced() {
    let disc = |price: &str| {
        let text = format!(
            "sheet = 1\nname = \"disc\"\nform = \"disc\"\n[body]\ndiameter = \"30 mm ± 0.3 mm\"\n\
             thickness = \"10 mm ± 0.1 mm\"\ngrade = \"N42\"\n[workpiece]\ngap = \"0.5 mm\"\n[nameplate]\nprice = {price}\n"
        );
        Sheet::parse(&text, "disc.sheet.toml").unwrap().0
    };
    let found = compare(&[subject("a", disc("8")), subject("b", disc("10"))], &Question::default()).unwrap();
    // Sintered NdFeB: 7.4 to 7.6 g/cm³ (IEC 60404-8-1, from memory).
    let mass = std::f64::consts::PI * 0.015f64.powi(2) * 0.01 * 7500.0;
    assert!((found.number("mass_1").unwrap() / mass - 1.0).abs() < 1e-12);
    // The diameter counts twice; limits of a rectangle are √3 standard uncertainties.
    let relative = (2.0f64 * 0.01).hypot(0.01) / 3f64.sqrt();
    let standard = band(&found, "mass_1").standard / mass;
    assert!((standard / relative - 1.0).abs() < 0.01, "{standard} for {relative}");
    let pull = found.number("pull_1").unwrap();
    assert!((found.number("pull_per_mass_1").unwrap() / (pull / mass) - 1.0).abs() < 1e-12);
    assert!((found.number("pull_per_price_2").unwrap() / (pull / 10.0) - 1.0).abs() < 1e-12);
    assert!(found.item("price_1").is_some() && found.item("power_1").is_none());
}

/// Two discs alike but for what nobody could measure: which takes more room is as unsure as the tolerances of both make it, by
/// V = π d² h / 4 and rectangular limits (JCGM 100:2008, 4.3.7 and 5.1.2), and the pull for that room knows that it goes with it.
#[test]
fn room_is_as_unsure_as_its_lengths() {
    let disc = |thickness: &str| {
        let (mut disc, _) = Sheet::parse(&template(Form::Disc), "disc.sheet.toml").unwrap();
        disc.set("body.diameter", "30 mm ± 0.5 mm").unwrap();
        disc.set("body.thickness", thickness).unwrap();
        disc
    };
    let subjects = [subject("one", disc("10 mm ± 0.5 mm")), subject("two", disc("10.02 mm ± 0.5 mm"))];
    let found = compare(&subjects, &Question::default()).unwrap();
    let room = std::f64::consts::PI / 4.0 * 0.03 * 0.03 * 0.01;
    let relative = (2.0f64 * 0.5 / 30.0).hypot(0.5 / 10.0) / 3f64.sqrt();
    assert!((found.number("volume_1").unwrap() / room - 1.0).abs() < 1e-9);
    assert!((band(&found, "volume_1").standard / (room * relative) - 1.0).abs() < 1e-2);
    let more = band(&found, "volume_2_more");
    assert!(more.low < 0.0 && more.high > 0.0, "{more:?}");
}

/// Without a store nothing is held when power fails, and a need for it is missed; a permanent magnet needs none.
#[test]
fn a_magnet_without_a_store_lets_go() {
    let text = "sheet = 1\nform = \"pot\"\n[body]\nouter_diameter = \"50 mm\"\nheight = \"30 mm\"\n\
        material = \"plain\"\n[winding]\nturns = 1500\nwire = \"0.3 mm grade 1\"\n[drive]\nvoltage = \"24 V\"\n\
        [workpiece]\ngap = \"0.5 mm\"\nmaterial = \"plain\"\nmass = \"0.5 kg\"\n[[material]]\nname = \"plain\"\n\
        permeability = 500\nlaminated = true\n";
    let wound = Sheet::parse(text, "wound.sheet.toml").unwrap().0;
    let needs = vec![Need::parse("hold_up >= 10 min").unwrap()];
    let found = compare(
        &[subject("wound", wound), subject("ring", ring())],
        &Question { needs, ..Question::default() },
    )
    .unwrap();
    let told = |key: &str| match &found.item(key).unwrap().value {
        Value::Text(text) => text.clone(),
        Value::Number(m) => m.value.to_string(),
    };
    assert_eq!(told("meets_1"), "misses: not hold_up >= 10 min (0 s)");
    assert_eq!(told("meets_2"), "meets all");
    assert!(found.summary.starts_with("Meets every need: ring. Misses a need: wound."), "{}", found.summary);
}

/// A shelf of twenty is ranked: by the needs that are kept, then by the one kept most tightly, as each magnet alone tells it.
#[test]
fn a_shelf_of_twenty_is_ranked() {
    let thicknesses: Vec<String> = (0..20).map(|k| format!("{} mm", 11 + 7 * k % 20)).collect();
    let subjects: Vec<Subject> = thicknesses.iter().map(|t| subject(t, with("body.thickness", t))).collect();
    let needs = ["pull >= 60 N", "volume <= 70 cm3"].map(|text| Need::parse(text).unwrap());
    let found = compare(&subjects, &Question { needs: needs.into(), ..Question::default() }).unwrap();
    // Whether both needs are kept surely, by the estimates, or not; and by how much the tighter one is. The room's limits are
    // those of the ring's diameter, 72 mm ± 0.5 mm.
    let placed = |thickness: &String| {
        let pull = question::Question::Pull(PullQuestion::default());
        let answer = ask::answer(&with("body.thickness", thickness), &pull).unwrap();
        let (newtons, least) = (answer.number("pull").unwrap(), band(&answer, "pull").low);
        let mm: f64 = thickness.trim_end_matches(" mm").parse().unwrap();
        let room = std::f64::consts::PI * 0.036f64.powi(2) * mm * 1e-3;
        let most = room * (1.0 + 2.0 * 2.0 * 0.5 / 72.0 / 3f64.sqrt());
        let class = match (least >= 60.0 && most <= 70e-6, newtons >= 60.0 && room <= 70e-6) {
            (true, _) => 0,
            (_, true) => 1,
            _ => 2,
        };
        (class, (newtons / 60.0).min(70e-6 / room))
    };
    let mut by_hand: Vec<(&String, (i32, f64))> = thicknesses.iter().map(|t| (t, placed(t))).collect();
    by_hand.sort_by(|(_, a), (_, b)| a.0.cmp(&b.0).then(b.1.total_cmp(&a.1)));
    let by_hand: Vec<&str> = by_hand.into_iter().map(|(thickness, _)| thickness.as_str()).collect();
    let told: Vec<String> = (1..=20)
        .map(|place| match &found.item(&format!("rank_{place}")).unwrap().value {
            Value::Text(name) => name.clone(),
            Value::Number(m) => panic!("{}", m.value),
        })
        .collect();
    assert_eq!(told, by_hand);
}

/// The pot in the room of a disc fills it, keeps cool, and pulls what its own sheet says; one that is wound for twice the
/// voltage pulls nearly the same, for at a voltage the ampere-turns follow from the wire's section and mean turn alone.
#[test]
fn the_strongest_pot_in_the_room_of_a_disc() {
    let (mut disc, _) = Sheet::parse(&template(Form::Disc), "disc.sheet.toml").unwrap();
    let small = pot_as_large(&disc, 24.0, "pot", &Watch::default());
    let Err(Failure::Physics(why)) = small else {
        panic!("a pot of 20 mm for 24 V wants thinner wire than is wound")
    };
    assert!(why.contains("20 mm by 10 mm at 24 V"), "{why}");
    disc.set("workpiece.diameter", "60 mm").unwrap();
    disc.set("body.diameter", "45 mm").unwrap();
    disc.set("body.thickness", "24 mm").unwrap();
    let room = |sheet: &Sheet| coilwright_magnet::magnet::Magnet::complete(sheet).unwrap().envelope_m3();
    let pull = question::Question::Pull(PullQuestion::default());
    let heat = question::Question::Heat(question::HeatQuestion::default());
    let [low, high] = [12.0, 24.0].map(|volts| {
        let pot = pot_as_large(&disc, volts, "pot", &Watch::default()).unwrap();
        assert!((room(&pot) / room(&disc) - 1.0).abs() < 1e-3);
        let gap = |sheet: &Sheet| sheet.value("workpiece.gap").unwrap();
        assert!((gap(&pot) / gap(&disc) - 1.0).abs() < 1e-9);
        assert_eq!(pot.value("drive.voltage"), Some(volts));
        let hottest = ask::answer(&pot, &heat).unwrap().number("hot_spot_steady").unwrap();
        assert!(hottest < 403.15 + 1.0, "{hottest} K");
        ask::answer(&pot, &pull).unwrap().number("pull").unwrap()
    });
    assert!((low / high - 1.0).abs() < 0.1, "{low} N and {high} N");
    let (horseshoe, _) = Sheet::parse(&template(Form::Horseshoe), "horseshoe.sheet.toml").unwrap();
    assert!(matches!(pot_as_large(&horseshoe, 24.0, "pot", &Watch::default()), Err(Failure::Input(_))));
}

/// Two needs of which neither is sure are not missed.
#[test]
fn several_doubts_are_no_miss() {
    let needs = ["pull >= 79 N", "pull_per_room >= 13 N"].map(|text| Need::parse(text).unwrap());
    let question = Question { needs: needs.into(), ..Question::default() };
    let found = compare(&[subject("a", ring()), subject("b", ring())], &question).unwrap();
    assert!(found.limits.iter().all(|l| l.state == State::Doubtful));
    let Value::Text(text) = &found.item("meets_1").unwrap().value else { panic!("words") };
    assert!(text.starts_with("not surely: ") && text.contains("; not surely pull_per_room"), "{text}");
    assert!(found.summary.starts_with("May meet every need, not surely: a, b."), "{}", found.summary);
}

#[test]
fn what_cannot_be_compared_on_a_point_is_compared_on_the_rest() {
    let (coil, _) = Sheet::parse(&template(Form::Coil), "coil.sheet.toml").unwrap();
    let found =
        compare(&[subject("ring", ring()), subject("coil", coil.clone())], &Question::default()).unwrap();
    let text = |key: &str| match &found.item(key).unwrap().value {
        Value::Text(text) => text.clone(),
        Value::Number(m) => panic!("{key}: {}", m.value),
    };
    assert_eq!(text("power_1"), "none: it has no winding");
    assert!(found.number("pull_2").unwrap() < 0.01 * found.number("pull_1").unwrap(), "a coil of air");
    assert!(found.number("power_2").unwrap() > 0.0 && found.number("field_2").unwrap() > 0.0);
    assert!(compare(&[subject("alone", ring())], &Question::default()).is_err());
}

/// The disc found pulls as much by an answer of its own, and there is none where even the thickest pulls less.
#[test]
fn a_disc_as_strong_pulls_as_much() {
    let (pot, _) = Sheet::parse(&template(Form::Pot), "pot.sheet.toml").unwrap();
    let disc = disc_as_strong(&pot, "N42", "disc").unwrap();
    assert!(
        disc.name().starts_with("disc N42 62 x ") && disc.agrees(&pot, "workpiece.gap"),
        "{}",
        disc.name()
    );
    let pull = question::Question::Pull(PullQuestion { gaps_m: vec![1e-3], ..PullQuestion::default() });
    let of = |sheet: &Sheet| ask::answer(sheet, &pull).unwrap().number("pull").unwrap();
    assert!((of(&disc) / of(&pot) - 1.0).abs() < 0.01, "{} N for {} N", of(&disc), of(&pot));
    // A thin plate of steel carries no more, whatever stands before it.
    let refused = disc_as_strong(&pot, "C5", "disc").unwrap_err();
    let Failure::Input(faults) = refused else { panic!("{refused:?}") };
    assert!(!faults[0].message.is_empty());
    let (coil, _) = Sheet::parse(&template(Form::Horseshoe), "horseshoe.sheet.toml").unwrap();
    assert!(matches!(disc_as_strong(&coil, "N42", "disc"), Err(Failure::Input(_))), "it is not round");
}
