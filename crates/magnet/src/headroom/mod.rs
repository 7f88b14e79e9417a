//! Headroom: how far the drive may be raised, and for how long, before the insulation's limit, for each way of cooling.

mod duty;
mod show;

use crate::answer::{Answer, Item};
use crate::band::Budget;
use crate::duty::{PREFERRED, VDE_CYCLE_S};
use crate::heat::{Body, Knobs, Limit, Pace, Reading, Setting, knob_ends, matters};
use crate::magnet::{Input, Magnet, Supply};
use crate::operating_point::{Driven, Strength};
use crate::quantity::{Dimension, UnitSystem};
use crate::question::HeadroomQuestion;
use crate::sheet::Sheet;
use crate::solved::Failure;
use crate::winding::Winding;

/// Levels where the question names none, from and to which share of the sheet's.
const LEVELS: usize = 20;
const FROM: f64 = 0.5;
const TO: f64 = 2.0;
/// Currents at which the field is solved.
const CURRENTS: usize = 12;
/// How closely the hot spot is brought to the limit, K.
const CLOSE_K: f64 = 0.01;
/// What that makes of the permitted power, relatively, in a rise of some 50 K.
const ROUNDING: f64 = 4e-4;
/// Longest on-time that is looked for, s; beyond it is as good as continuous.
const LONGEST_S: f64 = 1e6;

/// What a way of cooling permits.
struct Permit {
    word: String,
    setting: Setting,
    /// Power at which the hot spot stays at the limit, W; 0 if the limit is passed without current.
    power_w: f64,
    /// Mean of the winding then, K.
    mean_k: f64,
    /// How the hot spot's rise answers a step to that power: time in s and share of the rise.
    response: Vec<(f64, f64)>,
    /// At each level.
    rows: Vec<Row>,
    /// At the sheet's own.
    own: Row,
}

/// What one level of the drive does under one way of cooling.
struct Row {
    /// In the long run, K; NaN if it never settles.
    hot_k: f64,
    mean_k: f64,
    /// Longest time on, s: infinite if unlimited, 0 if not at all.
    cold_s: f64,
    warm_s: f64,
    /// 0 to 1.
    duty: f64,
}

/// Answer a headroom question.
///
/// # Errors
/// Faults of the question; a field or temperature that cannot be solved.
pub fn answer(
    sheet: &Sheet,
    magnet: &Magnet,
    reading: &Reading,
    question: &HeadroomQuestion,
) -> Result<Answer, Failure> {
    let driven = Driven::of(sheet, magnet)?;
    let by_current = sheet.has("drive.current");
    let set = if by_current { driven.supply.current_a } else { driven.supply.voltage_v };
    let mut levels = question.levels.clone();
    if levels.is_empty() {
        levels = (0..LEVELS).map(|k| set * (FROM + (TO - FROM) * k as f64 / (LEVELS - 1) as f64)).collect();
    }
    levels.sort_by(f64::total_cmp);
    levels.dedup();
    levels.retain(|l| *l > 0.0);
    if levels.is_empty() {
        let path = if by_current { "drive.current" } else { "drive.voltage" };
        return Err(sheet
            .fault(path, "no level above nothing was asked for", "such as --voltage 12..36V")
            .into());
    }
    let cycle_s = question.cycle_s.or_else(|| sheet.value("drive.cycle_time")).unwrap_or(VDE_CYCLE_S);
    let drive = Drive { driven: &driven, by_current };

    let mut answer = Answer::new("headroom", &magnet.name);
    let mut permits = Vec::new();
    let words = if question.coolings.is_empty() {
        vec![sheet.word("surroundings.cooling").unwrap_or("still air").to_string()]
    } else {
        question.coolings.clone()
    };
    let mut faults = Vec::new();
    let mut cases = Vec::new();
    for word in words {
        let mut other = sheet.clone();
        match other.set("surroundings.cooling", &word) {
            Err(fault) => faults.push(fault),
            Ok(()) => match Setting::read(&other, magnet, reading.setting.workpiece) {
                Err(more) => faults.extend(more),
                Ok(mut reading) => {
                    reading.setting = stated(sheet, reading.setting);
                    cases.push((word, other, reading));
                }
            },
        }
    }
    if !faults.is_empty() {
        return Err(Failure::Input(faults));
    }
    for (word, other, reading) in &cases {
        permits.push(permit(word, other, magnet, &drive, reading, &levels, cycle_s, set, &mut answer)?);
    }
    let coldest = permits.iter().map(|p| p.setting.coldest_k()).fold(f64::INFINITY, f64::min);
    let top = levels[levels.len() - 1].max(set);
    let most_a = drive.current_a(top, coldest);
    let (strength, _) = Strength::solve(sheet, magnet, &driven, most_a, CURRENTS, false)?;
    show::show(&permits, &drive, &levels, set, cycle_s, &strength, &mut answer);
    Ok(answer)
}

