//! Needs held against every magnet, and the magnets ranked by them.

use crate::asking::Asking;
use crate::need::Need;
use crate::topic::TOPICS;
use coilwright_magnet::answers::answer::{Answer, Group, Item, Limit, State};
use coilwright_magnet::quantity::UnitSystem;

/// What no need allows.
const BURNS: &str = "left on, its winding burns";

/// Every need held against every magnet: who meets all, and how each fares.
pub(crate) fn needs(all: &[Asking], needs: &[Need], answer: &mut Answer) {
    if needs.is_empty() {
        return;
    }
    let mut items = Vec::new();
    let (mut worst, mut margins): (Vec<Option<State>>, Vec<f64>) = (Vec::new(), Vec::new());
    for (number, asking) in (1..).zip(all) {
        let (mut states, mut words, mut margin) = (Vec::new(), Vec::new(), f64::INFINITY);
        for need in needs {
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
        // Nobody needs a fire.
        if asking.burns() {
            words.push(BURNS.into());
            states.push(State::Exceeded);
            margin = f64::NEG_INFINITY;
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
        (
            Some(State::Exceeded),
            if worst.iter().all(|state| *state == Some(State::Exceeded)) {
                "None meets every need; from the nearest"
            } else {
                "Misses a need"
            },
        ),
    ] {
        let names = names(wanted);
        if !names.is_empty() {
            sentence.push(format!("{word}: {names}."));
        }
    }
    let burning: Vec<&str> = all.iter().filter(|a| a.burns()).map(|a| a.name.as_str()).collect();
    if !burning.is_empty() {
        sentence.push(format!("{}: {BURNS}.", burning.join(", ")));
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
