//! A change of the sheet's text by one of its entries: comments and order stay.

use super::asked::told;
use super::part::Told;
use crate::ask::{Failure, Sheet};
use coilwright_bench::written;
use serde::{Deserialize, Serialize};

/// What is to be changed.
#[derive(Debug, Deserialize)]
pub(super) struct Edit {
    text: String,
    /// Paths and what is to stand there; nothing takes the entry away.
    entries: Vec<(String, String)>,
}

/// What came of it.
#[derive(Debug, Serialize)]
#[serde(untagged)]
pub(super) enum Edited {
    /// The new text.
    Done { text: String },
    /// Why there is none.
    Refused { diagnostics: Vec<Told> },
}

impl Edit {
    /// Changes the text.
    pub(super) fn run(self) -> Edited {
        match self.changed() {
            Ok(text) => Edited::Done { text },
            Err(diagnostics) => Edited::Refused { diagnostics },
        }
    }

    fn changed(&self) -> Result<String, Vec<Told>> {
        let (sheet, _) = Sheet::parse(&self.text, "").map_err(|faults| told(&faults, &self.text))?;
        // Each entry is tried first: what is wrong with it is said of it, not of a place in the text.
        let mut tried = sheet.clone();
        for (path, text) in &self.entries {
            tried.set(path, text).map_err(|mut fault| {
                fault.file = format!("--set {path}={text}");
                told(&[fault], &self.text)
            })?;
        }
        written::written(&sheet, &self.entries).map_err(|failure| match failure {
            Failure::Input(faults) => told(&faults, &self.text),
            other => {
                told(&[coilwright_magnet::diagnostic::Diagnostic::fault(other.to_string(), "")], &self.text)
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "# mine\nsheet = 1\nform = \"coil\"\n[winding]\ninner_diameter = \"20 mm\" # caliper\n\
                        outer_diameter = \"40 mm\"\nlength = \"30 mm\"\nturns = 500\n[drive]\ncurrent = \"1 A\"\n";

    fn edited(path: &str, text: &str) -> Edited {
        Edit { text: TEXT.into(), entries: vec![(path.into(), text.into())] }.run()
    }

    #[test]
    fn comments_stay_and_nonsense_is_refused_where_it_was_typed() {
        match edited("winding.inner_diameter", "21 mm ± 0.1 mm") {
            Edited::Done { text } => assert_eq!(text, TEXT.replace("20 mm", "21 mm ± 0.1 mm")),
            refused => panic!("{refused:?}"),
        }
        match edited("winding.inner_diameter", "21 volts") {
            Edited::Refused { diagnostics } => assert_eq!(diagnostics[0].path, "winding.inner_diameter"),
            done => panic!("{done:?}"),
        }
    }
}
