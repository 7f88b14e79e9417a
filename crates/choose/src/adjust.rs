//! What an entry of the sheet has to be for a number to come out as wanted.

use crate::alike::best;
use crate::gathered::row;
use crate::sweep::entry;
use coilwright_bench::sampled;
use coilwright_magnet::answers::advice;
use coilwright_magnet::answers::answer::{Answer, Group, Item, Value};
use coilwright_magnet::answers::question::Question;
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::model::ask;
use coilwright_magnet::quantity::{Dimension, Quantity, UnitSystem};
use coilwright_magnet::sheet::{Sheet, nearest, number_at};
use coilwright_magnet::uncertainty::band::{Band, Budget};
use coilwright_magnet::uncertainty::measure::Measure;
use coilwright_magnet::watch::Watch;

/// Key of the entry's value in the answer.
pub const ADJUSTED: &str = "adjusted";
/// Factor between two values that are tried on the way out from the one that the sheet has.
const WIDER: f64 = 1.25;
/// How far out it goes to either side, in such steps: about two hundred times, or a two-hundredth.
const STEPS: i32 = 24;
/// How closely the number is met, relative.
const CLOSELY: f64 = 1e-5;
/// The same of the answer itself, and how often it is tried.
const SETTLED: f64 = 1e-4;
const ROUNDS: usize = 6;
/// Most trials between two values.
const TRIALS: usize = 60;
/// A side on which the number follows so much less than on the other is flat.
const FLAT: f64 = 0.02;
/// Trials to find the last magnet that can be, and the edge of where the number is as wanted.
const EDGE: usize = 14;
/// Relative step by which the slope there is found.
const ASIDE: f64 = 0.01;

/// An entry that is to be adjusted until a number is as wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Adjust {
    /// Path of the entry.
    pub path: String,
    /// Key of the number in the answer.
    pub key: String,
    /// What it is to be, as it was written.
    pub wanted: String,
}

/// A question whose numbers are asked of sheets that differ in one entry.
struct Numbers<'a> {
    sheet: &'a Sheet,
    question: &'a Question,
    path: &'a str,
    key: &'a str,
    dimension: Dimension,
    watch: &'a Watch,
}

impl Numbers<'_> {
    fn at(&self, value: f64) -> Result<Sheet, Failure> {
        let mut sheet = self.sheet.clone();
        sheet.set(self.path, &entry(value, self.dimension))?;
        Ok(sheet)
    }

    /// The number for a value of the entry; none where there is no such magnet or it has no such number.
    fn of(&self, value: f64) -> Result<Option<f64>, Failure> {
        self.watch.part(1);
        let found = self.at(value).and_then(|sheet| best(&sheet, self.question, self.key, self.watch));
        self.watch.check()?;
        self.watch.done();
        // A magnet that cannot be has no number.
        Ok(found.ok().flatten().filter(|v| v.is_finite()))
    }
}

/// Answer a question with the entry so adjusted that a number of the answer is as wanted. The answer says first what the
/// entry has to be, with the band that the number's own doubts make of it.
///
/// # Errors
/// No such entry, or nothing to start from; no such number; none of the values that are possible gives it.
pub fn adjusted(
    sheet: &Sheet,
    question: &Question,
    adjust: &Adjust,
    watch: &Watch,
) -> Result<Answer, Failure> {
    let Some(dimension) = number_at(&adjust.path) else {
        let hint = "`coilwright new` writes a sheet with every key";
        return Err(Diagnostic::fault(format!("`{}` is no number of a sheet", adjust.path), hint).into());
    };
    // Other turns or another wire are another resistance.
    if ["winding.turns", "winding.wire"].contains(&adjust.path.as_str())
        && let Some(given) = sheet.quantity("winding.resistance")
    {
        let given = Dimension::Resistance.text(given.value, None, UnitSystem::Si);
        let message =
            format!("`{}` cannot be adjusted: the sheet's {given} are of the winding as it is", adjust.path);
        let hint = "take them away: --set winding.resistance=";
        return Err(sheet.fault("winding.resistance", message, hint).into());
    }
    let start = start(sheet, &adjust.path)?;
    let first = ask::watched(sheet, question, watch)?;
    let (label, kind) = number(&first, &adjust.key)?;
    let wanted = Quantity::parse(&adjust.wanted, kind).map_err(|e| {
        Diagnostic::fault(format!("`{}`: {e}", adjust.wanted), format!("{label} is a {}", kind.name()))
    })?;
    if wanted.half_width > 0.0 {
        let hint = "write it without a tolerance: how sure the entry then is follows from the sheet";
        return Err(Diagnostic::fault(format!("`{}` is no exact value", adjust.wanted), hint).into());
    }
    let wanted = wanted.value;
    let numbers = Numbers { sheet, question, path: &adjust.path, key: &adjust.key, dimension, watch };
    let (value, mut answer) = settled(&numbers, start, wanted, &label, kind)?;
    let (slope, has_to_be) = sloped(&numbers, value)?;
    let band = answer.measure(&adjust.key).zip(slope);
    let band = band.and_then(|(measure, slope)| turned_round(measure, value, slope));
    // What would narrow the number would narrow this.
    answer.next_measurements = band.as_ref().map(advice::next).unwrap_or_default();
    let name = adjust.path.rsplit('.').next().unwrap_or_default().replace('_', " ");
    let item = row(ADJUSTED, &name, &Measure { value, dimension, band });
    let wanted = kind.text(wanted, None, UnitSystem::Si);
    answer.summary =
        format!("For {label} of {wanted} `{}` {has_to_be} {{{ADJUSTED}}}. {}", adjust.path, answer.summary);
    let note = format!("in the sheet: {}", dimension.text(start, None, UnitSystem::Si));
    answer.groups.insert(0, Group { title: "Adjusted".into(), items: vec![item.with_note(&note)] });
    Ok(answer)
}

