//! From what the stages read to the page form.

use serde_json::Map;

use super::page::{Cell, Flag, Grid, MadeBy, Milliseconds, NAME, Note, Page, PageError, PencilMarks, Repair};
use crate::decide::{Mark, Reading};
use crate::lift::{GridReading, PageReading};
use crate::plane::Point;
use crate::prove::canonical;

/// Where a page came from and what read it.
#[derive(Clone, Debug, Default)]
pub struct Origin {
    /// The path as given; `-` for standard input.
    pub source: String,
    /// SHA-256 of the file in hexadecimal, where it could be read.
    pub sha256: Option<String>,
    /// What read it.
    pub made_by: MadeBy,
}

/// What is told beyond the usual.
#[derive(Clone, Copy, Debug, Default)]
pub struct Detail {
    /// Whether each grid carries its lattice and its cells with their evidence.
    pub cells: bool,
    /// Whether the time spent in each stage is told.
    pub timings: bool,
}

impl Page {
    /// The form of a page that was read.
    pub fn from_reading(origin: &Origin, reading: &PageReading, detail: Detail) -> Self {
        let grids: Vec<_> = (1..).zip(&reading.grids).map(|(n, grid)| Grid::from_reading(n, grid, detail)).collect();
        let (width, height) = reading.size;
        Self {
            page: reading.number,
            width: Some(width),
            height: Some(height),
            notes: notes(reading),
            grids,
            ms: detail.timings.then(|| Milliseconds {
                decode: round(reading.times.decode, 100.0),
                find: round(reading.times.find, 100.0),
                read: round(reading.times.read, 100.0),
                prove: round(reading.times.prove, 100.0),
                label: round(reading.times.label, 100.0),
                unknown: Map::new(),
            }),
            ..Self::bare(origin, reading.number)
        }
    }

    /// The form of page `number` of a file that could not be opened or decoded: what `kind` of trouble it
    /// was, and a `message` that says what to do.
    pub fn from_error(origin: &Origin, number: u32, kind: &str, message: &str) -> Self {
        let error = PageError { kind: kind.into(), message: message.into(), unknown: Map::new() };
        Self { error: Some(error), ..Self::bare(origin, number) }
    }

    fn bare(origin: &Origin, number: u32) -> Self {
        Self {
            schema: NAME.into(),
            source: origin.source.clone(),
            page: number,
            sha256: origin.sha256.clone(),
            width: None,
            height: None,
            made_by: origin.made_by.clone(),
            book: None,
            error: None,
            notes: Vec::new(),
            grids: Vec::new(),
            ms: None,
            unknown: Map::new(),
        }
    }
}

fn notes(reading: &PageReading) -> Vec<Note> {
    let note = |kind: &str, say: &str, grid| Note { kind: kind.into(), say: say.into(), grid, unknown: Map::new() };
    let mut notes = Vec::new();
    notes.extend(reading.damage.iter().map(|damage| note(damage.kind(), damage.say(), None)));
    if reading.grids.is_empty() {
        notes.push(note("no grid", "no 9x9 grid was found: if there is one, take the whole of it, straight from above", None));
    }
    if reading.left_out > 0 {
        notes.push(note(
            "other rules",
            &format!("{} more of nine by nine cells with other rules, or tables, are left out", reading.left_out),
            None,
        ));
    }
    for (n, grid) in (1..).zip(&reading.grids) {
        notes.extend(grid.reading.advice.map(|advice| note("advice", advice, Some(n))));
    }
    notes
}

