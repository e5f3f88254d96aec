//! `gridlift rehearse`: a recorded order of placements held against the deductions.

use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};

use super::puzzle::{TrustedArguments, headed};
use super::walk::{read_words, solution};
use super::{Exit, json, say};
use crate::export::rehearsal::{RehearsalForm, SCHEMA};
use crate::grid::Board;
use crate::walk::{Deduction, Judged, Options, Placement, Put, Ruling, Uniqueness, order_entries, recording, rehearse};

/// Hold a recorded order of placements against the deductions: slips, leaps, and simpler steps passed over
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Arguments {
    #[command(flatten)]
    puzzle: TrustedArguments,
    /// The recording: a text file (or -), one placement a line like `2:05 r7c1 = 3`; # starts a comment
    #[arg(value_name = "FILE")]
    file: Option<PathBuf>,
    /// Rehearse the entries of a lifted page, as a set, instead of a recording
    #[arg(long, conflicts_with_all = ["file", "chapters"])]
    entries: bool,
    /// Print chapter lines for the description under a video instead of JSON
    #[arg(long)]
    chapters: bool,
    /// Use nothing that needs the puzzle to have exactly one solution
    #[arg(long)]
    no_unique: bool,
    /// Speak in the words of this TOML file
    #[arg(long, value_name = "FILE")]
    words: Option<PathBuf>,
    /// Indent the JSON
    #[arg(long)]
    pretty: bool,
    /// Print the JSON Schema of the output and do nothing else
    #[arg(long, exclusive = true)]
    schema: bool,
}

const EXAMPLES: &str = "\
Examples:
  gridlift rehearse puzzle.txt take1.txt             each placement judged, JSON
  gridlift rehearse puzzle.txt take1.txt --chapters  lines like `2:05  hidden pair at r7c1`
  gridlift rehearse page.json --grid 42 --entries    what someone wrote into grid 42, as a set

Exit codes: 0 every placement is right; 1 there is a slip, or the puzzle is unsound; 2 the call was wrong; 3 some input could not be read.";

/// Chapters closer than this are left out: common practice of video sites, no source.
const CHAPTER_SECONDS: u32 = 10;

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
    let words = read_words(arguments.words.as_deref())?;
    let recorded = match (&arguments.file, arguments.entries) {
        (Some(path), _) => Some(read_recording(path)?),
        (None, true) => None,
        (None, false) => bail!("name a recording after the puzzle, or ask for --entries of a lifted page"),
    };
    let uniqueness = if arguments.no_unique { Uniqueness::Unused } else { Uniqueness::Used };
    let options = Options { uniqueness, ..Options::default() };
    let found = arguments.puzzle.read()?;
    if recorded.is_some() && found.puzzles.len() > 1 {
        bail!("a recording belongs to one puzzle and there are {}: pick one with --grid", found.puzzles.len());
    }
    found.each(|puzzle| {
        let Some(solution) = solution(puzzle) else { return Ok(Exit::NeedsPerson) };
        let placements = match &recorded {
            Some(placements) => placements.clone(),
            None => {
                let entries: Vec<Put> = puzzle.entries.unwrap_or(Board::EMPTY).placed().map(|(cell, digit)| Put { cell, digit }).collect();
                order_entries(&puzzle.givens, &solution, &entries, &options)
            }
        };
        let (judged, complete) = rehearse(&puzzle.givens, &solution, &placements, &options);
        let count = |ruling: Ruling| judged.iter().filter(|judged| judged.ruling == ruling).count();
        let (sound, leaps, slips) = (count(Ruling::Sound), count(Ruling::Leap), count(Ruling::Slip));
        say(&headed(&puzzle.name, &format!("{sound} sound, {leaps} leaps, {slips} slips")));
        if arguments.chapters {
            print_chapters(&mut out, &judged)?;
        } else {
            let form = RehearsalForm::new(&puzzle.givens, &judged, complete, &words);
            out.write_all(json(&form, arguments.pretty)?.as_bytes())?;
        }
        Ok(if slips > 0 { Exit::NeedsPerson } else { Exit::Done })
    })
}

/// The placements of a recording; `-` is standard input.
pub(super) fn read_recording(path: &Path) -> anyhow::Result<Vec<Placement>> {
    let text = if path == Path::new("-") {
        let mut text = String::new();
        io::stdin().read_to_string(&mut text).context("standard input is no text")?;
        text
    } else {
        std::fs::read_to_string(path).with_context(|| format!("{} can't be read", path.display()))?
    };
    recording(&text).with_context(|| path.display().to_string())
}

/// A line for the start, and one for each placement that needs a harder deduction than all before it, or facts in mind.
fn print_chapters(out: &mut impl Write, judged: &[Judged]) -> anyhow::Result<()> {
    writeln!(out, "0:00  the puzzle")?;
    let mut last = 0;
    let mut hardest = Deduction::FullHouse;
    for judged in judged {
        let Some(seconds) = judged.placement.seconds else { continue };
        let facts = judged.facts.iter().map(|step| step.deduction);
        let Some(deduction) = facts.chain(judged.deduction).max() else { continue };
        let notable = deduction > hardest || !judged.facts.is_empty();
        hardest = hardest.max(deduction);
        if notable && seconds >= last + CHAPTER_SECONDS {
            writeln!(out, "{}  {deduction} at {}", clock(seconds), judged.placement.put.cell)?;
            last = seconds;
        }
    }
    if let Some(seconds) = judged.iter().filter_map(|judged| judged.placement.seconds).max()
        && seconds >= last + CHAPTER_SECONDS
    {
        writeln!(out, "{}  the last digit", clock(seconds))?;
    }
    Ok(())
}

/// `m:ss`, with hours in front from one hour on.
fn clock(seconds: u32) -> String {
    let (hours, minutes, rest) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    if hours > 0 { format!("{hours}:{minutes:02}:{rest:02}") } else { format!("{minutes}:{rest:02}") }
}