/// A setting whose limit is the sheet's own, where that is lower than its class's.
fn stated(sheet: &Sheet, mut setting: Setting) -> Setting {
    if let Some(kelvin) = sheet.value("limits.temperature").filter(|k| *k < setting.limit.kelvin) {
        setting.limit = Limit { name: "the sheet's limit".into(), kelvin };
    }
    setting
}

/// The drive as a level sets it.
struct Drive<'a> {
    driven: &'a Driven<'a>,
    by_current: bool,
}

impl Drive<'_> {
    fn winding(&self) -> &Winding {
        self.driven.winding
    }

    /// Current at a level and mean temperature, A; the supply's other limits hold.
    fn current_a(&self, level: f64, mean_k: f64) -> f64 {
        let s = self.driven.supply;
        let supply =
            if self.by_current { Supply { current_a: level, ..s } } else { Supply { voltage_v: level, ..s } };
        supply.current_a(self.winding().resistance_ohm(mean_k))
    }

    /// The level that makes a power in the winding at a mean temperature.
    fn level_for(&self, power_w: f64, mean_k: f64) -> f64 {
        let ohm = self.winding().resistance_ohm(mean_k);
        let current = (power_w / ohm).sqrt();
        if self.by_current { current } else { current * (ohm + self.driven.supply.lead_ohm) }
    }

    fn kind(&self) -> Dimension {
        if self.by_current { Dimension::Current } else { Dimension::Voltage }
    }
}

/// Power and mean temperature at which the hot spot settles at the limit.
fn permitted_power(body: &mut Body, winding: &Winding, guess_w: f64) -> Result<(f64, f64), Failure> {
    let limit = body.setting.limit.kelvin;
    let start = body.setting.ambient_k;
    let cold = (0.0, body.setting.coldest_k());
    if limit <= start {
        return Ok(cold);
    }
    // Rise goes nearly as a power of the heat: secants on the logarithms.
    let mut at = |power: f64| body.steady(|k| power / winding.resistance_ohm(k));
    let mut power = guess_w;
    let mut last: Option<(f64, f64)> = None;
    for _ in 0..40 {
        let Some(steady) = at(power)? else {
            power *= 0.3;
            if power < 1e-9 * guess_w {
                return Ok(cold);
            }
            last = None;
            continue;
        };
        let rise = steady.shot.hot_k - start;
        if (rise - (limit - start)).abs() < CLOSE_K {
            return Ok((power, steady.shot.mean_k));
        }
        // Below the air's temperature, by a cold plate: more power first.
        if rise <= 0.0 {
            power *= 4.0;
            last = None;
            continue;
        }
        let slope = match last {
            Some((p, r)) if (power / p).ln().abs() > 1e-9 => {
                ((rise / r).ln() / (power / p).ln()).clamp(0.3, 3.0)
            }
            _ => 0.9,
        };
        last = Some((power, rise));
        power *= ((limit - start) / rise).powf(1.0 / slope);
    }
    Err(Failure::Physics("no power was found at which the hot spot settles at the limit".into()))
}

