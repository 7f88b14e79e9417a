//! Several magnets, asked the same, number by number.
//!
//! The first magnet's workpiece stands in front of every one, at the gap that its sheet or the question gives. The
//! answer has a group for each topic: a row for each magnet (`pull_1`, `pull_2`, ...), and from the second on a row for the
//! difference from the first (`pull_2_more`). First of all stands by how much the strongest pulls more than the next.

use crate::difference::{Common, Verdict, difference, verdict};
use crate::gathered::{gather, reason, row};
use crate::need::Need;
use crate::topic::{Asked, From, TOPICS, Told, Topic, for_each, ratio, told};
use coilwright_bench::sampled;
use coilwright_magnet::answers::advice;
use coilwright_magnet::answers::answer::{Answer, Caution, Column, Group, Item, Limit, Series, State};
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::magnet::assumption::Assumption;
use coilwright_magnet::magnet::variation::{varied, ways};
use coilwright_magnet::model::ask;
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::uncertainty::band::{Band, Budget};
use coilwright_magnet::uncertainty::measure::Measure;
use coilwright_magnet::watch::Watch;
use rayon::prelude::*;

/// Of more magnets than so many not all are named at the head.
const MANY: usize = 4;
/// Gaps of the chart, m.
const GAPS_M: [f64; 7] = [0.05e-3, 0.1e-3, 0.2e-3, 0.5e-3, 1e-3, 2e-3, 5e-3];

/// One of the magnets.
#[derive(Clone, Debug)]
pub struct Subject {
    /// What it is called in the comparison; no two alike.
    pub name: String,
    /// What describes it.
    pub sheet: Sheet,
}

/// What is asked of all.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Question {
    /// The gap for all, m; the first sheet's if none is given.
    pub gap_m: Option<f64>,
    /// Height above the face at which fields are compared, m; the first sheet's probe's if none is given.
    pub height_m: Option<f64>,
    /// What a magnet has to do to be chosen.
    pub needs: Vec<Need>,
}

/// A magnet with its answers, as far as it has any.
struct Asking {
    name: String,
    sheet: Sheet,
    magnet: Magnet,
    /// In the order of [`Asked::ALL`]; or why there is none, which may be nothing worth a word.
    answers: Vec<Result<Answer, Option<String>>>,
    /// By topic.
    told: Vec<Told>,
}

/// Compare two magnets or more.
///
/// # Errors
/// Fewer than two; a sheet that is wrong in itself. A magnet that has no number on a topic is compared on the others.
pub fn compare(subjects: &[Subject], question: &Question) -> Result<Answer, Failure> {
    watched(subjects, question, &Watch::default())
}

/// The same for somebody who watches how far it has come, and may stop it.
///
/// # Errors
/// As [`compare`], and [`Failure::Stopped`].
pub fn watched(subjects: &[Subject], question: &Question, watch: &Watch) -> Result<Answer, Failure> {
    let [first, _, ..] = subjects else {
        let hint = "name several sheets, or say what is to be otherwise in the one";
        return Err(Diagnostic::fault("a comparison needs two magnets", hint).into());
    };
    if question.height_m.is_some_and(|height| height < 0.0) {
        let hint = "give a height of zero or more above the face, such as 1mm";
        return Err(Diagnostic::fault("fields are not compared inside the magnets", hint).into());
    }
    let names = match subjects {
        [first, rest @ ..] if rest.len() >= MANY => format!("{} and {} others", first.name, rest.len()),
        all => all.iter().map(|s| &*s.name).collect::<Vec<_>>().join(", "),
    };
    let mut answer = Answer::new("compare", &names);
    let sheets = on_one_workpiece(subjects, question, &mut answer)?;
    let height_m = question.height_m.or_else(|| first.sheet.value("probe.standoff"));
    let gaps_m = gaps(question);
    let jobs: Vec<(usize, Asked)> =
        (0..sheets.len()).flat_map(|k| Asked::ALL.map(|asked| (k, asked))).collect();
    let magnets: Vec<Magnet> = sheets.iter().map(Magnet::complete).collect::<Result<_, Vec<Diagnostic>>>()?;
    let work = watch.part(jobs.len());
    let answers: Vec<_> = jobs
        .par_iter()
        .with_max_len(1)
        .map(|&(k, asked)| {
            let answer = one((&sheets[k], &magnets[k]), asked, height_m, &gaps_m, watch);
            work.done();
            answer
        })
        .collect();
    watch.check()?;
    let mut answers = answers.into_iter();
    let mut all: Vec<Asking> = Vec::with_capacity(sheets.len());
    for ((subject, sheet), magnet) in subjects.iter().zip(sheets).zip(magnets) {
        let own = answers.by_ref().take(Asked::ALL.len()).collect();
        let mut asking = Asking { name: subject.name.clone(), sheet, magnet, answers: own, told: Vec::new() };
        asking.told = TOPICS.iter().map(|topic| asking.tell(topic)).collect();
        all.push(asking);
    }
    topics(&all, height_m, &mut answer);
    needs(&all, question, &mut answer);
    curves(&all, &mut answer);
    let of_each: Vec<(&str, Vec<&Answer>)> =
        all.iter().map(|a| (a.name.as_str(), a.answers.iter().flatten().collect())).collect();
    // Voltages are not compared, and what is told of the pull once more is told already.
    let told = |of: &Answer, c: &Caution| of.command != "switch" || c.about == "release_time";
    gather(&of_each, told, "pull_1", &mut answer);
    Ok(answer)
}

