//! Headroom: how far the drive may be raised, and for how long, before the insulation's limit, for each way of cooling.

use crate::answers::answer::{Answer, Item};
use crate::answers::caution;
use crate::answers::headroom::permit::{Bound, Cap, Drive, Permit, Permitted, Place, Row, least_of};
use crate::answers::headroom::{duty, show};
use crate::answers::question::HeadroomQuestion;
use crate::coupled::heat::bands::{factor_ends, matters};
use crate::coupled::heat::warm_up::periodic;
use crate::coupled::operating_point::{Driven, Pattern, Strength};
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnet::heat_factors::HeatFactors;
use crate::magnet::winding::Winding;
use crate::quantity::{Dimension, UnitSystem};
use crate::sheet::Sheet;
use crate::thermal::body::Body;
use crate::thermal::duty::{PREFERRED, VDE_CYCLE_S};
use crate::thermal::run::Pace;
use crate::thermal::setting::{Cooling, Limit, Reading, Setting};
use crate::thermal::snapshot::Snapshot;
use crate::uncertainty::band::Budget;
use crate::uncertainty::input::Input;
use rayon::prelude::*;

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
/// Least share of what heat permits that is called safe, however wide the band.
const LEAST_SAFE: f64 = 0.05;
/// How often what superposition gives for cycles is corrected by following them, and how near their rise comes to the limit's.
const CORRECTIONS: usize = 3;
const NEAR: f64 = 2e-3;
/// Heat goes as this power of the rise, about: films grow with it.
const HEAT_BY_RISE: f64 = 1.15;
/// Longest on-time that is looked for, s; beyond it is as good as continuous.
const LONGEST_S: f64 = 1e6;

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
    let (strength, _) = Strength::solve(sheet, magnet, &driven, most_a, (CURRENTS, &[]), false)?;
    let (pattern, _) = Pattern::read(sheet)?;
    let frame =
        show::Frame { drive: &drive, levels: &levels, set, cycle_s, steady: pattern == Pattern::Continuous };
    show::show(&permits, &frame, &strength, &mut answer)?;
    Ok(answer)
}

/// A setting whose limit is the sheet's own, where that is lower than its class's.
fn stated(sheet: &Sheet, mut setting: Setting) -> Setting {
    if let Some(kelvin) = sheet.value("limits.temperature").filter(|k| *k < setting.limit.kelvin) {
        setting.limit = Limit { name: "the sheet's limit".into(), kelvin };
    }
    setting
}

/// What stands in the middle of iterations on cycles: the share of a cycle that the drive is on, the number that is looked for,
/// and the square of the current by mean temperature while on.
type Cycle<'a> = (f64, f64, Box<dyn Fn(f64) -> f64 + 'a>);

/// A number of cycles brought so near that the warmest place in a long row of them just keeps every limit: the cycles are
/// followed until they repeat. `next` gives the cycle for a number and by how much the rise that is left is larger or smaller.
fn cycles<'a>(
    body: &mut Body,
    bounds: &[Bound],
    cycle_s: f64,
    guess: f64,
    next: impl Fn(f64, f64) -> Cycle<'a>,
) -> Result<f64, Failure> {
    let ambient = body.setting.ambient_k;
    let (mut share, mut number, mut square) = next(guess, 1.0);
    for _ in 0..CORRECTIONS {
        if share <= 0.0 || share >= 1.0 {
            break;
        }
        let over = match body.steady(|k| share * square(k))? {
            Some(steady) => {
                let warmest = periodic(body, &square, (share * cycle_s, cycle_s), &steady)?;
                let left = |b: &Bound| (b.limit_k - ambient) / (b.place.of(&warmest) - ambient);
                bounds.iter().map(left).fold(f64::INFINITY, f64::min)
            }
            None => 0.5,
        };
        (share, number, square) = next(number, over.powf(HEAT_BY_RISE));
        if (over - 1.0).abs() < NEAR {
            break;
        }
    }
    Ok(number)
}

