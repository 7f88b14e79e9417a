//! Sampled bands against what they must be: where first order is exact, where it cannot be, and for the same seed.

#![allow(clippy::unwrap_used)] // a test may stop where anything is amiss

use coilwright_bench::sampled::{SampledNumber, Samples, add_samples, sampled};
use coilwright_magnet::answers::answer::{Answer, Value};
use coilwright_magnet::answers::question::{
    FieldQuestion, HeatQuestion, PullQuestion, Question, SwitchQuestion,
};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::model::ask::answer;
use coilwright_magnet::model::plain::Plain;
use coilwright_magnet::quantity::Dimension;
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::uncertainty::measure::Measure;
use coilwright_magnet::watch::Watch;

/// A pot of which only the gap is uncertain: ampere-turns and the steel's law are given as exact.
fn pot(gap: &str) -> Sheet {
    let text = format!(
        "sheet = 1\nform = \"pot\"\n[body]\nouter_diameter = \"52 mm\"\nheight = \"30 mm\"\npole_diameter = \"20 mm\"\n\
         inner_diameter = \"46 mm\"\nback = \"5 mm\"\nmaterial = \"mine\"\n[winding]\nampere_turns = \"600 A\"\n\
         bobbin_wall = \"0.5 mm\"\n[workpiece]\ndiameter = \"60 mm\"\nthickness = \"8 mm\"\ngap = \"{gap}\"\nmaterial = \"mine\"\n\
         [[material]]\nname = \"mine\"\nsaturation = \"2.1 T\"\ninitial_permeability = 1500\n\
         field_tolerance = 0\nsaturation_tolerance = 0\n"
    );
    Sheet::parse(&text, "pot").unwrap().0
}

fn pull_question(gap_m: f64) -> Question {
    Question::Pull(PullQuestion { gaps_m: vec![gap_m], ..PullQuestion::default() })
}

fn samples(sheet: &Sheet, question: &Question, count: usize, seed: u64) -> Result<Samples, Failure> {
    sampled(&answer(sheet, question)?, sheet, question, count, seed)
}

fn number(samples: &Samples, key: &str) -> SampledNumber {
    samples.numbers.iter().find(|n| n.key == key).cloned().unwrap_or_else(|| panic!("no {key}"))
}

fn pull(sheet: &Sheet, count: usize, seed: u64) -> SampledNumber {
    let found = samples(sheet, &pull_question(sheet.value("workpiece.gap").unwrap()), count, seed).unwrap();
    assert_eq!((found.count, found.impossible), (count, 0), "{}", found.why);
    number(&found, "pull")
}

fn pull_at(gap_m: f64) -> f64 {
    let mut sheet = pot("0.1 mm");
    sheet.set_value("workpiece.gap", gap_m);
    answer(&sheet, &pull_question(gap_m)).unwrap().number("pull").unwrap()
}

/// The pull falls with the gap, so its quantiles are the pulls at the gap's: for a rectangular gap 0.2 ± 0.1 mm the
/// middle 95 % end at 0.2 ± 0.095 mm.
#[test]
fn quantiles_of_a_single_input() {
    let sampled = pull(&pot("0.2 mm ± 0.1 mm"), 160, 3);
    let (low, high) = (pull_at(0.295e-3), pull_at(0.105e-3));
    // 160 strata of a range of 0.2 mm: an end is known to 1.5 strata of 1.25 µm; the pull changes by 0.7 %/µm at most.
    assert!((sampled.interval.0 / low - 1.0).abs() < 0.02, "{:?} for {low}", sampled.interval);
    assert!((sampled.interval.1 / high - 1.0).abs() < 0.02, "{:?} for {high}", sampled.interval);
    assert_eq!(sampled.samples.len(), 160);
}

