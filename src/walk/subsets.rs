//! Two, three or four cells of a house that hold as many digits: hidden and naked pairs, triples and quads.

use crate::grid::{CellSet, Digit, Digits, House};

use super::position::Position;
use super::step::{Deduction, Sighting, Strike, View};

/// Every hidden or naked set of `size` (2, 3 or 4) that strikes something and holds no smaller set.
pub(super) fn find(position: &Position, size: usize, found: &mut Vec<Sighting>) {
    for house in House::ALL {
        let open = position.open(house);
        if open.len() <= size {
            continue;
        }
        find_hidden(position, house, size, found);
        find_naked(position, house, size, found);
    }
}

fn find_hidden(position: &Position, house: House, size: usize, found: &mut Vec<Sighting>) {
    let digits: Vec<(Digit, CellSet)> = (!position.standing(house))
        .iter()
        .map(|digit| (digit, position.places_in(digit, house)))
        .filter(|(_, places)| (2..=size).contains(&places.len()))
        .collect();
    for chosen in choices(digits.len(), size) {
        let cells = chosen.iter().fold(CellSet::EMPTY, |cells, &at| cells | digits[at].1);
        if cells.len() != size || holds_smaller(&chosen, size, |at| digits[at].1.bits()) {
            continue;
        }
        let set: Digits = chosen.iter().map(|&at| digits[at].0).collect();
        let strikes = strikes(position, cells, Digits::ALL - set);
        if strikes.is_empty() {
            continue;
        }
        let deduction = [Deduction::HiddenPair, Deduction::HiddenTriple, Deduction::HiddenQuad][size - 2];
        found.push(Sighting {
            deduction,
            view: hidden_view(position, house, cells, set),
            houses: vec![house],
            cells,
            digits: set,
            puts: None,
            strikes,
            absences: (position.open(house) - cells).iter().map(|cell| (cell, set)).collect(),
            rectangle: None,
            line: None,
        });
    }
}

fn find_naked(position: &Position, house: House, size: usize, found: &mut Vec<Sighting>) {
    let cells: Vec<_> = position.open(house).iter().filter(|cell| (2..=size).contains(&position.candidates[cell.index()].len())).collect();
    for chosen in choices(cells.len(), size) {
        let set = chosen.iter().fold(Digits::EMPTY, |set, &at| set | position.candidates[cells[at].index()]);
        if set.len() != size || holds_smaller(&chosen, size, |at| position.candidates[cells[at].index()].bits().into()) {
            continue;
        }
        let members: CellSet = chosen.iter().map(|&at| cells[at]).collect();
        let strikes = strikes(position, position.open(house) - members, set);
        if strikes.is_empty() {
            continue;
        }
        found.push(Sighting {
            deduction: [Deduction::NakedPair, Deduction::NakedTriple, Deduction::NakedQuad][size - 2],
            view: View::within(house),
            houses: vec![house],
            cells: members,
            digits: set,
            puts: None,
            strikes,
            absences: members.iter().map(|cell| (cell, Digits::ALL - set)).collect(),
            rectangle: None,
            line: None,
        });
    }
}

/// Those of the digits that the cells could still take.
pub(super) fn strikes(position: &Position, cells: CellSet, digits: Digits) -> Vec<Strike> {
    cells
        .iter()
        .map(|cell| Strike { cell, digits: position.candidates[cell.index()] & digits })
        .filter(|strike| !strike.digits.is_empty())
        .collect()
}

/// A hidden pair in a box is a view of its own: along two rows, two columns, or a row and a column that cross there.
fn hidden_view(position: &Position, house: House, cells: CellSet, set: Digits) -> View {
    if !house.is_square() || set.len() > 2 {
        return View::within(house);
    }
    let closed = |line: House| set.iter().all(|digit| position.stands[digit.index()].meets(line.cells()));
    let others = position.open(house) - cells;
    let by_rows = others.iter().all(|cell| closed(cell.houses()[0]));
    let by_columns = others.iter().all(|cell| closed(cell.houses()[1]));
    let by_both = others.iter().all(|cell| closed(cell.houses()[0]) || closed(cell.houses()[1]));
    match (by_rows, by_columns, by_both) {
        (true, ..) => View::AlongTwoRows,
        (_, true, _) => View::AlongTwoColumns,
        (_, _, true) => View::RowCrossesColumn,
        _ => View::InBox,
    }
}

/// All ways to choose `size` of `count` things, as ascending positions.
pub(super) fn choices(count: usize, size: usize) -> impl Iterator<Item = Vec<usize>> {
    let mut next: Option<Vec<usize>> = (count >= size).then(|| (0..size).collect());
    std::iter::from_fn(move || {
        let current = next.clone()?;
        next = (0..size).rev().find(|&at| current[at] < count - size + at).map(|at| {
            let mut following = current.clone();
            following[at] += 1;
            for later in at + 1..size {
                following[later] = following[later - 1] + 1;
            }
            following
        });
        Some(current)
    })
}

/// Whether two or more of the chosen, but not all, already make a set by themselves: then the larger is no news.
pub(super) fn holds_smaller(chosen: &[usize], size: usize, bits: impl Fn(usize) -> u128) -> bool {
    (2..size).any(|smaller| {
        choices(size, smaller).any(|part| part.iter().fold(0, |all, &at| all | bits(chosen[at])).count_ones() as usize <= smaller)
    })
}
