//! `gridlift sheet`: puzzles to print and step boards, as PDF, SVG or PNG.

use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use rayon::prelude::*;

use super::outputs::write_whole;
use super::puzzle::{Puzzle, TrustedArguments, headed};
use super::sheet_boards::BoardArguments;
use super::{Exit, say};
use crate::export::page::Book;
use crate::prove::{Count, prove};
use crate::sheet::{self, Ground, Heading, Layout, Link, Notes, Order, Page, Paper, PerPage, Print, Solutions};

/// Print puzzles with their solutions, or a board for each step that solves one: PDF, SVG, PNG, frames for video
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Arguments {
    #[command(flatten)]
    puzzle: TrustedArguments,
    /// The file to write: .pdf, .svg, .png (a number is added where SVG or PNG take several files), or .vtt for the cues of boards
    #[arg(short, long, value_name = "FILE")]
    out: PathBuf,
    /// Puzzles or boards to a page: 1, 2, 4 or 6
    #[arg(long, value_name = "N", value_parser = per_page, default_value = "1")]
    per_page: PerPage,
    /// The paper: a4 or letter
    #[arg(long, value_name = "PAPER", value_parser = paper, default_value = "a4")]
    paper: Paper,
    /// Nothing smaller than 18 points, for readers with low vision
    #[arg(long)]
    large_print: bool,
    /// Ruled lines to write on, beside or below each puzzle
    #[arg(long, conflicts_with = "boards")]
    notes: bool,
    /// Solutions on the last pages: upright, upside-down or none
    #[arg(long, value_name = "HOW", value_parser = solutions, default_value = "upright", conflicts_with = "boards")]
    solutions: Solutions,
    /// Half pages in the order for printing on both sides (turned over at the short edge), stacking and folding
    #[arg(long)]
    booklet: bool,
    /// A title above every page
    #[arg(long, value_name = "TEXT")]
    title: Option<String>,
    /// Where the puzzles are from and whose they are, for those whose page JSON names no book
    #[arg(long, value_name = "TEXT")]
    source: Option<String>,
    /// Print this address, as a QR code too
    #[arg(long, value_name = "ADDRESS")]
    link: Option<String>,
    #[command(flatten)]
    boards: BoardArguments,
}

const EXAMPLES: &str = "\
Examples:
  gridlift sheet puzzles.txt -o week7.pdf --per-page 2 --title 'Week 7' --source 'Orchard Hours, Pear Tree Press'
  gridlift sheet page.json --grid 42 -o 42.png --large-print
  gridlift sheet puzzles.txt -o hours.pdf --per-page 4 --booklet --solutions upside-down
  gridlift lift page.jpg | gridlift sheet - -o again.svg --link https://example.org/week7
  gridlift sheet puzzle.txt -o steps.pdf --boards --per-page 4           a board for each step that solves it
  gridlift sheet puzzle.txt -o pair.png --boards --steps 12-13           only these
  gridlift sheet puzzle.txt -o take1.png --boards --rehearsal take1.txt --frame 3840x2160
  gridlift sheet puzzle.txt -o take1.vtt --boards --rehearsal take1.txt  which board is on at which second

Exit codes: 0 all is printed; 1 something is left out: a grid that isn't proven, a puzzle without exactly one solution, a slip of the
rehearsal; 2 the call was wrong; 3 some input could not be read (the rest was printed).";

/// Dots to the inch of PNG pages: what office printers do.
const DOTS_PER_INCH: f32 = 300.0;

/// Runs the command.
///
/// # Errors
/// Where the call was wrong or a file can't be written.
pub fn run(arguments: Arguments) -> anyhow::Result<Exit> {
    let format = Format::of(&arguments.out)?;
    let heading = Heading { title: arguments.title.clone(), link: arguments.link.as_deref().map(Link::new).transpose()? };
    let layout = Layout {
        paper: arguments.paper,
        per_page: arguments.per_page,
        print: if arguments.large_print { Print::Large } else { Print::Ordinary },
        notes: if arguments.notes { Notes::Ruled } else { Notes::Without },
        solutions: arguments.solutions,
        order: if arguments.booklet { Order::Booklet } else { Order::Flat },
    };
    let boards = arguments.boards.plan(format)?;
    let found = arguments.puzzle.read()?;
    let mut exit = found.exit;
    let mut puzzles = Vec::with_capacity(found.puzzles.len());
    for (number, puzzle) in (1..).zip(&found.puzzles) {
        match to_print(puzzle, number, arguments.source.as_deref()) {
            Ok(puzzle) => puzzles.push(puzzle),
            Err(fault) => {
                say(&headed(&puzzle.name, &format!("{fault}, so it isn't printed (`gridlift vet` says what is at fault)")));
                exit = exit.max(Exit::NeedsPerson);
            }
        }
    }
    if puzzles.is_empty() {
        say(&format!("{}: not written, there is no puzzle to print", arguments.out.display()));
        return Ok(exit);
    }
    warn_of_missing(&puzzles, &heading);
    let out = Out { path: arguments.out, format, title: heading.title.clone().unwrap_or_else(|| "Puzzles".into()) };
    if let Some(plan) = boards {
        return Ok(exit.max(plan.run(&puzzles, &heading, &layout, &out)?));
    }
    let pages = sheet::puzzle_pages(&puzzles, &heading, &layout)?;
    out.write_pages(&pages, Pixels::PAPER)?;
    out.talk(puzzles.len(), "puzzle", &pages);
    Ok(exit)
}