/// Power at which a place settles at its limit, and what else is so warm then.
fn permitted_power(
    body: &mut Body,
    winding: &Winding,
    guess_w: f64,
    (place, limit): (Place, f64),
) -> Result<Permitted, Failure> {
    let start = body.setting.ambient_k;
    let cold = Permitted { power_w: 0.0, mean_k: body.setting.coldest_k(), hot_k: start, surface_k: start };
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
        let rise = place.of(&steady.shot) - start;
        if (rise - (limit - start)).abs() < CLOSE_K {
            let Snapshot { mean_k, hot_k, surface_k, .. } = steady.shot;
            return Ok(Permitted { power_w: power, mean_k, hot_k, surface_k });
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
    Err(Failure::Physics("no power was found at which the magnet settles at its limit".into()))
}

/// What limits the level besides heat: the sheet's limits of current and power, and what the supply can give.
/// A winding takes most current cold, and most of a supply's voltage warm.
fn caps(sheet: &Sheet, drive: &Drive<'_>, coldest_k: f64, warm_k: f64) -> Vec<Cap> {
    let supply = drive.driven.supply;
    let ohm = |kelvin: f64| drive.winding().resistance_ohm(kelvin) + supply.lead_ohm;
    let mut found = Vec::new();
    let mut add = |name, level: f64| {
        if level.is_finite() {
            found.push(Cap { name, level });
        }
    };
    if drive.by_current {
        add("the supply's voltage limit", supply.voltage_v / ohm(warm_k));
        add("the supply's power limit", (supply.power_w / ohm(warm_k)).sqrt());
    } else {
        add("the supply's current limit", supply.current_a * ohm(warm_k));
        add("the supply's power limit", (supply.power_w * ohm(warm_k)).sqrt());
    }
    if let Some(amperes) = sheet.value("limits.current").filter(|a| drive.by_current || *a < supply.current_a)
    {
        add("`limits.current`", if drive.by_current { amperes } else { amperes * ohm(coldest_k) });
    }
    if let Some(watts) = sheet.value("limits.power") {
        add("`limits.power`", drive.level_for(watts, coldest_k).min(drive.level_for(watts, warm_k)));
    }
    found
}

/// The pace at which a run is followed for as long as it takes to reach a limit.
fn at_length() -> Pace {
    Pace { end_s: LONGEST_S, tolerance_k: 0.1, step_max_s: f64::INFINITY, breaks_s: Vec::new() }
}

/// Mean temperature of the winding at a level and share of a cycle, as the supply's limits let it get, K: what they hold leaves it
/// colder than at the limit of its heat. `at_limit_k` where it never settles.
fn held_k(
    body: &mut Body,
    drive: &Drive<'_>,
    (share, level): (f64, f64),
    at_limit_k: f64,
) -> Result<f64, Failure> {
    let steady = body.steady(|k| share * drive.current_a(level, k).powi(2))?;
    Ok(steady.map_or(at_limit_k, |steady| steady.shot.mean_k.min(at_limit_k)))
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
    let ambient = setting.ambient_k;
    let guess = drive.driven.power_w(ambient);
    let cold = body.cold();
    let pace = at_length();
    let mut bounds = Vec::new();
    let surface = sheet.value("limits.surface_temperature").map(|k| ("`limits.surface_temperature`", k));
    let hot = (format!("the hot spot, {}", setting.limit.name), Place::HotSpot, setting.limit.kelvin);
    for (name, place, limit_k) in
        std::iter::once(hot).chain(surface.map(|(name, k)| (name.into(), Place::Surface, k)))
    {
        let heat = permitted_power(&mut body, winding, guess, (place, limit_k))?;
        let response = if heat.power_w > 0.0 {
            let square = |k: f64| heat.power_w / winding.resistance_ohm(k);
            let run = body.follow(&cold, |_, k| square(k), &pace, |s| place.of(s) > limit_k - 0.1)?;
            run.shots.iter().map(|s| (s.time_s, (place.of(s) - ambient) / (limit_k - ambient))).collect()
        } else {
            Vec::new()
        };
        bounds.push(Bound { name, place, limit_k, heat, response });
    }
    let mut permit = Permit {
        word: word.into(),
        setting,
        bounds,
        caps: Vec::new(),
        safe: 1.0,
        rows: Vec::new(),
        own: Row::default(),
    };
    let coldest_k = permit.setting.coldest_k();
    let Permitted { power_w, mean_k, .. } = permit.tightest().heat;
    let level = drive.level_for(power_w, mean_k);
    permit.caps = caps(sheet, drive, coldest_k, held_k(&mut body, drive, (1.0, level), mean_k)?);
    let varied = varied(&permit, sheet, magnet, reading)?;
    let budgets = budgets(&permit, sheet, magnet, drive, &varied)?;
    let share = |most: &Budget| most.band().map_or(1.0, |b| (b.low / most.value).clamp(LEAST_SAFE, 1.0));
    permit.safe = share(&budgets.most);
    let (safe, elsewhere) = (permit.safe, share(&budgets.elsewhere));
    let (bounds, binds) = (&permit.bounds, permit.tightest().place);
    // Warm is as the sheet's own drive leaves it.
    let warm = body.steady(|k| drive.current_a(set, k).powi(2))?;
    let row = |level: f64| -> Result<Row, Failure> {
        let mut body = Body::new(magnet, winding, &permit.setting)?;
        // At the unfavourable end it is as if the current were higher by the band of what is permitted; of where no limit binds,
        // by the band of what makes it as warm.
        let at = |share: f64| move |k: f64| (share * drive.current_a(level, k)).powi(2);
        let mut shot = |share: f64| body.steady(at(share)).map(|steady| steady.map(|s| s.shot));
        let steady = shot(1.0)?;
        let bound = [shot(safe)?, shot(1.0 / safe)?];
        let other = [shot(elsewhere)?, shot(1.0 / elsewhere)?];
        let [inside, outside] = if binds == Place::HotSpot { [bound, other] } else { [other, bound] };
        let high = bound[1];
        let square = at(1.0 / safe);
        let kept = high.as_ref().is_some_and(|s| bounds.iter().all(|b| b.place.of(s) <= b.limit_k))
            && bounds.iter().all(|b| ambient <= b.limit_k);
        // From a field, with the temperature of its surface.
        let mut longest = |start: Option<(&Vec<f64>, f64)>| -> Result<f64, Failure> {
            let Some((start, surface_k)) = start else { return Ok(0.0) };
            if kept {
                return Ok(f64::INFINITY);
            }
            let hottest_k = body.hottest_k(start);
            let at_start = |b: &Bound| if b.place == Place::HotSpot { hottest_k } else { surface_k };
            if bounds.iter().any(|b| at_start(b) >= b.limit_k) {
                return Ok(0.0);
            }
            let beyond = |s: &Snapshot| bounds.iter().any(|b| b.place.of(s) >= b.limit_k);
            let run = body.follow(start, |_, k| square(k), &pace, beyond)?;
            let reached = bounds.iter().filter_map(|b| match b.place {
                Place::HotSpot => run.hot_reaches(b.limit_k),
                Place::Surface => run.reaches(b.limit_k, |s| s.surface_k),
            });
            Ok(reached.fold(f64::INFINITY, f64::min))
        };
        // Where no heat leaves, no level is permitted that a band could be of: what is unsure is the time.
        let sooner = match permit.setting.cooling {
            Cooling::Adiabatic => unfavourable_time(&permit, sheet, magnet, drive, (level, &varied))?,
            _ => 1.0,
        };
        let cold_s = sooner * longest(Some((&cold, ambient)))?;
        let warm_s = sooner * longest(warm.as_ref().map(|w| (&w.field, w.shot.surface_k)))?;
        // While on in cycles the winding is about as warm as at the limit.
        let duties = bounds.iter().map(|b| {
            let on_w = winding.power_w(drive.current_a(level, b.heat.mean_k), b.heat.mean_k);
            duty::permitted(&b.response, safe * safe * b.heat.power_w / on_w, cycle_s)
        });
        let duty = duties.fold(1.0, f64::min);
        let duty = cycles(&mut body, bounds, cycle_s, duty, |share, over| {
            let duty = (share * over).min(1.0);
            (duty, duty, Box::new(square))
        })?;
        let of = |s: Option<Snapshot>, value: fn(&Snapshot) -> f64| s.as_ref().map_or(f64::NAN, value);
        let [hot, surface]: [fn(&Snapshot) -> f64; 2] = [|s| s.hot_k, |s| s.surface_k];
        Ok(Row {
            hot_k: of(steady, hot),
            mean_k: of(steady, |s| s.mean_k),
            surface_k: of(steady, surface),
            hot_band_k: (of(inside[0], hot), of(inside[1], hot)),
            surface_band_k: (of(outside[0], surface), of(outside[1], surface)),
            kept,
            cold_s,
            warm_s,
            duty,
        })
    };
    let all: Vec<f64> = std::iter::once(set).chain(levels.iter().copied()).collect();
    let mut rows = all.par_iter().map(|level| row(*level)).collect::<Result<Vec<Row>, Failure>>()?;
    (permit.own, permit.rows) = (rows.remove(0), rows);
    limits(&permit, &budgets, sheet, drive, &mut body, set, cycle_s, answer)?;
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

/// Share of the time to the hot spot's limit from cold that is left at the unfavourable end of its 95 % band, where no heat leaves.
fn unfavourable_time(
    permit: &Permit,
    sheet: &Sheet,
    magnet: &Magnet,
    drive: &Drive<'_>,
    (level, varied): (f64, &[Varied]),
) -> Result<f64, Failure> {
    let limit_k = permit.setting.limit.kelvin;
    let time_s = |magnet: &Magnet, setting: &Setting| -> Result<Option<f64>, Failure> {
        let driven = Driven::of(sheet, magnet)?;
        let drive = Drive { driven: &driven, by_current: drive.by_current };
        let mut body = Body::new(magnet, drive.winding(), setting)?;
        let cold = body.cold();
        let square = |_: f64, k: f64| drive.current_a(level, k).powi(2);
        Ok(body.follow(&cold, square, &at_length(), |s| s.hot_k >= limit_k)?.hot_reaches(limit_k))
    };
    let Some(usual_s) = time_s(magnet, &permit.setting)? else { return Ok(1.0) };
    let mut time = Budget::new(usual_s);
    for (path, label, magnet, setting, sense) in varied {
        let then_s = time_s(magnet, setting)?.unwrap_or(f64::NAN);
        time.add(path, label, sense * (then_s - usual_s));
    }
    Ok(time.band().map_or(1.0, |band| (band.low / usual_s).clamp(LEAST_SAFE, 1.0)))
}

/// Path, label, magnet and setting with one thing otherwise, and 1 for one standard uncertainty up, -1 for one down.
type Varied = (String, String, Magnet, Setting, f64);

/// The magnet in its setting with everything uncertain, one by one, a standard uncertainty off.
fn varied(
    permit: &Permit,
    sheet: &Sheet,
    magnet: &Magnet,
    reading: &Reading,
) -> Result<Vec<Varied>, Failure> {
    let mut found = Vec::new();
    for input in uncertain(magnet, reading) {
        let at = |sense: f64| {
            let there = input.value + sense * input.standard;
            let mut other = sheet.clone();
            other.set_value(&input.path, there);
            let magnet = Magnet::complete(&other).ok()?.watched(&magnet.watch);
            let setting = Setting::read(&other, &magnet, permit.setting.workpiece).ok()?.setting;
            let possible = (input.limits[0]..=input.limits[1]).contains(&there);
            possible.then(|| (input.path.clone(), input.label.clone(), magnet, stated(sheet, setting), sense))
        };
        // At the edge of what is possible the other side stands for both.
        found.extend(at(1.0).or_else(|| at(-1.0)));
    }
    for variant in magnet.excitation.as_ref().map_or(&[][..], |e| &e.variants) {
        let mut other = magnet.clone();
        if let Some(e) = &mut other.excitation {
            e.winding = Some(variant.winding.clone());
        }
        found.push((variant.path.into(), variant.label.into(), other, permit.setting.clone(), 1.0));
    }
    for (path, label, [_, factors]) in factor_ends(magnet, &permit.setting)? {
        let setting = Setting { factors, ..permit.setting.clone() };
        found.push((path.into(), label.into(), magnet.clone(), setting, 1.0));
    }
    Ok(found)
}

/// What is uncertain of the power that heat permits and of the level that makes it.
struct Budgets {
    power: Budget,
    most: Budget,
    /// Of the level at which the place that no limit binds gets as warm as it is then.
    elsewhere: Budget,
}

/// Least rise of a place over the surroundings by which a level is found, K.
const LEAST_RISE_K: f64 = 1.0;

fn budgets(
    permit: &Permit,
    sheet: &Sheet,
    magnet: &Magnet,
    drive: &Drive<'_>,
    varied: &[Varied],
) -> Result<Budgets, Failure> {
    let bound = permit.tightest();
    let Permitted { power_w, mean_k, surface_k, .. } = bound.heat;
    let level = drive.level_for(power_w, mean_k);
    let [mut power, mut most, mut elsewhere] = [power_w, level, level].map(Budget::new);
    let (other, other_k) = match bound.place {
        Place::HotSpot => (Place::Surface, surface_k),
        Place::Surface => (Place::HotSpot, bound.heat.hot_k),
    };
    // `sense`: 1 for one standard uncertainty up, -1 for one down.
    let mut add = |path: &str, label: &str, magnet: &Magnet, setting: &Setting, sense: f64| {
        let driven = Driven::of(sheet, magnet)?;
        let varied = Drive { driven: &driven, by_current: drive.by_current };
        let mut body = Body::new(magnet, varied.winding(), setting)?;
        let limit_k = if bound.place == Place::HotSpot { setting.limit.kelvin } else { bound.limit_k };
        let heat = permitted_power(&mut body, varied.winding(), power_w, (bound.place, limit_k))?;
        power.add(path, label, sense * (heat.power_w - power_w));
        most.add(path, label, sense * (varied.level_for(heat.power_w, heat.mean_k) - level));
        // Kept as cool as the air by something else, it is as sure as what binds.
        let there = match other_k - permit.setting.ambient_k > LEAST_RISE_K {
            true => permitted_power(&mut body, varied.winding(), power_w, (other, other_k))?,
            false => heat,
        };
        elsewhere.add(path, label, sense * (varied.level_for(there.power_w, there.mean_k) - level));
        Ok::<(), Failure>(())
    };
    if power_w > 0.0 {
        let work = magnet.watch.part(varied.len());
        for (path, label, magnet, setting, sense) in varied {
            if setting.factors.capacity == HeatFactors::default().capacity {
                add(path, label, magnet, setting, *sense)?;
            }
            work.done();
        }
    }
    // Smaller changes are how closely the limit is met.
    power.drop_below(ROUNDING * power_w);
    most.drop_below(ROUNDING * level);
    elsewhere.drop_below(ROUNDING * level);
    Ok(Budgets { power, most, elsewhere })
}

/// The numbers of one way of cooling at its limit, with their bands.
#[allow(clippy::too_many_arguments, reason = "one question's whole frame")]
fn limits(
    permit: &Permit,
    Budgets { power, most, .. }: &Budgets,
    sheet: &Sheet,
    drive: &Drive<'_>,
    body: &mut Body,
    set: f64,
    cycle_s: f64,
    answer: &mut Answer,
) -> Result<(), Failure> {
    let key = |what: &str| format!("{what}_{}", permit.word.replace([' ', '-'], "_"));
    let bound = permit.tightest();
    let Permitted { power_w, mean_k, surface_k, .. } = bound.heat;
    let level = drive.level_for(power_w, mean_k);
    let banded = |item: Item, budget: &Budget| match budget.band() {
        Some(band) => item.with_band(band.cut([0.0, f64::INFINITY])),
        None => item,
    };
    let what = if drive.by_current { "current" } else { "voltage" };
    let (lasting, by) = permit.capped(level, &bound.name);
    let text = |level: f64| drive.kind().text(level, None, UnitSystem::Si);
    let highest = Item::number(&key("level"), &format!("highest {what} continuously"), lasting, drive.kind());
    let (safe, safe_by) = permit.capped(permit.safe * level, &bound.name);
    let ratio = format!("{:.2} times the sheet's; what binds is {by}", lasting / set);
    let mut items = vec![
        Item::number(&key("level_safe"), &format!("safe {what}, continuously"), safe, drive.kind())
            .with_note(format!("the lower end of what heat permits; what binds is {safe_by}")),
        if lasting < level {
            highest.with_note(format!("{ratio}; heat alone permits {}", text(level)))
        } else {
            banded(highest, most).with_note(ratio)
        },
        banded(
            Item::number(
                &key("permitted_power"),
                "power in the winding that heat permits",
                power_w,
                Dimension::Power,
            ),
            power,
        ),
    ];
    if power_w == 0.0 {
        let why = if bound.limit_k <= permit.setting.ambient_k {
            "the surroundings alone are as warm as the limit allows"
        } else {
            "no heat leaves it"
        };
        items.push(Item::text(&key("none"), "continuous drive", why));
    }
    // The sheet's own duty stands among the usual ones.
    let own = sheet.value("drive.duty").filter(|d| *d > 0.0 && *d < 1.0);
    let mut duties: Vec<f64> = PREFERRED.iter().map(|p| p.duty).filter(|d| *d < 1.0).chain(own).collect();
    duties.sort_by(f64::total_cmp);
    duties.dedup_by(|a, b| (*a - *b).abs() < 5e-3);
    for share in duties {
        // Power at which this share of a cycle just reaches a limit, from the same response.
        let levels = permit.bounds.iter().map(|b| {
            let on_w = duty::power_at_duty(b, share, cycle_s)?;
            Some((drive.level_for(on_w, b.heat.mean_k), b))
        });
        let Some(levels) = levels.collect::<Option<Vec<_>>>() else { continue };
        let Some((level, b)) = levels.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)) else { continue };
        let level = cycles(body, &permit.bounds, cycle_s, level, |level, over| {
            let level = level * over.sqrt();
            (share, level, Box::new(move |k| drive.current_a(level, k).powi(2)))
        })?;
        let held_k = held_k(body, drive, (share, level), b.heat.mean_k)?;
        let caps = caps(sheet, drive, permit.setting.coldest_k(), held_k);
        let (capped, by) = least_of(&caps, level, &b.name);
        let (safe, safe_by) = least_of(&caps, permit.safe * level, &b.name);
        let whose = if own.is_some_and(|d| (d - share).abs() < 5e-3) { ", the sheet's own duty" } else { "" };
        let item = Item::number(
            &key(&format!("level_{:.0}", 100.0 * share)),
            &format!("highest {what} at {:.0} % ED", 100.0 * share),
            capped,
            drive.kind(),
        )
        .with_note(format!(
            "S3, cycle of {}{whose}; what binds is {by}",
            Dimension::Time.text(cycle_s, None, UnitSystem::Si)
        ));
        items.push(
            Item::number(
                &key(&format!("level_safe_{:.0}", 100.0 * share)),
                &format!("safe {what} at {:.0} % ED", 100.0 * share),
                safe,
                drive.kind(),
            )
            .with_note(match safe_by.strip_prefix("the supply's ") {
                Some(limit) => {
                    format!("S3{whose}; there the supply's {limit} is reached, and more changes nothing")
                }
                None => format!("S3{whose}; what binds is {safe_by}"),
            }),
        );
        items.push(if capped < level { item } else { banded(item, &most.of(level)) });
    }
    if power_w > 0.0 {
        // At most as hot as heat alone would let it be.
        items.push(
            Item::number(&key("surface"), "hottest place outside then", surface_k, Dimension::Temperature)
                .with_note("at the power that heat permits"),
        );
        answer.cautions.extend(caution::surface(&key("surface"), surface_k));
    }
    answer.group(&format!("With {}", permit.word), items);
    Ok(())
}
