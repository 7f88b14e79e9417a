//! The answer about switching: how fast on, how fast off by each clamp, what is left, what a power failure does.

use super::circuit::Coil;
use super::clamps::{compared, own_clamp};
use super::events::Release;
use super::iron::{eddy_s, residual};
use super::state::{State, with_residual};
use super::told::Told;
use super::{SwitchError, hold_up};
use crate::advice;
use crate::answer::{Answer, Assumption, Measure, Value};
use crate::caution;
use crate::cooling::GRAVITY;
use crate::magnet::Magnet;
use crate::operating_point::{Driven, Strength};
use crate::quantity::Dimension;
use crate::question::SwitchQuestion;
use crate::sheet::Sheet;
use crate::solved::{Failure, effects, flux_per_turn_wb, pull_n};

/// Currents at which the field is solved.
const CURRENTS: usize = 13;
/// Share of the pull that counts as released where no load is known.
const RELEASED: f64 = 0.05;

impl From<SwitchError> for Failure {
    fn from(e: SwitchError) -> Self {
        Self::Physics(e.to_string())
    }
}

/// Answer a switching question.
///
/// # Errors
/// Faults of the sheet; a field that cannot be solved.
pub fn answer(sheet: &Sheet, magnet: &Magnet, question: &SwitchQuestion) -> Result<Answer, Failure> {
    let driven = Driven::of(sheet, magnet)?;
    let kelvin = driven.excitation.kelvin;
    let ohm = driven.winding.resistance_ohm(kelvin);
    let lead = driven.supply.lead_ohm;
    let current = driven.current_a(kelvin);
    let steady_v = current * (ohm + lead);
    let mut answer = Answer::new("switch", &magnet.name);
    let supply_v = if driven.supply.voltage_v.is_finite() {
        driven.supply.voltage_v
    } else {
        answer.assumptions.push(Assumption {
            path: "drive.voltage_limit".into(),
            label: "voltage of the supply while the current rises".into(),
            value: Some(Measure { value: steady_v, dimension: Dimension::Voltage, band: None }),
            word: String::new(),
            reason: "not given; no more than the current needs in the end, the slowest case".into(),
        });
        steady_v
    };
    let holding = hold_up::Holding::read(sheet, steady_v);
    let most = current.max(holding.full_v() / (ohm + lead));
    let (strength, solved) = Strength::solve(sheet, magnet, &driven, most, CURRENTS, false)?;
    let residual = residual(magnet, &strength, &driven)?;
    let pull = strength.pull_n(current);
    let (load_n, load_note) = load(sheet, question, pull);
    let own = own_clamp(sheet, steady_v, current, &mut answer);
    let knots = strength.linkage.knots().to_vec();
    let linkage: Vec<f64> = knots.iter().map(|i| strength.linkage.value(*i).unwrap_or(f64::NAN)).collect();
    let coil = Coil::new(knots, linkage, ohm)?;
    let state = State {
        coil: &coil,
        pull: with_residual(&strength, residual.map_or(0.0, |r| r.value_n))?,
        current,
        supply_v,
        lead,
        load_n,
        own: own.clone(),
    };

    // What every uncertain input makes of the main times.
    let main = state.main()?;
    let mut moved = effects(sheet, magnet, &solved, Magnet::stage, |m, scene, drawing, solution| {
        let varied = Driven::of(sheet, m).map_err(|d| Failure::Input(vec![d]))?;
        let now = m.excitation.as_ref().and_then(|e| e.current_a).unwrap_or(current);
        let supply = if driven.supply.voltage_v.is_finite() { varied.supply.voltage_v } else { supply_v };
        let ohm = varied.winding.resistance_ohm(varied.excitation.kelvin);
        let flux = varied.excitation.turns * flux_per_turn_wb(scene, solution).abs();
        state.varied(now, ohm, flux, pull_n(scene, drawing, solution)?, supply)
    })?;
    moved.resize(main.len(), Vec::new());
    if let Some((path, label, other)) = state.own.a_little_more(sheet) {
        let varied = State { own: other, pull: state.pull.clone(), ..state };
        for ((list, now), then) in moved.iter_mut().zip(&main).zip(varied.main()?) {
            list.push((path.into(), label.into(), then - now));
        }
    }
    let told = Told { state: &state, strength: &strength, main: &main, moved: &moved };
    told.on(&mut answer)?;
    told.coil(ohm, &mut answer)?;
    let own_off = state.off(own.clamp)?;
    told.off(&own_off, load_note, &mut answer)?;
    let mut curves = Vec::new();
    for clamp in compared(&own, steady_v, current) {
        let off = told.off_by(&clamp, &mut answer)?;
        curves.push((clamp, off));
    }
    let delay_s = eddy_s(magnet, &strength, &driven, current)?;
    let reversed_v = driven.supply.voltage_v.is_finite().then(|| supply_v.min(steady_v));
    told.left(residual.as_ref(), delay_s, &own_off, reversed_v, &mut answer)?;

    let drops_s = match own_off.release {
        Some(Release::After { time_s, .. }) => Some(time_s),
        _ => None,
    };
    holding.fill(sheet, magnet, &driven, &strength, load_n, drops_s, &mut answer)?;
    told.series(&curves, &mut answer)?;
    answer.cautions.extend(caution::pull("pull", pull));
    answer.cautions.extend(caution::supply("voltage", supply_v));
    answer.cautions.extend(caution::power_failure("release_time"));
    if let Some(Some(b)) = answer.item("rise_time").map(|i| match &i.value {
        Value::Number(m) => m.band.clone(),
        Value::Text(_) => None,
    }) {
        answer.next_measurements = advice::next(&b);
    }
    answer.summary = format!(
        "On in {{rise_time}} (95 % of the current); off by {} in {}; {} stored.",
        own.label,
        match own_off.release {
            Some(Release::After { .. }) => "{release_time}",
            Some(Release::Already) => "no time, for the pull is below the load",
            _ => "never, for what pull is left holds the load",
        },
        "{stored_energy}"
    );
    Ok(answer)
}

/// What is to be let go, N, and where that comes from.
fn load(sheet: &Sheet, question: &SwitchQuestion, pull: f64) -> (f64, &'static str) {
    match (question.load_n, sheet.value("workpiece.mass")) {
        (Some(n), _) => (n, "as asked"),
        (None, Some(kg)) => (kg * GRAVITY, "the workpiece's weight"),
        (None, None) => (RELEASED * pull, "5 % of the pull, for the workpiece's mass is not given"),
    }
}