/// A pull that falls steeply and ever less is not straight over a wide range: first order gives the same width to both
/// sides, and a least pull below none. Down to no gap at all, too.
#[test]
fn where_first_order_fails_it_is_said() {
    for (gap, ampere_turns) in [("0.5 mm ± 0.4 mm", "600 A"), ("0.05 mm ± 0.05 mm", "150 A")] {
        let mut sheet = pot(gap);
        sheet.set("winding.ampere_turns", ampere_turns).unwrap();
        let sampled = pull(&sheet, 160, 3);
        assert!(
            sampled.note.as_ref().is_some_and(|note| note.contains("not straight")),
            "{gap}: {:?} by first order, {:?} sampled",
            sampled.first_order,
            sampled.interval
        );
        let (low, high) = sampled.interval;
        assert!(
            low > 0.0 && high - sampled.mean > 1.3 * (sampled.mean - low),
            "{low} {} {high}",
            sampled.mean
        );
    }
    let sheet = pot("0.5 mm ± 0.4 mm");
    let question = pull_question(0.5e-3);
    let mut told = answer(&sheet, &question).unwrap();
    add_samples(&mut told, &sheet, &question, (40, 3), &Watch::default()).unwrap();
    assert!(told.item("pull_sampled").unwrap().note.contains("prefer the sampled interval"));
    assert!(told.warnings.iter().any(|w| w.contains("disagree about `pull`")), "{:?}", told.warnings);
    // What is preferred is what is told, and what may be lifted follows from it.
    let ends = |key: &str| match &told.item(key).unwrap().value {
        Value::Number(m) => m.band.as_ref().map(|b| (b.low, b.high)).unwrap(),
        Value::Text(text) => panic!("{text}"),
    };
    assert_eq!(ends("pull"), ends("pull_sampled"));
}

/// A voltage that may be a quarter of what is written: by itself the answer samples, and what may be lifted is by the
/// lower end of that, not of a straight line.
#[test]
fn a_voltage_of_which_little_is_known() {
    let text = "sheet = 1\nform = \"pot\"\n[body]\nouter_diameter = \"50 mm\"\nheight = \"30 mm\"\n[winding]\n\
        turns = 1500\nresistance = \"50 ohm\"\n[drive]\nvoltage = \"12 V ± 9 V\"\n[workpiece]\ngap = \"0.2 mm\"\n";
    let sheet = Sheet::parse(text, "pot").unwrap().0;
    let question = pull_question(0.2e-3);
    let straight = answer(&sheet, &question).unwrap();
    let found = coilwright_bench::sampled::answer(&sheet, &question, &Watch::default()).unwrap();
    let low = |answer: &Answer| match &answer.item("pull").unwrap().value {
        Value::Number(m) => m.band.as_ref().unwrap().low,
        Value::Text(text) => panic!("{text}"),
    };
    // The lowest voltage but for one in forty is 3.45 V, little more than a quarter of what is written: so is the pull, or less.
    assert!(low(&found) < 0.3 * found.number("pull").unwrap(), "{} N", low(&found));
    assert!(found.warnings.iter().any(|w| w.contains("too wide for first order")), "{:?}", found.warnings);
    let lift = |answer: &Answer| {
        answer.cautions.iter().find(|c| c.brief.starts_with("Lift")).map(|c| c.text.clone())
    };
    assert!(
        lift(&found).is_some()
            && (low(&found) - low(&straight)).abs() > 1.0
            && lift(&found) != lift(&straight)
    );
}

/// A magnet that hardly warms does not run away in any sample, however little is known of how its surfaces radiate.
#[test]
fn what_cannot_radiate_so_is_no_runaway() {
    let mut sheet = example("lathe-bar");
    sheet.remove("surroundings.emissivity");
    sheet.set("drive.voltage", "0.5 V").unwrap();
    let question = Question::Heat(HeatQuestion::default());
    let asked = answer(&sheet, &question).unwrap();
    let found = sampled(&asked, &sheet, &question, 120, 1).unwrap();
    assert_eq!((found.ran_away, found.impossible), (0, 0), "{}", found.why);
    assert!(found.numbers.iter().all(|n| n.dimension != Dimension::Temperature || n.interval.1 < 300.0));
}