/// The sheets, with one workpiece in front of all where that can be.
fn on_one_workpiece(
    subjects: &[Subject],
    question: &Question,
    answer: &mut Answer,
) -> Result<Vec<Sheet>, Failure> {
    let mut sheets: Vec<Sheet> = subjects.iter().map(|s| s.sheet.clone()).collect();
    let reference = subjects.iter().position(|s| s.sheet.has("workpiece"));
    for (subject, sheet) in subjects.iter().zip(&mut sheets) {
        if let Some(of) = reference.map(|k| &subjects[k])
            && !same_file(&of.sheet, &subject.sheet)
            && let Err(fault) = sheet.take_table("workpiece", &of.sheet)
        {
            answer.warnings.push(format!("{} stands before its own workpiece: {fault}", subject.name));
        }
        if let Some(gap_m) = question.gap_m {
            // What has no workpiece has no gap either.
            if sheet.has("workpiece") {
                sheet.set("workpiece.gap", &format!("{gap_m:e} m"))?;
            }
        }
    }
    if let Some(of) = reference
        && subjects.iter().any(|s| !same_file(&subjects[of].sheet, &s.sheet))
    {
        answer.assumptions.push(Assumption {
            path: "workpiece".into(),
            label: "workpiece of all".into(),
            value: None,
            word: format!("that of {}", subjects[of].name),
            reason: "magnets are compared before one and the same workpiece and gap".into(),
        });
    }
    Ok(sheets)
}

fn same_file(a: &Sheet, b: &Sheet) -> bool {
    a.file() == b.file() && a.source_text() == b.source_text()
}

fn gaps(question: &Question) -> Vec<f64> {
    let needed = question.needs.iter().filter_map(|need| need.gap_m);
    let mut gaps: Vec<f64> = GAPS_M.into_iter().chain(question.gap_m).chain(needed).collect();
    gaps.sort_by(f64::total_cmp);
    gaps.dedup_by(|a, b| (*a / *b - 1.0).abs() < 1e-9);
    gaps
}

/// One answer of one magnet; what keeps it from answering, if that is worth a word.
fn one(
    (sheet, magnet): (&Sheet, &Magnet),
    asked: Asked,
    height_m: Option<f64>,
    gaps_m: &[f64],
    watch: &Watch,
) -> Result<Answer, Option<String>> {
    let has = match asked {
        Asked::Winding | Asked::Heat | Asked::Switch => {
            magnet.excitation.as_ref().is_some_and(|e| e.winding.is_some())
        }
        Asked::Pull => magnet.pulls(),
        Asked::Field => true,
    };
    if !has {
        return Err(None);
    }
    let gaps_m = if magnet.free { &[] } else { gaps_m };
    let question = asked.question(height_m, gaps_m);
    // What sampling mends of switching, the pull that is left without current, is not compared.
    let answered = match asked {
        Asked::Switch => ask::watched(sheet, &question, watch),
        _ => sampled::answer(sheet, &question, watch),
    };
    answered.map_err(|failure| Some(reason(failure)))
}

