//! `gridlift walk`: the deductions that solve a puzzle, the easiest order first.

use std::io::{self, Write};
use std::path::PathBuf;

use anyhow::{Context, bail};

use super::puzzle::{Puzzle, TrustedArguments, headed};
use super::{Exit, json, say};
use crate::export::walk::{SCHEMA, WalkForm};
use crate::grid::{Board, Cell};
use crate::prove::{Count, prove};
use crate::walk::{self, Deduction, Options, Pencil, Step, Uniqueness, View, Walk, Words};

/// Find the deductions that solve a puzzle, in the order that is easiest to see and to carry in mind
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Arguments {
    #[command(flatten)]
    puzzle: TrustedArguments,
    /// Walk as someone who writes all candidates
    #[arg(long)]
    marks: bool,
    /// Start at a half-filled board: an 81-character line that holds the puzzle's givens
    #[arg(long, value_name = "BOARD")]
    from: Option<Board>,
    /// Only the steps to the next digit: a hint
    #[arg(long, conflicts_with = "shows")]
    next: bool,
    /// The earliest moment a deduction can be seen, in one VIEW if named, and the shortest way there
    #[arg(long, value_name = "DEDUCTION[/VIEW]")]
    shows: Option<String>,
    /// Use these deductions only
    #[arg(long, value_name = "DEDUCTION,...", value_delimiter = ',')]
    only: Vec<Deduction>,
    /// Leave these deductions out
    #[arg(long, value_name = "DEDUCTION,...", value_delimiter = ',')]
    without: Vec<Deduction>,
    /// Use nothing that needs the puzzle to have exactly one solution
    #[arg(long)]
    no_unique: bool,
    /// Speak in the words of this TOML file (what it leaves out stays as it is; --words-example prints the built-in ones)
    #[arg(long, value_name = "FILE")]
    words: Option<PathBuf>,
    /// Print the built-in words, to be changed and given to --words, and do nothing else
    #[arg(long, exclusive = true)]
    words_example: bool,
    /// Print sentences and boards to read instead of JSON
    #[arg(long, conflicts_with = "pretty")]
    board: bool,
    /// Indent the JSON
    #[arg(long)]
    pretty: bool,
    /// Print the JSON Schema of the output and do nothing else
    #[arg(long, exclusive = true)]
    schema: bool,
}

const EXAMPLES: &str = "\
Examples:
  gridlift walk puzzles.txt                           the easiest walk of each puzzle, JSON, one a line
  gridlift walk puzzles.txt --board                   the same to read, step by step
  gridlift walk page.json --grid 42 --next            a hint for the grid labelled 42
  gridlift walk puzzles.txt --shows 'hidden pair/along two rows'
  gridlift walk puzzles.txt --without X-wing,swordfish --no-unique

Exit codes: 0 every puzzle is walked to its end (or as far as asked); 1 a puzzle is unsound or the walk ends early; 2 the call was wrong;
3 some input could not be read (the rest was done).";

/// What is asked of each puzzle.
enum Asked {
    Whole,
    Next,
    Shows(Deduction, Option<View>),
}

/// Runs the command.
///
/// # Errors
/// Where the call was wrong or the output can't be written.
pub fn run(arguments: Arguments) -> anyhow::Result<Exit> {
    let mut out = io::stdout().lock();
    if arguments.schema {
        out.write_all(SCHEMA.as_bytes())?;
        return Ok(Exit::Done);
    }
    if arguments.words_example {
        out.write_all(walk::BUILT_IN.as_bytes())?;
        return Ok(Exit::Done);
    }
    let asked = match (&arguments.shows, arguments.next) {
        (Some(text), _) => shows(text)?,
        (None, true) => Asked::Next,
        (None, false) => Asked::Whole,
    };
    let words = read_words(arguments.words.as_deref())?;
    let options = Options {
        pencil: if arguments.marks { Pencil::Marks } else { Pencil::Bare },
        only: if arguments.only.is_empty() { Deduction::ALL.to_vec() } else { arguments.only },
        without: arguments.without,
        uniqueness: if arguments.no_unique { Uniqueness::Unused } else { Uniqueness::Used },
        from: arguments.from,
    };
    arguments.puzzle.read()?.each(|puzzle| {
        let Some(solution) = solution(puzzle) else { return Ok(Exit::NeedsPerson) };
        if let Some(from) = &options.from {
            check_start(from, &puzzle.givens, &solution)?;
        }
        let walk = match asked {
            Asked::Whole => walk::walk(&puzzle.givens, &options),
            Asked::Next => walk::next(&puzzle.givens, &options),
            Asked::Shows(deduction, view) => walk::shows(&puzzle.givens, &options, deduction, view),
        };
        let short = match asked {
            Asked::Whole => !walk.complete,
            Asked::Next | Asked::Shows(..) => walk.steps.is_empty() && !walk.complete,
        };
        say(&headed(&puzzle.name, &talk(&walk, &asked)));
        if arguments.board {
            print_boards(&mut out, &walk, &words)?;
        } else {
            out.write_all(json(&WalkForm::new(&walk, &solution, &words), arguments.pretty)?.as_bytes())?;
        }
        Ok(if short { Exit::NeedsPerson } else { Exit::Done })
    })
}

