//! `completions`: what a shell needs to complete commands, options and files.

use super::Command;
use crate::console::Console;
use crate::outcome::{Exit, Stop};
use clap_complete::Shell;

/// Arguments of `completions`.
#[derive(clap::Args)]
pub(super) struct Completions {
    /// For which shell
    #[arg(value_enum)]
    shell: Shell,
}

impl Command for Completions {
    const NAME: &'static str = "completions";
    const ABOUT: &'static str = "Print what a shell needs to complete commands and options";
    const EXAMPLES: &'static str = "\
Examples:
  coilwright completions bash > ~/.local/share/bash-completion/completions/coilwright
  coilwright completions fish > ~/.config/fish/completions/coilwright.fish
  coilwright completions zsh > ~/.zfunc/_coilwright    with ~/.zfunc in fpath";

    fn run(self, console: &mut Console) -> Result<Exit, Stop> {
        let mut text = Vec::new();
        clap_complete::generate(self.shell, &mut super::program(), "coilwright", &mut text);
        console.say(&String::from_utf8_lossy(&text))?;
        Ok(Exit::Answered)
    }
}
