//! `schema`: the published formats.

use super::Command;
use crate::ask;
use crate::console::Console;
use crate::json;
use crate::outcome::{Exit, Stop};
use clap::ValueEnum;

/// Arguments of `schema`.
#[derive(clap::Args)]
pub(super) struct SchemaOf {
    /// Of which format
    #[arg(value_enum)]
    of: Format,
}

#[derive(Clone, Copy, ValueEnum)]
enum Format {
    Answer,
    Sheet,
}

impl Command for SchemaOf {
    const NAME: &'static str = "schema";
    const ABOUT: &'static str = "Print the JSON Schema of answers or of sheets";
    const EXAMPLES: &'static str = "\
Examples:
  coilwright schema sheet > sheet.schema.json    for completion in an editor
  coilwright schema answer                       what --json writes";

    fn run(self, console: &mut Console) -> Result<Exit, Stop> {
        let schema = match self.of {
            Format::Answer => json::answer_schema(),
            Format::Sheet => ask::json_schema(),
        };
        let text = serde_json::to_string_pretty(&schema).map_err(|error| Stop::Output(error.into()))?;
        console.say(&(text + "\n"))?;
        Ok(Exit::Answered)
    }
}
