//! Magnets made alike: what each of so many holds.
//!
//! What differs from unit to unit is kept apart from what nobody knows of any of them: the first makes the weakest of many
//! weaker than one, the second is shared, and counts once. Conditions (supply, surroundings, gap, workpiece) are at the worst
//! of their limits, the winding is as warm as it gets. Both kinds of deviation act on the pull by factors that are straight or
//! bent, one at a time; how far that misses solved magnets is counted as doubt.

use crate::gathered::gather;
use coilwright_bench::sampled;
use coilwright_bench::uncertainty::tolerance::lower_factor;
use coilwright_bench::uncertainty::{Input, Inputs, sample_inputs};
use coilwright_magnet::answers::answer::{Answer, Column, Item, Series};
use coilwright_magnet::answers::caution::{self, Holding};
use coilwright_magnet::answers::pull::USUAL_ACCURACY;
use coilwright_magnet::answers::question::{HeatQuestion, PullQuestion, Question};
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::magnet::assumption::Assumption;
use coilwright_magnet::model::ask;
use coilwright_magnet::model::plain::Plain;
use coilwright_magnet::quantity::{Dimension, Quantity, UnitSystem};
use coilwright_magnet::sheet::{Sheet, number_at};
use coilwright_magnet::uncertainty::band::{Band, Contributor};
use coilwright_magnet::watch::Watch;
use rayon::prelude::*;

/// Where a sheet says what differs from unit to unit.
const VARIES: &str = "lot.varies";
/// Where a sheet holds the measured pulls of some units.
const PULLS: &str = "lot.pulls";
/// Entries that are conditions rather than the magnet: they are taken at the worst of their limits, unless said to vary.
const CONDITIONS: [&str; 7] = [
    "drive.voltage",
    "drive.current",
    "drive.lead_resistance",
    "surroundings.temperature",
    "workpiece.gap",
    "workpiece.thickness",
    "workpiece.coating",
];
/// Tables of the magnet itself, whose tolerances differ from unit to unit where the sheet does not say what does.
const OF_MAGNET: [&str; 3] = ["body", "winding", "magnet"];
/// Share of lots of which the statement may be untrue.
const RISK: f64 = 0.05;
/// Lots that are drawn, of fewer than so many units in all.
const LOTS: usize = 2000;
const UNITS: usize = 100_000;
/// Solved magnets against which the factors are held.
const HELD_AGAINST: usize = 24;
/// Deviates beyond which a bent factor is not followed.
const FAR: f64 = 3.0;
/// Standard gravity, m/s² (ISO 80000-3).
const GRAVITY: f64 = 9.806_65;

/// How many are made alike, and the seed of what is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lot {
    /// Units.
    pub count: usize,
    /// Seed.
    pub seed: u64,
}

/// What each of a lot holds.
///
/// # Errors
/// What is said to vary is no number of the sheet; the magnet has no pull, or no steady temperature at the worst; a faulty
/// sheet.
pub fn lot(sheet: &Sheet, lot: &Lot) -> Result<Answer, Failure> {
    watched(sheet, lot, &Watch::default())
}