#[allow(clippy::too_many_arguments, reason = "one question's whole frame")]
fn permit(
    word: &str,
    sheet: &Sheet,
    magnet: &Magnet,
    drive: &Drive<'_>,
    reading: &Reading,
    levels: &[f64],
    cycle_s: f64,
    set: f64,
    answer: &mut Answer,
) -> Result<Permit, Failure> {
    let winding = drive.winding();
    let setting = reading.setting.clone();
    let mut body = Body::new(magnet, winding, &setting)?;
    let (limit, ambient) = (setting.limit.kelvin, setting.ambient_k);
    let guess = drive.driven.power_w(ambient);
    let (power_w, mean_k) = permitted_power(&mut body, winding, guess)?;
    let cold = body.cold();
    let pace = Pace { end_s: LONGEST_S, tolerance_k: 0.1, step_max_s: f64::INFINITY, breaks_s: Vec::new() };
    let response = if power_w > 0.0 {
        let run =
            body.follow(&cold, |_, k| power_w / winding.resistance_ohm(k), &pace, |s| s.hot_k > limit - 0.1)?;
        run.shots.iter().map(|s| (s.time_s, (s.hot_k - ambient) / (limit - ambient))).collect()
    } else {
        Vec::new()
    };
    // Warm is as the sheet's own drive leaves it.
    let warm = body.steady(|k| drive.current_a(set, k).powi(2))?;
    let mut row = |level: f64| -> Result<Row, Failure> {
        let square = |k: f64| drive.current_a(level, k).powi(2);
        let steady = body.steady(square)?;
        let (hot_k, own_mean_k) = steady.map_or((f64::NAN, f64::NAN), |s| (s.shot.hot_k, s.shot.mean_k));
        let mut longest = |start: Option<&Vec<f64>>| -> Result<f64, Failure> {
            let Some(start) = start else { return Ok(0.0) };
            if hot_k <= limit && ambient <= limit {
                return Ok(f64::INFINITY);
            }
            if body.hottest_k(start) >= limit {
                return Ok(0.0);
            }
            let run = body.follow(start, |_, k| square(k), &pace, |s| s.hot_k >= limit)?;
            Ok(run.hot_reaches(limit).unwrap_or(f64::INFINITY))
        };
        let cold_s = longest(Some(&cold))?;
        let warm_s = longest(warm.as_ref().map(|w| &w.field))?;
        // While on in cycles the winding is about as warm as at the limit.
        let on_w = winding.power_w(drive.current_a(level, mean_k), mean_k);
        let duty = duty::permitted(&response, power_w / on_w, cycle_s);
        Ok(Row { hot_k, mean_k: own_mean_k, cold_s, warm_s, duty })
    };
    let own = row(set)?;
    let rows = levels.iter().map(|l| row(*l)).collect::<Result<Vec<Row>, Failure>>()?;
    let permit = Permit { word: word.into(), setting, power_w, mean_k, response, rows, own };
    limits(&permit, sheet, magnet, drive, reading, set, cycle_s, answer)?;
    Ok(permit)
}

/// What is uncertain about the surroundings, and of the magnet what matters for its heat; the drive's own voltage and
/// current are what is asked for.
fn uncertain<'a>(magnet: &'a Magnet, reading: &'a Reading) -> Vec<&'a Input> {
    let mut found: Vec<&Input> = reading.inputs.iter().collect();
    for input in magnet.inputs.iter().filter(|i| matters(i, reading.setting.workpiece)) {
        if !found.iter().any(|f| f.path == input.path) {
            found.push(input);
        }
    }
    found.retain(|i| i.standard > 0.0 && !["drive.voltage", "drive.current"].contains(&i.path.as_str()));
    found
}

