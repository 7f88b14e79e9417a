//! Spoilt sheets: whatever is done to a text, it is answered or refused with reasons, and never breaks anything.
//!
//! A deterministic structured fuzz: the starting sheets of every form and the examples, with numbers scaled, keys
//! removed, doubled and swapped, units and words exchanged, from the text to a drawing and its mesh, and some to a field.

use coilwright_fem::law::Medium;
use coilwright_fem::magnetostatics::{Magnetostatics, Stopping};
use coilwright_fem::mesh::Mesh;
use coilwright_magnet::diagnostic::{Diagnostic, Severity};
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::sheet::{Form, Sheet, template};
use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};

const SHEETS: u64 = 20_000;
/// One in so many that are meshed is solved too.
const SOLVED: u64 = 200;
const FILE: &str = "spoilt.sheet.toml";

const FORMS: [Form; 9] = [
    Form::Pot,
    Form::Bar,
    Form::Coil,
    Form::Horseshoe,
    Form::ECore,
    Form::Disc,
    Form::Ring,
    Form::PottedDisc,
    Form::Profile,
];
const EXAMPLES: [&str; 3] = [
    include_str!("../../../examples/gantry-pot.sheet.toml"),
    include_str!("../../../examples/lathe-bar.sheet.toml"),
    include_str!("../../../examples/loudspeaker-ring.sheet.toml"),
];

/// SplitMix64 (G. L. Steele, D. Lea and C. H. Flood, OOPSLA 2014).
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    fn one_of<'a>(&mut self, of: &[&'a str]) -> &'a str {
        of[self.below(of.len())]
    }
}

const UNITS: [&str; 16] =
    ["mm", "m", "um", "inch", "mT", "T", "V", "A", "ohm", "K", "°C", "%", "N", "s", "furlong", ""];
const GARBAGE: [&str; 22] = [
    "\"\"",
    "\"0 mm\"",
    "\"-3 mm\"",
    "\"nan mm\"",
    "\"inf mm\"",
    "\"1e308 mm\"",
    "\"1e-308 m\"",
    "\"5 mm ± 900 %\"",
    "\"5 mm ± \"",
    "\"AWG 99\"",
    "\"pot\"",
    "\"unobtainium\"",
    "\"µ\\u0000∞\"",
    "true",
    "-1",
    "1e999",
    "nan",
    "[]",
    "[[1, 2], 3]",
    "{ a = 1 }",
    "1979-05-27",
    "\"\"\"\nlong\n\"\"\"",
];
const LINES: [&str; 12] = [
    "[",
    "]",
    "= 3",
    "[body]",
    "[[region]]",
    "[[material]]",
    "body.height = \"9 mm\"",
    "\u{feff}",
    "\\",
    "é = 1",
    "[winding]\nampere_turns = \"500 A\"",
    "[instruments.x]\ncounts = 3",
];

/// Numbers in a line's value, as byte ranges.
fn numbers(line: &str) -> Vec<std::ops::Range<usize>> {
    let bytes = line.as_bytes();
    let mut found = Vec::new();
    let mut k = line.find('=').map_or(line.len(), |e| e + 1);
    while k < bytes.len() {
        let start = k;
        while k < bytes.len() && (bytes[k].is_ascii_digit() || bytes[k] == b'.') {
            k += 1;
        }
        if k > start && line[start..k].parse::<f64>().is_ok() {
            found.push(start..k);
        }
        k = k.max(start + 1);
    }
    found
}

fn scale(line: &str, factor: f64, dice: &mut Dice) -> String {
    let all = numbers(line);
    if all.is_empty() {
        return line.to_string();
    }
    let at = all[dice.below(all.len())].clone();
    let value: f64 = line[at.clone()].parse().unwrap_or(1.0);
    format!("{}{}{}", &line[..at.start], value * factor, &line[at.end..])
}

fn with_value(line: &str, value: &str) -> String {
    line.split_once('=').map_or(line.to_string(), |(key, _)| format!("{key}= {value}"))
}

fn is_assignment(line: &str) -> bool {
    !line.trim_start().starts_with('#') && line.contains('=')
}

fn spoil(text: &str, dice: &mut Dice) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_string).collect();
    for _ in 0..1 + dice.below(4) {
        let assignments: Vec<usize> = (0..lines.len()).filter(|&k| is_assignment(&lines[k])).collect();
        let comments: Vec<usize> =
            (0..lines.len()).filter(|&k| lines[k].starts_with("# ") && lines[k].contains('=')).collect();
        if assignments.is_empty() {
            break;
        }
        let k = assignments[dice.below(assignments.len())];
        let other = assignments[dice.below(assignments.len())];
        match dice.below(20) {
            // A little off: most of these are still magnets.
            0..=5 => {
                let factor = dice.between(0.5, 2.0);
                lines[k] = scale(&lines[k], factor, dice);
            }
            6..=8 => {
                let factor = 10f64.powf(dice.between(-6.0, 6.0));
                lines[k] = scale(&lines[k], factor, dice);
            }
            9 => {
                lines.remove(k);
            }
            10 => lines.insert(other, lines[k].clone()),
            11 => {
                let value = lines[other].split_once('=').map_or("", |p| p.1).to_string();
                lines[k] = with_value(&lines[k], &value);
            }
            12 => lines.swap(k, other),
            13 => {
                let (from, to) = (dice.one_of(&UNITS[..12]), dice.one_of(&UNITS));
                lines[k] = lines[k].replacen(from, to, 1);
            }
            14 => lines[k] = with_value(&lines[k], dice.one_of(&GARBAGE)),
            // Use what the starting sheet offers.
            15..=17 if !comments.is_empty() => {
                let c = comments[dice.below(comments.len())];
                lines[c] = lines[c].trim_start_matches(['#', ' ']).to_string();
            }
            18 => lines.insert(k, dice.one_of(&LINES).to_string()),
            _ => {
                let at = dice.below(lines[k].chars().count() + 1);
                lines[k] = match dice.below(3) {
                    0 => lines[k].chars().take(at).collect(),
                    1 => lines[k].chars().rev().collect(),
                    _ => lines[k].chars().enumerate().filter(|(i, _)| *i != at).map(|(_, c)| c).collect(),
                };
            }
        }
    }
    let mut text = lines.join("\n");
    if dice.below(50) == 0 {
        let at = dice.below(text.chars().count() + 1);
        text = text.chars().take(at).collect();
    }
    text
}

