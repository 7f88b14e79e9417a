//! What a search tells: the picks with their settled numbers, what limits them, and the front.
//!
//! Every pick is asked as the sheet that would be written of it; the provisional numbers of the search are shown along the
//! front only.

use crate::gathered::{gather, reason, row};
use crate::need::judged;
use crate::seek::aim::{Aim, Bound};
use crate::seek::binding::{MORE, contradiction, touched};
use crate::seek::number::{NUMBERS, Number};
use crate::seek::search::{Known, Point};
use crate::seek::seeking::Seeking;
use crate::seek::vary::{TURNS, Values, WIRE};
use crate::topic::Asked;
use coilwright_bench::written::written;
use coilwright_magnet::answers::answer::{Answer, Caution, Column, Item, Limit, Series, State, Value};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::magnet::assumption::Assumption;
use coilwright_magnet::model::ask;
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::uncertainty::measure::Measure;
use rayon::prelude::*;

/// Numbers that are shown of every pick, beside those of aims and limits.
const ALWAYS: [&str; 3] = ["hot_spot", "mass", "power"];
/// Fewest designs of a front of which one in the middle is picked too.
const WITH_MIDDLE: usize = 3;

/// What was found.
#[derive(Clone, Debug)]
pub struct Found {
    /// As every answer.
    pub answer: Answer,
    /// Sheets of what was picked: a name for each, and its text.
    pub designs: Vec<(String, String)>,
}

/// Times that limits are corrected by what settled numbers are.
const ROUNDS: usize = 4;

/// A design with its settled numbers.
struct Pick {
    /// What it is called.
    name: String,
    /// End of its keys.
    suffix: String,
    point: Option<Point>,
    sheet: Sheet,
    answers: Vec<Answer>,
    /// By shown number.
    numbers: Vec<Result<Measure, String>>,
}

/// The answer of a search, and the sheets of its picks.
pub(super) fn told(seeking: &mut Seeking<'_>, mut known: Known) -> Result<Found, Failure> {
    let aims = &seeking.question.aims;
    let shown = shown_numbers(aims, &seeking.bounds);
    let mut picks = picked(seeking, &known, &shown)?;
    for _ in 0..ROUNDS {
        if !known.any_kept() || !corrected(seeking, &picks, &shown) {
            break;
        }
        seeking.again(&mut known)?;
        picks = picked(seeking, &known, &shown)?;
    }
    let kept = known.any_kept();
    let front: Vec<Point> = known.front().into_iter().map(|(point, _)| point.clone()).collect();
    if let Some(now) = as_it_stands(seeking.sheet, &shown) {
        picks.insert(0, now);
    }
    let mut answer = Answer::new("seek", seeking.sheet.name());
    for pick in &picks {
        answer.group(&capital(&pick.name), items(seeking, pick, &shown));
    }
    limits(seeking, &picks, &shown, &mut answer);
    let of_each: Vec<(&str, Vec<&Answer>)> = (picks.iter())
        .filter(|pick| pick.point.is_some())
        .map(|pick| (pick.name.as_str(), pick.answers.iter().collect()))
        .collect();
    let pull = NUMBERS.iter().find(|n| n.key.starts_with("pull") && shown.iter().any(|s| s.key == n.key));
    let main = pull.map_or(aims[0].number().key, |n| n.key);
    let about = format!("{main}_1");
    gather(&of_each, |_: &Answer, _: &Caution| true, &about, &mut answer);
    rewound(seeking, &mut answer);
    let best = picks.iter().find_map(|pick| pick.point.clone());
    if let (true, [aim], Some(best)) = (kept, &aims[..], &best) {
        why_no_better(seeking, best, &aim.clone(), &mut answer)?;
    }
    if !kept {
        why_none(seeking, &mut answer)?;
    } else {
        answer.summary = sentence(aims, &picks, front.len());
    }
    the_search(seeking, &picks, &shown, front.len(), &mut answer);
    if aims.len() > 1 && front.len() > 1 {
        answer.series.push(along(seeking, aims, &front));
    }
    let mut designs = Vec::new();
    if kept {
        for pick in picks.iter().filter(|pick| pick.point.is_some()) {
            let entries = seeking.space.entries(pick.point.as_deref().unwrap_or_default());
            let mut entries = entries.map_err(Failure::Physics)?;
            entries.extend(of_its_own(seeking.sheet, &pick.name));
            designs.push((pick.name.replace([' ', ','], "-"), written(seeking.sheet, &entries)?));
        }
    }
    Ok(Found { answer, designs })
}