/// A supply at its current limit: the current is the limit, or less where the winding takes less, and never more. Voltage and
/// resistance, each rectangular and good to 5 %, make a triangle of 10 % about their quotient; its lowest fortieth ends at
/// −(1 − √0.05) · 10 % (W. Feller, An Introduction to Probability Theory II, I.7: sums of two rectangular variables).
#[test]
fn a_supply_at_its_limit_is_a_kink() {
    let text = |limit: &str| {
        format!(
            "sheet = 1\nform = \"coil\"\n[winding]\ninner_diameter = \"20 mm\"\nouter_diameter = \"40 mm\"\n\
             length = \"30 mm\"\nturns = 1000\nresistance = \"10 ohm ± 5 %\"\nresistance_at = \"20 °C\"\n\
             [drive]\nvoltage = \"12 V ± 5 %\"\ncurrent_limit = \"{limit}\"\n"
        )
    };
    let current = |limit: &str| {
        let sheet = Sheet::parse(&text(limit), "coil").unwrap().0;
        let found = coilwright_bench::sampled::answer(&sheet, &Question::Winding, &Watch::default()).unwrap();
        let told = found.warnings.iter().any(|w| w.contains("which of the supply's limits"));
        (found.measure("current").unwrap().band.clone().unwrap(), told)
    };
    let low = 1.2 * (1.0 - 0.1 * (1.0 - 0.05_f64.sqrt()));
    // By voltage alone at the best estimate, and by current alone.
    for limit in ["1.21 A", "1.19 A"] {
        let (band, told) = current(limit);
        assert!(told, "{limit}");
        assert!((band.low / low - 1.0).abs() < 0.01, "{limit}: {band:?} for {low}");
        let most: f64 = limit[..4].parse().unwrap();
        assert!((band.high / most - 1.0).abs() < 1e-6, "{limit}: {band:?}");
    }
    // Out of reach of every doubt nothing is sampled, and of a held current nothing is left to doubt.
    let (far, told) = current("2 A");
    assert!(
        !told && (far.high / far.low - 1.0 - 4.0 * 0.05 * (2.0_f64 / 3.0).sqrt()).abs() < 0.02,
        "{far:?}"
    );
}

#[test]
fn a_narrow_gap_is_first_order() {
    let sampled = pull(&pot("0.5 mm ± 0.005 mm"), 60, 3);
    // The numerical error is sampled as well: with the gap's rectangle the spread is first order's.
    assert!((sampled.mean / sampled.value - 1.0).abs() < 1e-3);
    assert!((sampled.standard / sampled.first_order.standard - 1.0).abs() < 0.05, "{sampled:?}");
    assert_eq!(sampled.note, None);
}

/// I = V/R: relative uncertainties of voltage and resistance add as squares (JCGM 100:2008, 5.1.6, equation 12).
#[test]
fn a_quotient_of_small_tolerances() {
    let text = "sheet = 1\nform = \"coil\"\n[winding]\ninner_diameter = \"20 mm\"\nouter_diameter = \"40 mm\"\n\
                length = \"30 mm\"\nturns = 1000\nresistance = \"10 ohm ± 0.5 %\"\nresistance_at = \"20 °C\"\n[drive]\nvoltage = \"12 V ± 1 %\"\n";
    let sheet = Sheet::parse(text, "coil").unwrap().0;
    let found = samples(&sheet, &Question::Winding, 400, 7).unwrap();
    let current = number(&found, "current");
    let relative = (0.005f64.powi(2) + 0.01f64.powi(2)).sqrt() / 3f64.sqrt();
    // Of stratified, uncorrelated samples of two inputs the spread is good to far better than 1/√(2 · 400) = 3.5 %.
    assert!((current.standard / (1.2 * relative) - 1.0).abs() < 0.02, "{}", current.standard / 1.2);
    assert!((current.mean / 1.2 - 1.0).abs() < 1e-4);
    assert_eq!(current.note, None);
    // The middle 95 % of a rectangle end at 0.95 √3 = 1.65 standard uncertainties, not at 2: 400 samples tell.
    let voltage = number(&found, "voltage");
    assert!((voltage.interval.1 - 12.0 - 0.95 * 0.12).abs() < 0.002, "{:?}", voltage.interval);
    assert!(voltage.note.is_some_and(|note| note.contains("sharp limits")));
    assert!(found.left_out.is_empty() && found.impossible == 0);
    // What of the wire is not known cancels: the resistance was measured.
    assert!(found.numbers.iter().any(|n| n.key == "wire_diameter"));
}