/// How the number follows the entry at a value; none where it does not. On the edge of where it does not, one side tells, and
/// the value is only the least or the greatest of many.
fn sloped(numbers: &Numbers<'_>, value: f64) -> Result<(Option<f64>, &'static str), Failure> {
    let [low, here, high] = [1.0 - ASIDE, 1.0, 1.0 + ASIDE].map(|share| numbers.of(share * value));
    let (Some(low), Some(here), Some(high)) = (low?, here?, high?) else { return Ok((None, "has to be")) };
    let (down, up) = (here - low, high - here);
    let flat = |one: f64, other: f64| one.abs() <= FLAT * other.abs();
    let step = ASIDE * value;
    Ok(if down.abs().max(up.abs()) <= CLOSELY * here.abs() {
        (None, "matters little; one value is")
    } else if flat(up, down) {
        (Some(down / step), "has to be at least")
    } else if flat(down, up) {
        (Some(up / step), "has to be at most")
    } else {
        (Some((high - low) / (2.0 * step)), "has to be")
    })
}

/// The value, and the answer there. What the answer itself tells may lie a little beside the number that is asked for quickly:
/// that one is then wanted so much higher or lower.
fn settled(
    numbers: &Numbers<'_>,
    start: f64,
    wanted: f64,
    label: &str,
    kind: Dimension,
) -> Result<(f64, Answer), Failure> {
    let (mut value, mut aim) = (start, wanted);
    for _ in 0..ROUNDS {
        value = solve(numbers, value, aim, label, kind)?;
        let answer = sampled::answer(&numbers.at(value)?, numbers.question, numbers.watch)?;
        let Some(found) = answer.number(numbers.key) else { break };
        // No more is asked of whole turns than one of them gives.
        if numbers.dimension == Dimension::Count || (found / wanted - 1.0).abs() <= SETTLED {
            return Ok((value, answer));
        }
        aim += wanted - found;
    }
    Err(Failure::Physics(format!(
        "{label} does not settle at what is wanted near {value:e} of `{}`",
        numbers.path
    )))
}

/// What the sheet has, or what is assumed where it says nothing.
fn start(sheet: &Sheet, path: &str) -> Result<f64, Failure> {
    let assumed = || {
        let magnet = Magnet::complete(sheet).ok()?;
        magnet.inputs.iter().find(|input| input.path == path).map(|input| input.value)
    };
    sheet.value(path).or_else(assumed).filter(|value| *value > 0.0).ok_or_else(|| {
        let message = format!("there is no `{path}` greater than zero in the sheet to start from");
        sheet.fault(path, message, "give it a first value, by --set for instance").into()
    })
}

/// Label and kind of a number of an answer.
fn number(answer: &Answer, key: &str) -> Result<(String, Dimension), Failure> {
    if let Some(Item { label, value: Value::Number(m), .. }) = answer.item(key) {
        return Ok((label.clone(), m.dimension));
    }
    let items = || answer.groups.iter().flat_map(|g| &g.items);
    let all: Vec<&str> =
        items().filter(|i| matches!(i.value, Value::Number(_))).map(|i| i.key.as_str()).collect();
    let hint = match nearest(key, all.iter().copied()) {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => format!("there are {}", all.join(", ")),
    };
    Err(Diagnostic::fault(format!("`{}` tells no number `{key}`", answer.command), hint).into())
}

