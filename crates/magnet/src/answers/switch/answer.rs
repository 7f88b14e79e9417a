//! The answer about switching: how fast on, how fast off by each clamp, what is left, what a power failure does.

use crate::answers::advice;
use crate::answers::answer::{Answer, Value};
use crate::answers::caution;
use crate::answers::question::SwitchQuestion;
use crate::answers::switch::hold_up;
use crate::answers::switch::ready::Ready;
use crate::answers::switch::told::Told;
use crate::circuit::events::Release;
use crate::coupled::operating_point::Driven;
use crate::coupled::switch::clamps::compared;
use crate::coupled::switch::course::Failing;
use crate::coupled::switch::state::MAIN;
use crate::coupled::switch::switched::moments_s;
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnetic::effects::effects;
use crate::sheet::Sheet;

/// Answer a switching question.
///
/// # Errors
/// Faults of the sheet; a field that cannot be solved.
pub fn answer(sheet: &Sheet, magnet: &Magnet, question: &SwitchQuestion) -> Result<Answer, Failure> {
    let driven = Driven::of(sheet, magnet)?;
    let mut failing = Failing::new(sheet, magnet, &driven)?;
    let ready = Ready::new(sheet, magnet, &driven, question, failing.cold_ohm())?;
    let Ready { strength, residual, steady_v, current, load_n, load_note, own, coil, .. } = &ready;
    let (steady_v, current) = (*steady_v, *current);
    let pull = strength.pull_n(current);
    let mut answer = Answer::new("switch", &magnet.name);
    answer.assumptions.extend(ready.assumptions.iter().cloned());
    let holding = hold_up::Holding::read(sheet, steady_v);
    let state = ready.state(own.clone());

    // What every uncertain input makes of the main numbers.
    let main = state.main()?;
    let mut moved = effects(sheet, magnet, &ready.solved, Magnet::stage, |m, scene, drawing, solution| {
        ready.varied(&state, sheet, m, (scene, drawing, solution))
    })?;
    moved.resize(main.len(), Vec::new());
    if let Some((path, label, other)) = own.a_little_more(sheet) {
        let varied = ready.state(other);
        for ((list, now), then) in moved.iter_mut().zip(&main).zip(varied.main()?) {
            list.push((path.into(), label.into(), then - now));
        }
    }
    let in_field = ready.in_field(sheet, magnet, &driven, question.brief)?;
    let field = in_field.as_ref();
    let bands = field.map(|field| ready.bands(field, (sheet, magnet), &moved, &main)).transpose()?;
    let besides = field.map_or(Ok(Vec::new()), |field| ready.besides(field, sheet))?;
    let own_off = ready.own_off(field)?;
    let told =
        Told { ready: &ready, state: &state, moved: &moved, field: field.zip(bands.as_ref()), besides };
    let on = ready.on(field)?;
    let turn_on = |answer: &mut Answer| {
        if let Some(on) = &on {
            told.on(on, answer);
        }
    };
    // The drop-out time is the answer where there is one, and stands first.
    if matches!(own_off.release, Release::After { .. }) {
        told.off(&own_off, load_note, &mut answer);
        turn_on(&mut answer);
    } else {
        turn_on(&mut answer);
        told.off(&own_off, load_note, &mut answer);
    }
    told.coil(coil.resistance_ohm(), &mut answer)?;
    if !question.brief {
        let named = compared(own, steady_v, current);
        let offs = ready.off_by(field, &named)?;
        let curves: Vec<_> = named.into_iter().zip(offs).collect();
        for (clamp, off) in &curves {
            told.off_by(clamp, off, &mut answer)?;
        }
        let left_n = residual.as_ref().map_or(0.0, |r| r.value_n);
        let diode_off = curves.iter().find(|(clamp, _)| clamp.key == "diode").map_or(&own_off, |c| &c.1);
        let moments_s = match field {
            Some(field) => field.moments_s.clone(),
            None => moments_s(diode_off, current, pull, left_n),
        };
        if let Some(on) = &on {
            told.series(on, &curves, &moments_s, &mut answer);
        }
    }
    told.left(residual.as_ref(), !question.brief, &mut answer)?;
    told.conduction(sheet, magnet, &mut answer);

    let drops_s = match own_off.release {
        Release::After { time_s, .. } if answer.number("release_time").is_some() => Some(time_s),
        _ => None,
    };
    let relative = |key: &str| -> Vec<(String, String, f64)> {
        let at = MAIN.iter().position(|(name, _)| *name == key).unwrap_or_default();
        moved[at]
            .iter()
            .map(|(path, label, effect)| (path.clone(), label.clone(), effect / main[at]))
            .collect()
    };
    // On backup the drive's own voltage no longer counts.
    let (resistance, mut by_pull) = (relative("resistance"), relative("pull"));
    by_pull.retain(|(path, ..)| {
        !matches!(path.as_str(), "drive.voltage" | "drive.current" | "nameplate.voltage")
    });
    let known = hold_up::Uncertain { resistance: &resistance, pull: &by_pull };
    holding.fill(&mut failing, strength, *load_n, &known, drops_s, &mut answer)?;
    answer.cautions.extend(caution::pull("pull", pull));
    if question.load_n.is_some() || sheet.has("workpiece.mass") || sheet.has("backup") {
        answer.cautions.extend(caution::power_failure("release_time"));
    }
    let main = answer.groups.iter().flat_map(|g| &g.items).find_map(|i| match &i.value {
        Value::Number(m) => m.band.as_ref(),
        Value::Text(_) => None,
    });
    answer.next_measurements = main.map(advice::next).unwrap_or_default();
    if !magnet.pulls() {
        answer.summary =
            "On in {rise_time} (95 % of the current); {stored_energy} stored. There is no workpiece: \
                          nothing is held."
                .into();
        return Ok(answer);
    }
    answer.summary = summary(&answer, &ready, own_off.release);
    let held = answer.number("backup_holds").zip(answer.number("hold_time"));
    // What does not hold at all has no store to speak of.
    let holds = own_off.release != Release::Already;
    if holds && held.is_some_and(|(holds_s, asked_s)| holds_s < asked_s) {
        answer.summary = format!(
            "The store does not hold the load for the time asked for: {{backup_holds}} of {{hold_time}}. {}",
            answer.summary
        );
    }
    Ok(answer)
}

/// The sentence: the drop-out of the load first, then the turn-on.
fn summary(answer: &Answer, ready: &Ready, release: Release) -> String {
    let told = |key: &str| answer.number(key).is_some();
    let solid = ready.solid;
    let off = match release {
        Release::Already => "Does not hold {load}: the pull is {pull}.".into(),
        Release::Never => {
            let sure =
                ready.residual.as_ref().zip(answer.number("load")).is_some_and(|(r, load)| r.low_n > load);
            let does = if sure { "Does not" } else { "May not" };
            format!(
                "{does} let go of {{load}} by itself: {{residual_pull}} of pull are left without current."
            )
        }
        Release::After { .. } if !told("release_time") => {
            "How soon it lets go is not known well enough to be told.".into()
        }
        Release::After { .. } => {
            let eddies = if solid { ", eddies in its solid iron included" } else { "" };
            format!("Lets go {{release_time}} after it is switched off by {}{eddies}.", ready.own.label)
        }
    };
    // Behind solid iron pull follows current late.
    let on = match solid {
        _ if answer.item("rise_time").is_none() => "",
        true if told("pull_rise") => " On in {pull_rise} (95 % of the pull)",
        true => " On in a time not known well enough to be told",
        false => " On in {rise_time} (95 % of the current)",
    };
    format!("{off}{on}; {{stored_energy}} stored.")
}