/// The same for somebody who may stop it.
///
/// # Errors
/// As [`lot`], and [`Failure::Stopped`].
pub fn watched(sheet: &Sheet, lot: &Lot, watch: &Watch) -> Result<Answer, Failure> {
    let (sheet, varying) = spread(sheet)?;
    let magnet = Magnet::complete(&sheet)?;
    let warms = magnet.excitation.as_ref().is_some_and(|e| e.winding.is_some() && e.supply.is_some());
    let (question, key) = if warms {
        (Question::Heat(HeatQuestion::default()), "pull_steady")
    } else {
        (Question::Pull(PullQuestion::default()), "pull")
    };
    let mut model = Model { plain: Plain::watched(&sheet, &question, watch)?, key };
    let names: Vec<String> = model.plain.ways().iter().map(|way| way.name()).collect();
    let nominal_n = model.pull(&vec![0.0; names.len()])?;

    let corners = corners(&sheet, &mut model, &names, &varying, nominal_n)?;
    let mut worst = vec![0.0; names.len()];
    for corner in &corners {
        worst[corner.way] = corner.deviates;
    }
    let worst_n = model.pull(&worst)?;
    let unit = |k: usize| varying.iter().find(|v| v.path == names[k]);
    let factors = factors(&model, &worst, worst_n, |k| corners.iter().any(|c| c.way == k))?;

    // What a row of deviates makes of the pull at the worst, as a natural logarithm.
    let bent = |row: &[f64]| factors.iter().zip(row).map(|(f, x)| f.at(*x)).sum::<f64>();
    let inputs = sampled::inputs(&sheet, model.plain.ways())?;
    let missed = missed(&model, &worst, worst_n, &inputs, lot.seed, &factors)?;

    let lots = LOTS.min(UNITS / lot.count);
    let shared = sample_inputs(&inputs, lots, lot.seed).map_err(sampled::too_few)?;
    let own = varying.iter().map(|v| Input::rectangular(v.path.clone(), 0.0, 3f64.sqrt())).collect();
    let own = Inputs::new(own).map_err(sampled::too_few)?;
    let units = if varying.is_empty() {
        vec![Vec::new(); lots * lot.count]
    } else {
        sample_inputs(&own, lots * lot.count, lot.seed.wrapping_add(1)).map_err(sampled::too_few)?
    };
    // A 95 % bound, as a standard uncertainty.
    let solver = 0.5 * sheet.value("accuracy.pull").unwrap_or(USUAL_ACCURACY);
    let places: Vec<Option<usize>> =
        varying.iter().map(|v| names.iter().position(|name| *name == v.path)).collect();
    let (mut least, mut any) = (Vec::with_capacity(lots), Vec::with_capacity(lots));
    for (row, units) in shared.iter().zip(units.chunks(lot.count)) {
        let numerical = row.last().copied().unwrap_or(0.0) * solver.hypot(missed);
        let of_one = |unit_row: &Vec<f64>| {
            let mut moved = row.clone();
            for ((v, place), x) in varying.iter().zip(&places).zip(unit_row) {
                if let Some(k) = *place {
                    moved[k] = v.together(moved[k], *x);
                }
            }
            worst_n * (bent(&moved) + numerical).exp()
        };
        let pulls: Vec<f64> = units.iter().map(of_one).collect();
        any.push(pulls[0]);
        least.push(pulls.into_iter().fold(f64::INFINITY, f64::min));
    }
    least.sort_by(f64::total_cmp);
    any.sort_by(f64::total_cmp);

    let effect = |k: usize| worst_n * 0.5 * (factors[k].at(1.0) - factors[k].at(-1.0));
    let contributors = contributors(&model, &names, effect);
    let found = Found { nominal_n, worst_n, least, any, missed, contributors };
    let mut answer = Answer::new("lot", sheet.name());
    tell(&sheet, lot, &found, &corners, warms, &mut answer);
    let parts = |of_unit: bool| {
        let mut found: Vec<(usize, f64)> = (0..names.len())
            .map(|k| (k, effect(k) * unit(k).map_or(if of_unit { 0.0 } else { 1.0 }, |v| v.part(of_unit))))
            .filter(|(_, effect)| effect.abs() > 1e-4 * worst_n)
            .collect();
        found.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()).then(a.0.cmp(&b.0)));
        found
    };
    let label = |k: usize| model.plain.ways()[k].label.as_str();
    for (prefix, title, of_unit) in [
        ("unit", "What differs from unit to unit", true),
        ("shared", "What nobody knows of any of them", false),
    ] {
        let parts = parts(of_unit);
        let all = parts.iter().fold(0.0, |sum, (_, effect)| f64::hypot(sum, *effect));
        let name =
            if of_unit { "standard deviation from unit to unit" } else { "doubt that all share, standard" };
        let mut items = vec![Item::number(&format!("{prefix}_all"), name, all, Dimension::Force)];
        items.extend(parts.iter().take(5).enumerate().map(|(at, (k, effect))| {
            Item::number(&format!("{prefix}_{}", at + 1), label(*k), effect.abs(), Dimension::Force)
                .with_note(names[*k].clone())
        }));
        answer.group(title, items);
    }
    if sheet.word(VARIES).is_none() {
        let paths: Vec<&str> = varying.iter().map(|v| v.path.as_str()).collect();
        answer.assumptions.push(Assumption {
            path: VARIES.into(),
            label: "what differs from unit to unit".into(),
            value: None,
            word: if paths.is_empty() { "nothing".into() } else { paths.join(", ") },
            reason: "every tolerance that the sheet gives of the magnet itself, as a drawing's are; what is measured on one \
                     unit is not: say which by `lot.varies`"
                .into(),
        });
    }
    measured(&sheet, lot, &mut answer)?;
    ask::judge_limits(&sheet, &mut answer)?;
    let own = ask::answer(&sheet, &Question::Pull(PullQuestion::default()))?;
    // Its lifting load is that of one magnet, not of the weakest.
    gather(&[("", vec![&own])], |_, c| !c.limits_lifting(), LEAST, &mut answer);
    let holding = if magnet.excitation.is_some() { Holding::Electromagnet } else { Holding::Permanent };
    let of = "what each of the lot holds at least";
    let lowest = answer.number(LEAST).unwrap_or(0.0);
    answer.cautions.extend(caution::working_load(LEAST, of, (lowest, worst_n), holding));
    Ok(answer)
}

