//! Magnets side by side: what they are called, and how they compare.

use crate::args::Alternative;
use crate::input::Loaded;
use crate::page::Topic;
use crate::topics;
use coilwright_choose::compare::{self, Question, Subject};
use coilwright_magnet::answers::answer::Answer;
use coilwright_magnet::watch::Watch;

/// The command that answers it.
pub(crate) const COMMAND: &str = "compare";
/// Its heading in a page.
pub(crate) const TITLE: &str = "Beside others";

/// What the magnets are called: by their sheets, by what is otherwise, and by their files where that is not enough.
fn names(sheets: &[Loaded], given: usize, with: &[Alternative]) -> Vec<String> {
    let own: Vec<&str> = sheets.iter().map(|loaded| loaded.sheet.name()).collect();
    let name = |k: usize| {
        let otherwise = k.checked_sub(given).and_then(|k| with.get(k)).map(|alternative| {
            let changes = alternative.0.iter().map(|a| format!("{} = {}", a.path, a.text));
            changes.collect::<Vec<_>>().join(", ")
        });
        match otherwise {
            Some(changes) if given == 1 => format!("with {changes}"),
            Some(changes) => format!("{} with {changes}", own[k]),
            None if k < given && own[..given].iter().filter(|n| **n == own[k]).count() > 1 => {
                format!("{} ({})", own[k], sheets[k].file)
            }
            None => own[k].to_owned(),
        }
    };
    let mut found: Vec<String> = Vec::with_capacity(sheets.len());
    for name in (0..sheets.len()).map(name) {
        // The same file may be named twice.
        let again = found.iter().filter(|f| **f == name || f.starts_with(&format!("{name}, "))).count();
        found.push(if again == 0 { name } else { format!("{name}, once more ({again})") });
    }
    found
}

/// Sheets as a comparison takes them.
pub(crate) fn subjects(sheets: &[Loaded], given: usize, with: &[Alternative]) -> Vec<Subject> {
    let names = names(sheets, given, with).into_iter();
    names.zip(sheets).map(|(name, loaded)| Subject { name, sheet: loaded.sheet.clone() }).collect()
}

/// One magnet before others, as a page tells it.
pub(crate) fn topic(sheet: &Loaded, others: &[Loaded], watch: &Watch) -> Topic {
    let all: Vec<Loaded> = [sheet].into_iter().chain(others).cloned().collect();
    let answer = compare::watched(&subjects(&all, all.len(), &[]), &Question::default(), watch);
    of(answer.map_err(|failure| topics::reason(&failure)))
}

/// Why there is none.
pub(crate) fn refused(reason: &str) -> Topic {
    of(Err(reason.to_owned()))
}

fn of(answer: Result<Answer, String>) -> Topic {
    Topic { command: COMMAND, title: TITLE, made_by: None, answer }
}