/// The value nearest to the start that gives the wanted number: outwards until two neighbours enclose it, then between them by
/// the Illinois rule (M. Dowell and P. Jarratt, BIT 11 (1971) 168–174, from memory), by logarithms.
fn solve(
    numbers: &Numbers<'_>,
    start: f64,
    wanted: f64,
    label: &str,
    kind: Dimension,
) -> Result<f64, Failure> {
    let miss = |value: f64| Ok::<_, Failure>(numbers.of(value)?.map(|found| found - wanted));
    let mut seen: Vec<(f64, f64)> = Vec::new();
    let mut ends: [Option<(f64, f64)>; 2] = [None; 2];
    let mut enclosed = None;
    if let Some(here) = miss(start)? {
        seen.push((start, here));
        ends = [Some((start, here)); 2];
    }
    let mut open = [true; 2];
    'out: for step in 1..=STEPS {
        for side in 0..2 {
            if !open[side] {
                continue;
            }
            let value = start * WIDER.powi(if side == 0 { -step } else { step });
            match (miss(value)?, ends[side]) {
                (Some(now), before) => {
                    seen.push((value, now));
                    ends[side] = Some((value, now));
                    if let Some(before) = before.filter(|before| before.1 * now <= 0.0) {
                        enclosed = Some((before, (value, now)));
                        break 'out;
                    }
                }
                // Beyond what is possible nothing more is; the last that is may be beyond what is wanted.
                (None, Some(before)) => {
                    open[side] = false;
                    let (mut can, mut cannot) = (before, value);
                    for _ in 0..EDGE {
                        let between = (can.0 * cannot).sqrt();
                        match miss(between)? {
                            Some(now) => can = (between, now),
                            None => cannot = between,
                        }
                        if can.1 * before.1 <= 0.0 {
                            enclosed = Some((before, can));
                            break 'out;
                        }
                    }
                    seen.push(can);
                }
                (None, None) => {}
            }
        }
    }
    let Some((mut a, mut b)) = enclosed else { return Err(never(numbers, &seen, wanted, label, kind)) };
    let near = |miss: f64| miss.abs() <= CLOSELY * wanted.abs();
    if near(a.1) {
        return Ok(a.0);
    }
    // Where it is as wanted over a stretch, its nearest end serves.
    if near(b.1) {
        for _ in 0..EDGE {
            let between = (a.0 * b.0).sqrt();
            match miss(between)? {
                Some(now) if near(now) => b = (between, now),
                Some(now) => a = (between, now),
                None => break,
            }
        }
        return Ok(b.0);
    }
    for _ in 0..TRIALS {
        if near(b.1) {
            return Ok(b.0);
        }
        let (x, y) = (a.0.ln(), b.0.ln());
        let value = (y - b.1 * (y - x) / (b.1 - a.1)).exp();
        if numbers.dimension == Dimension::Count && (a.0.round() - b.0.round()).abs() <= 1.0 {
            return Ok(if a.1.abs() < b.1.abs() { a.0 } else { b.0 }.round());
        }
        if (x - y).abs() < 1e-9 {
            return Ok(value);
        }
        let Some(now) = miss(value)? else { break };
        if now * b.1 <= 0.0 {
            a = b
        } else {
            a.1 *= 0.5
        }
        b = (value, now);
    }
    Err(Failure::Physics(format!(
        "{label} jumps over what is wanted between two values of `{}`",
        numbers.path
    )))
}

fn never(numbers: &Numbers<'_>, seen: &[(f64, f64)], wanted: f64, label: &str, kind: Dimension) -> Failure {
    let end = |most: bool| {
        let by = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1);
        let place = if most { seen.iter().max_by(by) } else { seen.iter().min_by(by) };
        place.map(|(value, miss)| {
            let number = kind.text(miss + wanted, None, UnitSystem::Si);
            format!("{number} at {}", numbers.dimension.text(*value, None, UnitSystem::Si))
        })
    };
    let misses = || seen.iter().map(|(_, miss)| *miss);
    let spread = misses().fold(f64::NEG_INFINITY, f64::max) - misses().fold(f64::INFINITY, f64::min);
    if seen.len() > 1 && spread <= CLOSELY * wanted.abs() {
        let message = format!("{label} does not follow `{}`", numbers.path);
        let hint = "adjust what it depends on, such as `drive.voltage` or `workpiece.gap`";
        return numbers.sheet.fault(numbers.path, message, hint).into();
    }
    let wanted = kind.text(wanted, None, UnitSystem::Si);
    let message = format!("no value of `{}` gives {label} of {wanted}", numbers.path);
    let hint = match (end(false), end(true)) {
        (Some(least), Some(most)) => format!("of those tried it is least {least} and most {most}"),
        _ => "no value that was tried has such a number".into(),
    };
    numbers.sheet.fault(numbers.path, message, hint).into()
}

/// A number's band as that of what it was adjusted by: each doubt divided by the slope.
fn turned_round(measure: &Measure, about: f64, slope: f64) -> Option<Band> {
    let mut budget = Budget::new(about);
    for c in &measure.band.as_ref()?.contributors {
        budget.add(&c.path, &c.label, -c.effect / slope);
    }
    budget.band_about(about)
}