/// Key of the main number.
const LEAST: &str = "lot_least";

/// One entry that differs from unit to unit.
struct Varying {
    path: String,
    /// Standard uncertainty that all share, and standard deviation from unit to unit, SI.
    shared: f64,
    own: f64,
}

impl Varying {
    /// Deviates of what all share and of the unit itself as those of both together.
    fn together(&self, shared: f64, own: f64) -> f64 {
        (shared * self.shared + own * self.own) / self.shared.hypot(self.own)
    }

    /// The part of one standard deviation of both together that is the unit's, or else what all share.
    fn part(&self, own: bool) -> f64 {
        (if own { self.own } else { self.shared }) / self.shared.hypot(self.own)
    }
}

/// The sheet with what varies added to its tolerances.
fn spread(sheet: &Sheet) -> Result<(Sheet, Vec<Varying>), Failure> {
    let Some(text) = sheet.word(VARIES) else {
        let paths = sheet.paths().filter(|path| {
            let table = path.split('.').next().unwrap_or_default();
            let of_magnet = OF_MAGNET.contains(&table) && !path.ends_with("_at");
            of_magnet && number_at(path).is_some() && sheet.quantity(path).is_some_and(|q| q.half_width > 0.0)
        });
        let own = |path: &str| sheet.quantity(path).map_or(0.0, |q| q.standard_uncertainty());
        let varying = paths.map(|path| Varying { path: path.into(), shared: 0.0, own: own(path) }).collect();
        return Ok((sheet.clone(), varying));
    };
    let hint = "such as \"winding.turns ± 20; workpiece.gap ± 0.05 mm\": entries that the sheet gives, each with how far units \
                differ either way";
    let fault = |part: &str, why: String| sheet.fault(VARIES, format!("`{}`: {why}", part.trim()), hint);
    let mut spread = sheet.clone();
    let mut varying: Vec<Varying> = Vec::new();
    for part in text.split(';').filter(|part| !part.trim().is_empty()) {
        let sides = part.split_once('±').or_else(|| part.split_once("+/-"));
        let (path, half) = sides.ok_or_else(|| fault(part, "there is no `±`".into()))?;
        let path = path.trim();
        let Some(dimension) = number_at(path) else {
            return Err(fault(part, format!("`{path}` is no number of a sheet")).into());
        };
        let Some(given) = sheet.quantity(path) else {
            return Err(fault(part, format!("the sheet does not give `{path}`")).into());
        };
        if varying.iter().any(|v| v.path == path) {
            return Err(fault(part, "it stands there twice".into()).into());
        }
        let text = |half: &str| format!("{:e} {} ± {half}", given.value, dimension.si_symbol());
        let alone =
            Quantity::parse(&text(half.trim()), dimension).map_err(|why| fault(part, why.to_string()))?;
        if alone.half_width <= 0.0 {
            return Err(fault(part, "units that do not differ need no entry".into()).into());
        }
        let (shared, own) = (given.standard_uncertainty(), alone.standard_uncertainty());
        let both = given.half_width.hypot(alone.half_width);
        spread.set(path, &text(&format!("{both:e} {}", dimension.si_symbol())))?;
        varying.push(Varying { path: path.into(), shared, own });
    }
    Ok((spread, varying))
}

/// The pull of magnets that differ.
#[derive(Clone)]
struct Model {
    plain: Plain,
    key: &'static str,
}

