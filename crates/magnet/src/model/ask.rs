//! The one way from a sheet and a question to an answer.

use crate::answers::answer::{Answer, Value};
use crate::answers::limits;
use crate::answers::question::Question;
use crate::answers::winding;
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnet::winding::fit;
use crate::model::minded;
use crate::quantity::Dimension;
use crate::sheet::Sheet;
use crate::uncertainty::band::Band;
use crate::uncertainty::measure::Measure;
use crate::watch::Watch;

/// Answer a question about the magnet of a sheet.
pub fn answer(sheet: &Sheet, question: &Question) -> Result<Answer, Failure> {
    watched(sheet, question, &Watch::default())
}

/// The same for somebody who watches how far it has come, and may stop it.
///
/// # Errors
/// As [`answer`], and [`Failure::Stopped`].
pub fn watched(sheet: &Sheet, question: &Question, watch: &Watch) -> Result<Answer, Failure> {
    let answered = answer_of(sheet, question, watch);
    // What was stopped half-way may look like another failure, or like an answer that lacks something.
    watch.check()?;
    answered
}

fn answer_of(sheet: &Sheet, question: &Question, watch: &Watch) -> Result<Answer, Failure> {
    let magnet = Magnet::complete(sheet)?.watched(watch);
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
    let winding = magnet.excitation.as_ref().and_then(|e| e.winding.as_ref());
    if let Some(lacking) = winding.and_then(fit::lacks_room) {
        answer.summary = format!("{lacking} {}", answer.summary);
    }
    agree_with_winding(sheet, &magnet, &mut answer);
    correlate(sheet, &mut answer)?;
    if !magnet.pulls() && !matches!(question, Question::Pull(_)) {
        drop_pull(&mut answer);
    }
    keep_from_negative(&mut answer);
    // A keeper is not what is lifted.
    let lifts = !matches!(question, Question::Pull(q) if q.keeper);
    minded::add(sheet, &magnet, lifts, &mut answer);
    // Current and power are the winding's to say, whatever was asked.
    answer.limits = limits::judge(sheet, &answer, &winding::items(&magnet));
    Ok(answer)
}

/// Judge the limits that a sheet states by the numbers of an answer that came another way, and by its winding.
///
/// # Errors
/// Faults of the sheet.
pub fn judge_limits(sheet: &Sheet, answer: &mut Answer) -> Result<(), Failure> {
    let magnet = Magnet::complete(sheet)?;
    answer.limits = limits::judge(sheet, answer, &winding::items(&magnet));
    Ok(())
}

/// What the winding tells of itself is the same in every answer, its band too; only its direction turns a sign.
fn agree_with_winding(sheet: &Sheet, magnet: &Magnet, answer: &mut Answer) {
    if answer.command == "winding" {
        return;
    }
    let bands = winding::bands(sheet, magnet);
    for item in answer.groups.iter_mut().flat_map(|g| &mut g.items) {
        let Value::Number(m) = &mut item.value else { continue };
        if m.band.is_none() {
            continue;
        }
        let same = |value: f64| (m.value.abs() - value).abs() <= SAME * value;
        let Some((_, value, band)) = bands.iter().find(|(key, value, _)| *key == item.key && same(*value))
        else {
            continue;
        };
        m.band = Some(if m.value < 0.0 { band.negative() } else { band.clone() });
        m.value = value.copysign(m.value);
    }
}

/// Numbers that differ by less, relatively, are the same by another way.
const SAME: f64 = 1e-9;

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
