//! `manual`: the manual page of the program or of one command, from the definitions that the help shows.

use super::Command;
use crate::console::Console;
use crate::outcome::{Exit, Stop};
use clap_mangen::Man;

/// Arguments of `manual`.
#[derive(clap::Args)]
pub(super) struct Manual {
    /// Of which command; without one, of the program
    command: Option<String>,
}

impl Command for Manual {
    const NAME: &'static str = "manual";
    const ABOUT: &'static str = "Print a manual page, for man";
    const EXAMPLES: &'static str = "\
Examples:
  coilwright manual > ~/.local/share/man/man1/coilwright.1
  coilwright manual pull > ~/.local/share/man/man1/coilwright-pull.1";

    fn run(self, console: &mut Console) -> Result<Exit, Stop> {
        let mut program = super::program();
        // Completes the names of the commands: `coilwright-pull`.
        program.build();
        let page = match &self.command {
            None => program,
            Some(name) => {
                let found = program.get_subcommands().find(|command| command.get_name() == name);
                let known: Vec<&str> = program.get_subcommands().map(clap::Command::get_name).collect();
                let lacking =
                    || Stop::Usage(format!("there is no command `{name}`; there are {}", known.join(", ")));
                found.ok_or_else(lacking)?.clone()
            }
        };
        let mut text = Vec::new();
        Man::new(page).render(&mut text)?;
        console.say(&String::from_utf8_lossy(&text))?;
        Ok(Exit::Answered)
    }
}