impl Model {
    fn pull(&mut self, deviates: &[f64]) -> Result<f64, Failure> {
        let numbers = self.plain.numbers(deviates)?;
        let pull = numbers.iter().find(|(key, _)| key == self.key).map_or(f64::NAN, |(_, value)| *value);
        if pull.is_finite() && pull > 0.0 {
            return Ok(pull);
        }
        let why = if self.key == "pull" {
            "the magnet does not pull at all"
        } else {
            "the winding has no steady temperature, or no pull at it: state a shorter duty, or more cooling"
        };
        Err(Failure::Physics(why.into()))
    }
}

/// A condition at the worst of its limits.
struct Corner {
    way: usize,
    deviates: f64,
    path: String,
    value: f64,
    dimension: Dimension,
}

fn corners(
    sheet: &Sheet,
    model: &mut Model,
    names: &[String],
    varying: &[Varying],
    nominal_n: f64,
) -> Result<Vec<Corner>, Failure> {
    let mut found = Vec::new();
    for path in CONDITIONS.iter().filter(|path| varying.iter().all(|v| v.path != **path)) {
        let Some(q) = sheet.quantity(path).filter(|q| q.half_width > 0.0) else { continue };
        let Some(way) = names.iter().position(|name| name == path) else { continue };
        let mut worst: Option<(f64, f64)> = None;
        for side in [-1.0, 1.0] {
            let mut deviates = vec![0.0; names.len()];
            deviates[way] = side * 3f64.sqrt();
            let pull = model.pull(&deviates)?;
            if pull < nominal_n && worst.is_none_or(|(_, least)| pull < least) {
                worst = Some((side, pull));
            }
        }
        if let Some((side, _)) = worst {
            found.push(Corner {
                way,
                deviates: side * 3f64.sqrt(),
                path: (*path).into(),
                value: q.value + side * q.half_width,
                dimension: q.dimension,
            });
        }
    }
    Ok(found)
}

/// Natural logarithm of the factor by which a deviate changes the pull: straight, and bent.
#[derive(Clone, Copy, Default)]
struct Factor {
    slope: f64,
    bend: f64,
}

impl Factor {
    fn at(self, deviate: f64) -> f64 {
        let near = deviate.clamp(-FAR, FAR);
        self.slope * deviate + self.bend * near * near
    }
}

fn factors(
    model: &Model,
    worst: &[f64],
    worst_n: f64,
    fixed: impl Fn(usize) -> bool + Sync,
) -> Result<Vec<Factor>, Failure> {
    (0..worst.len())
        .into_par_iter()
        .map_init(
            || model.clone(),
            |own, k| {
                if fixed(k) {
                    return Ok(Factor::default());
                }
                let mut side = |x: f64| {
                    let mut moved = worst.to_vec();
                    moved[k] += x;
                    own.pull(&moved).map(|pull| (pull / worst_n).ln())
                };
                match (side(-1.0), side(1.0)) {
                    (Ok(down), Ok(up)) => Ok(Factor { slope: 0.5 * (up - down), bend: 0.5 * (up + down) }),
                    // At the edge of what is possible one side stands for both.
                    (Ok(down), Err(_)) => Ok(Factor { slope: -down, bend: 0.0 }),
                    (Err(_), Ok(up)) => Ok(Factor { slope: up, bend: 0.0 }),
                    (Err(why), Err(_)) => Err(why),
                }
            },
        )
        .collect()
}

/// How far the factors miss solved magnets with everything off at once, relative and root mean square.
fn missed(
    model: &Model,
    worst: &[f64],
    worst_n: f64,
    inputs: &Inputs,
    seed: u64,
    factors: &[Factor],
) -> Result<f64, Failure> {
    let count = HELD_AGAINST.max(inputs.list().len() + 1);
    let rows = sample_inputs(inputs, count, seed.wrapping_add(2)).map_err(sampled::too_few)?;
    let squares: Vec<Option<f64>> = rows[..HELD_AGAINST]
        .par_iter()
        .map_init(
            || model.clone(),
            |own, row| {
                let moved: Vec<f64> =
                    worst.iter().zip(row).map(|(fixed, x)| if *fixed == 0.0 { *x } else { *fixed }).collect();
                let solved = (own.pull(&moved).ok()? / worst_n).ln();
                let bent: f64 = factors.iter().zip(&moved).map(|(f, x)| f.at(*x)).sum();
                Some((solved - bent).powi(2))
            },
        )
        .collect();
    let solved: Vec<f64> = squares.into_iter().flatten().collect();
    if 2 * solved.len() < HELD_AGAINST {
        return Err(Failure::Physics(
            "most magnets within these tolerances cannot be: a winding that does not fit, a pole wider than its shell".into(),
        ));
    }
    Ok((solved.iter().sum::<f64>() / solved.len() as f64).sqrt())
}

