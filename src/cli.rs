//! Arguments, files and exit statuses.

mod ask;
mod check;
mod clock;
mod draw;
mod explain;
mod files;
mod hints;
mod job;
mod lint;
mod page;
mod paint;
mod plain;
mod records;
mod roll;
mod slip;
mod specfile;
mod stream;
mod view;
mod wear;
mod wrap;

use anstream::ColorChoice;
use clap::{Args as _, FromArgMatches as _, Parser, Subcommand, ValueEnum};
use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;

/// In time, or clean.
pub(crate) const CLEAN: u8 = 0;
/// Out of time, not proven, or findings.
pub(crate) const FINDINGS: u8 = 1;
/// Unusable input or usage.
pub(crate) const UNUSABLE: u8 = 2;

/// What the program is called.
const NAME: &str = "tautmark";

/// Proves, in exact arithmetic, whether an engine's timing chain is hung right.
///
/// Exit status: 0 in time or clean; 1 out of time, not proven, or findings; 2 unusable input or usage.
/// The maker's service information rules over this tool.
#[derive(Parser)]
#[command(name = NAME, version, about, long_about)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    // The help of each command stands with its arguments.
    Check(check::CheckArguments),
    Ask(ask::AskArguments),
    Roll(roll::RollArguments),
    Explain(explain::ExplainArguments),
    Draw(draw::DrawArguments),
    Lint(lint::LintArguments),
    Wear(wear::WearArguments),
    Job(job::JobArguments),
    New(plain::NewArguments),
    /// Print the JSON Schema of spec files, for editors
    Schema,
    Slip(slip::SlipArguments),
    Page(page::PageArguments),
    Paint(paint::PaintArguments),
}

/// How results are written.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For a person
    Text,
    /// For a program; exact values are strings "p/q"
    Json,
}

/// A spec file argument that several commands take.
#[derive(clap::Args)]
pub(crate) struct SpecArgument {
    /// The engine's spec file (- reads standard input)
    #[arg(value_name = "SPEC")]
    pub(crate) path: PathBuf,
}

/// The command that was asked for.
fn asked(words: Vec<OsString>) -> Result<Command, clap::Error> {
    let first = words.get(1).and_then(|word| word.to_str());
    match first.and_then(alone) {
        Some(command) => {
            let mut only = clap::Command::new(NAME).subcommand(command);
            let matches = only.try_get_matches_from_mut(words)?;
            Command::from_arg_matches(&matches).map_err(|error| error.format(&mut only))
        }
        None => Arguments::try_parse_from(words).map(|arguments| arguments.command),
    }
}

/// The arguments of one command, without those of all others, which would take longer to build than a spec to read.
fn alone(name: &str) -> Option<clap::Command> {
    type Fill = fn(clap::Command) -> clap::Command;
    let (name, fill): (&str, Fill) = match name {
        "check" => ("check", check::CheckArguments::augment_args),
        "ask" => ("ask", ask::AskArguments::augment_args),
        "roll" => ("roll", roll::RollArguments::augment_args),
        "explain" => ("explain", explain::ExplainArguments::augment_args),
        "draw" => ("draw", draw::DrawArguments::augment_args),
        "lint" => ("lint", lint::LintArguments::augment_args),
        "wear" => ("wear", wear::WearArguments::augment_args),
        "job" => ("job", job::JobArguments::augment_args),
        "new" => ("new", plain::NewArguments::augment_args),
        "slip" => ("slip", slip::SlipArguments::augment_args),
        "page" => ("page", page::PageArguments::augment_args),
        "paint" => ("paint", paint::PaintArguments::augment_args),
        _ => return None,
    };
    Some(fill(clap::Command::new(name)))
}

