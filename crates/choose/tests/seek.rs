//! The search, against optima that are known: of closed forms, of windings, and of a family of pots solved one by one.

use coilwright_choose::seek::aim::{Aim, Bound};
use coilwright_choose::seek::log::Log;
use coilwright_choose::seek::search::{Effort, Known, Point, Score, search};
use coilwright_choose::seek::vary::{Over, Vary};
use coilwright_choose::seek::{Found, Question, seek};
use coilwright_magnet::answers::answer::State;
use coilwright_magnet::answers::question::{PullQuestion, Question as Asked};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::model::ask;
use coilwright_magnet::model::rough::{Wanted, numbers};
use coilwright_magnet::sheet::Sheet;
use std::f64::consts::PI;

const POT: &str = "sheet = 1\nname = \"pot\"\nform = \"pot\"\n[body]\nouter_diameter = \"50 mm\"\nheight = \"30 mm\"\npole_diameter = \"20 mm\" # turned\n\
    [winding]\nresistance = \"30 ohm\"\n[drive]\nvoltage = \"24 V\"\n[workpiece]\nthickness = \"8 mm\"\ngap = \"0.2 mm\"\n";

fn pot() -> Sheet {
    Sheet::parse(POT, "pot.sheet.toml").expect("a sheet").0
}

fn sought(sheet: &Sheet, question: &Question) -> Found {
    seek(sheet, question, &Log::default(), &mut |_| {}).expect("an answer")
}

fn question(aims: &[&str], within: &[&str], designs: usize) -> Question {
    Question {
        vary: Vec::new(),
        aims: aims.iter().map(|a| Aim::parse(a).expect("an aim")).collect(),
        within: within.iter().map(|b| Bound::parse(b).expect("a limit")).collect(),
        designs,
        seed: 1,
    }
}

/// Search a function of coordinates from 0 to 1 on a grid of 1001 places each; cost and miss.
fn found(dimensions: usize, points: usize, f: impl Fn(&[f64]) -> (f64, f64)) -> (Vec<f64>, f64, usize) {
    let axes = vec![1001; dimensions];
    let at = |point: &Point| point.iter().map(|&k| f64::from(k) / 1000.0).collect::<Vec<f64>>();
    let score = |batch: &[Point]| -> Result<Vec<Score>, ()> {
        Ok(batch
            .iter()
            .map(|p| f(&at(p)))
            .map(|(cost, missed)| Score { costs: vec![cost], missed })
            .collect())
    };
    let known: Known = search(&axes, 1, Effort { points, seed: 7 }, &[], score).expect("scores");
    let (point, score) = known.best(0).expect("a best");
    assert_eq!(score.missed, 0.0);
    (at(point), score.costs[0], known.len())
}

/// A coil of rectangular section and even current density makes most field in its middle for its power at an outer radius of
/// 3.095 and a half-length of 1.862 inner radii, with a factor of 0.1792 in gauss and centimetres (Ch. Fabry 1910; D. B.
/// Montgomery, Solenoid Magnet Design, 1969, from memory). The optimum is flat: it is judged by the factor.
#[test]
fn the_coil_of_most_field_for_its_power() {
    let factor = |alpha: f64, beta: f64| {
        let turns = (alpha + alpha.hypot(beta)) / (1.0 + 1f64.hypot(beta));
        0.2 * (2.0 * PI * beta / (alpha * alpha - 1.0)).sqrt() * turns.ln()
    };
    let place = |x: &[f64]| (1.1 + 6.0 * x[0], 0.2 + 5.0 * x[1]);
    let (at, cost, tried) = found(2, 400, |x| {
        let (alpha, beta) = place(x);
        (-factor(alpha, beta), 0.0)
    });
    let (alpha, beta) = place(&at);
    assert!((-cost / 0.1792 - 1.0).abs() < 1e-3, "{cost} at {alpha}, {beta}");
    assert!((alpha - 3.095).abs() < 0.1 && (beta - 1.862).abs() < 0.1, "{alpha}, {beta}");
    assert!(tried <= 400);
}