struct Found {
    nominal_n: f64,
    worst_n: f64,
    /// Of each lot the weakest, and one of each: rising.
    least: Vec<f64>,
    any: Vec<f64>,
    missed: f64,
    /// What makes one of them uncertain.
    contributors: Vec<Contributor>,
}

/// What makes one magnet's pull uncertain, of one standard deviation each, the largest first.
fn contributors(model: &Model, names: &[String], effect: impl Fn(usize) -> f64) -> Vec<Contributor> {
    let all: f64 = (0..names.len()).map(|k| effect(k).powi(2)).sum();
    let one = |k: usize| Contributor {
        path: model.plain.ways()[k].path.clone(),
        label: model.plain.ways()[k].label.clone(),
        effect: effect(k),
        share: effect(k).powi(2) / all,
    };
    let mut found: Vec<Contributor> = (0..names.len()).filter(|k| effect(*k) != 0.0).map(one).collect();
    found.sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.path.cmp(&b.path)));
    found
}

/// To three digits.
fn rounded_down(value: f64) -> f64 {
    let unit = 10f64.powf(value.log10().floor() - 2.0);
    (value / unit).floor() * unit
}

fn quantile(sorted: &[f64], share: f64) -> f64 {
    let at = share * (sorted.len() - 1) as f64;
    let (low, part) = (at.floor() as usize, at.fract());
    let high = (low + 1).min(sorted.len() - 1);
    sorted[low] + part * (sorted[high] - sorted[low])
}

fn spread_of(sorted: &[f64], contributors: &[Contributor]) -> Band {
    let mean = sorted.iter().sum::<f64>() / sorted.len() as f64;
    let variance = sorted.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (sorted.len() - 1) as f64;
    let (low, high) = (quantile(sorted, 0.025), quantile(sorted, 0.975));
    Band { standard: variance.sqrt(), low, high, contributors: contributors.to_vec() }
}

fn tell(sheet: &Sheet, lot: &Lot, found: &Found, corners: &[Corner], warms: bool, answer: &mut Answer) {
    let force = |key: &str, label: &str, newtons| Item::number(key, label, newtons, Dimension::Force);
    let text = |corner: &Corner| corner.dimension.text(corner.value, None, UnitSystem::Si);
    let mut at: Vec<String> = corners.iter().map(|c| format!("{} {}", name_of(&c.path), text(c))).collect();
    if warms {
        at.push("as warm as it gets".into());
    }
    let conditions = if at.is_empty() { String::new() } else { format!(" ({})", at.join(", ")) };
    answer.summary =
        format!("Each of {} such magnets holds at least {{{LEAST}}}, 19 times in 20{conditions}.", lot.count);
    // 'At least' is never rounded up.
    let least = rounded_down(quantile(&found.least, RISK));
    let mut items = vec![
        force(LEAST, "each holds at least", least).with_note(
            "in one lot of 20 the weakest may hold less; what nobody knows is counted once for all",
        ),
        force("lot_weakest", &format!("weakest of {}", lot.count), quantile(&found.least, 0.5))
            .with_band(spread_of(&found.least, &found.contributors)),
        force("lot_one", "any one of them", quantile(&found.any, 0.5))
            .with_band(spread_of(&found.any, &found.contributors)),
        force("lot_nominal", "with all as the sheet says", found.nominal_n),
        force("lot_worst", "the same at the worst conditions", found.worst_n),
        Item::number(
            "lot_missed",
            "what the factors miss of solved magnets, rms",
            found.missed,
            Dimension::Ratio,
        ),
    ];
    if let Some(kilograms) = sheet.value("workpiece.mass").filter(|m| *m > 0.0) {
        let times = least / (kilograms * GRAVITY);
        let code = sheet.word("limits.code").map_or(String::new(), |code| format!("asked by {code}"));
        items.push(
            Item::number("lot_factor", "times the load, at least", times, Dimension::Ratio).with_note(code),
        );
    }
    answer.group(&format!("A lot of {}", lot.count), items);
    let worst = corners.iter().map(|corner| {
        let key = format!("worst_{}", corner.path.replace('.', "_"));
        Item::number(&key, &name_of(&corner.path), corner.value, corner.dimension)
            .with_note(corner.path.clone())
    });
    answer.group("Taken at the worst of its limits", worst.collect());
    let points = 60;
    let (low, high) = (found.least[0], found.least[found.least.len() - 1]);
    let xs: Vec<f64> = (0..=points).map(|k| low + (high - low) * k as f64 / points as f64).collect();
    let share = |x: &f64| {
        let below = found.least.partition_point(|least| least < x);
        1.0 - below as f64 / found.least.len() as f64
    };
    let shares = xs.iter().map(share).collect();
    answer.series.push(Series {
        key: "lot".into(),
        title: format!("Share of lots of {} in which each holds at least so much", lot.count),
        x: Column::new("pull", "pull", Dimension::Force, xs),
        ys: vec![Column::new("share", "share of lots", Dimension::Ratio, shares)],
        log_x: false,
    });
}

