//! `report`: one document, the same on any day, whose every number is in its `--json`.
#![allow(clippy::unwrap_used, reason = "shared by tests")]

use assert_cmd::Command;
use coilwright::shown;
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::uncertainty::band::Band;
use coilwright_magnet::uncertainty::measure::Measure;
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples")
}

fn run(args: &[&str]) -> (i32, String, String) {
    let mut command = Command::cargo_bin("coilwright").unwrap();
    let output = command.current_dir(examples()).args(args).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

/// A permanent magnet whose name is markup: the quickest report there is.
fn ring(folder: &Path) -> PathBuf {
    let text = std::fs::read_to_string(examples().join("loudspeaker-ring.sheet.toml")).unwrap();
    let name = r#"name = "<b>ring</b> & \"co\" </style><script>x</script> `*_|""#;
    let text: String = text
        .lines()
        .map(|line| if line.starts_with("name =") { name } else { line })
        .collect::<Vec<_>>()
        .join("\n");
    let path = folder.join("ring.sheet.toml");
    std::fs::write(&path, text).unwrap();
    path
}

/// What a document may not have, whatever it is about.
fn is_self_contained(html: &str) {
    assert!(html.starts_with("<!doctype html>") && html.ends_with("</html>\n"));
    assert!(html.len() < 2 << 20, "{} bytes", html.len());
    // The three faces of its font are in it: what they are encoded as says nothing.
    let faces: Vec<&str> = html.split("url(data:font/ttf;base64,").skip(1).collect();
    assert_eq!(faces.len(), 3);
    let faces = faces.iter().map(|rest| rest.split(')').next().unwrap());
    let html = &faces.fold(html.to_owned(), |text, face| text.replace(face, ""));
    let html = html.replace("url(data:font/ttf;base64,)", "");
    for unwanted in ["<script", "http", "<link", "<iframe", "<img", "@import", " onload", "javascript"] {
        assert!(!html.contains(unwanted), "{unwanted}");
    }
    assert_eq!(html.matches("url(").count(), html.matches("url(#").count(), "only to itself");
    // Well-formed, but for the doctype and elements that HTML leaves open.
    let xml = html.replace("<!doctype html>\n", "");
    let mut closed = xml.replace("<meta charset=\"utf-8\">", "").replace("<br>", "<br/>");
    let meta = closed.find("<meta name").unwrap();
    let end = meta + closed[meta..].find('>').unwrap();
    closed.replace_range(meta..=end, "");
    let document = roxmltree::Document::parse(&closed).unwrap();
    let mut ids = BTreeSet::new();
    for id in document.descendants().filter_map(|node| node.attribute("id")) {
        assert!(ids.insert(id.to_owned()), "two elements are called {id}");
    }
}

#[test]
fn a_permanent_magnet_has_a_report_the_same_to_the_bit_and_markup_stays_text() {
    let folder = tempfile::tempdir().unwrap();
    let sheet = ring(folder.path());
    let out = folder.path().join("ring.html");
    let bench = folder.path().join("bench.csv");
    std::fs::write(&bench, "field mT @ r=0mm z=1mm\n-18.4\n").unwrap();
    let sheet = sheet.to_str().unwrap();
    let readings = ["--readings", bench.to_str().unwrap(), "--set", "workpiece.mass=1 kg"];
    let args = [&["report", sheet, "--date", "2026-01-31"], &readings[..]].concat();
    let (code, html, told) = run(&args);
    assert_eq!(code, 0, "{told}");
    assert!(html.contains("<dt>readings</dt>") && html.contains("--readings"), "what was read");
    assert!(
        html.contains("coilwright fit ") && html.contains("Readings, and what they tell"),
        "what it tells"
    );
    let otherwise = "but with <code>workpiece.mass=1 kg</code>, and how sure is that? The sheet says that it is invented.";
    assert!(html.contains(otherwise), "what was asked");
    is_self_contained(&html);
    assert!(html.contains("&lt;b&gt;ring&lt;/b&gt; &amp; &quot;co&quot;"), "the name as text");
    assert!(html.contains("No answer: a &quot;ring&quot; has no winding to describe."), "why there is none");
    assert!(html.contains("2026-01-31") && html.contains(">80.0\u{a0}N</u>"));

    let to_file = [&args[..], &["-o", out.to_str().unwrap()]].concat();
    let (code, _, told) = run(&to_file);
    assert!(code == 0 && told.contains("wrote"), "{told}");
    assert_eq!(std::fs::read_to_string(&out).unwrap(), html, "again, and to a file");
    let (code, _, told) = run(&to_file);
    assert!(code == 1 && told.contains("--force"), "{told}");

    let (code, md, _) = run(&[&args[..], &["--format", "md"]].concat());
    assert_eq!(code, 0);
    assert!(md.starts_with(r#"# \<b\>ring\</b\> \& "co" \</style\>"#), "{}", &md[..80]);
    assert!(md.contains("| pull | 80.0 N | 69.9 … 90.1 |") && md.contains("## Assumed"), "{md}");
}

#[test]
fn an_air_coil_has_a_report_and_what_nothing_can_be_said_of_has_none() {
    let folder = tempfile::tempdir().unwrap();
    let coil = folder.path().join("coil.sheet.toml");
    let (_, text, _) = run(&["new", "coil"]);
    std::fs::write(&coil, text).unwrap();
    let (code, html, told) = run(&[
        "report",
        coil.to_str().unwrap(),
        "--set",
        "workpiece.gap=",
        "--set",
        "workpiece.diameter=",
        "--set",
        "workpiece.thickness=",
    ]);
    assert_eq!(code, 0, "{told}");
    is_self_contained(&html);
    assert!(html.contains("<h1>Strongest") && html.contains("No answer"), "a field, and no pull");
    let (code, _, told) = run(&["report", coil.to_str().unwrap(), "--set", "winding.outer_diameter=10mm"]);
    assert!(code == 1 && told.contains("fault"), "{code} {told}");
    let (code, _, told) = run(&["report", "gantry-pot.sheet.toml", "--readings", "nowhere.csv"]);
    assert!(code == 1 && told.contains("nowhere.csv"), "{told}");
}

/// Beside another magnet and as one of a lot: both stand in the document, in its JSON, and in the command that makes it again.
#[test]
fn a_report_beside_others_and_of_a_lot() {
    let folder = tempfile::tempdir().unwrap();
    let (other, out) = (ring(folder.path()), folder.path().join("beside.html"));
    let asked = ["report", "loudspeaker-ring.sheet.toml", "--beside", other.to_str().unwrap(), "--lot", "5"];
    let (code, json, told) = run(&[&asked[..], &["--json", "-o", out.to_str().unwrap()]].concat());
    assert_eq!(code, 0, "{told}");
    let html = std::fs::read_to_string(&out).unwrap();
    is_self_contained(&html);
    for word in [
        "Beside others",
        "Many made alike",
        "pull loudspeaker-ring.sheet.toml --lot 5",
        "<dt>sheet beside it</dt>",
    ] {
        assert!(html.contains(word), "{word}");
    }
    let again = html.lines().find(|line| line.contains("coilwright report")).unwrap();
    assert!(again.contains("--beside") && again.contains("--lot 5"), "{again}");
    let document: Value = serde_json::from_str(&json).unwrap();
    let answer = |command: &str| {
        document["answers"].as_array().unwrap().iter().find(|a| a["command"] == command).unwrap().clone()
    };
    assert_eq!(answer("compare")["values"]["pull_2_more"]["value"], 0.0, "the same ring by another name");
    assert_eq!(answer("compare")["others"][0]["file"], asked[3]);
    assert!(answer("lot")["values"]["lot_least"]["value"].as_f64().unwrap() < 80.0);
    let (code, _, told) = run(&["report", "loudspeaker-ring.sheet.toml", "--beside", "nowhere.sheet.toml"]);
    assert!(code == 1 && told.contains("nowhere"), "{told}");
}

/// The demonstration magnet, of which everything can be said.
#[test]
fn every_number_of_the_report_is_in_its_json() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("pot.html");
    let written = ["--date", "2026-01-31", "--json", "-o", out.to_str().unwrap()];
    let (code, json, _) = run(&[&["report", "gantry-pot.sheet.toml"][..], &written].concat());
    assert_eq!(code, 0);
    let html = std::fs::read_to_string(&out).unwrap();
    is_self_contained(&html);
    let document: Value = serde_json::from_str(&json).unwrap();
    let mut known = Vec::new();
    numbers_in_json(&document, &mut known);
    let known: BTreeSet<String> = known.iter().flat_map(|text| numbers(text)).collect();
    let unknown: BTreeSet<String> =
        numbers(&visible(&html)).into_iter().filter(|number| !known.contains(number)).collect();
    assert!(unknown.is_empty(), "{unknown:?}");
    assert!(known.len() > 200);
    drawn_to_scale(&html, &document["figure"]);
    // The winder's limits are the answer's own range.
    let measured = measure(&document["answers"][0]["values"]["resistance_20"]).unwrap();
    let accepted = shown::range(&measured, UnitSystem::Si).replace(" Ω", "\u{a0}Ω");
    assert!(html.contains(&format!("<td>{accepted}</td><td class=\"found\"></td>")), "{accepted}");
}

/// Every dimension in the drawing is as long as the sheet says, and the section as wide and high.
fn drawn_to_scale(html: &str, figure: &Value) {
    let from = html.find("<figure class=\"drawing\">").unwrap();
    let drawing = &html[from..from + html[from..].find("</figure>").unwrap() + "</figure>".len()];
    let document = roxmltree::Document::parse(drawing).unwrap();
    let number =
        |node: &roxmltree::Node<'_, '_>, name: &str| node.attribute(name).unwrap().parse::<f64>().unwrap();
    let svg = document.descendants().find(|node| node.has_tag_name("svg")).unwrap();
    let per_mm = number(&svg, "data-units-per-mm");
    let mut seen = BTreeSet::new();
    for size in document.descendants().filter(|node| node.has_attribute("data-path")) {
        let path = size.attribute("data-path").unwrap();
        let line = size.children().find(|node| node.attribute("class") == Some("dim")).unwrap();
        let length =
            f64::hypot(number(&line, "x2") - number(&line, "x1"), number(&line, "y2") - number(&line, "y1"));
        let sizes = figure["sizes"].as_array().unwrap();
        let said = sizes.iter().find(|said| said["path"] == path).unwrap()["value"].as_f64().unwrap();
        // The gap stands in a detail with a scale of its own.
        if path != "workpiece.gap" {
            assert!((length / per_mm - 1e3 * said).abs() < 0.02, "{path}: {length} for {said}");
        }
        seen.insert(path);
    }
    let all = [
        "body.outer_diameter",
        "body.height",
        "body.pole_diameter",
        "body.inner_diameter",
        "body.back",
        "workpiece.gap",
    ];
    assert!(all.iter().all(|path| seen.contains(path)), "{seen:?}");
    let text: Vec<&str> = document.descendants().filter_map(|node| node.text()).collect();
    for lettered in ["⌀ 65 ± 0.05", "35 ± 0.1", "6.8 ± 2.0", "0.15 ± 0.05"] {
        assert!(text.contains(&lettered), "{lettered} in {text:?}");
    }
}

/// Text of the document without charts, whose axes have numbers of their own, styles and the quoted sheet.
fn visible(html: &str) -> String {
    let mut text = html.to_owned();
    for (from, to) in [("<style", "</style>"), ("<svg", "</svg>"), ("<pre", "</pre>"), ("<", ">")] {
        while let Some(start) = text.find(from) {
            let end = start + text[start..].find(to).unwrap() + to.len();
            text.replace_range(start..end, " ");
        }
    }
    text = text.replace("SHA-256", "");
    text.replace("&quot;", "\"").replace("&amp;", "&").replace("&lt;", "<").replace("&gt;", ">")
}

fn numbers(text: &str) -> Vec<String> {
    let inside = |c: char| c.is_ascii_digit() || c == '.';
    text.split(|c| !inside(c))
        .map(|word| word.trim_matches('.').to_owned())
        .filter(|word| word.contains(|c: char| c.is_ascii_digit()))
        .collect()
}

/// Every text of the JSON, and every number in it as it is shown.
fn numbers_in_json(value: &Value, known: &mut Vec<String>) {
    match value {
        Value::String(text) => known.push(text.clone()),
        Value::Array(items) => items.iter().for_each(|item| numbers_in_json(item, known)),
        Value::Object(entries) => {
            if let Some(measure) = measure(value) {
                known.extend(shown_as(&measure, value));
            }
            if let Some(share) = value.get("share").and_then(Value::as_f64) {
                known.push(format!("{:.0}", 100.0 * share));
            }
            if let Some(answer) = value.get("next_measurements").and_then(Value::as_array) {
                known.extend(answer.iter().flat_map(|advice| narrowed(value, advice)));
            }
            known.extend(value.get("format").iter().map(|format| format.to_string()));
            entries.values().for_each(|entry| numbers_in_json(entry, known));
        }
        _ => {}
    }
}

/// A number with its dimension and band, if that is what stands here.
fn measure(value: &Value) -> Option<Measure> {
    let number = value.get("value").or(value.get("limit"))?.as_f64()?;
    let dimension: Dimension = dimension(value.get("dimension")?.as_str()?)?;
    let band = value.get("band").filter(|band| !band.is_null()).map(|band| {
        let of = |key: &str| band[key].as_f64().unwrap();
        Band { standard: of("standard"), low: of("low"), high: of("high"), contributors: Vec::new() }
    });
    Some(Measure { value: number, dimension, band })
}

fn dimension(word: &str) -> Option<Dimension> {
    [Dimension::Share].into_iter().chain(Dimension::ALL).find(|d| serde_json::to_value(d).unwrap() == word)
}

fn shown_as(measure: &Measure, value: &Value) -> Vec<String> {
    let si = UnitSystem::Si;
    let mut texts = vec![shown::value(measure, si), shown::parts(measure, si).interval];
    if let Some(limit) = value.get("limit").and_then(Value::as_f64) {
        let limit = Measure { value: limit, dimension: measure.dimension, band: None };
        texts.push(shown::value(&limit, si));
    }
    texts
}

/// The range of an answer's main number once a measurement is made.
fn narrowed(answer: &Value, advice: &Value) -> Option<String> {
    let keys = answer["groups"].as_array()?.iter().flat_map(|group| group["keys"].as_array().unwrap());
    let main =
        keys.map(|key| &answer["values"][key.as_str().unwrap()]).find(|value| value["band"].is_object())?;
    let (main, remaining) = (measure(main)?, advice["remaining"].as_f64()?);
    let ends = (main.value - 2.0 * remaining, main.value + 2.0 * remaining);
    Some(shown::between(&main, ends, remaining, UnitSystem::Si))
}

/// Text on paper 4.5 : 1, bars and lines that carry meaning 3 : 1 (WCAG 2, 1.4.3 and 1.4.11, from memory).
#[test]
fn colours_can_be_read_in_light_and_dark() {
    let style = include_str!("../src/page/page.css");
    let palettes: Vec<&str> = style.match_indices(":root{").map(|(at, _)| &style[at..]).take(2).collect();
    for palette in palettes {
        let colour = |name: &str| {
            let at = palette.find(&format!("--{name}:#")).unwrap() + name.len() + 4;
            let hex = palette[at..].split(';').next().unwrap();
            let wide: String =
                if hex.len() == 3 { hex.chars().flat_map(|c| [c, c]).collect() } else { hex.into() };
            u32::from_str_radix(&wide, 16).unwrap()
        };
        let paper = colour("paper");
        for (names, least) in [
            (&["ink", "soft", "assumed", "warn"][..], 4.5),
            (&["band", "mark", "copper", "iron"], 3.0),
            (&["c0", "c1", "c2", "c3", "c4", "c5", "c6"], 3.0),
        ] {
            for name in names {
                let found = contrast(colour(name), paper);
                assert!(found >= least, "{name}: {found:.2} against {least}");
            }
        }
    }
}

/// Ratio of relative luminances (WCAG 2, from memory).
fn contrast(a: u32, b: u32) -> f64 {
    let linear = |byte: u32| {
        let share = f64::from(byte & 255) / 255.0;
        if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    };
    let luminance = |c: u32| 0.2126 * linear(c >> 16) + 0.7152 * linear(c >> 8) + 0.0722 * linear(c);
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}
