//! The one way from a sheet and a question to an answer.

use crate::answers::answer::{Answer, Value};
use crate::answers::caution;
use crate::answers::caution::Holding;
use crate::answers::limits;
use crate::answers::question::Question;
use crate::answers::winding;
use crate::failure::Failure;
use crate::magnet::{Magnet, Substance};
use crate::quantity::Dimension;
use crate::sheet::Sheet;
use crate::uncertainty::band::Band;
use crate::uncertainty::measure::Measure;

/// Answer a question about the magnet of a sheet.
pub fn answer(sheet: &Sheet, question: &Question) -> Result<Answer, Failure> {
    let magnet = Magnet::complete(sheet)?;
    let mut answer = match question {
        Question::Winding => crate::answers::winding::answer(sheet, &magnet)?,
        Question::Field(q) => crate::answers::field::answer::answer(sheet, &magnet, q)?,
        Question::Pull(q) => crate::answers::pull::answer::answer(sheet, &magnet, q)?,
        Question::Heat(q) => crate::answers::heat::answer::answer(sheet, &magnet, q)?,
        Question::Switch(q) => crate::answers::switch::answer::answer(sheet, &magnet, q)?,
    };
    // Where heat is asked for, the winding's temperature is the answer.
    let computed = |path: &str| matches!(question, Question::Heat(_)) && path == "drive.temperature";
    answer.assumptions.extend(magnet.assumptions.iter().filter(|a| !computed(&a.path)).cloned());
    answer.warnings.extend(magnet.warnings.iter().cloned());
    correlate(sheet, &mut answer)?;
    if !magnet.pulls() && !matches!(question, Question::Pull(_)) {
        drop_pull(&mut answer);
    }
    keep_from_negative(&mut answer);
    skin_and_live_parts(&mut answer);
    if magnet.excitation.is_none() && permanent(&magnet) {
        let about =
            answer.groups.first().and_then(|g| g.items.first()).map_or(String::new(), |i| i.key.clone());
        answer.cautions.extend(caution::permanent(&about));
    }
    // A keeper is not what is lifted; a winding that burns holds nothing for long.
    let keeper = matches!(question, Question::Pull(q) if q.keeper);
    if !keeper && answer.item("runaway").is_none() {
        let wound = magnet.excitation.is_some();
        working_load(&mut answer, if wound { Holding::Electromagnet } else { Holding::Permanent });
    }
    // Current and power are the winding's to say, whatever was asked.
    answer.limits = limits::judge(sheet, &answer, &winding::items(&magnet));
    Ok(answer)
}

/// Whether a magnet has permanent parts.
fn permanent(magnet: &Magnet) -> bool {
    magnet.parts.iter().any(|p| matches!(p.substance, Substance::Permanent { .. }))
}

/// What skin may touch and what is live, judged by the unfavourable end of a band. What runs away within the run has
/// worse to say.
fn skin_and_live_parts(answer: &mut Answer) {
    let high = |key: &str| match &answer.item(key)?.value {
        Value::Number(m) => Some(m.band.as_ref().map_or(m.value, |b| b.high)),
        Value::Text(_) => None,
    };
    let skin = ["surface_temperature_steady", "surface_temperature"];
    let hottest =
        skin.into_iter().filter_map(|key| Some((key, high(key)?))).max_by(|a, b| a.1.total_cmp(&b.1));
    let hottest = hottest.filter(|_| answer.item("runaway_time").is_none());
    let mut found = hottest.map_or(Vec::new(), |(key, kelvin)| caution::surface(key, kelvin));
    found.extend(high("voltage").map_or(Vec::new(), |volts| caution::supply("voltage", volts)));
    answer.cautions.extend(found);
}

/// Numbers that cannot be negative have bands that cannot be.
fn keep_from_negative(answer: &mut Answer) {
    let clamp = |dimension: Dimension, value: f64, low: &mut f64| {
        if dimension.never_negative() && value >= 0.0 && *low < 0.0 {
            *low = 0.0;
        }
    };
    for item in answer.groups.iter_mut().flat_map(|g| &mut g.items) {
        if let Value::Number(Measure { value, dimension, band: Some(band) }) = &mut item.value {
            clamp(*dimension, *value, &mut band.low);
        }
    }
    for column in answer.series.iter_mut().flat_map(|s| &mut s.ys) {
        for (value, band) in column.values.iter().zip(&mut column.bands) {
            clamp(column.dimension, *value, &mut band.0);
        }
    }
}

/// Take out what only has a meaning where something is pulled.
fn drop_pull(answer: &mut Answer) {
    const OF_PULL: [&str; 6] = ["pull", "release_time", "load", "residual_pull", "drop_out", "backup_holds"];
    let of_pull = |key: &str| OF_PULL.iter().any(|start| key.starts_with(start));
    for group in &mut answer.groups {
        group.items.retain(|item| !of_pull(&item.key));
        group.title = group.title.replace(", workpiece in place", "");
    }
    answer.groups.retain(|group| !group.items.is_empty());
    for series in &mut answer.series {
        series.ys.retain(|y| !of_pull(&y.key));
    }
    answer.series.retain(|series| !series.ys.is_empty() && series.key != "turn_off_pull");
    answer.cautions.retain(|caution| !of_pull(&caution.about));
    let sentences = answer.summary.split_inclusive(". ").filter(|s| !s.contains("{pull"));
    answer.summary = sentences.collect::<String>().trim_end().into();
}

/// Pulls on the workpiece that an answer may know: cold, warm, and on a backup.
const PULLS: [&str; 7] =
    ["pull", "pull_cold", "pull_hot", "pull_steady", "pull_hold_start", "pull_hold_end", "pull_hold_sagged"];

/// Put the usual limit for lifting beside the lowest pull of an answer: of all of them the lowest end of a band.
fn working_load(answer: &mut Answer, holding: Holding) {
    let known = PULLS.iter().filter_map(|key| {
        let item = answer.item(key)?;
        let Value::Number(m) = &item.value else { return None };
        let end = if m.band.is_some() { ", lower end of the 95 % band" } else { "" };
        let lowest_n = m.band.as_ref().map_or(m.value, |b| b.low);
        Some((*key, format!("{}{end}", item.label), lowest_n, m.value))
    });
    if let Some((key, of, lowest_n, likely_n)) = known.min_by(|a, b| a.2.total_cmp(&b.2)) {
        answer.cautions.extend(caution::working_load(key, &of, (lowest_n, likely_n), holding));
    }
}

/// Combine every band anew with the correlations that the sheet states.
fn correlate(sheet: &Sheet, answer: &mut Answer) -> Result<(), Failure> {
    let correlations = sheet.correlations()?;
    if correlations.is_empty() {
        return Ok(());
    }
    let bands = answer.groups.iter_mut().flat_map(|g| &mut g.items).filter_map(|i| match &mut i.value {
        Value::Number(m) => m.band.as_mut(),
        Value::Text(_) => None,
    });
    let mut main: Option<Band> = None;
    for band in bands {
        if !band.correlate(&correlations) {
            let message = "the correlations are impossible together: they give a variance below nothing";
            let hint = "take them out, or let a fit write them anew";
            return Err(sheet.fault("calibration.correlation", message, hint).into());
        }
        main = main.or_else(|| Some(band.clone()));
    }
    for advice in &mut answer.next_measurements {
        if let Some(main) = &main {
            advice.remaining = main.remaining(&advice.path, &correlations);
        }
    }
    answer.next_measurements.sort_by(|a, b| a.remaining.total_cmp(&b.remaining));
    Ok(())
}
