//! What a search has solved, as text that grows line by line: a run that was ended, however, goes on from it.
//!
//! The search itself follows from its seed alone, so nothing of it is kept: it begins again, and what stands in the log is not
//! solved again. The last line counts only if it is whole.

use crate::seek::question::Question;
use crate::seek::search::Point;
use crate::seek::space::{Lack, Outcome};
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::model::rough::Rough;
use coilwright_magnet::sheet::Sheet;
use std::collections::BTreeMap;

/// Format of the lines below the head.
const FORMAT: &str = "coilwright seek log 1";
const COUNT: usize = 19;

/// Designs that were solved before.
#[derive(Clone, Debug, Default)]
pub struct Log(pub(crate) BTreeMap<Point, Outcome>);

impl Log {
    /// How many designs stand in it.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// The head of a log: what it is of. `version` is the program's.
pub fn head(sheet: &Sheet, set: &[String], question: &Question, version: &str) -> String {
    // How many designs are looked at may change from run to run; what each of them gives may not.
    let asked = format!("{:?} {:?} {:?}", question.vary, question.aims, question.within);
    let sheet = checksum(&format!("{}\n{}", sheet.source_text(), set.join("\n")));
    format!(
        "{FORMAT}\nversion {version}\nsheet {sheet}\nquestion {}\nseed {}\n",
        checksum(&asked),
        question.seed
    )
}

/// Reads a log that begins with a head; gives back also how many bytes of it are whole lines.
///
/// # Errors
/// It is no log, or one of another version, sheet, question or seed; a line that cannot be read.
pub fn read(text: &str, head: &str) -> Result<(Log, usize), Diagnostic> {
    // Killed while its head was written.
    if head.starts_with(text) {
        return Ok((Log::default(), 0));
    }
    let whole = text.rfind('\n').map_or(0, |at| at + 1);
    let mut lines = text[..whole].lines();
    for expected in head.lines() {
        let found = lines.next().unwrap_or_default();
        if found == expected {
            continue;
        }
        let what = expected.split(' ').next().unwrap_or_default();
        if expected == FORMAT || !found.starts_with(&format!("{what} ")) {
            let hint = "name a file that does not exist yet, or one that `seek --log` has begun";
            return Err(Diagnostic::fault("it is no log of a search", hint));
        }
        let message = match what {
            "version" => "it was begun by another version of the program",
            "sheet" => "it is of another sheet, or of this one before it was changed",
            "question" => "it was begun with other aims, limits or entries that change",
            _ => "it was begun with another seed",
        };
        let hint = format!("its head has `{found}`, this search `{expected}`; begin another log");
        return Err(Diagnostic::fault(message, hint));
    }
    let mut log = Log::default();
    for (number, line) in (head.lines().count() + 1..).zip(lines) {
        let (point, outcome) = one(line).ok_or_else(|| {
            let hint = "take the line out, or begin another log";
            Diagnostic::fault(format!("line {number} is no design that was solved"), hint)
        })?;
        log.0.insert(point, outcome);
    }
    Ok((log, whole))
}

/// A line for a design.
pub(crate) fn line(point: &[u32], outcome: &Outcome) -> String {
    let place: Vec<String> = point.iter().map(u32::to_string).collect();
    let told = match outcome {
        // Digits enough that the same bits are read back.
        Ok(rough) => values(rough).map(|v| format!("{v:?}")).join(" "),
        Err(Lack::RunsAway) => "runs away".into(),
        Err(Lack::NoMagnet(why)) => format!("none: {}", why.replace(['\n', '\r'], " ")),
    };
    format!("{}: {told}\n", place.join(" "))
}

fn one(line: &str) -> Option<(Point, Outcome)> {
    let (place, told) = line.split_once(": ")?;
    let point: Point = place.split(' ').map(str::parse).collect::<Result<_, _>>().ok()?;
    let outcome = if told == "runs away" {
        Err(Lack::RunsAway)
    } else if let Some(why) = told.strip_prefix("none: ") {
        Err(Lack::NoMagnet(why.into()))
    } else {
        let all: Vec<f64> = told.split(' ').map(str::parse).collect::<Result<_, _>>().ok()?;
        Ok(rough(all.try_into().ok()?))
    };
    Some((point, outcome))
}

/// The numbers of a magnet in the order in which a line has them.
macro_rules! in_order {
    ($($field:ident),*) => {
        fn values(n: &Rough) -> [f64; COUNT] {
            [$(n.$field),*]
        }

        fn rough([$($field),*]: [f64; COUNT]) -> Rough {
            Rough { $($field),* }
        }
    };
}

in_order!(
    mass_kg,
    volume_m3,
    turns,
    room_for_turns,
    conductor_mass_kg,
    wire_length_m,
    resistance_20_ohm,
    current_a,
    power_w,
    ampere_turns,
    current_density_a_per_m2,
    pull_n,
    field_t,
    hot_spot_k,
    surface_k,
    current_warm_a,
    power_warm_w,
    pull_warm_n,
    class_k
);

/// FNV-1a of 64 bits (G. Fowler, L. C. Noll, K.-P. Vo), which tells chance changes apart, in hexadecimal.
fn checksum(text: &str) -> String {
    let step = |hash: u64, byte: u8| (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
    format!("{:016x}", text.bytes().fold(0xcbf2_9ce4_8422_2325, step))
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = "coilwright seek log 1\nversion 1\nsheet a\nquestion b\nseed 1\n";

    #[test]
    fn what_was_solved_comes_back_to_the_bit() {
        let mut all = [0.1; COUNT];
        (all[3], all[11]) = (1.0 / 3.0, f64::NAN);
        let text = HEAD.to_owned()
            + &line(&[1, 22], &Ok(rough(all)))
            + &line(&[0, 3], &Err(Lack::RunsAway))
            + &line(&[0, 4], &Err(Lack::NoMagnet("too\nthin: 3 mm".into())));
        let (log, whole) = read(&text, HEAD).expect("a log");
        assert_eq!((log.len(), whole), (3, text.len()));
        let back = values(log.0[&vec![1, 22]].as_ref().expect("numbers"));
        assert!(back.iter().zip(all).all(|(a, b)| a.to_bits() == b.to_bits()));
        assert_eq!(log.0[&vec![0, 4]], Err(Lack::NoMagnet("too thin: 3 mm".into())));
        // Killed in the midst of a line, or of the head.
        let (log, whole) = read(&text[..text.len() - 2], HEAD).expect("a log");
        assert_eq!((log.len(), &text[whole..]), (2, "0 4: none: too thin: 3 mm\n"));
        assert_eq!(read(&HEAD[..30], HEAD).expect("a beginning").1, 0);
    }

    /// The published value for the letter a (Fowler, Noll and Vo's test vectors, from memory).
    #[test]
    fn checksums_are_what_they_say() {
        assert_eq!(checksum("a"), "af63dc4c8601ec8c");
    }

    #[test]
    fn what_is_no_log_of_this_search_is_refused() {
        for (text, word) in [
            ("sheet = 1\nform = \"pot\"\n", "no log"),
            ("coilwright seek log 1\nversion 2\nsheet a\nquestion b\nseed 1\n", "another version"),
            ("coilwright seek log 1\nversion 1\nsheet c\nquestion b\nseed 1\n", "another sheet"),
            ("coilwright seek log 1\nversion 1\nsheet a\nquestion c\nseed 1\n", "other aims"),
            ("coilwright seek log 1\nversion 1\nsheet a\nquestion b\nseed 2\n", "another seed"),
            ("coilwright seek log 1\nversion 1\nsheet a\nquestion b\nseed 1\n1 2: 0.5\n", "line 6"),
        ] {
            let fault = read(text, HEAD).expect_err(word);
            assert!(fault.message.contains(word), "{fault}");
        }
    }
}
