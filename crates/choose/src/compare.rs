//! Several magnets, asked the same, number by number.
//!
//! The first magnet's workpiece stands in front of every one, at the gap that its sheet or the question gives. The
//! answer has a group for each topic: a row for each magnet (`pull_1`, `pull_2`, ...), and from the second on a row for the
//! difference from the first (`pull_2_more`). First of all stands by how much the strongest pulls more than the next.

use crate::asking::{Asking, one, same_file};
use crate::difference::{Verdict, verdict};
use crate::gathered::{gather, row};
use crate::need::Need;
use crate::needs::needs;
use crate::topic::{Asked, TOPICS, Topic};
use coilwright_magnet::answers::advice;
use coilwright_magnet::answers::answer::{Answer, Caution, Column, Item, Series};
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::magnet::assumption::Assumption;
use coilwright_magnet::quantity::Dimension;
use coilwright_magnet::sheet::Sheet;
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
    needs(&all, &question.needs, &mut answer);
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

fn gaps(question: &Question) -> Vec<f64> {
    let needed = question.needs.iter().filter_map(|need| need.gap_m);
    let mut gaps: Vec<f64> = GAPS_M.into_iter().chain(question.gap_m).chain(needed).collect();
    gaps.sort_by(f64::total_cmp);
    gaps.dedup_by(|a, b| (*a / *b - 1.0).abs() < 1e-9);
    gaps
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
    Some(row("pull_lead", &format!("difference in pull, {} over {}", all[best].name, all[next].name), &lead))
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
