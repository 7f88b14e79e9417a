//! How sure the temperatures are: every uncertain input moved by its standard uncertainty, one by one.

use crate::coupled::operating_point::{Driven, Feed, Pattern, Strength};
use crate::failure::Failure;
use crate::magnet::heat_factors::HeatFactors;
use crate::magnet::{Magnet, OWN_STEEL, WORKPIECE_STEEL};
use crate::quantity::Dimension;
use crate::sheet::Sheet;
use crate::thermal::body::Body;
use crate::thermal::cooling::contact::Estimate;
use crate::thermal::run::Pace;
use crate::thermal::section::across;
use crate::thermal::setting::Cooling;
use crate::thermal::setting::{Mounting, Reading, Setting};
use crate::thermal::snapshot::Snapshot;
use crate::thermal::{CEILING_K, ThermalError};
use crate::uncertainty::band::Budget;
use crate::uncertainty::input::Input;
use statrs::distribution::{ContinuousCDF, Normal};

/// Temperatures of a moment, in the order of [`PLACES`].
pub(crate) const PLACES: usize = 6;
/// Electrical numbers of a moment: resistance, current, power.
pub(crate) const ELECTRIC: usize = 3;

/// Where the numbers of one state stand.
pub(crate) const END: usize = 0;
pub(crate) const STEADY: usize = PLACES + ELECTRIC;
pub(crate) const COLD: usize = 2 * (PLACES + ELECTRIC);
pub(crate) const LOSS: usize = COLD + ELECTRIC;
pub(crate) const STEADY_LOSS: usize = LOSS + 3;

/// Numbers of one computation: temperatures at the end and in the long run, with resistance, current and power
/// then and cold, and what is lost of power, field and pull.
pub(crate) fn numbers(
    body: &Body,
    driven: &Driven<'_>,
    strength: &Strength,
    end: &Snapshot,
    steady: Option<&Snapshot>,
) -> Vec<f64> {
    let electric = |kelvin: f64| {
        [driven.winding.resistance_ohm(kelvin), driven.current_a(kelvin), driven.power_w(kelvin)]
    };
    let cold = electric(body.setting.ambient_k);
    let state = |s: &Snapshot| {
        let mut v = vec![s.hot_k, s.mean_k, s.surface_k, s.side_k, s.back_k, s.face_k];
        v.extend(electric(s.mean_k));
        v
    };
    let loss = |s: &Snapshot| {
        let hot = electric(s.mean_k);
        let field = strength.field_t(hot[1]).zip(strength.field_t(cold[1]));
        [
            1.0 - hot[2] / cold[2],
            field.map_or(f64::NAN, |(h, c)| 1.0 - h / c),
            1.0 - strength.pull_n(hot[1]) / strength.pull_n(cold[1]),
        ]
    };
    let mut all = state(end);
    all.extend(steady.map_or(vec![f64::NAN; PLACES + ELECTRIC], state));
    all.extend(cold);
    all.extend(loss(end));
    all.extend(steady.map_or([f64::NAN; 3], loss));
    all
}

/// A magnet, its setting and pattern: everything a varied computation needs.
pub(crate) struct Case {
    pub(crate) magnet: Magnet,
    pub(crate) setting: Setting,
}

impl Case {
    /// A quick computation: mean power instead of cycles, longer steps. None if it runs away.
    ///
    /// # Errors
    /// Faults of the sheet; temperatures that cannot be solved.
    pub(crate) fn numbers(
        &self,
        sheet: &Sheet,
        pattern: &Pattern,
        strength: &Strength,
        end_s: f64,
    ) -> Result<Option<Vec<f64>>, Failure> {
        let driven = Driven::of(sheet, &self.magnet)?;
        let mut body = Body::new(&self.magnet, driven.winding, &self.setting)?;
        let feed = Feed { driven, pattern: pattern.clone() };
        let start = body.start();
        let pace = Pace {
            end_s,
            tolerance_k: 0.03,
            step_max_s: f64::INFINITY,
            breaks_s: smooth_breaks(pattern, end_s),
        };
        let run = body.follow(&start, |t, k| smooth(&feed, t, k), &pace, |_| false)?;
        let steady = if pattern.duty() > 0.0 { body.steady(|k| feed.mean_square_a2(k))? } else { None };
        if run.ran_away_s.is_some() {
            return Ok(None);
        }
        let end = match pattern {
            Pattern::Continuous | Pattern::Cycles { .. } => run.last(),
            _ => run.warmest(),
        };
        Ok(Some(numbers(&body, &feed.driven, strength, end, steady.as_ref().map(|s| &s.shot))))
    }
}

