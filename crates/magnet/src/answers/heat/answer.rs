//! The answer about heat: how warm after a while and in the end, and what it costs of pull.

use crate::answers::answer::Answer;
use crate::answers::caution;
use crate::answers::heat::shown::Shown;
use crate::answers::question::HeatQuestion;
use crate::coupled::heat::bands;
use crate::coupled::heat::warm_up::{WarmUp, correlation, warm_up};
use crate::coupled::operating_point::{Driven, Feed, Pattern, Recorded, Strength, over_pole_t};
use crate::diagnostic::Diagnostic;
use crate::failure::Failure;
use crate::magnet::assumption::Assumption;
use crate::magnet::{Magnet, Supply};
use crate::magnetic::effects::{Effects, effects};
use crate::magnetic::solved::pull_n;
use crate::quantity::{Dimension, UnitSystem};
use crate::sheet::Sheet;
use crate::thermal::COMPUTED;
use crate::thermal::body::Body;
use crate::thermal::setting::{Reading, Setting};
use crate::uncertainty::band::Budget;

/// Followed if the question names no time, s.
pub(crate) const USUAL_RUN_S: f64 = 1800.0;
/// Currents at which the field is solved.
pub(crate) const CURRENTS: usize = 9;

/// Answer a heat question.
///
/// # Errors
/// Faults of the sheet; a field or temperature that cannot be solved.
pub fn answer(sheet: &Sheet, magnet: &Magnet, question: &HeatQuestion) -> Result<Answer, Failure> {
    // The winding's temperature is what is computed here; one set for other answers does not count.
    let mut own = sheet.clone();
    own.remove(COMPUTED);
    let again;
    let (sheet, magnet) = if sheet.has(COMPUTED) {
        again = Magnet::complete(&own)?.watched(&magnet.watch);
        (&own, &again)
    } else {
        (sheet, magnet)
    };
    let driven = Driven::of(sheet, magnet)?;
    let mut reading = Setting::read(sheet, magnet, question.workpiece)?;
    reading.setting.start_k = question.start_k;
    let (pattern, more, remarks) = pattern(sheet, question, &driven)?;
    if let Some(headroom) = &question.headroom {
        return crate::answers::headroom::answer::answer(sheet, magnet, &reading, headroom);
    }
    let end_s = question.duration_s.unwrap_or(USUAL_RUN_S);
    if let Some(fault) = too_many_cycles(&pattern, end_s) {
        return Err(fault.into());
    }
    let most = greatest_a(&driven, &pattern, &reading.setting);
    let (strength, fields) = Strength::solve(sheet, magnet, &driven, most, (CURRENTS, &[]), true)?;
    let mut body = Body::new(magnet, driven.winding, &reading.setting)?;
    let feed = Feed { driven, pattern };
    let warm = warm_up(&mut body, &feed, end_s)?;
    let correlation = correlation(&body, &warm);

    let mut answer = Answer::new("heat", &magnet.name);
    answer.assumptions.extend(reading.assumptions.iter().cloned());
    answer.assumptions.extend(more);
    let budgets = match warm.run.ran_away_s {
        None => bands::budgets(sheet, magnet, &reading, &feed.pattern, &strength, end_s, correlation.0)?,
        Some(_) => Vec::new(),
    };
    let mut unknown: Vec<&String> = budgets.iter().flat_map(|b| &b.unknown).collect();
    unknown.sort();
    unknown.dedup();
    answer.warnings.extend(
        unknown
            .into_iter()
            .map(|label| format!("the bands leave out: {label}, whose effect could not be computed")),
    );
    answer.warnings.extend(bright(sheet, magnet, &reading, &feed, &warm));
    let chance = bands::chance_of_runaway(&budgets);
    if chance >= WORTH_A_WORD {
        answer.warnings.push(format!(
            "thermal runaway: by the best estimate the winding settles, but the chance that it does not is about {:.0} %",
            (100.0 * chance).max(1.0)
        ));
        answer.cautions.extend(caution::runaway("hot_spot_steady"));
    }
    // Cold pull with everything that the field depends on.
    let cold_a = feed.driven.current_a(reading.setting.ambient_k);
    let on_pull = effects(sheet, magnet, &fields.closed, Magnet::stage, |_, scene, drawing, solution| {
        Ok(vec![pull_n(scene, drawing, solution)?])
    })?;
    let pull = cold_budget(strength.pull_n(cold_a), on_pull, strength.error);
    let field = match (strength.field_t(cold_a), fields.open) {
        (Some(value), Some(open)) => {
            let standoff_m = strength.standoff_m;
            let on_field = effects(sheet, magnet, &open, Magnet::open_stage, |m, _, _, solution| {
                Ok(vec![over_pole_t(m, standoff_m, solution)])
            })?;
            let mut budget = cold_budget(value, on_field, strength.field_error);
            if let Some(q) = sheet.quantity("probe.standoff").filter(|q| q.half_width > 0.0) {
                let u = q.standard_uncertainty();
                let at = |height_m: f64| over_pole_t(magnet, height_m, open.ladder.solution());
                // Read at the greatest current of the curves; the field's shape hardly depends on it.
                let relative = 0.5 * (at(q.value + u) - at(q.value - u)) / at(q.value);
                budget.add("probe.standoff", "height of the probe", relative * value);
            }
            Some(budget)
        }
        _ => None,
    };
    let correlations = sheet.correlations()?;
    let shown = Shown {
        warm: &warm,
        budgets: &budgets,
        feed: &feed,
        strength: &strength,
        pull: &pull,
        field: field.as_ref(),
        body: &body,
        correlations: &correlations,
    };
    shown.fill(&mut answer, end_s);
    answer.warnings.extend(correlation.1);
    answer.warnings.extend(remarks);
    answer.warnings.extend(recording_ends(&feed.pattern, end_s));
    if feed.pattern.reverses() {
        answer.warnings.push(
            "the profile drives the magnet both ways: heat and the pull of soft iron follow the size of the current, \
             and all is shown by size; while it reverses the pull passes through nothing"
                .into(),
        );
    }
    if magnet.symmetry != coilwright_fem::drawing::Symmetry::Axial {
        answer.warnings.push(
            "the heat of the end turns is taken as set free in the slice, and the two ends of the depth as giving \
             off like its other surfaces"
                .into(),
        );
    }
    Ok(answer)
}