/// What a person calls an entry.
fn name_of(path: &str) -> String {
    path.rsplit('.').next().unwrap_or_default().replace('_', " ")
}

/// What the measured pulls of some units say of all others made alike: a statistical tolerance interval.
fn measured(sheet: &Sheet, lot: &Lot, answer: &mut Answer) -> Result<(), Failure> {
    let Some(text) = sheet.word(PULLS) else { return Ok(()) };
    let hint =
        "such as \"712 N; 698 N; 731 N\": pulls of at least three units, all at the same gap and drive";
    let fault = |why: String| Failure::from(sheet.fault(PULLS, why, hint));
    let mut pulls = Vec::new();
    for part in text.split(';').map(str::trim).filter(|part| !part.is_empty()) {
        let q = Quantity::parse(part, Dimension::Force).map_err(|why| fault(format!("`{part}`: {why}")))?;
        if q.value <= 0.0 {
            return Err(fault(format!("`{part}`: a unit that holds nothing is no sample of a lot")));
        }
        pulls.push(q.value);
    }
    let n = pulls.len();
    if n < 3 {
        return Err(fault(format!("{n} measured units say nothing of how far others differ")));
    }
    let mean = pulls.iter().sum::<f64>() / n as f64;
    let deviation = (pulls.iter().map(|p| (p - mean).powi(2)).sum::<f64>() / (n - 1) as f64).sqrt();
    let force = |key: &str, label: &str, newtons| Item::number(key, label, newtons, Dimension::Force);
    let mut items = vec![
        force("measured_mean", &format!("mean of {n} measured"), mean),
        force("measured_deviation", "standard deviation", deviation),
    ];
    // Of all but one in twenty of such lots, none below: the share of units that allows it.
    let share = (1.0 - RISK).powf(1.0 / lot.count as f64);
    for (key, share, label) in [
        ("measured_95", 0.95, "95 % of all units hold at least".to_owned()),
        ("measured_99", 0.99, "99 % of all units hold at least".to_owned()),
        ("measured_lot", share, format!("each of {}, in all but one lot of 20", lot.count)),
    ] {
        let least = mean - lower_factor(n, share, 1.0 - RISK) * deviation;
        items.push(force(key, &label, least.max(0.0)).with_note(
            "confidence 95 %, normally distributed; ISO 16269-6:2014, one-sided, both parameters unknown",
        ));
    }
    answer.group("What the measured units say of the others, as measured", items);
    Ok(())
}

impl Lot {
    /// As many as the statement is for.
    ///
    /// # Errors
    /// One magnet is no lot; of more than a thousand the sampling is too coarse.
    pub fn new(count: usize, seed: u64) -> Result<Self, Diagnostic> {
        if (2..=1000).contains(&count) {
            return Ok(Self { count, seed });
        }
        Err(Diagnostic::fault(format!("a lot of {count}"), "from 2 to 1000 magnets"))
    }
}