/// Chance that the temperatures run away though by the best estimate they settle: that the hot spot of the long run
/// passes [`CEILING_K`], for a Gaussian error (JCGM 100:2008, G.1.3). The rise steepens towards runaway, so that this is
/// rather too little than too much.
pub(crate) fn chance_of_runaway(budgets: &[Budget]) -> f64 {
    let Some(hot) = budgets.get(STEADY).filter(|b| b.value.is_finite()) else { return 0.0 };
    let standard = hot.standard();
    if standard > 0.0 { Normal::standard().sf((CEILING_K - hot.value) / standard) } else { 0.0 }
}

/// Cycles are taken at their mean power: what is uncertain moves both alike.
fn smooth(feed: &Feed<'_>, time_s: f64, mean_k: f64) -> f64 {
    match feed.pattern {
        Pattern::Cycles { .. } => feed.mean_square_a2(mean_k),
        _ => feed.square_a2(time_s, mean_k),
    }
}

fn smooth_breaks(pattern: &Pattern, end_s: f64) -> Vec<f64> {
    match pattern {
        Pattern::Cycles { .. } => Vec::new(),
        _ => pattern.breaks_s(end_s),
    }
}

/// What may be uncertain about a magnet's temperatures and stands in its sheet.
pub(crate) fn matters(input: &Input, workpiece: bool) -> bool {
    let table = input.path.split('.').next().unwrap_or("");
    match table {
        "body" => input.path != "body.pole_recess",
        "winding" | "drive" | "surroundings" | "nameplate" => input.path != "surroundings.applied_field",
        "workpiece" => workpiece && input.path != "workpiece.friction",
        "calibration" => !OWN_STEEL.contains(&&*input.path) && !WORKPIECE_STEEL.contains(&&*input.path),
        _ => false,
    }
}

/// Budgets of all [`numbers`], and the numbers of the quick computation they are taken about.
pub(crate) fn budgets(
    sheet: &Sheet,
    magnet: &Magnet,
    reading: &Reading,
    pattern: &Pattern,
    strength: &Strength,
    end_s: f64,
    correlation: f64,
) -> Result<Vec<Budget>, Failure> {
    let workpiece = reading.setting.workpiece;
    let base = Case { magnet: magnet.clone(), setting: reading.setting.clone() };
    let about = base.numbers(sheet, pattern, strength, end_s)?.ok_or_else(|| {
        Failure::Physics("the temperatures leave the range in which they can be computed".into())
    })?;
    let mut budgets: Vec<Budget> = about.iter().copied().map(Budget::new).collect();
    let mut add = |path: &str, label: &str, ends: [Option<Vec<f64>>; 2]| {
        for (k, budget) in budgets.iter_mut().enumerate() {
            if about[k].is_nan() {
                continue;
            }
            // A side that runs away has no number: the other stands for both.
            let side = |end: &Option<Vec<f64>>| end.as_ref().map(|v| v[k]).filter(|v| v.is_finite());
            let effect = match (side(&ends[0]), side(&ends[1])) {
                (Some(low), Some(high)) => 0.5 * (high - low),
                (None, Some(high)) => high - about[k],
                (Some(low), None) => about[k] - low,
                (None, None) => f64::NAN,
            };
            budget.add(path, label, effect);
        }
    };
    let mut inputs: Vec<&Input> = magnet.inputs.iter().filter(|i| matters(i, workpiece)).collect();
    for input in &reading.inputs {
        if !inputs.iter().any(|i| i.path == input.path) {
            inputs.push(input);
        }
    }
    let work = magnet.watch.part(inputs.len());
    for input in inputs {
        let at = |value: f64| {
            let mut other = sheet.clone();
            other.set_value(&input.path, value);
            let magnet = Magnet::complete(&other).ok()?.watched(&magnet.watch);
            let setting = Setting::read(&other, &magnet, workpiece).ok()?.setting;
            let setting = Setting { start_k: base.setting.start_k, ..setting };
            Case { magnet, setting }.numbers(&other, pattern, strength, end_s).ok().flatten()
        };
        // One side is enough where the effect is small and nearly linear.
        let high = at(input.value + input.standard);
        let settles = |v: &[f64]| about.iter().zip(v).all(|(a, v)| a.is_nan() || v.is_finite());
        let enough = high.as_deref().is_some_and(settles);
        let ends = [if enough { None } else { at(input.value - input.standard) }, high];
        add(&input.path, &input.label, ends);
        work.done();
    }
    let variants = magnet.excitation.as_ref().map_or(&[][..], |e| &e.variants);
    for variant in variants {
        let mut other = base.magnet.clone();
        if let Some(e) = &mut other.excitation {
            e.winding = Some(variant.winding.clone());
        }
        let case = Case { magnet: other, setting: base.setting.clone() };
        add(
            variant.path,
            variant.label,
            [None, case.numbers(sheet, pattern, strength, end_s).ok().flatten()],
        );
    }
    for (path, label, factors) in factors(&base, correlation)? {
        let at = |k: HeatFactors| {
            let setting = Setting { factors: k, ..base.setting.clone() };
            Case { magnet: base.magnet.clone(), setting }
                .numbers(sheet, pattern, strength, end_s)
                .ok()
                .flatten()
        };
        add(path, label, factors.map(at));
    }
    for (budget, value) in budgets.iter_mut().zip(&about) {
        budget.drop_below(1e-7 * value.abs());
    }
    Ok(budgets)
}

