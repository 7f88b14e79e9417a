//! The first screen: every command on every example fits it, in units of every kind, and hides no caution.

use crate::in_examples::run;
use coilwright::terminal::{Extent, Layout, render};
use coilwright_bench::audit::audit;
use coilwright_bench::{fit, readings, sampled};
use coilwright_magnet::answers::answer::{Answer, Caution};
use coilwright_magnet::answers::question::{
    FieldQuestion, HeadroomQuestion, HeatQuestion, PullQuestion, Question, Region, SwitchQuestion,
};
use coilwright_magnet::quantity::UnitSystem;
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::watch::Watch;
use std::path::PathBuf;

const POT: &str = "gantry-pot.sheet.toml";
const BAR: &str = "lathe-bar.sheet.toml";
const RING: &str = "loudspeaker-ring.sheet.toml";

/// Lines at 100 columns that are no more than 45 at 60, as words and their breaks go.
const SHORT: usize = 23;

/// What is asked of an example.
enum Of {
    Model(Question),
    Audit(&'static str),
    Fit(&'static str),
}

fn pull() -> Of {
    Of::Model(Question::Pull(PullQuestion::default()))
}

fn field(question: FieldQuestion) -> Of {
    Of::Model(Question::Field(question))
}

fn heat(question: HeatQuestion) -> Of {
    Of::Model(Question::Heat(question))
}

fn switch() -> Of {
    Of::Model(Question::Switch(SwitchQuestion::default()))
}

/// Asked once, as the commands ask it, for a screen of any width.
fn answer(example: &str, of: &Of) -> Answer {
    let sheet = Sheet::parse(&read(example), example).expect("a sheet").0;
    let readings = |file: &str| {
        readings::read(read(&format!("readings/{file}")).as_bytes(), &readings::Options::default())
            .expect("readings")
    };
    let answer = match of {
        Of::Model(question) => sampled::answer(&sheet, question, &Watch::default()),
        Of::Audit(file) => audit(&sheet, Some(&readings(file))),
        Of::Fit(file) => {
            let options = fit::Options { date: "2025-01-31", readings_name: file };
            fit::fit(&sheet, &readings(file), &options).map(|fitted| fitted.answer)
        }
    };
    answer.unwrap_or_else(|failure| panic!("{example}: {failure}"))
}

fn read(example: &str) -> String {
    let examples = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    std::fs::read_to_string(examples.join(example)).expect("the example")
}

fn screen(answer: &Answer, width: usize) -> String {
    let styled = render(answer, Extent::Screen, Layout { width, units: UnitSystem::Si });
    anstream::adapter::strip_str(&styled).to_string()
}

/// It fits, and what a caution is about is never left out, only said once.
fn fits_and_hides_no_caution(runs: &[(&str, Of)]) {
    let mut long = Vec::new();
    for (example, of) in runs {
        let answer = answer(example, of);
        let what = format!("{} {example}", answer.command);
        let wide = screen(&answer, 100);
        for (columns, most) in [(100, 30), (60, 45)] {
            // What is short on a wide screen is not long on a narrow one.
            if columns == 60 && wide.lines().count() < SHORT {
                continue;
            }
            let text = screen(&answer, columns);
            let (lines, widest) =
                (text.lines().count(), text.lines().map(|l| l.chars().count()).max().unwrap_or(0));
            if lines > most || widest > columns {
                long.push(format!("{what} at {columns}: {lines} lines, {widest} columns"));
            }
            assert!(!text.contains('±') || matches!(of, Of::Fit(_) | Of::Audit(_)), "{text}");
            assert!(text.contains("--full"), "{text}");
        }
        let wide = wide.split_whitespace().collect::<Vec<_>>().join(" ");
        for caution in &answer.cautions {
            let same = |c: &&Caution| c.danger == caution.danger && c.source == caution.source;
            let told = answer.cautions.iter().filter(same).any(|c| wide.contains(&c.brief));
            assert!(told, "{what}: {caution:?}");
        }
        let deferred = wide.matches("Local codes").count();
        assert_eq!(deferred, usize::from(!answer.cautions.is_empty()), "{what}");
    }
    assert!(long.is_empty(), "{}", long.join("\n"));
}

// Every command, on every example for which it says something else. In two halves, for two cores.

#[test]
fn what_is_magnetic_fits_a_screen() {
    let line = FieldQuestion {
        lines: vec![[(0.0, 2e-3), (50e-3, 2e-3)]],
        uniform: Some(Region::Between([(0.0, 5e-3), (5e-3, 15e-3)])),
        ..FieldQuestion::default()
    };
    fits_and_hides_no_caution(&[
        (POT, Of::Model(Question::Winding)),
        (BAR, field(FieldQuestion { keep_out: true, ..FieldQuestion::default() })),
        (RING, field(FieldQuestion::default())),
        (RING, field(line)),
        (POT, pull()),
        (POT, switch()),
        (POT, Of::Audit("gantry-pot.csv")),
    ]);
}

#[test]
fn what_is_warm_fits_a_screen() {
    let headroom = HeatQuestion { headroom: Some(HeadroomQuestion::default()), ..HeatQuestion::default() };
    fits_and_hides_no_caution(&[
        (POT, heat(HeatQuestion::default())),
        (BAR, heat(HeatQuestion::default())),
        (BAR, heat(headroom)),
        (BAR, switch()),
        (BAR, Of::Fit("lathe-bar.csv")),
    ]);
}

/// The program shows what is tried above, in the units and to the extent that are asked for.
#[test]
fn units_and_extents() {
    let shown = |args: &[&str]| run(args).1;
    assert_eq!(shown(&["pull", POT]).trim_end(), screen(&answer(POT, &pull()), 100).trim_end());
    let gauss = shown(&["field", RING, "--units", "gauss"]);
    assert!(gauss.contains(" G ") || gauss.contains(" kG "), "{gauss}");
    let imperial = shown(&["pull", POT, "--units", "imperial"]);
    assert!(imperial.contains("lbf") && imperial.contains(" in"), "{imperial}");
    let sentence = shown(&["pull", POT, "--quiet"]);
    assert_eq!(sentence.lines().count(), 1);
    assert!(sentence.contains(" to ") && sentence.contains("19 times in 20"), "{sentence}");
    let full = shown(&["pull", POT, "--full"]);
    assert!(full.lines().count() > 80 && full.contains('±') && full.contains("numerical error"), "{full}");
}