/// Of a given length of wire the coil of square section has most inductance at a mean diameter of 2.967 times the section's
/// side, nearly the 3 of Brooks' coil (H. B. Brooks, Bureau of Standards J. Research 7 (1931) 289); inductance by F. W. Grover,
/// Inductance Calculations, 1946, for square sections, from memory; his factor 1.6994 µH/m a N² for Brooks' coil agrees. The
/// optimum is flat: it is judged by the inductance. The length of the wire is a limit here, as a search has it.
#[test]
fn the_coil_of_most_inductance_for_its_wire() {
    let shape = |x: f64| 0.5 * (1.0 + x * x / 6.0) * (8.0 / (x * x)).ln() - 0.84834 + 0.2041 * x * x;
    assert!((4e-7 * PI * shape(1.0 / 3.0) / 1.6994e-6 - 1.0).abs() < 1e-3);
    // Mean radius and side; turns are as many as the section holds, of which one takes a unit of area.
    let place = |x: &[f64]| (1.0 + 9.0 * x[0], 1.0 + 9.0 * x[1]);
    let most_wire = 2.0 * PI * 6.0 * 16.0;
    let inductance = |a: f64, c: f64| a * c.powi(4) * shape(0.5 * c / a);
    let (at, cost, _) = found(2, 500, |x| {
        let (a, c) = place(x);
        if c >= 2.0 * a {
            return (0.0, 1.0 + c / a);
        }
        (-inductance(a, c), (2.0 * PI * a * c * c / most_wire - 1.0).max(0.0))
    });
    let (a, c) = place(&at);
    // The same at the best of all ratios.
    let side = (2.0 * 6.0 * 16.0 / 2.967f64).cbrt();
    let best = inductance(0.5 * 2.967 * side, side);
    assert!((-cost / best - 1.0).abs() < 2e-3, "{cost} {best} at {a}, {c}");
}

/// Rosenbrock's valley (H. H. Rosenbrock, Computer J. 3 (1960) 175), from -2 to 2: at (1, 1).
#[test]
fn a_curved_valley_is_followed() {
    let (at, cost, _) = found(2, 1500, |x| {
        let (u, v) = (4.0 * x[0] - 2.0, 4.0 * x[1] - 2.0);
        (100.0 * (v - u * u).powi(2) + (1.0 - u).powi(2), 0.0)
    });
    assert!(cost < 1e-2, "{cost} at {at:?}");
}

/// At a fixed voltage ampere-turns depend on the wire's section and the mean turn alone, not on how many turns there are: V A / (ρ l)
/// (Ohm's law; resistivity of copper at 20 °C 1/58 µΩ m, IEC 60028).
#[test]
fn ampere_turns_at_a_voltage_follow_the_wire_alone() {
    for (wire, section_mm2) in [("0.315 mm", 0.25 * PI * 0.315 * 0.315), ("0.5 mm", 0.25 * PI * 0.25)] {
        for turns in ["300", "500", "700"] {
            let mut sheet = pot();
            for (path, text) in [
                ("winding.resistance", ""),
                ("winding.wire", wire),
                ("winding.turns", turns),
                ("winding.inner_diameter", "22 mm"),
                ("winding.outer_diameter", "36 mm"),
            ] {
                sheet.set(path, text).expect(path);
            }
            let found = numbers(&sheet, Wanted::default()).expect("numbers");
            let expected = 24.0 * section_mm2 * 1e-6 / (1.0 / 58e6 * PI * 29e-3);
            assert!(
                (found.ampere_turns / expected - 1.0).abs() < 2e-3,
                "{wire} {turns}: {} {expected}",
                found.ampere_turns
            );
        }
    }
}

/// Ampere-turns need a power of N² I² ρ l/(k A) in a window of area A that is filled to a share k, whatever the wire: so a
/// search for least power at given ampere-turns fills the whole window (common practice; Ohm's law).
#[test]
fn least_power_for_ampere_turns_fills_the_window() {
    let mut asked = question(&["least power"], &["ampere turns >= 500 A"], 120);
    asked.vary = vec![
        Vary { path: "winding.wire".into(), over: Over::Between([0.15e-3, 0.4e-3]) },
        Vary { path: "winding.turns".into(), over: Over::Free },
    ];
    let Found { answer, mut designs } = sought(&pot(), &asked);
    let (_, text) = designs.swap_remove(0);
    let (sheet, _) = Sheet::parse(&text, "s").expect("a sheet");
    let magnet = Magnet::complete(&sheet).expect("a magnet");
    let w = magnet.excitation.as_ref().and_then(|e| e.winding.as_ref()).expect("a winding");
    let ampere_turns = answer.number("ampere_turns_1").expect("ampere-turns");
    let power = answer.number("power_1").expect("a power");
    let expected = ampere_turns.powi(2) * w.mean_turn_length_m / 58e6 / (w.fill_factor * w.window.area_m2());
    assert!(ampere_turns >= 500.0 && (power / expected - 1.0).abs() < 5e-3, "{power} {expected}");
    // Wires come in steps: the least that reaches 500 A, and all the turns that find room.
    let mut full = sheet.clone();
    full.set("winding.turns", "").expect("it is there");
    let full = Magnet::complete(&full).expect("a magnet").excitation.map_or(0.0, |e| e.turns);
    assert!(w.turns > 0.97 * full, "{} of {full}", w.turns);
}

