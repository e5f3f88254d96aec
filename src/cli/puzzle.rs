//! The PUZZLE argument of every command: a line, a file of lines, page JSON, or `-` for any of them.

use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use serde_json::Value;

use super::{Exit, inputs, say};
use crate::decide::Verdict;
use crate::export::page::{Book, Grid, NAME, Page};
use crate::grid::{Board, CellSet};

/// Which puzzles a command works on.
#[derive(Debug, clap::Args)]
pub struct PuzzleArguments {
    /// An 81-character line (. or 0 for empty), a file of such lines, page JSON from lift, or - for any of these on standard input
    #[arg(required = true, allow_hyphen_values = false)]
    puzzle: Option<String>,
    /// Only the grid with this label, or with this number on its page (or the line of this number)
    #[arg(long, value_name = "LABEL|N")]
    grid: Option<String>,
}

/// The same for commands that build on the givens, and so need them to be right.
#[derive(Debug, clap::Args)]
pub struct TrustedArguments {
    #[command(flatten)]
    puzzle: PuzzleArguments,
    /// Let grids of verdict `mended` through
    #[arg(long)]
    accept_mended: bool,
}

impl TrustedArguments {
    /// The puzzles asked for whose givens are sure; the others are told.
    ///
    /// # Errors
    /// As [`PuzzleArguments::read`].
    pub fn read(&self) -> anyhow::Result<Found> {
        Ok(self.puzzle.read()?.trusted(self.accept_mended))
    }
}

/// One puzzle.
#[derive(Clone, Debug, PartialEq)]
pub struct Puzzle {
    /// What to call it in messages, such as `p042.jpg: grid "42"` or `2 of 7`; empty where it is the only one.
    pub name: String,
    /// The label printed by it, where it is known.
    pub label: Option<String>,
    /// Its number on the page or among the lines, from 1.
    pub number: usize,
    /// The printed digits.
    pub givens: Board,
    /// Cells that can't be told; they are empty in `givens`.
    pub untold: CellSet,
    /// The handwritten digits, where the puzzle is from a page.
    pub entries: Option<Board>,
    /// The book it is from, where that is known.
    pub book: Option<Book>,
    /// How far the givens can be trusted.
    pub trust: Trust,
}

/// Why the givens of a puzzle are taken to be right.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trust {
    /// Someone wrote them down as a line.
    Stated,
    /// A person answered for the cells that were in doubt.
    Settled,
    /// They were read off a page, with this verdict.
    Read(Verdict),
}

/// The puzzles that were found.
#[derive(Clone, Debug)]
pub struct Found {
    /// In the order of the input.
    pub puzzles: Vec<Puzzle>,
    /// What was not found, as an exit code; each such thing was told on standard error.
    pub exit: Exit,
}

impl PuzzleArguments {
    /// The puzzles asked for. What can't be read is told on standard error and in the exit code; the rest is there.
    ///
    /// # Errors
    /// Where the call is wrong: nothing is named, a line isn't 81 characters long, or no grid is called so.
    pub fn read(&self) -> anyhow::Result<Found> {
        let named = self.puzzle.as_deref().context("name a puzzle: a line of 81 characters, a file, or - for standard input")?;
        let mut found = Found { puzzles: Vec::new(), exit: Exit::Done };
        if let Some(givens) = stated_line(named)? {
            found.puzzles.push(stated(givens, 1));
        } else {
            match read_text(Path::new(named)) {
                Ok(text) => found.read_text(named, &text),
                Err(message) => found.tell(Exit::Input, named, &message),
            }
        }
        if let Some(wanted) = &self.grid
            && found.exit < Exit::Input
        {
            found.pick(wanted)?;
        }
        if found.puzzles.len() > 1 {
            let count = found.puzzles.len();
            let lines = found.puzzles.iter_mut().enumerate().filter(|(_, puzzle)| puzzle.name.is_empty());
            lines.for_each(|(index, puzzle)| puzzle.name = format!("{} of {count}", index + 1));
        }
        Ok(found)
    }
}

impl Found {
    /// Only the puzzles whose givens are sure: stated, `proven` or settled by a person, and with `accept_mended` those
    /// mended. The others are told on standard error, and need a person.
    fn trusted(mut self, accept_mended: bool) -> Self {
        for puzzle in std::mem::take(&mut self.puzzles) {
            let is_sure = match puzzle.trust {
                Trust::Stated | Trust::Settled | Trust::Read(Verdict::Proven) => true,
                Trust::Read(Verdict::Mended) => accept_mended,
                Trust::Read(_) => false,
            };
            match puzzle.trust {
                _ if is_sure && puzzle.untold.is_empty() => self.puzzles.push(puzzle),
                Trust::Read(Verdict::Mended) if !accept_mended => {
                    self.tell(Exit::NeedsPerson, &puzzle.name, "mended: have a person settle it, or pass --accept-mended");
                }
                Trust::Read(verdict) => self.tell(Exit::NeedsPerson, &puzzle.name, &format!("{verdict}: have a person settle it first")),
                _ => self.tell(Exit::NeedsPerson, &puzzle.name, &untold(puzzle.untold)),
            }
        }
        self
    }

