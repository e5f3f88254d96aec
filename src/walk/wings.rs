//! XY-wing and XYZ-wing: a pivot and two cells of two digits that leave one digit nowhere to hide.

use crate::grid::{Cell, CellSet, Digits, House};

use super::position::Position;
use super::step::{Deduction, Sighting, View};
use super::subsets::strikes;

/// Every XY-wing and XYZ-wing that strikes something.
pub(super) fn find(position: &Position, found: &mut Vec<Sighting>) {
    let candidates = |cell: Cell| position.candidates[cell.index()];
    let two: CellSet = Cell::ALL.into_iter().filter(|&cell| candidates(cell).len() == 2).collect();
    for pivot in Cell::ALL {
        let held = candidates(pivot);
        if !(2..=3).contains(&held.len()) {
            continue;
        }
        let near = two & pivot.peers();
        for first in near.iter() {
            for second in near.iter().filter(|&second| first < second) {
                let (a, b) = (candidates(first), candidates(second));
                let shared = a & b;
                let fits = match held.len() {
                    2 => a != b && shared.len() == 1 && (a | b) - shared == held && !held.meets(shared),
                    _ => shared.len() == 1 && (a | b) == held,
                };
                if fits {
                    conclude(position, pivot, [first, second], shared, found);
                }
            }
        }
    }
}

fn conclude(position: &Position, pivot: Cell, wings: [Cell; 2], digit: Digits, found: &mut Vec<Sighting>) {
    let held = position.candidates[pivot.index()];
    let cells = CellSet::from_iter([pivot, wings[0], wings[1]]);
    let seeing = if held.len() == 2 { wings.into_iter().collect() } else { cells };
    let strikes = strikes(position, CellSet::common_peers(seeing) - cells, digit);
    if strikes.is_empty() {
        return;
    }
    let houses = wings.map(|wing| joining(pivot, wing));
    let view = match houses.map(House::is_square) {
        [true, true] => return, // Both wings in the pivot's box: a naked triple.
        [false, false] if houses[0] == houses[1] => return,
        [false, false] => View::RowAndColumn,
        _ => View::LineAndBox,
    };
    found.push(Sighting {
        deduction: if held.len() == 2 { Deduction::XyWing } else { Deduction::XyzWing },
        view,
        houses: houses.to_vec(),
        cells,
        digits: held | digit,
        puts: None,
        strikes,
        absences: cells.iter().map(|cell| (cell, position.absent(cell))).collect(),
        rectangle: None,
        line: None,
    });
}

/// A house of both cells, a box rather than a line.
fn joining(a: Cell, b: Cell) -> House {
    let [row, column, square] = a.houses();
    if square.contains(b) {
        square
    } else if row.contains(b) {
        row
    } else {
        column
    }
}