impl Asking {
    fn answer(&self, asked: Asked) -> Result<&Answer, Option<&String>> {
        let place = Asked::ALL.iter().position(|a| *a == asked).unwrap_or_default();
        self.answers[place].as_ref().map_err(Option::as_ref)
    }

    /// Its number on a topic.
    fn tell(&self, topic: &Topic) -> Told {
        let item = |asked: Asked, key: &str| match self.answer(asked) {
            Ok(answer) => told(answer, key, topic.without),
            Err(why) => Err(why.map_or(topic.without, String::as_str).to_owned()),
        };
        let room = self.magnet.envelope_m3();
        match topic.from {
            From::Item(asked, key) => item(asked, key),
            From::Envelope => Ok(Measure { value: room, dimension: topic.dimension, band: None }),
            From::Mass => mass(&self.sheet, &self.magnet).ok_or_else(|| topic.without.into()),
            From::PullPerMass => {
                let mass = mass(&self.sheet, &self.magnet).ok_or_else(|| topic.without.to_owned())?;
                Ok(ratio(&item(Asked::Pull, "pull")?, &mass, topic.dimension))
            }
            From::Entry(path) => {
                let value = self.sheet.value(path).ok_or_else(|| topic.without.to_owned())?;
                Ok(Measure { value, dimension: topic.dimension, band: None })
            }
            From::PullPer(path) => {
                let of =
                    self.sheet.value(path).filter(|v| *v > 0.0).ok_or_else(|| topic.without.to_owned())?;
                Ok(for_each(&item(Asked::Pull, "pull")?, of, topic.dimension))
            }
            From::PullPerRoom(of) => Ok(for_each(&item(Asked::Pull, "pull")?, room / of, topic.dimension)),
            From::PullPerWatt => {
                let pull = item(Asked::Pull, "pull").map_err(|_| "none: it pulls on nothing".to_owned())?;
                let power = item(Asked::Winding, "power")?;
                Ok(ratio(&pull, &power, topic.dimension))
            }
        }
    }

    /// What its numbers have in common with another's.
    fn common(&self, other: &Self, measures: [&Measure; 2]) -> Common {
        let one_sheet = same_file(&self.sheet, &other.sheet);
        let shared = |path: &str| {
            let same = self.sheet.agrees(&other.sheet, path);
            same && path != "solver" && (one_sheet || path.starts_with("workpiece."))
        };
        let parts = measures.into_iter().flat_map(|m| &m.band).flat_map(|band| &band.contributors);
        let mut paths: Vec<String> = parts.map(|c| c.path.clone()).filter(|path| shared(path)).collect();
        paths.sort();
        paths.dedup();
        let correlations = if one_sheet { self.sheet.correlations().unwrap_or_default() } else { Vec::new() };
        Common { shared: paths, correlations }
    }

    fn against(&self, other: &Self, topic: usize) -> Option<Measure> {
        let (Ok(own), Ok(its)) = (&self.told[topic], &other.told[topic]) else { return None };
        if own == its && same_file(&self.sheet, &other.sheet) {
            // One and the same magnet, so far.
            let mut none = difference(its, own, &Common::default());
            none.band = None;
            return Some(none);
        }
        Some(difference(its, own, &self.common(other, [its, own])))
    }
}

/// What a magnet weighs, with its band; none where that cannot be said.
fn mass(sheet: &Sheet, magnet: &Magnet) -> Option<Measure> {
    let value = magnet.mass_kg()?;
    let mut budget = Budget::new(value);
    for way in ways(sheet, magnet) {
        let moved = |x: f64| varied(sheet, magnet, std::slice::from_ref(&way), &[x]).ok()?.magnet.mass_kg();
        // At the edge of what is possible the other side stands for both.
        if let Some(change) = moved(1.0).map(|m| m - value).or_else(|| Some(value - moved(-1.0)?)) {
            budget.add(&way.path, &way.label, change);
        }
    }
    Some(Measure { value, dimension: Dimension::Mass, band: budget.band_about(value) })
}

/// In a word, for the second against the first.
fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::More => "surely more",
        Verdict::Less => "surely less",
        Verdict::Open => "no sure difference",
        Verdict::Same => "the same",
    }
}