/// Every member of a family of pots, one by one, against a search that solves a tenth of them.
#[test]
fn a_tenth_of_a_family_finds_its_best() {
    let millimetres = |values: std::ops::Range<u32>, step: f64| {
        values.map(|k| f64::from(k) * step * 1e-3).collect::<Vec<f64>>()
    };
    let (poles, backs) = (millimetres(16..28, 1.0), millimetres(6..13, 0.5));
    let wires = ["0.18 mm", "0.2 mm", "0.224 mm", "0.25 mm", "0.28 mm"].map(str::to_owned);
    let mut best: f64 = 0.0;
    let mut all = 0;
    let limit = Bound::parse("mass <= 0.37 kg").expect("a limit");
    for pole in &poles {
        for back in &backs {
            for wire in &wires {
                all += 1;
                let mut sheet = pot();
                sheet.set("winding.resistance", "").expect("it is there");
                sheet.set("winding.wire", wire).expect("a wire");
                sheet.set_value("body.pole_diameter", *pole);
                sheet.set_value("body.back", *back);
                let turns =
                    Magnet::complete(&sheet).ok().and_then(|m| Some(m.excitation?.turns)).expect("turns");
                sheet.set_value("winding.turns", turns.floor());
                // Only who keeps the mass need be solved.
                let mass = numbers(&sheet, Wanted::default()).expect("numbers").mass_kg;
                if mass <= limit.limit {
                    let wanted = Wanted { pull: true, heat: true, ..Wanted::default() };
                    match numbers(&sheet, wanted) {
                        Ok(found) if found.hot_spot_k <= found.class_k => best = best.max(found.pull_n),
                        Ok(_) | Err(Failure::Runaway) => {}
                        Err(other) => panic!("{other}"),
                    }
                }
            }
        }
    }
    let these = |path: &str, values: &[f64]| Vary { path: path.into(), over: Over::These(values.to_vec()) };
    let mut asked = question(&["most pull"], &[], all / 10);
    asked.within = vec![limit];
    asked.vary = vec![
        these("body.pole_diameter", &poles),
        these("body.back", &backs),
        Vary { path: "winding.wire".into(), over: Over::Wires(wires.to_vec()) },
    ];
    let answer = sought(&pot(), &asked).answer;
    let (pull, mass) = (answer.number("pull_1").expect("a pull"), answer.number("mass_1").expect("a mass"));
    assert!(mass <= 0.37, "{mass}");
    // Half a per cent for the search, and as much for what provisional pulls differ by.
    assert!(pull > 0.99 * best && pull < 1.01 * best, "{pull} {best} of {all}");
}

