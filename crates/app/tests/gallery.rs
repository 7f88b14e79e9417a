//! What the worked examples of `docs/gallery` say is what their commands say.
//!
//! With `GALLERY=write` in the environment the pages, their pictures and the report are written instead.

#![allow(clippy::unwrap_used)] // a test may stop where anything is amiss

use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Two figures are the same if they differ by less than this, relatively: another processor may round the last one otherwise.
const SAME: f64 = 2e-3;

#[test]
fn is_it_what_its_plate_says() {
    worked("plate");
}

#[test]
fn how_hard_does_it_hold_a_thin_sheet() {
    worked("thin-sheet");
}

#[test]
fn how_far_may_it_be_turned_up() {
    worked("turned-up");
}

#[test]
fn what_happens_when_the_power_fails() {
    worked("power-fails");
}

#[test]
fn would_a_permanent_magnet_do() {
    worked("permanent");
}

#[test]
fn a_lighter_one_and_its_whole_report() {
    worked("lighter");
}

/// Runs a page's commands in a folder that has the examples, and holds what they say and write against what stands there.
fn worked(name: &str) {
    let gallery = project().join("docs/gallery");
    let page = gallery.join(format!("{name}.md"));
    let before = std::fs::read_to_string(&page).unwrap();
    let folder = tempfile::tempdir().unwrap();
    std::os::unix::fs::symlink(project().join("examples"), folder.path().join("examples")).unwrap();
    let after = answered(&before, folder.path());
    let pictures: Vec<&str> = linked(&before).collect();
    if std::env::var("GALLERY").is_ok_and(|word| word == "write") {
        for picture in &pictures {
            std::fs::copy(folder.path().join(picture), gallery.join(picture)).unwrap();
        }
        std::fs::write(&page, after).unwrap();
        return;
    }

    let question = before.split("```").next().unwrap();
    assert!(question.trim_end().ends_with('?'), "{name} opens with no question");
    assert!(before.contains("\n## The answer\n"), "{name} has no answer");
    assert!(pictures.iter().any(|file| is(file, "svg")), "{name} has no picture");
    alike(name, &before, &after);
    for file in pictures {
        let [kept, made] = [&gallery, folder.path()].map(|place: &Path| {
            std::fs::read_to_string(place.join(file)).unwrap_or_else(|e| panic!("{file}: {e}"))
        });
        alike(file, &lettering(&kept), &lettering(&made));
    }
}

/// A page with what its commands say now.
fn answered(page: &str, folder: &Path) -> String {
    let mut out = String::new();
    let mut commands = false;
    for line in page.lines() {
        match line {
            "```console" => commands = true,
            "```" => commands = false,
            _ if commands && !line.starts_with("$ ") => continue,
            _ => {}
        }
        let _ = writeln!(out, "{line}");
        if let (true, Some(command)) = (commands, line.strip_prefix("$ ")) {
            out.push_str(&said(command, folder));
        }
    }
    out
}

/// What a command line says, its errors too.
fn said(command: &str, folder: &Path) -> String {
    let program = Path::new(env!("CARGO_BIN_EXE_coilwright")).parent().unwrap();
    let path = std::env::var("PATH").unwrap_or_default();
    let output = Command::new("sh")
        .args(["-c", command])
        .env("PATH", format!("{}:{path}", program.display()))
        .env("COLUMNS", "100")
        .current_dir(folder)
        .output()
        .unwrap();
    let told = String::from_utf8(output.stderr).unwrap();
    assert!(output.status.success(), "{command}: {told}");
    String::from_utf8(output.stdout).unwrap() + &told
}

/// The files beside it that a page shows or links to, other pages aside.
fn linked(page: &str) -> impl Iterator<Item = &str> {
    let targets = page.split("](").skip(1).filter_map(|rest| rest.split(')').next());
    targets.filter(|file| is(file, "svg") || is(file, "html"))
}

fn is(file: &str, ending: &str) -> bool {
    Path::new(file).extension().is_some_and(|found| found == ending)
}

/// The words of a chart or a report: what stands between its tags, pictures within a report aside.
fn lettering(text: &str) -> String {
    let mut words = String::new();
    let mut hidden = 0_usize;
    for (k, piece) in text.split('<').enumerate() {
        let (tag, rest) = piece.split_once('>').unwrap_or(("", piece));
        let whole = k > 1 || !tag.starts_with("svg");
        match tag.split(' ').next().unwrap_or_default() {
            "svg" | "style" if whole => hidden += 1,
            "/svg" | "/style" => hidden = hidden.saturating_sub(1),
            _ => {}
        }
        if hidden == 0 {
            let _ = write!(words, " {rest}");
        }
    }
    words
}

/// Word by word, figures by their value.
fn alike(name: &str, kept: &str, made: &str) {
    let (mut one, mut other) = (kept.split_whitespace(), made.split_whitespace());
    loop {
        let (a, b) = (one.next(), other.next());
        assert!(
            same(a, b),
            "{name} says {a:?}, its command {b:?}: {}",
            other.take(12).collect::<Vec<_>>().join(" ")
        );
        if a.is_none() {
            return;
        }
    }
}

fn same(a: Option<&str>, b: Option<&str>) -> bool {
    let figure = |word: Option<&str>| {
        word?.trim_matches(|c: char| !c.is_ascii_digit() && c != '-').parse::<f64>().ok()
    };
    a == b || figure(a).zip(figure(b)).is_some_and(|(a, b)| (a - b).abs() <= SAME * a.abs().max(b.abs()))
}

fn project() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..")
}
