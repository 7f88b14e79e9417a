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
use crate::coupled::switch::iron::eddy_s;
use crate::coupled::switch::state::MAIN;
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnetic::effects::effects;
use crate::sheet::Sheet;

/// From this share of the circuit's time on a delay by the iron is told beside it.
const LATE: f64 = 0.1;

/// Answer a switching question.
///
/// # Errors
/// Faults of the sheet; a field that cannot be solved.
pub fn answer(sheet: &Sheet, magnet: &Magnet, question: &SwitchQuestion) -> Result<Answer, Failure> {
    let driven = Driven::of(sheet, magnet)?;
    let mut failing = Failing::new(sheet, magnet, &driven)?;
    let ready = Ready::new(sheet, magnet, &driven, question, failing.cold_ohm())?;
    let Ready { strength, residual, supply_v, steady_v, current, load_n, load_note, own, coil, .. } = &ready;
    let (supply_v, steady_v, current) = (*supply_v, *steady_v, *current);
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
    let told = Told { state: &state, strength, moved: &moved };
    told.on(&mut answer)?;
    told.coil(coil.resistance_ohm(), &mut answer)?;
    let own_off = state.off(own.clamp)?;
    told.off(&own_off, load_note, &mut answer)?;
    let mut curves = Vec::new();
    for clamp in compared(own, steady_v, current) {
        let off = told.off_by(&clamp, &mut answer)?;
        curves.push((clamp, off));
    }
    let delay_s = eddy_s(magnet, strength, &driven, current)?;
    let reversed_v = ready.holds_voltage.then(|| supply_v.min(steady_v));
    told.left(residual.as_ref(), delay_s, reversed_v, &mut answer)?;

    let drops_s = match own_off.release {
        Some(Release::After { time_s, .. }) => Some(time_s),
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
    told.series(&curves, &mut answer)?;
    answer.cautions.extend(caution::pull("pull", pull));
    if question.load_n.is_some() || sheet.has("workpiece.mass") || sheet.has("backup") {
        answer.cautions.extend(caution::power_failure("release_time"));
    }
    if let Some(Some(b)) = answer.item("rise_time").map(|i| match &i.value {
        Value::Number(m) => m.band.clone(),
        Value::Text(_) => None,
    }) {
        answer.next_measurements = advice::next(&b);
    }
    if !magnet.pulls() {
        answer.summary =
            "On in {rise_time} (95 % of the current); {stored_energy} stored. There is no workpiece: \
                          nothing is held."
                .into();
        return Ok(answer);
    }
    answer.summary =
        summary(&own.label, own_off.release.as_ref(), delay_s.is_some_and(|delay| delay > LATE * main[0]));
    let held = answer.number("backup_holds").zip(answer.number("hold_time"));
    // What does not hold at all has no store to speak of.
    let holds = !matches!(own_off.release, Some(Release::Already));
    if holds && held.is_some_and(|(holds_s, asked_s)| holds_s < asked_s) {
        answer.summary = format!(
            "The store does not hold the load for the time asked for: {{backup_holds}} of {{hold_time}}. {}",
            answer.summary
        );
    }
    Ok(answer)
}

/// The sentence. The circuit's times leave out that solid iron is late: where it is late by much, that stands beside them.
fn summary(clamp: &str, release: Option<&Release>, late: bool) -> String {
    let told = match release {
        Some(Release::After { .. }) => {
            format!("On in {{rise_time}} (95 % of the current); off by {clamp} in {{release_time}}")
        }
        Some(Release::Already) => {
            "Does not hold {load}: the pull is {pull}. On in {rise_time} (95 % of the current)".into()
        }
        _ => format!(
            "On in {{rise_time}} (95 % of the current); switched off by {clamp} it does not let go, for the pull that is \
             left holds the load"
        ),
    };
    if late {
        format!("{told}. Solid iron delays pull and release by about another {{eddy_delay}}.")
    } else {
        format!("{told}; {{stored_energy}} stored.")
    }
}
