//! What the text of a sheet lets a person move, type over, or turn into a slider.

use super::part::{Assumed, Choice, Entry, Probe, Slider};
use crate::ask::{Figure, Magnet, Sheet, USUAL_STANDOFF_M, scan_reach_m};
use crate::shown::Scale;
use coilwright_bench::written;
use coilwright_magnet::magnet::assumption::Assumption;
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::sheet::number_at;

/// What a person asks about first.
const USUAL: [&str; 5] =
    ["drive.voltage", "drive.current", "workpiece.gap", "workpiece.thickness", "surroundings.temperature"];
/// The surroundings where the sheet says nothing of them, K.
const ROOM_K: f64 = 293.15;
/// Range of a temperature, °C.
const TEMPERATURES_C: [f64; 2] = [-20.0, 80.0];
/// How often a slider's range holds its value.
const TIMES: f64 = 2.0;
/// A gap's range at the least, m.
const GAP_M: f64 = 1e-3;
/// Where a face is scanned how high above it, and how much room above the face counts, over the length of the scan.
const PROBE: &str = "probe.standoff";
const PROBED: f64 = 0.2;
/// Steps over a range, about.
const STEPS: f64 = 200.0;

/// The usual sliders, and those for more numbers.
pub(super) fn sliders(sheet: &Sheet, magnet: &Magnet, more: &[String], units: UnitSystem) -> Vec<Slider> {
    let paths = USUAL.into_iter().chain(more.iter().map(String::as_str));
    let mut found: Vec<Slider> = Vec::new();
    for path in paths {
        if !found.iter().any(|slider| slider.path == path) {
            found.extend(slider(sheet, magnet, path, units));
        }
    }
    found
}

fn slider(sheet: &Sheet, magnet: &Magnet, path: &str, units: UnitSystem) -> Option<Slider> {
    let dimension = number_at(path)?;
    let assumed = || magnet.assumptions.iter().find(|a| a.path == path)?.value.as_ref().map(|m| m.value);
    let usual = || match path {
        "surroundings.temperature" => Some(ROOM_K),
        PROBE => Some(USUAL_STANDOFF_M),
        _ => None,
    };
    let si = sheet.value(path).or_else(assumed).or_else(usual)?;
    let scale = Scale::of(dimension, si, units);
    let value = scale.value(si);
    let [least, most] = if dimension == Dimension::Temperature {
        TEMPERATURES_C.map(|celsius| scale.value(celsius + 273.15))
    } else {
        let most = TIMES * value.abs();
        let most = match path {
            "workpiece.gap" => most.max(scale.value(GAP_M)),
            PROBE => most.max(scale.value(PROBED * scan_reach_m(magnet))),
            _ => most,
        };
        if value < 0.0 { [-most, 0.0] } else { [0.0, most] }
    };
    if most <= least {
        return None;
    }
    let step = if dimension == Dimension::Count {
        step((most - least) / STEPS).max(1.0)
    } else {
        step((most - least) / STEPS)
    };
    // A current, a plate or a gap of nothing is another question.
    let least = if least == 0.0 { step } else { least };
    Some(Slider {
        path: path.into(),
        label: label(path),
        value,
        least: least.min(value),
        most: (most / step).ceil() * step,
        step,
        unit: scale.symbol.into(),
        tolerance: tolerance(sheet, path),
    })
}

/// The height at which the face is scanned, to be moved beside the scan.
pub(super) fn probe(sheet: &Sheet, magnet: &Magnet, units: UnitSystem) -> Option<Probe> {
    if magnet.free {
        return None;
    }
    let value_m = sheet.value(PROBE).unwrap_or(USUAL_STANDOFF_M);
    let across_m = scan_reach_m(magnet);
    let height_m = (PROBED * across_m).max(TIMES * value_m);
    let slider = slider(sheet, magnet, PROBE, units)?;
    Some(Probe { slider, value_m, across_m, height_m, svg: String::new() })
}

/// The nearest of 1, 2 and 5 times a power of ten.
fn step(about: f64) -> f64 {
    let ten = 10f64.powf(about.log10().floor());
    let of = [1.0, 2.0, 5.0, 10.0].into_iter().find(|of| of * ten >= about * 0.75);
    of.unwrap_or(10.0) * ten
}

