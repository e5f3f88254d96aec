//! `gridlift vet`: is this puzzle sound?

use std::io::{self, BufWriter, Write};

use super::puzzle::{Puzzle, PuzzleArguments, headed, untold};
use super::report::list;
use super::{Exit, json, say};
use crate::export::vet::{SCHEMA, Vet};

/// Tells whether a puzzle has exactly one solution, and what is at fault where it hasn't.
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Arguments {
    #[command(flatten)]
    puzzle: PuzzleArguments,
    /// Count up to N solutions
    #[arg(long, value_name = "N", default_value_t = 2, value_parser = clap::value_parser!(u64).range(2..))]
    count: u64,
    /// Indent the JSON
    #[arg(long)]
    pretty: bool,
    /// Print the JSON Schema of the output and do nothing else
    #[arg(long, exclusive = true)]
    schema: bool,
}

const EXAMPLES: &str = "\
Examples:
  gridlift vet 974..8....1.6....5....9......1...3..348...519..2...4......6....4....1.9....5..723
  gridlift vet puzzles.txt                    one puzzle a line, one JSON object a line
  gridlift lift page.jpg | gridlift vet -     what was read of a page, wrong entries told
  gridlift vet page.json --grid 42 --pretty   the grid labelled 42, indented
  gridlift vet puzzles.txt --count 100        how many solutions, up to 100

Exit codes: 0 every puzzle is sound; 1 a person must look at one; 2 the call was wrong;
3 some input could not be read (the rest was done).";

/// Runs the command.
///
/// # Errors
/// Where the call is wrong, or the output can't be written.
pub fn run(arguments: Arguments) -> anyhow::Result<Exit> {
    let mut stdout = BufWriter::new(io::stdout().lock());
    if arguments.schema {
        stdout.write_all(SCHEMA.as_bytes())?;
        stdout.flush()?;
        return Ok(Exit::Done);
    }
    arguments.puzzle.read()?.each(|puzzle| {
        let vet = Vet::new(&puzzle.givens, puzzle.untold, puzzle.entries.as_ref(), arguments.count);
        stdout.write_all(json(&vet, arguments.pretty)?.as_bytes())?;
        stdout.flush()?;
        say(&headed(&puzzle.name, &talk(puzzle, &vet)));
        Ok(if vet.is_sound() { Exit::Done } else { Exit::NeedsPerson })
    })
}

/// Soundness in one line.
fn talk(puzzle: &Puzzle, vet: &Vet) -> String {
    let givens = match puzzle.givens.filled().len() {
        1 => "1 given".into(),
        count => format!("{count} givens"),
    };
    let mut parts = vec![match vet.solutions {
        0 => format!("unsound, {givens}, no solution: {} can't stand together", list(&vet.conflict)),
        1 => format!("{}, {givens}, one solution", if vet.is_sound() { "sound" } else { "in doubt" }),
        count if vet.capped => format!("unsound, {givens}, more than {count} solutions"),
        count => format!("unsound, {givens}, {count} solutions"),
    }];
    if !puzzle.untold.is_empty() {
        parts.push(untold(puzzle.untold));
    }
    if !vet.repairs.is_empty() {
        let repairs: Vec<_> = vet.repairs.iter().map(|repair| format!("{} {} to {}", repair.cell, repair.from, repair.to)).collect();
        let which = if repairs.len() == 1 { "this change" } else { "one of these changes" };
        parts.push(format!("{which} would mend it: {}", list(&repairs)));
    }
    if let Some(wrong) = vet.wrong_entries.as_ref().filter(|wrong| !wrong.is_empty()) {
        let wrong: Vec<_> = wrong.iter().map(|wrong| format!("{} has {} where {} stands", wrong.cell, wrong.entry, wrong.stands)).collect();
        parts.push(format!("wrong entries: {}", list(&wrong)));
    }
    parts.join("; ")
}
