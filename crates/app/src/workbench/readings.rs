//! Readings that were dropped on the page.

use super::asked::told;
use super::part::Told;
use crate::bench::{self, Read};
use crate::input::checksum;
use crate::page::Source;
use serde::{Deserialize, Serialize};

/// A file of readings as the page sends it.
#[derive(Debug, Deserialize)]
pub(super) struct Dropped {
    /// Its name; empty takes the readings away.
    pub(super) name: String,
    text: String,
}

/// Readings with where they come from.
pub(super) struct Given {
    pub(super) read: Read,
    pub(super) source: Source,
}

/// What the page is told of them.
#[derive(Debug, Default, Serialize)]
pub(super) struct Heard {
    /// Faults; none if they were taken.
    pub(super) diagnostics: Vec<Told>,
    /// What is odd about them.
    pub(super) remarks: Vec<String>,
}

impl Dropped {
    /// The readings, or what is wrong with them.
    pub(super) fn read(self) -> Result<Given, Vec<Told>> {
        let source = Source { file: self.name.clone(), sha256: checksum(self.text.as_bytes()) };
        match bench::readings_of(self.text.as_bytes(), self.name) {
            Ok(read) => Ok(Given { read, source }),
            Err(diagnostics) => {
                // Their lines stand in the name of the file.
                let mut all = told(&diagnostics, "");
                for (told, fault) in all.iter_mut().zip(&diagnostics) {
                    let line = fault.file.rsplit_once(':').and_then(|(_, line)| line.parse().ok());
                    told.line = line.unwrap_or(0);
                }
                Err(all)
            }
        }
    }
}
