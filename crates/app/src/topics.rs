//! What a page about one magnet asks, in the order of reading, and how it is asked.

use crate::args::Sampling;
use crate::ask::{
    Failure, FieldQuestion, HeadroomQuestion, HeatQuestion, PullQuestion, Question, Sheet, SwitchQuestion,
};
use crate::bench::{self, Read};
use coilwright_magnet::answers::answer::Answer;
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::watch::Watch;
use std::fs::File;
use std::io::Read as _;
use std::path::Path;

/// Longest profile that is read, in bytes.
const LONGEST_PROFILE: u64 = 64 << 20;

/// A question of the report.
pub(crate) struct Asked {
    /// The command that answers it.
    pub(crate) command: &'static str,
    /// Heading.
    pub(crate) title: &'static str,
    /// The words that ask it.
    pub(crate) words: &'static [&'static str],
    /// Whom it is put to.
    pub(crate) of: Of,
}

/// Whom a question is put to.
pub(crate) enum Of {
    /// The model.
    Model(Question),
    /// What is said and what was read, against each other.
    Audit,
    /// The readings.
    Fit,
}

/// What is asked, in the order of reading; of readings only where there are any.
pub(crate) fn questions(read: bool) -> Vec<Asked> {
    let field = FieldQuestion { axis: true, keep_out: true, ..FieldQuestion::default() };
    let pull = PullQuestion { shear: true, ..PullQuestion::default() };
    let headroom = HeatQuestion { headroom: Some(HeadroomQuestion::default()), ..HeatQuestion::default() };
    let one = |command, title, words, of| Asked { command, title, words, of };
    let mut all = vec![
        one("winding", "Winding", &["winding"][..], Of::Model(Question::Winding)),
        one("pull", "Pull", &["pull", "--shear"], Of::Model(Question::Pull(pull))),
        one("field", "Field", &["field", "--axis", "--keep-out"], Of::Model(Question::Field(field))),
        one("heat", "Heat", &["heat"], Of::Model(Question::Heat(HeatQuestion::default()))),
        one("headroom", "Headroom", &["heat", "--headroom"], Of::Model(Question::Heat(headroom))),
        one("switch", "Switching", &["switch"], Of::Model(Question::Switch(SwitchQuestion::default()))),
        one("audit", "Nameplate, sheet and readings against each other", &["audit"], Of::Audit),
    ];
    if read {
        all.push(one("fit", "Readings, and what they tell", &["fit"], Of::Fit));
    }
    all
}

/// Asks one; `date` is what a fit is to carry.
pub(crate) fn ask(
    sheet: &Sheet,
    of: &Of,
    readings: Option<&Read>,
    (date, watch): (&str, &Watch),
) -> Result<Answer, Failure> {
    let once = Sampling { sweep: Vec::new(), adjust: None, until: None, samples: None, seed: 1 };
    match (of, readings) {
        (Of::Model(Question::Heat(heat)), _) => {
            let question = HeatQuestion { profile: profile(sheet)?, ..heat.clone() };
            bench::answer(sheet, &Question::Heat(question), &once, watch)
        }
        (Of::Model(question), _) => bench::answer(sheet, question, &once, watch),
        (Of::Fit, Some(read)) => bench::fit(sheet, read, date, watch).map(|fitted| fitted.answer),
        (Of::Audit | Of::Fit, _) => bench::audit(sheet, readings.map(|read| &read.readings)),
    }
}

/// Why there is no answer, in a sentence.
pub(crate) fn reason(failure: &Failure) -> String {
    match failure {
        Failure::Input(diagnostics) => {
            let messages: Vec<&str> = diagnostics.iter().map(|fault| fault.message.as_str()).collect();
            format!("{}.", messages.join("; "))
        }
        other => format!("{other}."),
    }
}

/// Name and text of the file that the sheet's `drive.profile` names: beside the sheet, or else from here.
pub(crate) fn profile(sheet: &Sheet) -> Result<Option<(String, String)>, Failure> {
    let Some(name) = sheet.word("drive.profile") else { return Ok(None) };
    let beside = Path::new(sheet.file()).with_file_name(name);
    let path = if beside.exists() { beside.as_path() } else { Path::new(name) };
    let mut text = String::new();
    let read = File::open(path).and_then(|file| file.take(LONGEST_PROFILE).read_to_string(&mut text));
    match read {
        Ok(_) => Ok(Some((path.display().to_string(), text))),
        Err(error) => {
            let fault: Diagnostic = sheet.fault(
                "drive.profile",
                format!("`{name}` could not be read: {error}"),
                "a CSV with the columns `time (s), voltage (V)` or `time (s), current (A)`",
            );
            Err(fault.into())
        }
    }
}

/// Words as a shell takes them.
pub(crate) fn command_line(words: &[String]) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_./=:+,%".contains(c);
    let quoted = |word: &String| match word.chars().all(plain) && !word.is_empty() {
        true => word.clone(),
        false => format!("'{}'", word.replace('\'', "'\\''")),
    };
    words.iter().map(quoted).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_command_line_is_one() {
        let words = ["coilwright", "report", "a b.toml", "--set", "name=it's"].map(str::to_owned);
        assert_eq!(command_line(&words), r"coilwright report 'a b.toml' --set 'name=it'\''s'");
    }
}