/// What makes a design's sheet one of a magnet that is not yet made: a name and a note of its own, and no claims of the one from
/// which the search began. What its plate says of duty, class and voltage is asked of the new one too.
fn of_its_own(sheet: &Sheet, name: &str) -> Vec<(String, String)> {
    let before = sheet.name();
    let claims = ["power", "current", "resistance", "pull", "flux_density", "mass", "price"];
    let none = |claim: &str| (format!("nameplate.{claim}"), String::new());
    let own = [
        ("name".to_owned(), format!("{before}, {name}")),
        ("notes".to_owned(), format!("A design that is not made yet, found from {before}.")),
    ];
    claims.into_iter().map(none).chain(own).collect()
}

/// What is told of, settled.
fn picked(seeking: &Seeking<'_>, known: &Known, shown: &[&'static Number]) -> Result<Vec<Pick>, Failure> {
    let front: Vec<Point> = known.front().into_iter().map(|(point, _)| point.clone()).collect();
    let aims = &seeking.question.aims;
    let chosen = if known.any_kept() { chosen(aims, known, &front) } else { nearest(known) };
    let numbered = (1..).zip(chosen);
    numbered.map(|(k, (name, point))| pick(seeking, name, k.to_string(), point, shown)).collect()
}

/// Whether settled picks miss limits that their provisional numbers kept; if so, the limits know from now on by how much the
/// two differ.
fn corrected(seeking: &mut Seeking<'_>, picks: &[Pick], shown: &[&'static Number]) -> bool {
    let mut any = false;
    let mut shift = |bound: &mut Bound, seeking: &Seeking<'_>| {
        let Some(at) = shown.iter().position(|n| n.key == bound.number().key) else { return };
        for pick in picks {
            let rough = pick.point.as_deref().and_then(|p| seeking.rough(p));
            let (Some(rough), Ok(measure)) = (rough, &pick.numbers[at]) else { continue };
            if bound.missed(rough) == 0.0 && bound.missed_by(measure.value) > 0.0 {
                any = true;
                // A little more than this one needs: the next differs a little.
                let apart = measure.value - (bound.number().rough)(rough);
                bound.shift = apart + 0.1 * (apart - bound.shift);
            }
        }
    };
    let mut bounds = seeking.bounds.clone();
    bounds.iter_mut().for_each(|bound| shift(bound, seeking));
    let class =
        picks.iter().find_map(|pick| seeking.rough(pick.point.as_deref()?)).and_then(|r| seeking.class_of(r));
    let class_shift = class.map_or(0.0, |mut class| {
        shift(&mut class, seeking);
        class.shift
    });
    seeking.bounds = bounds;
    seeking.class_shift = class_shift;
    any
}

/// The best of each aim, and of several the one that gives away least of all.
fn chosen(aims: &[Aim], known: &Known, front: &[Point]) -> Vec<(String, Point)> {
    let best = |k: usize| known.best(k).map(|(point, _)| (aims[k].called().to_owned(), point.clone()));
    let mut found: Vec<(String, Point)> = (0..aims.len()).filter_map(best).collect();
    found.dedup_by(|later, earlier| {
        let same = later.1 == earlier.1;
        if same {
            earlier.0 = format!("{} and {}", earlier.0, later.0);
        }
        same
    });
    if aims.len() > 1 && front.len() >= WITH_MIDDLE {
        let costs = |point: &Point| known.get(point).map_or_else(Vec::new, |score| score.costs.clone());
        let all: Vec<Vec<f64>> = front.iter().map(costs).collect();
        let ends = |k: usize| {
            let values = all.iter().map(|c| c[k]);
            (values.clone().fold(f64::INFINITY, f64::min), values.fold(f64::NEG_INFINITY, f64::max))
        };
        // How far from the best in what it does worst, over the whole of the front.
        let worst = |costs: &Vec<f64>| {
            let share = |(k, c): (usize, &f64)| {
                let (least, most) = ends(k);
                if most > least { (c - least) / (most - least) } else { 0.0 }
            };
            costs.iter().enumerate().map(share).fold(0.0, f64::max)
        };
        let middle = (0..front.len()).min_by(|&a, &b| worst(&all[a]).total_cmp(&worst(&all[b])));
        if let Some(point) = middle.map(|k| &front[k]).filter(|p| found.iter().all(|(_, other)| other != *p))
        {
            found.push(("balanced".into(), point.clone()));
        }
    }
    found
}

