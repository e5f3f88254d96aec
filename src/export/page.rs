//! `gridlift/page/1`: what was read of one page.
//!
//! The types here write and read it. Fields that they don't know are kept, so that a page object written by
//! a later release passes through unharmed.

use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize};
use serde_json::{Map, Value};

use crate::decide::Verdict;

pub use super::convert::{Detail, Origin};

/// The name of this form.
pub const NAME: &str = "gridlift/page/1";

/// The JSON Schema (draft 2020-12) of this form.
pub const SCHEMA: &str = include_str!("page.schema.json");

/// One page. The fields are those of the form, in its order.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Page {
    /// Always [`NAME`]; reading refuses any other.
    #[serde(deserialize_with = "only_this_form")]
    pub schema: String,
    /// The path as given; `-` for standard input.
    pub source: String,
    /// Which page of its file, from 1.
    pub page: u32,
    /// SHA-256 of the file in hexadecimal; `None` where it could not be read.
    pub sha256: Option<String>,
    /// Pixels across the upright page; `None` where it could not be decoded.
    pub width: Option<u32>,
    /// Pixels down the upright page; `None` where it could not be decoded.
    pub height: Option<u32>,
    /// What read it.
    pub made_by: MadeBy,
    /// The book it is from, where known.
    pub book: Option<Book>,
    /// Why there is no picture, where there is none.
    pub error: Option<PageError>,
    /// What a person should know about the page.
    #[serde(default)]
    pub notes: Vec<Note>,
    /// The grids in reading order.
    #[serde(default)]
    pub grids: Vec<Grid>,
    /// Time spent in each stage, where asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ms: Option<Milliseconds>,
    /// Fields of later releases.
    #[serde(flatten)]
    pub unknown: Map<String, Value>,
}

/// What read a page.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct MadeBy {
    /// The program's release.
    pub gridlift: String,
    /// The first eight hexadecimal digits of the SHA-256 of the network weights.
    pub weights: String,
    /// The same of the verdicts' thresholds.
    pub thresholds: String,
    /// Fields of later releases.
    #[serde(flatten)]
    pub unknown: Map<String, Value>,
}

/// Where a page was printed.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Book {
    /// Its title.
    pub title: Option<String>,
    /// Who published it.
    pub publisher: Option<String>,
    /// When.
    pub year: Option<i32>,
    /// Anything else.
    pub note: Option<String>,
    /// What may be done with it.
    pub rights: Option<String>,
    /// Fields of later releases.
    #[serde(flatten)]
    pub unknown: Map<String, Value>,
}

/// Why there is no picture.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PageError {
    /// The kind, in a word or two.
    pub kind: String,
    /// What went wrong and what to do.
    pub message: String,
    /// Fields of later releases.
    #[serde(flatten)]
    pub unknown: Map<String, Value>,
}

/// What a person should know about a page.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Note {
    /// The kind: `cut short`, `corrupt`, `incomplete`, `no grid`, `other rules`, `apart` or `advice`.
    pub kind: String,
    /// A sentence that says what to do.
    pub say: String,
    /// The grid it is about, counted from 1; for the whole page it is left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub grid: Option<u32>,
    /// Fields of later releases.
    #[serde(flatten)]
    pub unknown: Map<String, Value>,
}

/// One grid.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Grid {
    /// Its number on the page, from 1, in reading order.
    pub n: u32,
    /// Clockwise from the corner that is top left as printed, `[x, y]` in page pixels to a tenth.
    pub corners: [[f64; 2]; 4],
    /// How far the print is rotated clockwise on the page: 0, 90, 180 or 270 degrees.
    pub turn: u16,
    /// The number or title printed by it.
    pub label: Option<String>,
    /// Where that stands: x, y, width and height in page pixels.
    pub label_box: Option<[f64; 4]>,
    /// The printed digits, 81 characters row by row as printed: `.` for none, `?` for a cell that can't be told.
    pub givens: Option<String>,
    /// The handwritten digits, likewise.
    pub entries: Option<String>,
    /// Pencilled candidates.
    #[serde(default)]
    pub marks: Vec<PencilMarks>,
    /// How far the reading can be trusted.
    #[serde(with = "verdict")]
    pub verdict: Verdict,
    /// The probability, 0 to 1, that `givens` is what is printed.
    pub confidence: f64,
    /// Who answered for cells, where a person did.
    pub settled_by: Option<String>,
    /// Solutions of `givens`: 0, 1, or 2 for two or more; `None` where nothing could be read.
    pub solutions: Option<u8>,
    /// The solution; the first one found where there are more.
    pub solution: Option<String>,
    /// Whether all 81 digits are printed.
    #[serde(default)]
    pub solved: bool,
    /// The canonical form, equal for all printings of one puzzle.
    pub id: Option<String>,
    /// A second solution, where there is one.
    pub second: Option<String>,
    /// Givens that can't stand together.
    #[serde(default)]
    pub conflict: Vec<String>,
    /// Single changes that would leave one solution.
    #[serde(default)]
    pub repairs: Vec<Repair>,
    /// Whether the solution printed elsewhere agrees; `None` where none was found.
    pub printed_solution_agrees: Option<bool>,
    /// Cells that a person should look at, most useful first.
    #[serde(default)]
    pub flags: Vec<Flag>,
    /// The shots that were read together for it, this page's own among them, where shots were taken together.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shots: Option<Vec<Shot>>,
    /// The crossings: ten rows of ten points `[x, y]`, rows as printed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lattice: Option<Vec<Vec<[f64; 2]>>>,
    /// All 81 cells with their evidence.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cells: Option<Vec<Cell>>,
    /// Fields of later releases.
    #[serde(flatten)]
    pub unknown: Map<String, Value>,
}

