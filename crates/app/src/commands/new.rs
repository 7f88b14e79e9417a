//! `new`: a commented sheet to start from.

use super::Command;
use crate::ask::{self, Form};
use crate::console::Console;
use crate::files::{self, Output};
use crate::outcome::{Exit, Stop};
use clap::builder::PossibleValuesParser;
use std::path::PathBuf;

/// Arguments of `new`.
#[derive(clap::Args)]
pub(super) struct New {
    /// The kind of magnet
    #[arg(value_parser = PossibleValuesParser::new(Form::ALL.map(Form::word)))]
    form: String,

    /// Write to this file instead of standard output
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,

    /// Replace the file if it exists
    #[arg(long, requires = "output")]
    force: bool,
}

impl Command for New {
    const NAME: &'static str = "new";
    const ABOUT: &'static str = "Write a commented sheet to start from";
    const EXAMPLES: &'static str = "\
Examples:
  coilwright new pot -o lifting.sheet.toml
  coilwright new coil | coilwright field -";

    fn run(self, console: &mut Console) -> Result<Exit, Stop> {
        let form = Form::from_word(&self.form);
        let form = form.ok_or_else(|| Stop::Usage(format!("there is no form `{}`", self.form)))?;
        let text = ask::template(form);
        match &self.output {
            None => console.say(&text)?,
            Some(path) => {
                let output = Output { path: path.clone(), bytes: text.into_bytes() };
                files::write(&[output], self.force)?;
                console.tell(&format!(
                    "wrote `{0}`; change it to what you have, then ask: coilwright pull {0}\n",
                    path.display()
                ))?;
            }
        }
        Ok(Exit::Answered)
    }
}