/// The puzzle's only solution; `None` with a line of talk where it has none, or several.
pub(super) fn solution(puzzle: &Puzzle) -> Option<Board> {
    let proof = prove(&puzzle.givens);
    let fault = match proof.count {
        Count::One => return proof.solution,
        Count::None => "no solution",
        Count::Many => "more than one solution",
    };
    say(&headed(&puzzle.name, &format!("{fault}, so there is no walk (`gridlift vet` says what is at fault)")));
    None
}

/// The built-in words, or those of a file in their place.
pub(super) fn read_words(path: Option<&std::path::Path>) -> anyhow::Result<Words> {
    let Some(path) = path else { return Ok(Words::default()) };
    let text = std::fs::read_to_string(path).with_context(|| format!("{} can't be read", path.display()))?;
    Words::read(&text).with_context(|| path.display().to_string())
}

fn shows(text: &str) -> anyhow::Result<Asked> {
    let (deduction, view) = text.split_once('/').map_or((text, None), |(deduction, view)| (deduction, Some(view)));
    let deduction: Deduction = deduction.parse()?;
    let view: Option<View> = view.map(str::parse).transpose()?;
    if let Some(view) = view
        && !walk::patterns::views(deduction).contains(&view)
    {
        let known: Vec<&str> = walk::patterns::views(deduction).iter().map(|view| view.name()).collect();
        bail!("a {deduction} has no view `{view}`: use one of {}", known.join(", "));
    }
    Ok(Asked::Shows(deduction, view))
}

fn check_start(from: &Board, givens: &Board, solution: &Board) -> anyhow::Result<()> {
    let differs = |cell: &Cell| from.get(*cell).is_some_and(|digit| solution.get(*cell) != Some(digit));
    if let Some(cell) = Cell::ALL.into_iter().find(differs) {
        bail!("--from has a digit at {cell} that the solution contradicts: put it right first");
    }
    if let Some((cell, digit)) = givens.placed().find(|&(cell, _)| from.get(cell).is_none()) {
        bail!("--from lacks the given {digit} at {cell}: it must hold all givens of the puzzle");
    }
    Ok(())
}

fn talk(walk: &Walk, asked: &Asked) -> String {
    let count = walk.steps.len();
    let steps = if count == 1 { "1 step".to_string() } else { format!("{count} steps") };
    match asked {
        Asked::Shows(deduction, _) if walk.steps.is_empty() => format!("a {deduction} is never seen here"),
        Asked::Next if walk.steps.is_empty() && !walk.complete => "these deductions lead no further".to_string(),
        Asked::Whole if !walk.complete => format!("stops after {steps}: these deductions lead no further"),
        Asked::Whole => {
            let hardest = walk.hardest().map_or("nothing to do", |deduction| deduction.name());
            let (effort, minutes, carried) = (walk.effort(), walk.minutes(), walk.carried_most());
            format!("{steps}, {hardest} at the hardest, effort {effort:.1}, about {minutes:.0} minutes, {carried} in mind at most")
        }
        Asked::Next | Asked::Shows(..) => steps,
    }
}

/// Sentences, with the board after each digit.
fn print_boards(out: &mut impl Write, walk: &Walk, words: &Words) -> anyhow::Result<()> {
    let mut board = walk.start;
    print_board(out, &board, None)?;
    for step in &walk.steps {
        writeln!(out, "{:>3}  {}", step.n, walk::say(step, words))?;
        if let Step { puts: Some(put), .. } = step {
            board.set(put.cell, Some(put.digit));
            print_board(out, &board, Some(put.cell))?;
        }
    }
    Ok(())
}

/// Nine lines, a gap between boxes, the latest digit in brackets.
fn print_board(out: &mut impl Write, board: &Board, latest: Option<Cell>) -> anyhow::Result<()> {
    writeln!(out)?;
    for cell in Cell::ALL {
        let digit = board.get(cell).map_or_else(|| "·".to_string(), |digit| digit.to_string());
        let shown = if latest == Some(cell) { format!("[{digit}]") } else { format!(" {digit} ") };
        write!(
            out,
            "{}{shown}",
            if cell.column() == 0 {
                "     "
            } else if cell.column() % 3 == 0 {
                "  "
            } else {
                ""
            }
        )?;
        if cell.column() == 8 {
            writeln!(out)?;
            if cell.row() % 3 == 2 {
                writeln!(out)?;
            }
        }
    }
    Ok(())
}