/// The front: none beats another, ends and middle are sheets that answer the same when asked alone, and any number of
/// threads finds the same bits.
#[test]
fn the_front_is_undominated_and_the_same_on_any_threads() {
    let asked = question(&["most pull", "least mass"], &["hot spot <= 120 degC"], 80);
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        pool.install(|| sought(&pot(), &asked))
    };
    let (one, three) = (on(1), on(3));
    assert_eq!(one.answer, three.answer);
    assert_eq!(one.designs, three.designs);
    let front = &one.answer.series[0];
    assert_eq!(front.key, "front");
    let points: Vec<(f64, f64)> =
        front.x.values.iter().copied().zip(front.ys[0].values.iter().copied()).collect();
    assert!(points.len() > 3, "{points:?}");
    for (k, a) in points.iter().enumerate() {
        let beaten = points.iter().enumerate().any(|(j, b)| j != k && b.0 <= a.0 && b.1 >= a.1);
        assert!(!beaten, "{a:?} of {points:?}");
    }
    for (k, (name, text)) in (1..).zip(&one.designs) {
        let (sheet, remarks) = Sheet::parse(text, name).expect("a sheet");
        assert!(remarks.is_empty() && text.contains("# turned"), "{name}");
        let alone = ask::answer(&sheet, &Asked::Pull(PullQuestion::default())).expect("a pull");
        assert_eq!(alone.number("pull"), one.answer.number(&format!("pull_{k}")), "{name}");
        let winding = Magnet::complete(&sheet).ok().and_then(|m| m.excitation?.winding).expect("a winding");
        assert!(winding.wire_is_given && winding.turns.fract() == 0.0);
    }
    // All limits are kept by the settled numbers too.
    assert!(one.answer.limits.iter().all(|l| l.state != State::Exceeded), "{:?}", one.answer.limits.len());
}

/// Limits that cannot be kept together: the two are named, and what would be enough of each.
#[test]
fn contradicting_limits_are_named_with_what_would_be_enough() {
    let mut asked = question(&["most pull"], &["mass <= 0.33 kg", "pull >= 800 N"], 80);
    let free = |path: &str| Vary { path: path.into(), over: Over::Free };
    asked.vary = ["body.pole_diameter", "body.inner_diameter", "body.back"].map(free).into();
    asked.vary.push(Vary { path: "winding.wire".into(), over: Over::Between([0.18e-3, 0.28e-3]) });
    let found = sought(&pot(), &asked);
    let summary = &found.answer.summary;
    assert!(found.designs.is_empty());
    assert!(summary.contains("`mass <= 0.33 kg`") && summary.contains("`pull >= 800 N`"), "{summary}");
    let enough: Vec<(String, f64)> = (1..4)
        .filter_map(|k| found.answer.item(&format!("enough_{k}")))
        .filter_map(|item| Some((item.label.clone(), found.answer.number(&item.key)?)))
        .collect();
    let [(mass, kilograms), (pull, newtons)] = &enough[..] else { panic!("{enough:?}") };
    assert!(mass.contains("mass") && (0.33..0.42).contains(kilograms), "{enough:?}");
    assert!(pull.contains("pull") && (300.0..800.0).contains(newtons), "{enough:?}");
}

/// What cannot be searched is refused with a word on how to mend it.
#[test]
fn questions_that_make_no_sense_are_refused() {
    let vary = |path: &str, over: Over| vec![Vary { path: path.into(), over }];
    let mut coil = Sheet::parse(
        "sheet = 1\nform = \"coil\"\n[winding]\ninner_diameter = \"20 mm\"\nouter_diameter = \"40 mm\"\nlength = \"20 mm\"\nwire = \"0.5 mm\"\n[drive]\nvoltage = \"12 V\"\n",
        "coil",
    )
    .expect("a sheet")
    .0;
    let refused = |sheet: &Sheet, asked: &Question, word: &str| {
        let failure = seek(sheet, asked, &Log::default(), &mut |_| {}).expect_err(word);
        let text = format!("{failure:?}");
        assert!(text.contains(word), "{word}: {text}");
    };
    let asked = |vary: Vec<Vary>| Question { vary, ..question(&["most pull"], &[], 40) };
    refused(&pot(), &asked(vary("body.pole_diam", Over::Free)), "pole_diameter");
    refused(&pot(), &asked(vary("body.height", Over::Free)), "needs a range");
    refused(&pot(), &asked(vary("body.back", Over::Between([9e-3, 5e-3]))), "ends before it begins");
    refused(&pot(), &asked(vary("name", Over::Free)), "no number");
    refused(&pot(), &asked(vary("winding.wire", Over::Between([3.1e-3, 3.11e-3]))), "no wire");
    refused(&coil, &asked(vary("winding.wire", Over::Free)), "nothing is in front");
    refused(&coil, &question(&["most field"], &[], 40), "has to be said");
    refused(&pot(), &question(&["most pull", "least pull"], &[], 40), "twice");
    coil.set("drive.on_time", "10 s").expect("once");
    let once = Question { vary: vary("winding.wire", Over::Free), ..question(&["coolest"], &[], 40) };
    refused(&coil, &once, "never settles");
}