    /// Does `take` with each puzzle in turn; the greatest exit code, what was not found included.
    ///
    /// # Errors
    /// Those of `take`, at once.
    pub fn each(&self, mut take: impl FnMut(&Puzzle) -> anyhow::Result<Exit>) -> anyhow::Result<Exit> {
        self.puzzles.iter().try_fold(self.exit, |exit, puzzle| Ok(exit.max(take(puzzle)?)))
    }

    fn tell(&mut self, exit: Exit, name: &str, message: &str) {
        say(&headed(name, message));
        self.exit = self.exit.max(exit);
    }

    fn read_text(&mut self, source: &str, text: &str) {
        let text = text.trim_start_matches('\u{feff}');
        if text.trim_start().starts_with(['{', '[']) {
            self.read_json(source, text);
        } else {
            self.read_lines(source, text);
        }
        if self.puzzles.is_empty() && self.exit == Exit::Done {
            self.tell(Exit::Input, source, "there is no puzzle in it: write 81 characters a line, or give page JSON");
        }
    }

    fn read_lines(&mut self, source: &str, text: &str) {
        let lines = text.lines().enumerate().map(|(index, line)| (index + 1, line.trim())).filter(|(_, line)| !line.is_empty());
        for (number, line) in lines {
            match line.parse() {
                Ok(givens) => self.puzzles.push(stated(givens, number)),
                Err(error) => self.tell(Exit::Input, &format!("{source}, line {number}"), &format!("{error}")),
            }
        }
    }

    fn read_json(&mut self, source: &str, text: &str) {
        for value in serde_json::Deserializer::from_str(text).into_iter::<Value>() {
            match value {
                Ok(Value::Array(pages)) => pages.into_iter().for_each(|page| self.read_page(source, page)),
                Ok(page) => self.read_page(source, page),
                // What follows broken JSON can't be told apart from it.
                Err(error) => self.tell(Exit::Input, source, &format!("this is no JSON: {error}")),
            }
        }
    }

    fn read_page(&mut self, source: &str, value: Value) {
        let page: Page = match serde_json::from_value(value) {
            Ok(page) => page,
            Err(error) => {
                return self.tell(Exit::Input, source, &format!("{NAME} is needed, as lift gives it: {error}"));
            }
        };
        let place = if page.page == 1 { page.source.clone() } else { format!("{}, page {}", page.source, page.page) };
        if let Some(error) = &page.error {
            self.tell(Exit::NeedsPerson, &place, &error.message);
        } else if page.grids.is_empty() {
            self.tell(Exit::Done, &place, "no grid");
        }
        for grid in &page.grids {
            let name = grid.label.as_ref().map_or_else(|| grid.n.to_string(), |label| format!("{label:?}"));
            let name = format!("{place}: grid {name}");
            match from_grid(name.clone(), grid, page.book.as_ref()) {
                Ok(Some(puzzle)) => self.puzzles.push(puzzle),
                Ok(None) => self.tell(Exit::NeedsPerson, &name, "unreadable: no digits were read"),
                Err(message) => self.tell(Exit::Input, &name, &message),
            }
        }
    }

    /// Leaves the grids with this label; where there is none, those with this number.
    fn pick(&mut self, wanted: &str) -> anyhow::Result<()> {
        let is_called = |puzzle: &Puzzle| puzzle.label.as_deref() == Some(wanted);
        let number: Option<usize> = wanted.parse().ok();
        let by_label = self.puzzles.iter().any(is_called);
        if !by_label && !self.puzzles.iter().any(|puzzle| Some(puzzle.number) == number) {
            let known: Vec<String> =
                self.puzzles.iter().map(|puzzle| puzzle.label.clone().unwrap_or_else(|| puzzle.number.to_string())).collect();
            bail!("no grid is called {wanted:?}: there are {}", if known.is_empty() { "none".into() } else { known.join(", ") });
        }
        self.puzzles.retain(|puzzle| if by_label { is_called(puzzle) } else { Some(puzzle.number) == number });
        Ok(())
    }
}

/// A message that begins with the name of what it is about, where that has one.
pub fn headed(name: &str, message: &str) -> String {
    if name.is_empty() { message.into() } else { format!("{name}: {message}") }
}

/// The sentence about cells that can't be told.
pub fn untold(cells: CellSet) -> String {
    let is = if cells.len() == 1 { "it counts as empty" } else { "they count as empty" };
    format!("{} can't be told ({is}): have a person settle it", cells.to_string().replace(' ', ", "))
}

fn stated(givens: Board, number: usize) -> Puzzle {
    Puzzle { name: String::new(), label: None, number, givens, untold: CellSet::EMPTY, entries: None, book: None, trust: Trust::Stated }
}

