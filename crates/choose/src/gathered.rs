//! What several answers say beside their numbers, each once.

use coilwright_magnet::answers::answer::{Answer, Caution, Danger, Item};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::assumption::Assumption;
use coilwright_magnet::uncertainty::measure::Measure;

/// A number with its band as a row.
pub(crate) fn row(key: &str, label: &str, measure: &Measure) -> Item {
    let item = Item::number(key, label, measure.value, measure.dimension);
    match &measure.band {
        Some(band) => item.with_band(band.clone()),
        None => item,
    }
}

/// Why there is no answer, in a sentence: of several faults the first.
pub(crate) fn reason(failure: Failure) -> String {
    match failure {
        Failure::Input(faults) => faults.into_iter().next().map_or(String::new(), |fault| fault.message),
        other => other.to_string(),
    }
}

/// Assumptions, warnings and cautions of all answers, by the names of what they are about. Cautions of which `told` says
/// no are left out; those about a pull hang on the item of the key `pull`.
pub(crate) fn gather(
    of_each: &[(&str, Vec<&Answer>)],
    told: impl Fn(&Answer, &Caution) -> bool,
    pull: &str,
    answer: &mut Answer,
) {
    let mut cautions: Vec<Minded<'_>> = Vec::new();
    let mut warnings: Vec<(&str, Vec<&str>)> = Vec::new();
    for (name, answers) in of_each {
        for own in answers {
            for assumption in &own.assumptions {
                let known = |a: &Assumption| {
                    a.path == assumption.path && a.value == assumption.value && a.word == assumption.word
                };
                if !answer.assumptions.iter().any(known) {
                    answer.assumptions.push(assumption.clone());
                }
            }
            for warning in &own.warnings {
                match warnings.iter_mut().find(|(known, _)| known == warning) {
                    Some((_, names)) if names.contains(name) => {}
                    Some((_, names)) => names.push(name),
                    None => warnings.push((warning, vec![name])),
                }
            }
            cautions.extend(own.cautions.iter().filter(|c| told(own, c)).map(|caution| Minded {
                name,
                caution,
                number: own.number(&caution.about).unwrap_or(0.0),
            }));
        }
    }
    answer.warnings.extend(warnings.into_iter().map(|(warning, names)| match names.len() {
        all if all == of_each.len() => warning.to_owned(),
        1 => format!("{}: {warning}", names[0]),
        more => format!("{} and {} more: {warning}", names[0], more - 1),
    }));
    let mut kinds: Vec<(Danger, &str)> = Vec::new();
    for kind in cautions.iter().map(Minded::kind) {
        if !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    for kind in kinds {
        let of_kind: Vec<&Minded<'_>> = cautions.iter().filter(|c| c.kind() == kind).collect();
        // Of one's cautions of a kind the last is the worst.
        let last = |c: &&&Minded<'_>| {
            of_kind.iter().rfind(|other| other.name == c.name).is_some_and(|other| std::ptr::eq(*other, **c))
        };
        let of_kind_each: Vec<&Minded<'_>> = of_kind.iter().filter(last).copied().collect();
        answer.cautions.extend(together(&of_kind_each, pull));
    }
}

/// A caution and what it is about.
struct Minded<'a> {
    name: &'a str,
    caution: &'a Caution,
    /// What it is about.
    number: f64,
}

impl Minded<'_> {
    fn kind(&self) -> (Danger, &str) {
        (self.caution.danger, &self.caution.source)
    }
}

/// One caution for all: the worst one's where they differ, in full all.
fn together(of_each: &[&Minded<'_>], pull: &str) -> Option<Caution> {
    // What holds least is what drops; of all else the greatest is the worst.
    let badness =
        |m: &&&Minded<'_>| if m.caution.danger == Danger::DroppedLoad { -m.number } else { m.number };
    let worst = of_each.iter().max_by(|a, b| badness(a).total_cmp(&badness(b)))?;
    let briefs: Vec<(&str, &str)> = of_each.iter().map(|m| (m.name, m.caution.brief.as_str())).collect();
    let texts: Vec<(&str, &str)> = of_each.iter().map(|m| (m.name, m.caution.text.as_str())).collect();
    let brief = if alike(&briefs) {
        worst.caution.brief.clone()
    } else {
        format!("{} (worst: {})", worst.caution.brief, worst.name)
    };
    let about = if worst.caution.about.starts_with("pull") { pull } else { "" };
    let Caution { danger, ref source, .. } = *worst.caution;
    Some(Caution { danger, about: about.into(), brief, text: joined(&texts), source: source.clone() })
}

fn alike(texts: &[(&str, &str)]) -> bool {
    texts.iter().all(|(_, text)| *text == texts[0].1)
}

fn joined(texts: &[(&str, &str)]) -> String {
    if alike(texts) {
        return texts[0].1.into();
    }
    texts.iter().map(|(name, text)| format!("{name}: {text}")).collect::<Vec<_>>().join(" ")
}