/// The puzzle as the sheet needs it, or what is at fault with it.
fn to_print(puzzle: &Puzzle, number: usize, source: Option<&str>) -> Result<sheet::Puzzle, &'static str> {
    let proof = prove(&puzzle.givens);
    let solution = match (proof.count, proof.solution) {
        (Count::One, Some(solution)) => solution,
        (Count::Many, _) => return Err("more than one solution"),
        _ => return Err("no solution"),
    };
    let label = puzzle.label.clone().unwrap_or_else(|| number.to_string());
    let credit = puzzle.book.as_ref().and_then(credit).or_else(|| source.map(str::to_owned));
    Ok(sheet::Puzzle { label, givens: puzzle.givens, solution, credit })
}

/// The source line of a book with its rights; `None` where nothing is known of it.
fn credit(book: &Book) -> Option<String> {
    let named = [book.title.clone(), book.publisher.clone(), book.year.map(|year| year.to_string())];
    let named: Vec<String> = named.into_iter().flatten().collect();
    let sentences = [Some(named.join(", ")), book.note.clone(), book.rights.clone()];
    let sentences: Vec<String> = sentences.into_iter().flatten().filter(|sentence| !sentence.trim().is_empty()).collect();
    let joined = sentences.iter().map(|sentence| sentence.trim().trim_end_matches('.')).collect::<Vec<_>>().join(". ");
    (!joined.is_empty()).then_some(joined)
}

/// Says which characters the sheets' font doesn't have.
fn warn_of_missing(puzzles: &[sheet::Puzzle], heading: &Heading) {
    let mut text: String = heading.title.clone().unwrap_or_default();
    for puzzle in puzzles {
        text.push_str(&puzzle.label);
        text.push_str(puzzle.credit.as_deref().unwrap_or_default());
    }
    let missing = sheet::missing(&text);
    if !missing.is_empty() {
        let shown: Vec<String> = missing.iter().take(20).map(|character| format!("{character:?}")).collect();
        say(&format!("the sheets' font has no {}: an empty box stands for each (it has the Latin letters)", shown.join(", ")));
    }
}

/// What kind of file is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Format {
    Pdf,
    Svg,
    Png,
    Vtt,
}

impl Format {
    fn of(path: &Path) -> anyhow::Result<Self> {
        let ending = path.extension().map(|ending| ending.to_string_lossy().to_ascii_lowercase());
        match ending.as_deref() {
            Some("pdf") => Ok(Self::Pdf),
            Some("svg") => Ok(Self::Svg),
            Some("png") => Ok(Self::Png),
            Some("vtt") => Ok(Self::Vtt),
            _ => bail!("{}: name a file that ends in .pdf, .svg or .png (or .vtt for the cues of boards)", path.display()),
        }
    }
}

/// How a page becomes pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pixels {
    /// Pixels to the point.
    pub scale: f32,
    pub ground: Ground,
    /// The number of the first file; `None` where a file alone bears none.
    pub first: Option<usize>,
}

impl Pixels {
    /// Paper, as office printers have it.
    pub const PAPER: Self = Self { scale: DOTS_PER_INCH / 72.0, ground: Ground::Paper, first: None };
}

/// Where the sheet goes.
pub(super) struct Out {
    pub path: PathBuf,
    pub format: Format,
    pub title: String,
}

impl Out {
    /// Writes the pages into one file, or one file each.
    pub fn write_pages(&self, pages: &[Page], pixels: Pixels) -> anyhow::Result<()> {
        if self.format == Format::Pdf {
            return self.write(&self.path, &sheet::pdf(pages, &self.title)?);
        }
        let first = if pages.len() == 1 { pixels.first } else { Some(pixels.first.unwrap_or(1)) };
        pages.par_iter().enumerate().try_for_each(|(index, page)| {
            let bytes = match self.format {
                Format::Svg => sheet::svg(page).into_bytes(),
                _ => sheet::png(&sheet::pixels(page, pixels.scale, pixels.ground)?)?,
            };
            let path =
                first.map_or_else(|| self.path.clone(), |first| self.numbered(first + index, pixels.first.map_or(pages.len(), |_| 100)));
            self.write(&path, &bytes)
        })
    }

    /// Writes one file.
    pub fn write(&self, path: &Path, bytes: &[u8]) -> anyhow::Result<()> {
        write_whole(path, bytes).with_context(|| format!("{} can't be written", path.display()))
    }

    /// Says what was written.
    pub fn talk(&self, number: usize, what: &str, pages: &[Page]) {
        let count = |number: usize, one: &str| if number == 1 { format!("1 {one}") } else { format!("{number} {one}s") };
        say(&format!("{}: {}, {}", self.path.display(), count(number, what), count(pages.len(), "page")));
    }

    /// The path with a number before its ending, as many digits as `last` needs.
    fn numbered(&self, number: usize, last: usize) -> PathBuf {
        let digits = last.to_string().len();
        let stem = self.path.file_stem().unwrap_or_default().to_string_lossy();
        let ending = self.path.extension().unwrap_or_default().to_string_lossy();
        self.path.with_file_name(format!("{stem}-{number:0digits$}.{ending}"))
    }
}

fn per_page(text: &str) -> Result<PerPage, String> {
    let known = PerPage::ALL.into_iter().find(|per_page| per_page.to_string() == text);
    known.ok_or_else(|| "1, 2, 4 or 6 stand on a page".into())
}

fn paper(text: &str) -> Result<Paper, String> {
    match text.to_ascii_lowercase().as_str() {
        "a4" => Ok(Paper::A4),
        "letter" => Ok(Paper::Letter),
        _ => Err("the paper is a4 or letter".into()),
    }
}

fn solutions(text: &str) -> Result<Solutions, String> {
    match text {
        "upright" => Ok(Solutions::Upright),
        "upside-down" => Ok(Solutions::UpsideDown),
        "none" => Ok(Solutions::Without),
        _ => Err("solutions stand upright or upside-down on the last pages, or there are none".into()),
    }
}