/// The numbers of one way of cooling at its limit, with their bands.
#[allow(clippy::too_many_arguments, reason = "one question's whole frame")]
fn limits(
    permit: &Permit,
    sheet: &Sheet,
    magnet: &Magnet,
    drive: &Drive<'_>,
    reading: &Reading,
    set: f64,
    cycle_s: f64,
    answer: &mut Answer,
) -> Result<(), Failure> {
    let key = |what: &str| format!("{what}_{}", permit.word.replace([' ', '-'], "_"));
    let level = drive.level_for(permit.power_w, permit.mean_k);
    let mut power = Budget::new(permit.power_w);
    let mut most = Budget::new(level);
    // `sense`: 1 for one standard uncertainty up, -1 for one down.
    let mut add = |path: &str, label: &str, magnet: &Magnet, setting: &Setting, sense: f64| {
        let driven = Driven::of(sheet, magnet)?;
        let varied = Drive { driven: &driven, by_current: drive.by_current };
        let mut body = Body::new(magnet, varied.winding(), setting)?;
        let (w, k) = permitted_power(&mut body, varied.winding(), permit.power_w)?;
        power.add(path, label, sense * (w - permit.power_w));
        most.add(path, label, sense * (varied.level_for(w, k) - level));
        Ok::<(), Failure>(())
    };
    if permit.power_w > 0.0 {
        for input in uncertain(magnet, reading) {
            let at = |sense: f64| {
                let mut other = sheet.clone();
                other.set_value(&input.path, input.value + sense * input.standard);
                let magnet = Magnet::complete(&other).ok()?;
                let setting = Setting::read(&other, &magnet, permit.setting.workpiece).ok()?.setting;
                Some((magnet, stated(sheet, setting), sense))
            };
            // At the edge of what is possible the other side stands for both.
            let Some((magnet, setting, sense)) = at(1.0).or_else(|| at(-1.0)) else { continue };
            add(&input.path, &input.label, &magnet, &setting, sense)?;
        }
        for variant in magnet.excitation.as_ref().map_or(&[][..], |e| &e.variants) {
            let mut other = magnet.clone();
            if let Some(e) = &mut other.excitation {
                e.winding = Some(variant.winding.clone());
            }
            add(variant.path, variant.label, &other, &permit.setting, 1.0)?;
        }
        for (path, label, [_, high]) in knob_ends(magnet, &permit.setting)? {
            if high.capacity == Knobs::default().capacity {
                add(path, label, magnet, &Setting { knobs: high, ..permit.setting.clone() }, 1.0)?;
            }
        }
    }
    // Smaller changes are how closely the limit is met.
    power.drop_below(ROUNDING * permit.power_w);
    most.drop_below(ROUNDING * level);
    let banded = |item: Item, budget: &Budget| match budget.band() {
        Some(band) => item.with_band(band),
        None => item,
    };
    let what = if drive.by_current { "current" } else { "voltage" };
    let mut items = vec![
        banded(Item::number(&key("level"), &format!("highest {what} for good"), level, drive.kind()), &most)
            .with_note(format!("{:.2} times the sheet's", level / set)),
        banded(
            Item::number(
                &key("permitted_power"),
                "power in the winding then",
                permit.power_w,
                Dimension::Power,
            ),
            &power,
        ),
    ];
    if permit.power_w == 0.0 {
        let why = if permit.setting.limit.kelvin <= permit.setting.ambient_k {
            "the surroundings alone are as warm as the limit allows"
        } else {
            "no power leaves it for good"
        };
        items.push(Item::text(&key("none"), "continuous drive", why));
    }
    for preferred in PREFERRED.iter().filter(|p| p.duty < 1.0) {
        // Power at which this share of a cycle just reaches the limit, from the same response.
        let Some(on_w) = duty::power_at_duty(permit, preferred.duty, cycle_s) else { continue };
        let level = drive.level_for(on_w, permit.mean_k);
        items.push(
            Item::number(
                &key(&format!("level_{:.0}", 100.0 * preferred.duty)),
                &format!("highest {what} at {:.0} % ED", 100.0 * preferred.duty),
                level,
                drive.kind(),
            )
            .with_note(format!("S3, cycle of {}", Dimension::Time.text(cycle_s, None, UnitSystem::Si))),
        );
    }
    answer.group(&format!("With {}", permit.word), items);
    Ok(())
}