/// The board that an argument is; `None` where it is a path.
fn stated_line(named: &str) -> anyhow::Result<Option<Board>> {
    match named.parse() {
        Ok(board) => Ok(Some(board)),
        Err(_) if named == "-" || Path::new(named).exists() => Ok(None),
        // A puzzle with a slip of the keyboard is told as such, not as a missing file.
        Err(error) if named.len() > 40 && named.chars().filter(|&shown| shown == '.' || shown.is_ascii_digit()).count() > 40 => {
            Err(error).context("this puzzle can't be read")
        }
        Err(_) => Ok(None),
    }
}

fn read_text(path: &Path) -> Result<String, String> {
    if path.is_dir() {
        return Err("this is a folder: name a file of puzzles".into());
    }
    let inputs = inputs::gather(&[PathBuf::from(path)], None).map_err(|error| error.to_string())?;
    let mut bytes = Vec::new();
    for input in inputs {
        bytes.extend(input.read().map_err(|trouble| trouble.message)?);
    }
    String::from_utf8(bytes).map_err(|_| "this is not text: a puzzle is a line of 81 characters, or page JSON from gridlift lift".into())
}

/// The puzzle of a grid on a page; `None` where no digits were read.
fn from_grid(name: String, grid: &Grid, book: Option<&Book>) -> Result<Option<Puzzle>, String> {
    let Some(line) = &grid.givens else { return Ok(None) };
    let (givens, untold) = with_gaps(line).map_err(|error| format!("its givens: {error}"))?;
    let entries = grid.entries.as_deref().map(with_gaps).transpose().map_err(|error| format!("its entries: {error}"))?;
    let trust = if grid.settled_by.is_some() { Trust::Settled } else { Trust::Read(grid.verdict) };
    let (label, number, book) = (grid.label.clone(), grid.n as usize, book.cloned());
    Ok(Some(Puzzle { name, label, number, givens, untold, entries: entries.map(|(entries, _)| entries), book, trust }))
}

/// The board of a line, and the cells that are `?` in it.
fn with_gaps(line: &str) -> Result<(Board, CellSet), crate::grid::BoardError> {
    let board: Board = line.replace('?', ".").parse()?;
    let untold = line.chars().enumerate().filter(|&(_, shown)| shown == '?').fold(0, |bits, (index, _)| bits | 1_u128 << index);
    Ok((board, CellSet::from_bits(untold)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(text: &str) -> Found {
        let mut found = Found { puzzles: Vec::new(), exit: Exit::Done };
        found.read_text("in", text);
        found
    }

    fn grid(verdict: &str, settled_by: &str, givens: &str) -> String {
        format!(
            r#"{{"n": 1, "corners": [[0, 0], [9, 0], [9, 9], [0, 9]], "turn": 0, "label": "42", "label_box": null, "givens": "{givens}",
            "entries": null, "verdict": "{verdict}", "confidence": 0.5, "settled_by": {settled_by}, "solutions": 2, "solution": null,
            "id": null, "second": null, "printed_solution_agrees": null}}"#
        )
    }

    fn page(grids: &[String]) -> String {
        format!(
            r#"{{"schema": "gridlift/page/1", "source": "p.jpg", "page": 1, "sha256": null, "width": 9, "height": 9,
            "made_by": {{"gridlift": "0", "weights": "", "thresholds": ""}}, "book": null, "error": null, "grids": [{}]}}"#,
            grids.join(",")
        )
    }

    #[test]
    fn only_sure_grids_are_trusted() {
        let empty = ".".repeat(81);
        let cases = [
            ("proven", "null", true, true),
            ("mended", "null", false, true),
            ("doubtful", "null", false, false),
            ("misprinted", "null", false, false),
            ("doubtful", "\"Anna\"", true, true),
        ];
        for (verdict, settled_by, is_sure, is_sure_if_mended_pass) in cases {
            let found = found(&page(&[grid(verdict, settled_by, &empty)]));
            assert_eq!(found.puzzles[0].name, "p.jpg: grid \"42\"");
            for (accept_mended, expected) in [(false, is_sure), (true, is_sure_if_mended_pass)] {
                let trusted = found.clone().trusted(accept_mended);
                let exit = if expected { Exit::Done } else { Exit::NeedsPerson };
                assert_eq!((trusted.puzzles.len(), trusted.exit), (usize::from(expected), exit), "{verdict} {settled_by} {accept_mended}");
            }
        }
        let lines = found(&empty).trusted(false);
        assert_eq!((lines.puzzles.len(), lines.exit), (1, Exit::Done));
        let untold = found(&page(&[grid("proven", "null", &empty.replacen('.', "?", 2))])).trusted(true);
        assert_eq!((untold.puzzles.len(), untold.exit), (0, Exit::NeedsPerson));
    }

    #[test]
    fn json_may_come_in_any_arrangement() {
        let one = page(&[grid("proven", "null", &".".repeat(81))]);
        let line = one.replace('\n', " ");
        for text in [one.clone(), format!("{line}\n{line}\n"), format!("[{one}, {one}]"), format!("\u{feff}{one}{one}")] {
            let found = found(&text);
            assert!(found.exit == Exit::Done && !found.puzzles.is_empty(), "{text}");
        }
    }
}
