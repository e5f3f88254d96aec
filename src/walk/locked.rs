//! Locked candidates: a digit that a box keeps within a line, or a line within a box.

use crate::grid::{Digit, House};

use super::cite::absent_from;
use super::position::Position;
use super::step::{Deduction, Sighting, Strike, View};

/// Every digit confined to where a box and a line cross, if that strikes something.
pub(super) fn find(position: &Position, found: &mut Vec<Sighting>) {
    for &block in &House::ALL[18..] {
        for &line in House::ALL[..18].iter().filter(|line| line.cells().meets(block.cells())) {
            for digit in Digit::ALL {
                confine(position, digit, block, line, found);
                confine(position, digit, line, block, found);
            }
        }
    }
}

/// The digit's places in `from` all lie in `to`, so the rest of `to` loses it.
fn confine(position: &Position, digit: Digit, from: House, to: House, found: &mut Vec<Sighting>) {
    let places = position.places_in(digit, from);
    if places.len() < 2 || !places.is_subset(to.cells()) {
        return;
    }
    let struck = position.places_in(digit, to) - places;
    if struck.is_empty() {
        return;
    }
    let view = match (from.is_square(), from.is_row() || to.is_row()) {
        (true, true) => View::BoxToRow,
        (true, false) => View::BoxToColumn,
        (false, true) => View::RowToBox,
        (false, false) => View::ColumnToBox,
    };
    found.push(Sighting {
        deduction: Deduction::LockedCandidates,
        view,
        houses: vec![from, to],
        cells: places,
        digits: digit.into(),
        puts: None,
        strikes: struck.iter().map(|cell| Strike { cell, digits: digit.into() }).collect(),
        absences: absent_from(position.open(from) - to.cells(), digit).collect(),
        rectangle: None,
        line: None,
    });
}