/// What misses least.
fn nearest(known: &Known) -> Vec<(String, Point)> {
    known.best(0).map(|(point, _)| ("nearest".to_owned(), point.clone())).into_iter().collect()
}

fn shown_numbers(aims: &[Aim], bounds: &[Bound]) -> Vec<&'static Number> {
    let mut found: Vec<&'static Number> = aims.iter().map(Aim::number).collect();
    let always = ALWAYS.into_iter().filter_map(|key| NUMBERS.iter().find(|n| n.key == key));
    for number in bounds.iter().map(Bound::number).chain(always) {
        if !found.iter().any(|f| f.key == number.key) {
            found.push(number);
        }
    }
    found
}

fn pick(
    seeking: &Seeking<'_>,
    name: String,
    suffix: String,
    point: Point,
    shown: &[&'static Number],
) -> Result<Pick, Failure> {
    seeking.watch.check()?;
    let mut sheet = seeking.sheet.clone();
    for (path, text) in seeking.space.entries(&point).map_err(Failure::Physics)? {
        if text.is_empty() {
            sheet.remove(&path);
        } else {
            sheet.set(&path, &text)?;
        }
    }
    settled(name, suffix, Some(point), sheet, shown)
}

/// The sheet as it stands, if it can be asked.
fn as_it_stands(sheet: &Sheet, shown: &[&'static Number]) -> Option<Pick> {
    let pick = settled("as it stands".into(), "now".into(), None, sheet.clone(), shown).ok()?;
    pick.numbers.iter().any(Result::is_ok).then_some(pick)
}

/// Ask all that the shown numbers need.
fn settled(
    name: String,
    suffix: String,
    point: Option<Point>,
    sheet: Sheet,
    shown: &[&'static Number],
) -> Result<Pick, Failure> {
    let magnet = Magnet::complete(&sheet)?;
    let needed = |asked: &Asked| shown.iter().any(|n| n.settled.is_some_and(|(of, _)| of == *asked));
    let asked: Vec<Asked> = Asked::ALL.into_iter().filter(needed).collect();
    let answers: Vec<Result<Answer, Failure>> =
        asked.par_iter().with_max_len(1).map(|a| ask::answer(&sheet, &a.question(None, &[]))).collect();
    let number = |number: &&'static Number| -> Result<Measure, String> {
        let Some((of, key)) = number.settled else {
            let value = match number.key {
                "mass" => magnet.mass_kg().unwrap_or(f64::NAN),
                _ => magnet.envelope_m3(),
            };
            return Ok(Measure { value, dimension: number.dimension, band: None });
        };
        let at = asked.iter().position(|a| *a == of).ok_or("not asked")?;
        let answer = answers[at].as_ref().map_err(|failure| reason(failure.clone()))?;
        match answer.item(key).map(|item| &item.value) {
            Some(Value::Number(measure)) => Ok(measure.clone()),
            Some(Value::Text(text)) => Err(text.clone()),
            None => Err("there is none".into()),
        }
    };
    let numbers = shown.iter().map(number).collect();
    let answers = answers.into_iter().filter_map(Result::ok).collect();
    Ok(Pick { name, suffix, point, sheet, answers, numbers })
}

/// What a design is, and what it does.
fn items(seeking: &Seeking<'_>, pick: &Pick, shown: &[&'static Number]) -> Vec<Item> {
    let mut found = Vec::new();
    let magnet = Magnet::complete(&pick.sheet).ok();
    let winding = magnet.as_ref().and_then(|m| m.excitation.as_ref()).and_then(|e| e.winding.as_ref());
    let mut entry = |path: &str, dimension: Option<Dimension>| {
        let key = format!("{}_{}", path.replace('.', "_"), pick.suffix);
        let label = path.rsplit('.').next().unwrap_or(path).replace('_', " ");
        let assumed = |path: &str| {
            let all = magnet.iter().flat_map(|m| &m.assumptions);
            all.filter(|a| a.path == path).find_map(|a| a.value.as_ref()).map(|m| m.value)
        };
        found.push(match (dimension, winding) {
            (None, Some(w)) => Item::text(&key, &label, &w.wire.name),
            (None, None) => Item::text(&key, &label, "none"),
            (Some(dimension), _) => match pick.sheet.value(path).or_else(|| assumed(path)) {
                Some(value) => Item::number(&key, &label, value, dimension),
                None => Item::text(&key, &label, "not given"),
            },
        });
    };
    for axis in &seeking.space.axes {
        match &axis.values {
            Values::Numbers(_, dimension) => entry(&axis.path, Some(*dimension)),
            Values::Wires(_) => entry(WIRE, None),
            Values::Turns(_) => {}
        }
    }
    let counted = seeking.space.axes.iter().any(|a| a.path == TURNS && !matches!(a.values, Values::Turns(_)));
    if !counted && let Some(w) = winding {
        let key = format!("winding_turns_{}", pick.suffix);
        found.push(Item::number(&key, "turns", w.turns, Dimension::Count));
    }
    for (number, measure) in shown.iter().zip(&pick.numbers) {
        let key = format!("{}_{}", number.key, pick.suffix);
        if found.iter().any(|item| item.key == key) {
            continue;
        }
        found.push(match measure {
            Ok(measure) => row(&key, number.label, measure),
            Err(why) => Item::text(&key, number.label, why),
        });
    }
    found
}

/// Every limit held against every pick, by all of its band.
fn limits(seeking: &Seeking<'_>, picks: &[Pick], shown: &[&'static Number], answer: &mut Answer) {
    for pick in picks.iter().filter(|pick| pick.point.is_some()) {
        let class = pick.point.as_deref().and_then(|p| seeking.rough(p)).and_then(|r| seeking.class_of(r));
        for bound in seeking.bounds.iter().cloned().chain(class) {
            let number = bound.number();
            let Some(at) = shown.iter().position(|n| n.key == number.key) else { continue };
            let measure = pick.numbers[at].as_ref().ok();
            let state = measure.map_or(State::NotJudged, |m| {
                let interval = m.band.as_ref().map_or((m.value, m.value), |b| (b.low, b.high));
                judged(m.value, interval, bound.at_least, bound.limit)
            });
            answer.limits.push(Limit {
                by: bound.text.clone(),
                key: format!("{}_{}", number.key, pick.suffix),
                label: format!("{}: {}", pick.name, number.label),
                limit: bound.limit,
                value: measure.cloned(),
                dimension: number.dimension,
                state,
            });
        }
    }
}