/// Path and label of what no sheet holds, with the factors one standard uncertainty lower and higher.
type FactorEnds = Vec<(&'static str, &'static str, [HeatFactors; 2])>;

/// What no sheet holds (correlations, joints, what fills the winding), correlations taken as within their range.
pub(crate) fn factor_ends(magnet: &Magnet, setting: &Setting) -> Result<FactorEnds, ThermalError> {
    let case = Case { magnet: magnet.clone(), setting: setting.clone() };
    factors(&case, if setting.cooling == Cooling::Adiabatic { 0.0 } else { WITHIN_RANGE })
}

/// Relative standard uncertainty of densities times specific heats of steel, copper and resin (typical, unsourced).
const CAPACITY: f64 = 0.03;

/// Relative standard uncertainty of the heat given off in a real place, where no air is quite still and nothing stands
/// alone (common practice, no source).
const SURROUNDED: f64 = 0.15;

/// Relative standard uncertainty of a correlation within its range (typical, unsourced).
const WITHIN_RANGE: f64 = 0.1;

pub(crate) fn factors(base: &Case, correlation: f64) -> Result<FactorEnds, ThermalError> {
    let ends = |u: f64, set: fn(&mut HeatFactors, f64)| {
        [1.0 / (1.0 + u), 1.0 + u].map(|f| {
            let mut k = HeatFactors::default();
            set(&mut k, f);
            k
        })
    };
    let setting = &base.setting;
    let calibrated = setting.calibrated;
    let mut found = Vec::new();
    if correlation > 0.0 && !calibrated.outside {
        found.push((
            "surroundings.cooling",
            "correlations of convection",
            ends(correlation, |k, f| k.convection = f),
        ));
    }
    if matches!(setting.cooling, Cooling::StillAir | Cooling::ForcedAir(_)) && !calibrated.outside {
        let ends = ends(SURROUNDED, |k, f| k.outside = f);
        found.push(("calibration.thermal_conductance_scale", "draughts, leads and what stands near", ends));
    }
    // The ends of an estimate lie about two standard uncertainties apart on either side, by ratio.
    let spread = |joint: &Estimate| (joint.high / joint.low).powf(0.25) - 1.0;
    let mounted = !matches!(setting.mounting, Mounting::Hanging)
        && !matches!(setting.cooling, Cooling::ColdPlate { .. } | Cooling::Adiabatic);
    if mounted && !calibrated.outside {
        let ends = ends(spread(&setting.mount_joint), |k, f| k.mount = f);
        found.push(("surroundings.mounting", "joint to the mount", ends));
    }
    if let (Some(joint), false) = (&setting.inner_joint, calibrated.winding) {
        let ends = ends(spread(joint), |k, f| k.joints = f);
        found.push(("winding.impregnation", "joints between winding and iron", ends));
    }
    if !calibrated.winding {
        let ends = ends(setting.lining.thermal.conductivity_relative_standard, |k, f| k.lining = f);
        found.push(("winding.bobbin_wall", "conductivity between winding and iron", ends));
    }
    if !calibrated.winding
        && let Some(winding) = base.magnet.excitation.as_ref().and_then(|e| e.winding.as_ref())
    {
        let (_, relative) = across(winding, setting)?;
        found.push((
            "winding.impregnation",
            "conductivity across the winding",
            ends(relative, |k, f| k.winding = f),
        ));
    }
    if !calibrated.capacity {
        let ends = ends(CAPACITY, |k, f| k.capacity = f);
        found.push(("calibration.heat_capacity_scale", "heat capacities", ends));
    }
    Ok(found)
}

/// Kind of each of the [`numbers`] of a state after its temperatures.
pub(crate) const ELECTRIC_KINDS: [Dimension; ELECTRIC] =
    [Dimension::Resistance, Dimension::Current, Dimension::Power];