/// Words of faults about what is nowhere in the text.
const ABSENT: [&str; 4] = ["does not say", "missing", "nothing drives", "nothing is known"];

/// How far a sheet came.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum End {
    Unreadable,
    Impossible,
    NotMeshed,
    Meshed,
    NotSolved,
    Solved,
}

/// That a refusal says why, and where.
fn check(text: &str, faults: &[Diagnostic]) {
    assert!(faults.iter().any(|f| f.severity == Severity::Fault), "refused without a fault");
    for f in faults {
        assert!(!f.message.trim().is_empty(), "{f:?}");
        assert_eq!(f.file, FILE, "{f:?}");
        match &f.span {
            Some(span) => {
                assert!(text.get(span.clone()).is_some(), "{f:?} is not a place in the text");
                assert!(f.line_and_column(text).is_some(), "{f:?}");
            }
            // What is missing altogether has no place.
            None => assert!(ABSENT.iter().any(|a| f.message.contains(a)), "{f:?} has no place"),
        }
    }
}

fn follow(index: u64, text: &str) -> End {
    let sheet = match Sheet::parse(text, FILE) {
        Ok((sheet, remarks)) => {
            assert!(remarks.iter().all(|r| r.severity == Severity::Remark && !r.message.is_empty()));
            sheet
        }
        Err(faults) => {
            check(text, &faults);
            return End::Unreadable;
        }
    };
    let magnet = match Magnet::complete(&sheet) {
        Ok(magnet) => magnet,
        Err(faults) => {
            check(text, &faults);
            return End::Impossible;
        }
    };
    let scene = magnet.scene(&magnet.stage());
    let mesh = match Mesh::new(&scene.drawing, 1) {
        Ok(mesh) => mesh,
        Err(e) => {
            assert!(!e.to_string().is_empty());
            return End::NotMeshed;
        }
    };
    let (least, count) = mesh.quality();
    assert!(least > 0.0, "a triangle is turned over");
    // A pot of 50 mm that is 50 m high has the most, some 10⁵.
    assert!(count < 200_000, "{count} elements");
    let media: &[Medium] = &scene.media;
    assert!(mesh.region.iter().all(|r| *r < media.len()));
    if !index.is_multiple_of(SOLVED) {
        return End::Meshed;
    }
    let solution = Magnetostatics::new(mesh)
        .and_then(|mut m| m.solve(scene.media.clone(), scene.applied_t, None, Stopping::default()));
    match solution {
        Ok(s) => {
            assert!(s.potential.iter().all(|a| a.is_finite()));
            End::Solved
        }
        Err(e) => {
            assert!(!e.to_string().is_empty());
            End::NotSolved
        }
    }
}

fn sheets() -> Vec<String> {
    FORMS.iter().map(|f| template(*f)).chain(EXAMPLES.iter().map(|e| e.to_string())).collect()
}

#[test]
fn spoilt_sheets_are_answered_or_refused_with_reasons() {
    let sound = sheets();
    for text in &sound {
        assert_eq!(follow(1, text), End::Meshed, "{text}");
    }
    let run = |from: u64| {
        let (mut ends, mut broken) = (BTreeMap::new(), Vec::new());
        for index in (from..SHEETS).step_by(2) {
            let mut dice = Dice(index);
            let text = spoil(&sound[dice.below(sound.len())], &mut dice);
            match catch_unwind(AssertUnwindSafe(|| follow(index, &text))) {
                Ok(end) => *ends.entry(end).or_insert(0u64) += 1,
                Err(_) => broken.push((index, text)),
            }
        }
        (ends, broken)
    };
    let halves = std::thread::scope(|scope| {
        let other = scope.spawn(|| run(1));
        [run(0), other.join().expect("panics are caught within")]
    });
    if let Some((index, text)) = halves.iter().flat_map(|h| &h.1).next() {
        panic!("sheet {index} broke it:\n{text}");
    }
    let count = |end: End| halves.iter().filter_map(|h| h.0.get(&end)).sum::<u64>();
    assert_eq!(halves.iter().flat_map(|h| h.0.values()).sum::<u64>(), SHEETS);
    // The spoiling must be neither too rough nor too kind, or this tests nothing.
    assert!(count(End::Unreadable) > SHEETS / 10, "{}", count(End::Unreadable));
    assert!(count(End::Impossible) > SHEETS / 100, "{}", count(End::Impossible));
    assert!(count(End::Meshed) > SHEETS / 5, "{}", count(End::Meshed));
    assert!(count(End::Solved) > 20, "{}", count(End::Solved));
    // What completes can be drawn and solved, but for a rare overlooked impossibility, which is refused with reasons.
    assert!(count(End::NotMeshed) < SHEETS / 1000, "{}", count(End::NotMeshed));
    assert_eq!(count(End::NotSolved), 0);
}
