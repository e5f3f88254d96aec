//! Holds a reading against the digits that the file itself gives as text: two witnesses of the same print.

use super::GridReading;
use crate::decide::{Flag, Mark, Reason, Verdict};
use crate::decode::PlacedDigit;
use crate::grid::{Cell, Digit, Digits};
use crate::plane::Point;

/// Makes a grid doubtful whose givens differ from the `text` within its cells, and flags those cells first.
/// Where there is no text in the grid, nothing changes; several digits in a cell are printed candidates.
pub(super) fn compare(text: &[PlacedDigit], grid: &mut GridReading) {
    let mut said = [Digits::EMPTY; 81];
    for placed in text {
        let cell = (0..81).find(|&n| encloses(&grid.lattice.cell(n / 9, n % 9), Point::new(placed.x, placed.y)));
        if let (Some(cell), Some(digit)) = (cell, Digit::new(placed.digit)) {
            said[cell].insert(digit);
        }
    }
    let reading = &mut grid.reading;
    let given = |read: Mark| matches!(read, Mark::Given(_));
    let (givens, told) = reading
        .cells
        .iter()
        .zip(&said)
        .filter(|(cell, _)| given(cell.read))
        .fold((0, 0), |(givens, told), (_, digits)| (givens + 1, told + usize::from(!digits.is_empty())));
    // Where most givens are text, one that isn't is odd.
    let text_is_whole = told > 0 && 2 * told >= givens;
    let mut flags = Vec::new();
    for ((cell, place), digits) in reading.cells.iter().zip(Cell::ALL).zip(said) {
        let differs = match cell.read {
            Mark::Given(digit) => !digits.contains(digit) && (text_is_whole || !digits.is_empty()),
            Mark::Marks => false,
            _ => digits.len() == 1,
        };
        if differs {
            let suggest = digits.iter().next().map_or(Mark::Empty, Mark::Given);
            flags.push(Flag { cell: place, reason: Reason::TextDiffers, read: cell.read, suggest, odds: 1.0 });
        }
    }
    if flags.is_empty() || reading.verdict == Verdict::Unreadable {
        return;
    }
    reading.verdict = Verdict::Doubtful;
    // Which of the two witnesses is right can't be told.
    reading.confidence = reading.confidence.min(0.5);
    reading.flags.retain(|flag| flags.iter().all(|other| other.cell != flag.cell));
    reading.flags.splice(0..0, flags);
}

/// Whether a convex quadrilateral, whichever way it is wound, holds a point.
fn encloses(corners: &[Point; 4], point: Point) -> bool {
    let side = |n: usize| (corners[(n + 1) % 4] - corners[n]).cross(point - corners[n]);
    let first = side(0) > 0.0;
    (1..4).all(|n| (side(n) > 0.0) == first)
}