/// Without cooling the hot spot follows power, heat capacity and what lies between: nearly straight over these ranges.
#[test]
fn a_hot_spot_nearly_straight() {
    let text = "sheet = 1\nform = \"pot\"\n[body]\nouter_diameter = \"52 mm\"\nheight = \"30 mm\"\n\
                pole_diameter = \"20 mm\"\nwall = \"3 mm\"\nback = \"5 mm\"\nmaterial = \"low-carbon steel\"\n\
                [winding]\nresistance = \"72 ohm ± 1 %\"\nimpregnation = \"epoxy\"\n[drive]\nvoltage = \"24 V ± 3 %\"\n\
                [surroundings]\ntemperature = \"24 °C ± 1 K\"\ncooling = \"adiabatic\"\n";
    let sheet = Sheet::parse(text, "pot").unwrap().0;
    let question = Question::Heat(HeatQuestion { duration_s: Some(600.0), ..HeatQuestion::default() });
    let count = 120;
    let found = samples(&sheet, &question, count, 5).unwrap();
    for key in ["hot_spot", "winding_mean", "back_temperature", "power_hot"] {
        let n = number(&found, key);
        let u = n.first_order.standard;
        // Standard errors of mean and spread without stratification, three of each (JCGM 101:2008, 7.9).
        let least = 3.0 / (count as f64).sqrt();
        assert!((n.mean - n.value).abs() < least * u, "{key}: {} for {}", n.mean, n.value);
        assert!((n.standard / u - 1.0).abs() < least / 2f64.sqrt(), "{key}: {} for {u}", n.standard);
        assert_eq!(n.note, None, "{key}");
    }
    assert!(found.left_out.is_empty(), "{:?}", found.left_out);
}

#[test]
fn seeds_repeat_on_any_number_of_threads_and_differ() {
    let sheet = pot("0.2 mm ± 0.1 mm");
    let run = |seed, threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| pull(&sheet, 12, seed).samples)
    };
    let bits = |samples: Vec<f64>| samples.into_iter().map(f64::to_bits).collect::<Vec<u64>>();
    assert_eq!(bits(run(1, 1)), bits(run(1, 3)));
    assert_ne!(run(1, 2), run(2, 2));
}

/// A pole that is wider than its shell in one sample of six.
#[test]
fn too_wide_a_tolerance_is_an_error() {
    let mut sheet = pot("0.2 mm");
    sheet.set("body.pole_diameter", "30 mm ± 20 mm").unwrap();
    let wide = samples(&sheet, &pull_question(2e-4), 40, 1);
    let Err(Failure::Physics(reason)) = wide else { panic!("{wide:?}") };
    assert!(reason.contains("of 40 samples cannot be") && reason.contains("tolerances"), "{reason}");
    let few = samples(&pot("0.2 mm ± 0.1 mm"), &pull_question(2e-4), 2, 1);
    let Err(Failure::Input(said)) = few else { panic!("{few:?}") };
    assert!(said[0].hint.contains("at least"), "{said:?}");
}

fn example(name: &str) -> Sheet {
    let path = format!("{}/../../examples/{name}.sheet.toml", env!("CARGO_MANIFEST_DIR"));
    Sheet::parse(&std::fs::read_to_string(path).unwrap(), name).unwrap().0
}

fn banded(answer: &Answer) -> Vec<(&str, Vec<(&str, &str)>)> {
    let items = answer.groups.iter().flat_map(|g| &g.items);
    items
        .filter_map(|i| {
            let Value::Number(Measure { band: Some(band), .. }) = &i.value else { return None };
            let parts: Vec<_> =
                band.contributors.iter().map(|c| (c.path.as_str(), c.label.as_str())).collect();
            (!parts.is_empty()).then_some((i.key.as_str(), parts))
        })
        .collect()
}