/// What stands behind a value in the sheet.
fn tolerance(sheet: &Sheet, path: &str) -> String {
    let text = written::text(sheet, path).unwrap_or_default();
    let at = text.find('±').or_else(|| text.find("+/-"));
    at.map_or(String::new(), |at| format!(" {}", &text[at..]))
}

/// A path as a person says it.
pub(super) fn label(path: &str) -> String {
    match path {
        "drive.voltage" => "voltage".into(),
        "drive.current" => "current".into(),
        "workpiece.gap" => "gap".into(),
        "workpiece.thickness" => "workpiece thickness".into(),
        "surroundings.temperature" => "surroundings".into(),
        PROBE => "height of the probe".into(),
        _ => path.replace('_', " ").replacen('.', ": ", 1),
    }
}

/// All numbers that the sheet gives or leaves open.
pub(super) fn numbers(sheet: &Sheet, magnet: &Magnet) -> Vec<Choice> {
    let given = sheet.paths().filter(|path| number_at(path).is_some()).map(str::to_owned);
    let assumed = magnet.assumptions.iter().filter(|a| a.value.is_some() && number_at(&a.path).is_some());
    let mut paths: Vec<String> = given.chain(assumed.map(|a| a.path.clone())).collect();
    paths.sort();
    paths.dedup();
    let moved = |path: &String| !path.starts_with("instruments.") && !path.starts_with("calibration.");
    paths.into_iter().filter(moved).map(|path| Choice { label: label(&path), path }).collect()
}

/// What the sheet leaves open, as it would stand there.
pub(super) fn assumed(magnet: &Magnet) -> Vec<Assumed> {
    let one = |a: &Assumption| {
        Some(Assumed {
            path: a.path.clone(),
            label: a.label.clone(),
            text: as_written(a)?,
            reason: a.reason.clone(),
        })
    };
    magnet.assumptions.iter().filter_map(one).collect()
}

/// None where a sheet has no such key.
fn as_written(assumption: &Assumption) -> Option<String> {
    match &assumption.value {
        None if assumption.word.is_empty() => None,
        None => Some(assumption.word.clone()),
        Some(measure) => {
            let dimension = number_at(&assumption.path)?;
            Some(match measure.band.as_ref().filter(|band| band.standard > 0.0) {
                Some(band) => written::quantity(measure.value, band.standard, dimension),
                None => dimension.text(measure.value, None, UnitSystem::Si),
            })
        }
    }
}

/// The lengths of a drawing as they stand in the sheet, or would.
pub(super) fn lengths(sheet: &Sheet, magnet: &Magnet, figure: &Figure) -> Vec<Entry> {
    let text = |path: &str, assumed: bool| {
        if !assumed {
            return written::text(sheet, path).ok().filter(|text| !text.is_empty());
        }
        magnet.assumptions.iter().find(|a| a.path == path).and_then(as_written)
    };
    let sizes = figure.sizes.iter();
    sizes
        .filter_map(|size| {
            Some(Entry {
                text: text(&size.path, size.assumed)?,
                label: label(&size.path),
                path: size.path.clone(),
                assumed: size.assumed,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ask::{Form, template};

    #[test]
    fn steps_are_round() {
        for (about, expected) in [(0.24, 0.2), (0.0015, 0.002), (3.1, 5.0), (0.9, 1.0), (7.0, 10.0)] {
            assert!((step(about) / expected - 1.0).abs() < 1e-9, "{about}: {}", step(about));
        }
    }

    /// Every form can be moved, and what it leaves open can be written down.
    #[test]
    fn every_template_has_its_sliders() {
        for form in Form::ALL {
            let (sheet, _) = Sheet::parse(&template(form), "sheet").expect("a template is a sheet");
            let magnet = Magnet::complete(&sheet).expect("a template is a magnet");
            for slider in sliders(&sheet, &magnet, &[], UnitSystem::Si) {
                assert!(slider.least <= slider.value && slider.value <= slider.most, "{form}: {slider:?}");
                assert!(slider.step > 0.0, "{form}: {slider:?}");
            }
            let number = |a: &&Assumption| a.value.is_some() && number_at(&a.path).is_some();
            for open in magnet.assumptions.iter().filter(number) {
                let (mut other, text) = (sheet.clone(), as_written(open).expect("a number is written"));
                assert!(other.set(&open.path, &text).is_ok(), "{form}: {}: {text}", open.path);
            }
        }
    }
}
