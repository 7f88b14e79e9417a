//! The commands. A new one is a file in this folder and its name in the list below.

mod answering;

use crate::args;
use crate::console::Console;
use crate::outcome::{Exit, Stop};
use clap::{ArgMatches, Args, FromArgMatches};
use std::ffi::OsString;

/// A command of the program.
pub(crate) trait Command: Args + FromArgMatches {
    /// The word on the command line.
    const NAME: &'static str;
    /// One line for the list of commands.
    const ABOUT: &'static str;
    /// Further help with examples; stands below the options.
    const EXAMPLES: &'static str;

    /// Does it.
    fn run(self, console: &mut Console) -> Result<Exit, Stop>;
}

/// Declares the modules and lists their `Command`s in the order of the help.
macro_rules! commands {
    ($($module:ident :: $command:ident),+ $(,)?) => {
        $(mod $module;)+
        const ENTRIES: &[Entry] = &[$(Entry::of::<$module::$command>()),+];
    };
}

commands! {
    new::New,
    winding::Winding,
    field::Field,
    pull::Pull,
    heat::Heat,
    switch::Switch,
    audit::Audit,
    fit::Fit,
    compare::Compare,
    seek::Seek,
    report::Report,
    open::Open,
    schema::SchemaOf,
    completions::Completions,
    manual::Manual,
}

/// A command without its type.
struct Entry {
    name: &'static str,
    define: fn() -> clap::Command,
    run: fn(&ArgMatches, &mut Console) -> Result<Exit, Stop>,
}

impl Entry {
    const fn of<C: Command>() -> Self {
        Self {
            name: C::NAME,
            define: || {
                let command = C::augment_args(clap::Command::new(C::NAME));
                // The words here, not the documentation of the type that holds the arguments.
                command.about(C::ABOUT).long_about(None).after_help(C::EXAMPLES)
            },
            run: |matches, console| {
                C::from_arg_matches(matches).map_err(|error| Stop::Usage(error.to_string()))?.run(console)
            },
        }
    }
}

const CLOSING: &str = "\
Start with   coilwright new pot -o my.sheet.toml
then ask     coilwright pull my.sheet.toml

Exit codes: 0 answered · 1 the input is wrong, nothing written · 2 usage ·
3 the physics could not be solved · 4 a limit of the sheet is exceeded (--strict)
NO_COLOR and COLUMNS are respected.";

fn program() -> clap::Command {
    clap::Command::new("coilwright")
        .version(env!("CARGO_PKG_VERSION"))
        .about("Everything a DC electromagnet does, from one sheet, with how sure it is")
        .after_help(CLOSING)
        .subcommand_required(true)
        .arg_required_else_help(true)
        .subcommand_value_name("COMMAND")
        .max_term_width(100)
        .subcommands(ENTRIES.iter().map(|entry| (entry.define)()))
}

/// Whether a word is a value.
type Reads = fn(&str) -> bool;

/// Options that may stand without a value, and whether a word is one for them rather than a sheet or another option.
const MAY_STAND_ALONE: [(&str, Reads); 2] =
    [("--axis", |word| args::between(word).is_ok()), ("--electromagnet", |word| args::voltage(word).is_ok())];

/// Such options with the values that stand behind them, as one word each.
fn joined(arguments: impl IntoIterator<Item = OsString>) -> Vec<OsString> {
    let mut words: Vec<OsString> = Vec::new();
    for word in arguments {
        let before = words.last().and_then(|last| last.to_str());
        let reads =
            MAY_STAND_ALONE.iter().find(|(option, _)| before == Some(*option)).map(|(_, reads)| reads);
        match words.last_mut() {
            Some(option) if word.to_str().is_some_and(|word| reads.is_some_and(|reads| reads(word))) => {
                option.push("=");
                option.push(&word);
            }
            _ => words.push(word),
        }
    }
    words
}