/// A group for each topic on which any magnet has a number.
fn topics(all: &[Asking], height_m: Option<f64>, answer: &mut Answer) {
    for (place, topic) in TOPICS.iter().enumerate() {
        if all.iter().all(|a| a.told[place].is_err()) {
            continue;
        }
        let mut items = Vec::new();
        if topic.key == "pull" {
            items.extend(lead(all, answer));
        }
        for (number, asking) in (1..).zip(all) {
            let key = format!("{}_{number}", topic.key);
            let more = if number == 1 { None } else { asking.against(&all[0], place) };
            items.push(match &asking.told[place] {
                Ok(measure) => {
                    row(&key, &asking.name, measure).with_note(more.as_ref().map_or("", |m| word(verdict(m))))
                }
                Err(why) => Item::text(&key, &asking.name, why),
            });
            if let Some(more) = more {
                let label = format!("{} over {}", asking.name, all[0].name);
                items.push(row(&format!("{key}_more"), &label, &more));
            }
        }
        items.extend(place_of(topic, all, height_m));
        answer.group(topic.title, items);
    }
}

/// At which gap or height.
fn place_of(topic: &Topic, all: &[Asking], height_m: Option<f64>) -> Option<Item> {
    match topic.key {
        "pull" => {
            let gaps = all.iter().filter_map(|a| a.magnet.workpiece.as_ref()).map(|plate| plate.gap_m);
            let mut gaps: Vec<f64> = gaps.collect();
            gaps.dedup();
            match gaps[..] {
                [gap] => Some(Item::number("gap", "gap", gap, Dimension::Length)),
                _ => None,
            }
        }
        "field" => height_m.map(|h| Item::number("height", "height above the face", h, Dimension::Length)),
        _ => None,
    }
}

/// By how much the strongest pulls more than the next, and the sentence that says so.
fn lead(all: &[Asking], answer: &mut Answer) -> Option<Item> {
    let pull = |k: &usize| all[*k].told[0].as_ref().map_or(f64::NEG_INFINITY, |m| m.value.abs());
    let mut order: Vec<usize> = (0..all.len()).filter(|k| all[*k].told[0].is_ok()).collect();
    order.sort_by(|a, b| pull(b).total_cmp(&pull(a)));
    let [best, next, ..] = order[..] else { return None };
    let lead = all[best].against(&all[next], 0)?;
    let sure = match verdict(&lead) {
        Verdict::More | Verdict::Less => "surely more than",
        Verdict::Open => "not surely more than",
        Verdict::Same => "just as much as",
    };
    answer.summary = format!(
        "{} pulls most, {{pull_{}}}: {sure} {}, {{pull_{}}}.",
        all[best].name,
        best + 1,
        all[next].name,
        next + 1
    );
    if let Some(band) = &lead.band {
        answer.next_measurements = advice::next(band);
    }
    Some(row("pull_lead", &format!("{} over {}", all[best].name, all[next].name), &lead))
}