/// Emissivity of bright zinc or nickel (0.05 to 0.3; common practice, no source).
const BRIGHT: f64 = 0.15;
/// What a finish may change before it is asked for, K.
const WORTH_ASKING_K: f64 = 3.0;

/// A finish that is not given is taken as painted or oxidised; bright metal lies outside that band, so that what it would
/// make of the hot spot is said.
fn bright(
    sheet: &Sheet,
    magnet: &Magnet,
    reading: &Reading,
    feed: &Feed<'_>,
    warm: &WarmUp,
) -> Option<String> {
    let settled = warm.steady.as_ref().filter(|_| !sheet.has("surroundings.emissivity"))?;
    let setting = Setting { emissivity: BRIGHT, ..reading.setting.clone() };
    let mut body = Body::new(magnet, feed.driven.winding, &setting).ok()?;
    let hot_k = body.steady(|k| feed.mean_square_a2(k)).ok()??.shot.hot_k;
    let text = |k: f64| Dimension::Temperature.text(k, None, UnitSystem::Si);
    (hot_k - settled.shot.hot_k > WORTH_ASKING_K).then(|| {
        format!(
            "the finish is not given and is taken as painted or oxidised: were it bright zinc or nickel, the hot spot would \
             reach {} in the long run; give `surroundings.emissivity`",
            text(hot_k)
        )
    })
}

/// Cycles that are followed one by one.
const MOST_CYCLES: f64 = 1000.0;

/// That a run is longer than its cycles can be followed one by one.
fn too_many_cycles(pattern: &Pattern, end_s: f64) -> Option<Diagnostic> {
    let Pattern::Cycles { cycle_s, .. } = pattern else { return None };
    let cycles = end_s / cycle_s;
    (cycles > MOST_CYCLES).then(|| {
        let most = Dimension::Time.text(MOST_CYCLES * cycle_s, None, UnitSystem::Si);
        Diagnostic::fault(
            format!(
                "the run has {cycles:.0} cycles of the drive, of which at most {MOST_CYCLES:.0} are followed"
            ),
            format!("what it comes to in the long run is told whatever the duration: ask for {most} at most"),
        )
    })
}

/// Chance of a runaway from which on it is told.
const WORTH_A_WORD: f64 = 0.005;

/// When the supply is on, what was assumed about that, and what to mind.
pub(crate) fn pattern(
    sheet: &Sheet,
    question: &HeatQuestion,
    driven: &Driven<'_>,
) -> Result<(Pattern, Vec<Assumption>, Vec<String>), Failure> {
    let (pattern, assumptions) = Pattern::read(sheet)?;
    match &question.profile {
        Some((file, text)) => {
            let profile = crate::coupled::heat::profile::parse(text, file, driven)?;
            Ok((profile.pattern, assumptions, profile.remarks))
        }
        None if sheet.has("drive.profile") && question.headroom.is_none() => {
            Err(sheet.fault("drive.profile", "the profile's file was not read", "").into())
        }
        None => Ok((pattern, assumptions, Vec::new())),
    }
}

/// Where a recording and the run do not end together.
fn recording_ends(pattern: &Pattern, end_s: f64) -> Option<String> {
    let Pattern::Profile { rows, .. } = pattern else { return None };
    let last_s = rows.last()?.0;
    let time = |s: f64| Dimension::Time.text(s, None, UnitSystem::Si);
    if last_s < end_s {
        Some(format!("the recorded profile ends at {}: from there on the drive is off", time(last_s)))
    } else if last_s > end_s {
        Some(format!(
            "the recorded profile goes on to {}, the run ends at {}: `--duration` follows more of it",
            time(last_s),
            time(end_s)
        ))
    } else {
        None
    }
}

/// The greatest current that can flow, A.
pub(crate) fn greatest_a(driven: &Driven<'_>, pattern: &Pattern, setting: &Setting) -> f64 {
    let coldest = setting.coldest_k();
    let most = match pattern.greatest() {
        Some((amperes, Recorded::Current)) => amperes,
        Some((volts, Recorded::Voltage)) => {
            Supply { voltage_v: volts, ..driven.supply }.current_a(driven.winding.resistance_ohm(coldest))
        }
        None => 0.0,
    };
    most.max(driven.current_a(coldest))
}

/// The budget of a cold pull or field: everything the magnet's field depends on, and the solver.
fn cold_budget(value: f64, effects: Effects, relative_error: f64) -> Budget {
    let mut budget = Budget::new(value);
    for (path, label, effect) in effects.into_iter().next().unwrap_or_default() {
        budget.add(&path, &label, effect);
    }
    budget.add("solver", "numerical error", 0.5 * relative_error * value);
    budget
}
