//! The command line: arguments, progress, messages and exit codes, one file a command.
//!
//! Data goes to standard output, talk to standard error. Each command takes its raw arguments, turns them into
//! validated options and hands those to the library, which never sees the argument parser.

mod inputs;
mod lift;
mod ordered;
mod outgoing;
mod outputs;
mod puzzle;
mod rehearse;
mod report;
mod sheet;
mod sheet_boards;
mod together;
mod vet;
mod walk;

use std::ffi::OsString;
use std::io::{self, Write};
use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// Lifts printed sudoku grids off photos of pages and proves what it read.
#[derive(Debug, Parser)]
#[command(name = "gridlift", version, arg_required_else_help = true, after_help = EXIT_CODES)]
struct Call {
    #[command(subcommand)]
    command: Command,
}

const EXIT_CODES: &str = "\
Exit codes: 0 done, nothing needs a person; 1 done, something needs a person; 2 the call was wrong;
3 some input could not be opened or decoded (the rest was done).";

#[derive(Debug, Subcommand)]
enum Command {
    Lift(lift::Arguments),
    Vet(vet::Arguments),
    Walk(walk::Arguments),
    Rehearse(rehearse::Arguments),
    Sheet(sheet::Arguments),
}

/// How a command ended. Where several hold, the greatest wins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[repr(u8)]
pub enum Exit {
    /// Done, and nothing needs a person.
    Done = 0,
    /// Done, and something needs a person: a verdict other than `proven`, an unsound puzzle, a slip, another
    /// number of grids than expected.
    NeedsPerson = 1,
    /// The call was wrong: nothing was done.
    Usage = 2,
    /// Some input could not be opened or decoded; the rest was done.
    Input = 3,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}

/// Runs the command that `arguments` (the program's name first) ask for. Messages are printed here.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> Exit {
    let call = match Call::try_parse_from(arguments) {
        Ok(call) => call,
        Err(error) => {
            // Help and version are errors to the parser; where they can't be printed, nobody is listening.
            let _ = error.print();
            return if error.use_stderr() { Exit::Usage } else { Exit::Done };
        }
    };
    let done = match call.command {
        Command::Lift(arguments) => lift::run(arguments),
        Command::Vet(arguments) => vet::run(arguments),
        Command::Walk(arguments) => walk::run(arguments),
        Command::Rehearse(arguments) => rehearse::run(arguments),
        Command::Sheet(arguments) => sheet::run(arguments),
    };
    match done {
        Ok(exit) => exit,
        // Whoever reads the output has seen enough.
        Err(error) if is_closed_pipe(&error) => Exit::Done,
        Err(error) => {
            say(&format!("gridlift: {error:#}"));
            Exit::Usage
        }
    }
}

/// A value as JSON with a line's end; on one line unless `pretty`.
fn json(value: &impl serde::Serialize, pretty: bool) -> serde_json::Result<String> {
    let mut text = if pretty { serde_json::to_string_pretty(value)? } else { serde_json::to_string(value)? };
    text.push('\n');
    Ok(text)
}

/// Says a line on standard error; where nobody listens, nothing is lost.
fn say(line: &str) {
    drop(writeln!(io::stderr(), "{line}"));
}

fn is_closed_pipe(error: &anyhow::Error) -> bool {
    error.chain().any(|cause| cause.downcast_ref::<io::Error>().is_some_and(|io| io.kind() == io::ErrorKind::BrokenPipe))
}