/// Every need held against every magnet: who meets all, and how each fares.
fn needs(all: &[Asking], question: &Question, answer: &mut Answer) {
    if question.needs.is_empty() {
        return;
    }
    let mut items = Vec::new();
    let (mut worst, mut margins): (Vec<Option<State>>, Vec<f64>) = (Vec::new(), Vec::new());
    for (number, asking) in (1..).zip(all) {
        let (mut states, mut words, mut margin) = (Vec::new(), Vec::new(), f64::INFINITY);
        for need in &question.needs {
            let topic = &TOPICS[need.topic];
            let found = asking.needed(need);
            let state = found.as_ref().map_or(State::Exceeded, |m| {
                let interval = m.band.as_ref().map_or((m.value, m.value), |b| (b.low, b.high));
                need.judge(m.value, interval)
            });
            margin = margin.min(found.as_ref().map_or(f64::NEG_INFINITY, |m| need.margin(m.value)));
            answer.limits.push(Limit {
                by: format!("--need {}", need.text),
                key: format!("{}_{number}", topic.key),
                label: format!("{}: {}", asking.name, topic.title),
                limit: need.limit,
                value: found.as_ref().ok().cloned(),
                dimension: topic.dimension,
                state,
            });
            let has = match &found {
                Ok(m) => topic.dimension.text(m.value, m.band.as_ref().map(|b| b.standard), UnitSystem::Si),
                Err(why) => why.clone(),
            };
            words.push(match state {
                State::Kept => continue,
                State::Doubtful => format!("not surely {} ({has})", need.text),
                State::Exceeded | State::NotJudged => format!("not {} ({has})", need.text),
            });
            states.push(state);
        }
        let failed = states.contains(&State::Exceeded);
        let state = if failed { Some(State::Exceeded) } else { states.first().copied() };
        let text = match state {
            None => "meets all".into(),
            Some(State::Doubtful) => format!("not surely: {}", words.join("; ")),
            Some(_) => format!("misses: {}", words.join("; ")),
        };
        items.push(Item::text(&format!("meets_{number}"), &asking.name, text));
        worst.push(state);
        margins.push(margin);
    }
    let order = ranked(&worst, &margins);
    let names = |wanted: Option<State>| {
        let of = order.iter().filter(|k| worst[**k] == wanted);
        of.map(|k| all[*k].name.as_str()).collect::<Vec<_>>().join(", ")
    };
    let mut sentence = Vec::new();
    for (wanted, word) in [
        (None, "Meets every need"),
        (Some(State::Doubtful), "May meet every need, not surely"),
        (Some(State::Exceeded), "Does not"),
    ] {
        let names = names(wanted);
        if !names.is_empty() {
            sentence.push(format!("{word}: {names}."));
        }
    }
    if all.len() > 2 {
        for (place, k) in (1..).zip(&order) {
            let note =
                format!("by its tightest need: {:.3} times what it comes to at least", margins[*k].exp());
            let note = if margins[*k].is_finite() { note } else { String::new() };
            items.push(
                Item::text(&format!("rank_{place}"), &format!("place {place}"), &all[*k].name)
                    .with_note(&note),
            );
        }
    }
    answer.summary = format!("{} {}", sentence.join(" "), answer.summary).trim_end().into();
    answer.groups.insert(0, Group { title: "Needs".into(), items });
}

/// From the best: who meets all first, then who may; among these by the need that is kept most tightly.
fn ranked(worst: &[Option<State>], margins: &[f64]) -> Vec<usize> {
    let class = |k: usize| match worst[k] {
        None => 0,
        Some(State::Doubtful) => 1,
        Some(_) => 2,
    };
    let mut order: Vec<usize> = (0..worst.len()).collect();
    order.sort_by(|a, b| class(*a).cmp(&class(*b)).then(margins[*b].total_cmp(&margins[*a])));
    order
}

impl Asking {
    /// The number that a need is about.
    fn needed(&self, need: &Need) -> Told {
        let topic = &TOPICS[need.topic];
        if let (Err(why), Some(value)) = (&self.told[need.topic], topic.comes_to)
            && why == topic.without
        {
            return Ok(Measure { value, dimension: topic.dimension, band: None });
        }
        let Some(gap_m) = need.gap_m else { return self.told[need.topic].clone() };
        let without = |why: Option<&String>| why.map_or(topic.without, String::as_str).to_owned();
        let answer = self.answer(Asked::Pull).map_err(without)?;
        let curve = answer.series.iter().find(|s| s.key == "pull_gap");
        let at = curve.and_then(|s| {
            let k = s.x.values.iter().position(|x| (x / gap_m - 1.0).abs() < 1e-9)?;
            let column = s.ys.first()?;
            let (value, (low, high)) = (column.values[k], column.bands.get(k).copied()?);
            let standard = 0.25 * (high - low);
            let band = Band { standard, low, high, contributors: Vec::new() };
            Some(Measure { value, dimension: Dimension::Force, band: Some(band) })
        });
        at.ok_or_else(|| "its gap cannot be changed".into())
    }
}

/// All pulls over the gap in one chart.
fn curves(all: &[Asking], answer: &mut Answer) {
    let mut common: Option<Series> = None;
    for (number, asking) in (1..).zip(all) {
        let Ok(own) = asking.answer(Asked::Pull) else { continue };
        let Some(curve) = own.series.iter().find(|s| s.key == "pull_gap") else { continue };
        let Some(column) = curve.ys.first() else { continue };
        let series = common.get_or_insert_with(|| Series { ys: Vec::new(), ..curve.clone() });
        if series.x.values == curve.x.values {
            let key = format!("pull_{number}");
            series.ys.push(Column { key, label: asking.name.clone(), ..column.clone() });
        }
    }
    answer.series.extend(common);
}