/// Pencilled candidates of one cell.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PencilMarks {
    /// Where, such as `r2c3`.
    pub cell: String,
    /// Which digits; empty where marks were seen and none could be told.
    pub digits: Vec<u8>,
    /// Fields of later releases.
    #[serde(flatten)]
    pub unknown: Map<String, Value>,
}

/// A change of one printed digit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Repair {
    /// Where.
    pub cell: String,
    /// The digit now, `.` for none.
    pub from: String,
    /// The digit that would make the puzzle sound, `.` for none.
    pub to: String,
    /// Fields of later releases.
    #[serde(flatten)]
    pub unknown: Map<String, Value>,
}

/// A cell that a person should look at.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Flag {
    /// Where.
    pub cell: String,
    /// Why.
    pub reason: String,
    /// What was read there.
    pub read: String,
    /// What it most likely is instead.
    pub suggest: String,
    /// How many times likelier, going by the picture, what was read is than the suggestion.
    pub odds: f64,
    /// Fields of later releases.
    #[serde(flatten)]
    pub unknown: Map<String, Value>,
}

/// Where a grid is shown, of those that were read together.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Shot {
    /// The path as given.
    pub source: String,
    /// Which page of its file, from 1.
    pub page: u32,
    /// SHA-256 of the file in hexadecimal.
    pub sha256: Option<String>,
    /// The grid's number on that page, from 1, in reading order.
    pub n: u32,
    /// How far the print is rotated clockwise there: 0, 90, 180 or 270 degrees.
    pub turn: u16,
    /// How far the reading of this shot alone could be trusted.
    #[serde(with = "verdict")]
    pub verdict: Verdict,
    /// Fields of later releases.
    #[serde(flatten)]
    pub unknown: Map<String, Value>,
}

/// What was read in one cell.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cell {
    /// Where.
    pub cell: String,
    /// `5` given, `.` empty, `e5` entry, `m` marks, `x` other.
    pub read: String,
    /// Its probability, 0 to 1.
    pub p: f64,
    /// The other possibilities with their probabilities, likeliest first.
    pub rivals: Vec<(String, f64)>,
    /// Fields of later releases.
    #[serde(flatten)]
    pub unknown: Map<String, Value>,
}

/// Milliseconds of wall time spent in each stage.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Milliseconds {
    /// Bytes to page.
    pub decode: f64,
    /// Page to lattices.
    pub find: f64,
    /// Lattices to readings.
    pub read: f64,
    /// Solving, counted within `read` too.
    pub prove: f64,
    /// Finding and reading labels, counted apart from `read`.
    #[serde(default)]
    pub label: f64,
    /// Fields of later releases.
    #[serde(flatten)]
    pub unknown: Map<String, Value>,
}

/// Reads the name of a form and refuses any but this one.
fn only_this_form<'de, D: Deserializer<'de>>(from: D) -> Result<String, D::Error> {
    let name = String::deserialize(from)?;
    if name == NAME { Ok(name) } else { Err(D::Error::custom(format!("this is {name:?}, and only {NAME:?} is read here"))) }
}

/// Verdicts as their words.
mod verdict {
    use super::*;

    pub fn serialize<S: serde::Serializer>(verdict: &Verdict, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(verdict)
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Verdict, D::Error> {
        let word = String::deserialize(from)?;
        let known = Verdict::ALL.into_iter().find(|verdict| verdict.to_string() == word);
        known.ok_or_else(|| D::Error::custom(format!("{word:?} is no verdict")))
    }
}