impl Grid {
    fn from_reading(n: u32, grid: &GridReading, detail: Detail) -> Self {
        let reading = &grid.reading;
        let marks = reading.marks.iter().map(|(cell, digits)| PencilMarks {
            cell: cell.to_string(),
            digits: digits.iter().map(|digit| digit.value()).collect(),
            unknown: Map::new(),
        });
        let board = reading.givens.as_ref();
        Self {
            n,
            corners: grid.lattice.corners().map(point),
            turn: grid.turn.degrees(),
            label: grid.label.as_ref().map(|label| label.text.clone()),
            label_box: grid.label.as_ref().map(|label| label.place.map(|value| round(value.into(), 10.0))),
            givens: board.map(|board| with_gaps(board.to_string(), reading)),
            entries: reading.entries.as_ref().map(|board| with_gaps(board.to_string(), reading)),
            marks: marks.collect(),
            verdict: reading.verdict,
            confidence: round_down(reading.confidence),
            settled_by: None,
            solutions: board.map(|_| reading.solutions),
            solution: reading.solution.as_ref().map(ToString::to_string),
            solved: reading.solved,
            id: board.filter(|_| reading.solutions == 1).map(|board| canonical(board).to_string()),
            second: reading.second.as_ref().map(ToString::to_string),
            conflict: reading.conflict.iter().map(ToString::to_string).collect(),
            repairs: reading
                .repairs
                .iter()
                .map(|&(cell, to)| Repair {
                    cell: cell.to_string(),
                    from: digit_word(board.and_then(|board| board.get(cell))),
                    to: digit_word(to),
                    unknown: Map::new(),
                })
                .collect(),
            printed_solution_agrees: grid.printed_solution_agrees,
            flags: reading
                .flags
                .iter()
                .map(|flag| Flag {
                    cell: flag.cell.to_string(),
                    reason: flag.reason.to_string(),
                    read: flag.read.to_string(),
                    suggest: flag.suggest.to_string(),
                    odds: significant(flag.odds.clamp(0.0, MOST_ODDS), 3),
                    unknown: Map::new(),
                })
                .collect(),
            shots: None,
            lattice: detail.cells.then(|| grid.lattice.points.iter().map(|row| row.iter().copied().map(point).collect()).collect()),
            cells: detail.cells.then(|| cells(reading)),
            unknown: Map::new(),
        }
    }
}

/// Odds beyond this are all the same to a person, and JSON has no infinity.
const MOST_ODDS: f64 = 1e9;

fn cells(reading: &Reading) -> Vec<Cell> {
    let named = crate::grid::Cell::ALL.iter().zip(&reading.cells);
    named
        .map(|(place, cell)| Cell {
            cell: place.to_string(),
            read: cell.read.to_string(),
            p: round_down(cell.probability),
            rivals: cell.rivals.iter().map(|&(mark, p)| (mark.to_string(), significant(p, 3))).collect(),
            unknown: Map::new(),
        })
        .collect()
}

/// The line with `?` in the empty places of cells that can't be told.
fn with_gaps(line: String, reading: &Reading) -> String {
    let mut cells = reading.cells.iter();
    line.chars()
        .map(|character| match cells.next() {
            Some(cell) if cell.read == Mark::Other && character == '.' => '?',
            _ => character,
        })
        .collect()
}

fn digit_word(digit: Option<crate::grid::Digit>) -> String {
    digit.map_or_else(|| ".".into(), |digit| digit.to_string())
}

fn point(point: Point) -> [f64; 2] {
    [round(point.x.into(), 10.0), round(point.y.into(), 10.0)]
}

/// Rounded to the nearest part of one: tenths for 10. Never minus zero.
fn round(value: f64, parts: f64) -> f64 {
    (value * parts).round() / parts + 0.0
}

/// A probability to six decimals, rounded down so that nothing becomes certain by rounding; small ones keep
/// three significant digits.
fn round_down(probability: f64) -> f64 {
    if probability < 1e-3 { significant(probability, 3) } else { (probability * 1e6).floor() / 1e6 }
}

/// Rounded to some significant decimal digits.
fn significant(value: f64, digits: usize) -> f64 {
    format!("{value:.*e}", digits - 1).parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounding_claims_no_more_than_was_known() {
        assert_eq!(round_down(0.999_999_99), 0.999_999);
        assert_eq!(round_down(1.0), 1.0);
        assert_eq!(round_down(3.123_456e-6), 3.12e-6);
        assert_eq!(significant(41.04, 3), 41.0);
        assert_eq!(round(-0.01, 10.0).to_string(), "0");
    }
}