/// What first order moves is what sampling moves, in every answer; and every number that has a band is sampled.
#[test]
fn sampling_and_first_order_know_the_same() {
    let field = FieldQuestion { at: vec![(0.0, 2e-3)], ..FieldQuestion::default() };
    let questions = [
        Question::Winding,
        Question::Field(field),
        Question::Pull(PullQuestion { shear: true, gaps_m: vec![2e-4], ..PullQuestion::default() }),
        Question::Heat(HeatQuestion::default()),
        Question::Switch(SwitchQuestion::default()),
    ];
    for name in ["gantry-pot", "lathe-bar", "loudspeaker-ring"] {
        let sheet = example(name);
        for question in &questions {
            let Ok(told) = answer(&sheet, question) else {
                assert_eq!(name, "loudspeaker-ring"); // it has no winding
                continue;
            };
            let mut plain = Plain::new(&sheet, question).unwrap();
            let numbers = plain.numbers(&[]).unwrap();
            let banded = banded(&told);
            assert!(!banded.is_empty(), "{name} {}", told.command);
            for (key, parts) in banded {
                // What a backup must be follows a course of its own; samples leave it out and say so.
                let own_course = ["backup_", "pull_hold"].iter().any(|start| key.starts_with(start));
                // So must where a field turns over, and the times of solid iron, whose field is followed in time.
                let known = numbers.iter().any(|(k, _)| k == key);
                let in_time = told.command == "switch" && (key.ends_with("_time") || key.contains("rise"));
                if own_course || !known && (in_time || key.starts_with("face_turn_")) {
                    continue;
                }
                let at = format!("{name} {} {key}", told.command);
                let value = numbers.iter().find(|(k, _)| k == key).unwrap_or_else(|| panic!("{at}")).1;
                let shown = told.number(key).unwrap();
                // Whole counts, and temperatures at their warmest in a cycle, are near what is sampled about.
                assert!((value - shown).abs() <= 0.1 * shown.abs(), "{at}: {value} for {shown}");
                for (path, label) in parts.into_iter().filter(|(path, _)| *path != "solver") {
                    let known = plain.ways().iter().any(|w| w.path == path && w.label == label);
                    assert!(known, "{at}: {path}, {label}");
                }
            }
        }
    }
}

/// Ampere-turns are turns times current: with relative standard uncertainties a and b that go together by r the product
/// has √(a² + b² + 2 r a b) (JCGM 100:2008, 5.2.2, equation 16), to first order and by samples.
#[test]
fn what_goes_together_is_sampled_together() {
    for r in [-0.9, 0.0, 0.7] {
        let text = format!(
            "sheet = 1\nform = \"coil\"\n[winding]\ninner_diameter = \"20 mm\"\nouter_diameter = \"60 mm\"\n\
             length = \"40 mm\"\nwire = \"0.5 mm\"\nturns = \"500 ± 10\"\n[drive]\ncurrent = \"1 A ± 0.015 A\"\n\
             [calibration]\ncorrelation = \"winding.turns ~ drive.current: {r}\"\n"
        );
        let sheet = Sheet::parse(&text, "coil").unwrap().0;
        let (a, b) = (10.0 / 500.0 / 3f64.sqrt(), 0.015 / 3f64.sqrt());
        let expected = 500.0 * (a * a + b * b + 2.0 * r * a * b).sqrt();
        let sampled = number(&samples(&sheet, &Question::Winding, 2000, 5).unwrap(), "ampere_turns");
        let first = sampled.first_order.standard;
        assert!((first / expected - 1.0).abs() < 1e-3, "r = {r}: {first} to first order, {expected}");
        // 2000 samples know a standard deviation to 1.6 %; rectangles made to go together by their quantiles keep a
        // correlation to a few hundredths.
        assert!(
            (sampled.standard / expected - 1.0).abs() < 0.06,
            "r = {r}: {} sampled, {expected}",
            sampled.standard
        );
    }
}

