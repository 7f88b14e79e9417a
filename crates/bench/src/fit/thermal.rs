//! What the heat model's fit found, as rows of an answer and as entries of a calibrated sheet.

use super::{TOLD, correlations};
use crate::warm_up::WarmUp;
use crate::warm_up::heat::{Heat, Scale};
use crate::written;
use coilwright_magnet::answers::answer::{Answer, Column, Item, Series};
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::uncertainty::band::Band;
use nalgebra::DMatrix;

/// Residuals so much larger than the meters explain say that the model lacks something.
const LACKING: f64 = 3.0;
/// So many standard uncertainties between the two ways of telling a steady state are worth a word.
const APART: f64 = 3.0;

/// Rows, curves and warnings.
pub(super) fn rows(answer: &mut Answer, heat: &Result<Heat, String>, curves: &[WarmUp]) {
    let heat = match heat {
        Ok(heat) => heat,
        Err(why) => {
            answer.warnings.push(format!("the magnet's heat model was not fitted to the log: {why}"));
            return;
        }
    };
    let mut items: Vec<Item> = heat.scales.iter().map(scale).collect();
    items.push(
        Item::number(
            "heat_rms",
            "what is left of the logs, rms",
            heat.rms_k,
            Dimension::TemperatureDifference,
        )
        .with_note(format!("{} points", heat.used)),
    );
    answer.group("Heat of the magnet, by its warm-up", items);
    let heading = heat.heading.iter().map(|(key, label, kelvin, standard)| {
        Item::number(key, label, *kelvin, Dimension::Temperature).with_band(Band::about(*kelvin, *standard))
    });
    answer.group(&format!("Heading for, with the {} held", heat.held), heading.collect());
    if heat.heading.is_empty() {
        answer.warnings.push(match heat.held {
            "" => "the supply did not hold still during the log, so it heads for nothing; ask `heat` with the calibrated \
                   sheet"
                .into(),
            held => format!("the magnet as fitted has no steady state with the {held} held: it would run away"),
        });
    }
    if heat.rms > LACKING {
        answer.warnings.push(format!(
            "the heat model leaves residuals {:.0} times what the meters explain: draughts, a magnet held otherwise than \
             the sheet says, or parts that the sheet does not have; the bands are widened for it",
            heat.rms
        ));
    }
    answer.warnings.extend(apart(heat, curves));
    for (k, curve) in heat.curves.iter().enumerate() {
        let dimension = if curve.ohms { Dimension::Resistance } else { Dimension::Temperature };
        answer.series.push(Series {
            key: format!("heat_model_{}", k + 1),
            title: format!("Warm-up by the heat model: {}", curve.label),
            x: Column::new("time", "time", Dimension::Time, curve.time_s.clone()),
            ys: vec![
                Column::new("measured", "measured", dimension, curve.measured.clone()),
                Column::new("fitted", "fitted", dimension, curve.fitted.clone()),
            ],
            log_x: false,
        });
    }
}

fn told(scale: &Scale) -> bool {
    scale.found.1 < TOLD * scale.before.1
}

fn scale(scale: &Scale) -> Item {
    let (value, standard, (low, high)) = scale.found;
    let key = scale.path.replace('.', "_");
    let note = if told(scale) {
        format!("before: {:.2} ± {:.2}", scale.before.0, scale.before.1)
    } else {
        "left as it was: the log hardly narrows it".into()
    };
    Item::number(&key, scale.label, value, Dimension::Ratio)
        .with_band(Band { standard, low, high, contributors: Vec::new() })
        .with_note(note)
}

/// A steady state that curve and heat model tell differently.
fn apart(heat: &Heat, curves: &[WarmUp]) -> Vec<String> {
    let text = |k: f64, u: f64| Dimension::Temperature.text(k, Some(u), UnitSystem::Si);
    let mut found = Vec::new();
    for (key, place) in
        [("steady_winding_mean", "winding by its resistance"), ("steady_back_temperature", "back")]
    {
        let model = heat.heading.iter().find(|h| h.0 == key);
        let curve = curves.iter().find(|c| c.label == place).and_then(|c| c.steady);
        let (Some((_, _, k, u)), Some((kelvin, standard, _))) = (model, curve) else { continue };
        if (k - kelvin).abs() > APART * u.hypot(standard) {
            found.push(format!(
                "{place}: the heat model heads for {}, the curve alone for {}; a longer log settles it",
                text(*k, *u),
                text(kelvin, standard)
            ));
        }
    }
    found
}

/// What goes into the sheet beside what it has so far: the scales that the log tells, and where they hold.
pub(super) fn enter(so_far: &Sheet, heat: &Heat, entries: &mut Vec<(String, String)>) {
    let all: Vec<&Scale> = heat.scales.iter().filter(|s| told(s)).collect();
    if all.is_empty() {
        return;
    }
    for scale in &all {
        let text = written::quantity(scale.found.0, scale.found.1, Dimension::Ratio);
        entries.push((scale.path.to_owned(), text));
    }
    entries.push(("calibration.surroundings".into(), heat.surroundings.clone()));
    let holds = |k: &usize| told(&heat.scales[*k]) || so_far.has(heat.scales[*k].path);
    let held: Vec<usize> = (0..heat.scales.len()).filter(holds).collect();
    let paths: Vec<&str> = held.iter().map(|k| heat.scales[*k].path).collect();
    let matrix = DMatrix::from_fn(paths.len(), paths.len(), |i, j| heat.correlation[held[i]][held[j]]);
    entries.retain(|(path, _)| path != correlations::PATH);
    let text = correlations::text(&correlations::stated(so_far, &paths, &matrix));
    entries.extend(text.map(|text| (correlations::PATH.to_owned(), text)));
}