pub(crate) fn run() -> ExitCode {
    let command = match asked(std::env::args_os().collect()) {
        Ok(command) => command,
        Err(error) => return usage(&error),
    };
    let outcome = match command {
        Command::Check(arguments) => check::run(&arguments),
        Command::Ask(arguments) => ask::run(&arguments),
        Command::Roll(arguments) => roll::run(&arguments),
        Command::Explain(arguments) => explain::run(&arguments),
        Command::Draw(arguments) => draw::run(&arguments),
        Command::Lint(arguments) => lint::run(&arguments),
        Command::Wear(arguments) => wear::run(&arguments),
        Command::Job(arguments) => job::run(&arguments),
        Command::New(arguments) => plain::new(&arguments),
        Command::Schema => plain::schema(),
        Command::Slip(arguments) => slip::run(&arguments),
        Command::Page(arguments) => page::run(&arguments),
        Command::Paint(arguments) => paint::run(&arguments),
    };
    match outcome {
        Ok(status) => ExitCode::from(status),
        Err(error) => {
            // A reader that has seen enough closes the pipe; that is no failure of ours.
            if stream::is_broken_pipe(&error) {
                return ExitCode::from(UNUSABLE);
            }
            stream::error(&format!("error: {error:#}\n"));
            ExitCode::from(UNUSABLE)
        }
    }
}

fn usage(error: &clap::Error) -> ExitCode {
    let text = error.render();
    if error.use_stderr() {
        // What was typed is quoted in the message; it must not reach the terminal raw.
        let mut text = text.to_string();
        if error.kind() == clap::error::ErrorKind::UnknownArgument && forgot_quotes() {
            text.push_str(
                "\nA value of several words needs quotes around it: --link 'intake=2 behind' (or intake=-2)\n",
            );
        }
        stream::error(&text);
        return ExitCode::from(UNUSABLE);
    }
    match stream::output(&if colour_wanted() {
        text.ansi().to_string()
    } else {
        text.to_string()
    }) {
        Ok(()) => ExitCode::from(CLEAN),
        Err(_) => ExitCode::from(UNUSABLE),
    }
}

/// Does a word stand alone that belongs to what was seen?
fn forgot_quotes() -> bool {
    std::env::args().any(|word| {
        matches!(
            word.to_lowercase().as_str(),
            "ahead"
                | "behind"
                | "late"
                | "early"
                | "advanced"
                | "retarded"
                | "deg"
                | "degrees"
                | "crank"
                | "teeth"
                | "tooth"
        )
    })
}

/// Does standard output take colours? Not if it is no terminal or a dumb one, nor with NO_COLOR.
pub(crate) fn colour_wanted() -> bool {
    takes_colour(&std::io::stdout())
}

/// The same of any stream.
pub(crate) fn takes_colour(stream: &impl anstream::stream::RawStream) -> bool {
    // On a build machine (CI=true) a dumb terminal would be taken for one that can do more.
    let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb")
        && std::env::var_os("CLICOLOR_FORCE").is_none();
    !dumb && anstream::AutoStream::choice(stream) != ColorChoice::Never
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory as _;

    #[test]
    fn a_command_alone_is_the_command_among_all_others() {
        let mut all = Arguments::command();
        all.build();
        let mut found = 0;
        for among in all.get_subcommands() {
            let Some(command) = alone(among.get_name()) else {
                assert!(matches!(among.get_name(), "schema" | "help"), "{among}");
                continue;
            };
            found += 1;
            let mut only = clap::Command::new(NAME).subcommand(command);
            only.build();
            // Where it stands in the list of all is nothing to it.
            let shown = |command: &clap::Command| format!("{:?}", command.clone().display_order(0));
            let only = only.find_subcommand(among.get_name()).unwrap();
            assert!(shown(only) == shown(among), "{}", among.get_name());
        }
        assert_eq!(found, 12);
    }

    #[test]
    fn what_is_wrong_is_said_alike_whether_a_command_is_built_alone_or_not() {
        for words in [
            "check",
            "check x --tooth 3",
            "check x --jobs",
            "check x --jobs many --records -",
            "check x --record r --link crank=on",
            "check --help",
            "roll x --turned 1 extra",
            "job",
            "job nothing",
            "job status",
            "explain x --most 0",
            "draw x --format mosaic",
        ] {
            let words: Vec<OsString> = std::iter::once(NAME)
                .chain(words.split(' '))
                .map(OsString::from)
                .collect();
            let alone = asked(words.clone()).err().map(|error| error.to_string());
            let all = Arguments::try_parse_from(&words).err();
            assert_eq!(alone, all.map(|error| error.to_string()), "{words:?}");
        }
    }
}