/// A gap known to half of itself and worse: the band is that of the gap's own distribution, for the pull falls with the gap
/// all along, so that its 95 % interval ends at the pulls through the ends of the gap's; no band reaches past nothing, and
/// the caution does not vanish.
#[test]
fn where_first_order_misleads_the_answer_samples_by_itself() {
    let sheet = pot("2 mm ± 1.9 mm");
    let question = Question::Pull(PullQuestion::default());
    let mut answer = coilwright_magnet::model::ask::answer(&sheet, &question).unwrap();
    let low = |a: &Answer, key: &str| match a.item(key).map(|i| i.value.clone()) {
        Some(Value::Number(m)) => m.band.map_or(m.value, |b| b.low),
        _ => panic!("no {key}"),
    };
    assert!(low(&answer, "pull") >= 0.0);
    assert!(answer.cautions.iter().any(|c| c.brief.contains("Lift nothing")), "{:?}", answer.cautions);
    for series in &answer.series {
        assert!(series.ys.iter().flat_map(|y| &y.bands).all(|b| b.0 >= 0.0), "{}", series.key);
    }
    coilwright_bench::sampled::mend(&mut answer, &sheet, &question, &Watch::default()).unwrap();
    let Some(Value::Number(m)) = answer.item("pull").map(|i| i.value.clone()) else { panic!("no pull") };
    let band = m.band.unwrap();
    // Uniform from 0.1 to 3.9 mm: 2.5 % on either side are 0.195 and 3.805 mm.
    let (weakest, strongest) = (pull_at(3.805e-3), pull_at(0.195e-3));
    assert!(
        (band.low / weakest - 1.0).abs() < 0.15 && (band.high / strongest - 1.0).abs() < 0.15,
        "{band:?}"
    );
    assert!(answer.warnings.iter().any(|w| w.contains("samples")), "{:?}", answer.warnings);
}

/// A tolerance as wide as the gap and wider is answered, by every question.
#[test]
fn a_tolerance_wider_than_the_gap_is_answered() {
    for gap in ["0.1 mm ± 0.18 mm", "0.1 mm ± 0.1 mm", "0.05 mm ± 0.3 mm"] {
        let mut sheet = example("gantry-pot");
        sheet.set("workpiece.gap", gap).unwrap();
        for question in [Question::Pull(PullQuestion::default()), Question::Switch(Default::default())] {
            let a = coilwright_magnet::model::ask::answer(&sheet, &question)
                .unwrap_or_else(|e| panic!("{gap}: {e:?}"));
            assert!(a.number("pull").is_some_and(|n| n > 0.0));
        }
    }
}

/// A load that what is left without current may hold has no drop-out in some samples: the answer stands, says how many, and
/// its band is of the rest. (One that never lets go is a fact of the trade at small gaps; common practice, no source.)
#[test]
fn what_some_samples_have_not_is_said() {
    let text = "sheet = 1\nform = \"pot\"\n[body]\nlaminated = true\nouter_diameter = \"56 mm\"\nheight = \"30 mm\"\n\
                pole_diameter = \"20 mm\"\nwall = \"3 mm\"\nback = \"5 mm\"\n[winding]\nresistance = \"72 ohm\"\n\
                [drive]\nvoltage = \"24 V\"\n[workpiece]\nlaminated = true\nmass = \"0.5 kg\"\n";
    let sheet = Sheet::parse(text, "pot").unwrap().0;
    let question = Question::Switch(SwitchQuestion::default());
    let mut told = answer(&sheet, &question).unwrap();
    let found = sampled(&told, &sheet, &question, 60, 1).unwrap();
    let release = number(&found, "release_time");
    assert_eq!(release.missing + release.samples.len(), found.count);
    assert!(release.missing > 0 && release.samples.iter().all(|s| s.is_finite()), "{}", release.missing);
    add_samples(&mut told, &sheet, &question, (60, 1), &Watch::default()).unwrap();
    let share = (100.0 * release.missing as f64 / found.count as f64).max(1.0);
    let said = format!("in {share:.0} % of the samples there is no drop-out time at all");
    assert!(told.warnings.iter().any(|w| w.starts_with(&said)), "{:?}", told.warnings);
}