/// That the old winding does not count where another is sought.
fn rewound(seeking: &Seeking<'_>, answer: &mut Answer) {
    for path in &seeking.space.removed {
        let reason = match path.split_once('.') {
            Some(("winding", _)) => "it tells of the old winding; the new one has as many turns as are shown",
            Some(("calibration", _)) => "it tells of the magnet that was measured",
            _ => "it follows from what changes",
        };
        answer.assumptions.insert(
            0,
            Assumption {
                path: (*path).into(),
                label: "left out of the designs".into(),
                value: None,
                word: "left out".into(),
                reason: reason.into(),
            },
        );
    }
}

/// What more of each limit that the best design touches would give, and which ranges it is at the end of.
fn why_no_better(
    seeking: &mut Seeking<'_>,
    best: &Point,
    aim: &Aim,
    answer: &mut Answer,
) -> Result<(), Failure> {
    let mut items = Vec::new();
    for (k, touched) in (1..).zip(touched(seeking, best, aim)?) {
        let number = touched.bound.number();
        let limit = number.dimension.text(touched.relaxed, None, UnitSystem::Si);
        let side = if touched.bound.at_least { "≥" } else { "≤" };
        let label = format!("{} if {} {side} {limit}", aim.number().label, number.label);
        let key = format!("more_{k}");
        items.push(match touched.then {
            Some(then) => Item::number(&key, &label, then, aim.number().dimension)
                .with_note(format!("about, instead of {}", touched.bound.text)),
            None => Item::text(&key, &label, "no better"),
        });
    }
    for (axis, &place) in
        seeking.space.axes.iter().zip(best).filter(|(axis, _)| axis.ends && axis.count() > 1)
    {
        let end = if place == 0 {
            "least"
        } else if place + 1 == axis.count() {
            "most"
        } else {
            continue;
        };
        let key = format!("end_{}", axis.path.replace('.', "_"));
        let label = format!("{} is at the end of its range", axis.path);
        items.push(Item::text(
            &key,
            &label,
            format!("the {end} that was allowed: more may be gained beyond"),
        ));
    }
    if items.is_empty() {
        items.push(Item::text("inside", "what limits it", "nothing that was asked: the best lies inside"));
    }
    answer.group(&format!("What limits it ({:.0} % more of each)", 100.0 * MORE), items);
    Ok(())
}