/// Reads the arguments and runs the command they name.
pub(crate) fn run(
    arguments: impl IntoIterator<Item = OsString>,
    console: &mut Console,
) -> Result<Exit, Stop> {
    let matches = match program().try_get_matches_from(joined(arguments)) {
        Ok(matches) => matches,
        Err(message) => {
            // Help and version are answers; everything else here is wrong usage.
            let exit = if message.exit_code() == 0 { Exit::Answered } else { Exit::Usage };
            let text = message.render().ansi().to_string();
            if exit == Exit::Answered {
                console.say(&text)?
            } else {
                console.tell(&text)?
            }
            return Ok(exit);
        }
    };
    let Some((name, arguments)) = matches.subcommand() else { return Ok(Exit::Usage) };
    match ENTRIES.iter().find(|entry| entry.name == name) {
        Some(entry) => (entry.run)(arguments, console),
        None => Ok(Exit::Usage),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use crate::console::Console;
    use crate::outcome::Exit;
    use std::path::Path;

    /// clap's own check of all definitions.
    #[test]
    fn the_command_line_is_sound() {
        super::program().debug_assert();
    }

    /// A value is taken from the next word where it is one; a sheet is not.
    #[test]
    fn an_options_value_may_stand_apart() {
        let words = |line: &str| super::joined(line.split(' ').map(Into::into)).join(" ".as_ref());
        for (line, read) in [
            ("field pot.toml --axis -50..50mm", "field pot.toml --axis=-50..50mm"),
            ("compare --electromagnet 24V disc.toml", "compare --electromagnet=24V disc.toml"),
            ("field --axis pot.toml", "field --axis pot.toml"),
            ("field --axis --full pot.toml", "field --axis --full pot.toml"),
            ("field --at 0mm,1mm", "field --at 0mm,1mm"),
        ] {
            assert_eq!(words(line), read);
        }
    }

    /// Every example of the help runs, on the examples' sheets and readings: each command's one after another, for some read
    /// what one before has written, and the commands side by side.
    #[test]
    fn the_helps_examples_run() {
        let program = super::program();
        let count: usize = std::thread::scope(|scope| {
            let all: Vec<_> = program
                .get_subcommands()
                .map(|command| scope.spawn(|| examples_of(&command.get_after_help().unwrap().to_string())))
                .collect();
            all.into_iter().map(|one| one.join().unwrap()).sum()
        });
        assert!(count > 25, "{count} examples");
    }

    /// Runs the examples of one command's help; how many there are.
    fn examples_of(help: &str) -> usize {
        let folder = bench_folder();
        // What stands behind a pipe needs the one before it; what stands behind a sign of redirection is the shell's.
        // A server does not end by itself.
        let ends = |line: &&str| line.starts_with("  coilwright ") && !line.starts_with("  coilwright open");
        let lines = help.lines().filter(ends);
        let lines = lines.map(|line| line.trim().split(['>', '|']).next().unwrap());
        let run = |line: &str| {
            let line = line.split("   ").next().unwrap();
            let arguments = words(line).into_iter().map(|word| {
                let endings = [".toml", ".csv", ".svg", ".png", ".html", ".md"];
                let file = endings.iter().any(|ending| word.ends_with(ending));
                if file { folder.path().join(word).into_os_string() } else { word.into() }
            });
            let exit = super::run(arguments, &mut Console::sunk());
            assert!(matches!(exit, Ok(Exit::Answered)), "{line}: {exit:?}");
        };
        lines.inspect(|line| run(line)).count()
    }

    /// A folder with what the examples speak of.
    fn bench_folder() -> tempfile::TempDir {
        let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
        let folder = tempfile::tempdir().unwrap();
        for (from, to) in [
            ("gantry-pot.sheet.toml", "magnet.sheet.toml"),
            ("gantry-pot.sheet.toml", "bought.sheet.toml"),
            ("lathe-bar.sheet.toml", "turned.sheet.toml"),
            ("loudspeaker-ring.sheet.toml", "ring.sheet.toml"),
            ("readings/gantry-pot.csv", "bench.csv"),
            ("readings/gantry-warm-up.csv", "warm-up.csv"),
            ("readings/gantry-warm-up.csv", "later.csv"),
        ] {
            let text = std::fs::read_to_string(examples.join(from)).unwrap();
            // Of laminated iron, where it has any: a field in time is not what is tried here.
            let tables: &[&str] = if to.starts_with("ring") { &[] } else { &["[body]", "[workpiece]"] };
            let quick =
                tables.iter().fold(text, |t, table| t.replace(table, &format!("{table}\nlaminated = true")));
            std::fs::write(folder.path().join(to), quick).unwrap();
        }
        // A few of the readings do for this: what all of them tell, others test.
        let bench = std::fs::read_to_string(folder.path().join("bench.csv")).unwrap();
        let few: Vec<&str> =
            bench.lines().enumerate().filter(|(k, _)| *k < 12 || k % 4 == 0).map(|(_, l)| l).collect();
        std::fs::write(folder.path().join("bench.csv"), few.join("\n") + "\n").unwrap();
        folder
    }

    /// As a shell would split it; fewer samples do for this.
    fn words(line: &str) -> Vec<String> {
        let mut words = vec![String::new()];
        let mut quoted = false;
        let quick = line.trim().replace("--samples 200", "--samples 30");
        let few =
            if quick.contains("--designs") { "coilwright seek" } else { "coilwright seek --designs 60" };
        let quick = quick.replace("coilwright seek", few);
        for c in quick.chars() {
            match c {
                '\'' => quoted = !quoted,
                ' ' if !quoted => words.push(String::new()),
                c => words.last_mut().unwrap().push(c),
            }
        }
        words
    }

    #[test]
    fn every_command_and_option_says_what_it_is_for() {
        for command in super::program().get_subcommands() {
            assert!(command.get_about().is_some(), "{}", command.get_name());
            for argument in command.get_arguments() {
                assert!(argument.get_help().is_some(), "{} {}", command.get_name(), argument.get_id());
            }
        }
    }
}
