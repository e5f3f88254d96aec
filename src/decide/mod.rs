//! Weighs all cells of a grid together under the rules, and gives the verdict, its confidence and the flags.
//!
//! It can't fail: a poor photo is a verdict.

mod alike;
mod candidates;
mod judge;
mod pale;
mod pattern;
mod picture;
mod rules;
mod shot;
mod sound;
mod together;
mod unlike;
mod words;

pub(crate) use picture::SURE_BOXES;
pub use picture::{Picture, Thresholds};
pub use shot::{Shot, decide};
pub use together::{decide_together, likeness};

use crate::grid::{Board, Cell, Digit, Digits};

/// What stands in one cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Mark {
    /// Nothing.
    Empty,
    /// A printed digit.
    Given(Digit),
    /// A handwritten digit.
    Entry(Digit),
    /// Small pencilled candidates.
    Marks,
    /// Something else: covered, a stain, a letter, crossed out.
    Other,
}

/// How far a reading can be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Verdict {
    /// What is printed, shown by evidence in every cell.
    Proven,
    /// The likeliest reading broke a rule; the only sound one nearby is given.
    Mended,
    /// A person must look.
    Doubtful,
    /// Read with confidence, and the page itself is at fault.
    Misprinted,
    /// A grid is there and can't be read.
    Unreadable,
}

/// One cell that a person should look at.
#[derive(Clone, Debug, PartialEq)]
pub struct Flag {
    /// Where.
    pub cell: Cell,
    /// Why.
    pub reason: Reason,
    /// What was read there.
    pub read: Mark,
    /// What it most likely is instead.
    pub suggest: Mark,
    /// How many times likelier what was read is than the suggestion, as far as the picture alone tells.
    pub odds: f64,
}

/// Why a cell is flagged.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Reason {
    /// The print is weak against the paper.
    Faint,
    /// The cell is out of focus.
    Blurred,
    /// A highlight washes the cell out.
    Glare,
    /// Something lies over the cell.
    Covered,
    /// Two digits are almost as likely.
    RivalDigits,
    /// A digit is there, and it can't be told whether printed or written.
    PrintOrHandwriting,
    /// It can't be told whether something stands there.
    MaybeEmpty,
    /// The digit breaks a rule together with others.
    BreaksARule,
    /// A line of the cell wasn't seen.
    LineMissing,
    /// The cell is cut off by the edge of the picture.
    CutOff,
    /// It can't be told which way up the grid is.
    TurnUnsure,
    /// The cell was changed to make the puzzle sound.
    Mended,
    /// The grid follows other rules (another pattern of boxes, extra regions).
    OtherRules,
    /// The file ends early or is damaged: part of the picture may be made up.
    CutShort,
    /// The file gives another digit as text (a PDF) than the picture shows.
    TextDiffers,
    /// The solution printed elsewhere has another digit there.
    PrintedSolution,
    /// Another picture of the same grid, read with confidence, shows something else there.
    ShotsDiffer,
}

/// What was read in one cell, with its rivals.
#[derive(Clone, Debug, PartialEq)]
pub struct CellReading {
    /// The reading, after all cells were weighed together.
    pub read: Mark,
    /// Its calibrated probability, 0 to 1.
    pub probability: f64,
    /// The other possibilities above one in a million, likeliest first, with their probabilities.
    pub rivals: Vec<(Mark, f64)>,
}

/// What was read of one grid.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// How far it can be trusted.
    pub verdict: Verdict,
    /// The probability that `givens` is what is printed, 0 to 1.
    pub confidence: f64,
    /// All 81 cells, row by row as printed; empty where the grid is unreadable.
    pub cells: Vec<CellReading>,
    /// The printed digits, where they could be read.
    pub givens: Option<Board>,
    /// The handwritten digits.
    pub entries: Option<Board>,
    /// Cells with small pencilled candidates, and the digits among them that are likelier than not.
    pub marks: Vec<(Cell, Digits)>,
    /// Solutions of `givens`: 0, 1 or 2 (two or more).
    pub solutions: u8,
    /// The solution, where there is exactly one.
    pub solution: Option<Board>,
    /// A second solution, where there is more than one (`solution` then holds the first).
    pub second: Option<Board>,
    /// Whether all 81 digits are printed.
    pub solved: bool,
    /// Cells of givens that can't stand together.
    pub conflict: Vec<Cell>,
    /// Single changes that would leave one solution: cell, and the digit to put there (`None` to leave it empty).
    pub repairs: Vec<(Cell, Option<Digit>)>,
    /// Cells that a person should look at, most useful first.
    pub flags: Vec<Flag>,
    /// One line that says how to take a better picture, where the evidence supports it.
    pub advice: Option<&'static str>,
}