/// Which limits contradict each other, and what would be enough.
fn why_none(seeking: &mut Seeking<'_>, answer: &mut Answer) -> Result<(), Failure> {
    let found = contradiction(seeking)?;
    let names: Vec<String> = found.between.iter().map(|b| format!("`{}`", b.text)).collect();
    answer.summary = match &names[..] {
        [one] => format!("No design keeps {one}, even if nothing else is asked of it."),
        [one, other] => format!("No design keeps all limits: {one} and {other} contradict each other."),
        _ => "No design keeps all limits; no two of them alone contradict each other.".into(),
    };
    let mut items = Vec::new();
    for (k, (bound, value)) in (1..).zip(&found.enough) {
        let number = bound.number();
        let label = format!("instead of {}, all else kept: {}", bound.text, number.label);
        items.push(Item::number(&format!("enough_{k}"), &label, *value, number.dimension).with_note("about"));
    }
    if let Some((_, _)) = found.enough.first() {
        answer.summary += " What would be enough stands below.";
    }
    answer.group("What would be enough, one at a time", items);
    Ok(())
}

fn sentence(aims: &[Aim], picks: &[Pick], front: usize) -> String {
    let key = |aim: &Aim, pick: &Pick| format!("{{{}_{}}}", aim.number().key, pick.suffix);
    let now = picks.iter().find(|pick| pick.point.is_none());
    let found: Vec<&Pick> = picks.iter().filter(|pick| pick.point.is_some()).collect();
    if let ([aim], [best]) = (aims, &found[..]) {
        let now = now.map_or(String::new(), |now| format!("; as it stands it is {}", key(aim, now)));
        return format!("{} design: {} {}{now}.", capital(&best.name), aim.number().label, key(aim, best));
    }
    let one = |pick: &&Pick| {
        let numbers: Vec<String> = aims.iter().map(|aim| key(aim, pick)).collect();
        format!("{} {}", pick.name, numbers.join(" and "))
    };
    let what: Vec<&str> = aims.iter().map(|aim| aim.number().label).collect();
    format!(
        "{front} designs that none beats in both {}: {}.",
        what.join(" and "),
        found.iter().map(one).collect::<Vec<_>>().join("; ")
    )
}

/// How it was found.
fn the_search(
    seeking: &Seeking<'_>,
    picks: &[Pick],
    shown: &[&'static Number],
    front: usize,
    answer: &mut Answer,
) {
    let mut apart: f64 = 0.0;
    for pick in picks {
        let Some(rough) = pick.point.as_deref().and_then(|p| seeking.rough(p)) else { continue };
        for aim in &seeking.question.aims {
            let at = shown.iter().position(|n| n.key == aim.number().key);
            let settled = at.and_then(|at| pick.numbers[at].as_ref().ok());
            let provisional = (aim.number().rough)(rough);
            let scale = match aim.number().dimension {
                Dimension::Temperature => 100.0,
                _ => provisional.abs(),
            };
            apart = settled.map_or(apart, |m| apart.max((m.value - provisional).abs() / scale));
        }
    }
    let mut items = vec![
        Item::number("designs", "designs solved", seeking.tried() as f64, Dimension::Count),
        Item::number("seed", "seed", seeking.question.seed as f64, Dimension::Count),
        Item::number("provisional", "settled aims differ from the search's by", apart, Dimension::Ratio),
    ];
    if seeking.question.aims.len() > 1 {
        items.push(Item::number("front", "undominated designs", front as f64, Dimension::Count));
    }
    answer.group("The search", items);
}

/// The front: the first aim against the second, provisional.
fn along(seeking: &Seeking<'_>, aims: &[Aim], points: &[Point]) -> Series {
    let mut rows: Vec<Vec<f64>> = points
        .iter()
        .filter_map(|point| seeking.rough(point))
        .map(|rough| aims.iter().map(|aim| (aim.number().rough)(rough)).collect())
        .collect();
    rows.sort_by(|a, b| a[1].total_cmp(&b[1]));
    front(aims, &rows)
}

/// Designs of two aims or more as a series: the first aim against the second. A row has a number for each aim.
#[must_use]
pub fn front(aims: &[Aim], rows: &[Vec<f64>]) -> Series {
    let column = |k: usize| {
        let number = aims[k].number();
        Column::new(number.key, number.label, number.dimension, rows.iter().map(|r| r[k]).collect())
    };
    Series {
        key: "front".into(),
        title: format!(
            "{} against {}: designs that none beats",
            capital(aims[0].number().label),
            aims[1].number().label
        ),
        x: column(1),
        ys: (0..aims.len()).filter(|k| *k != 1).map(column).collect(),
        log_x: false,
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect()
}
