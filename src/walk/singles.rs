//! Deductions that write a digit: full house, hidden single, naked single.

use crate::grid::{Cell, CellSet, Digit, Digits, House};

use super::cite::absent_from;
use super::position::Position;
use super::step::{Deduction, Put, Sighting, View};

/// Every digit that can be written at once, each way it is seen.
pub(super) fn find(position: &Position, found: &mut Vec<Sighting>) {
    for house in House::ALL {
        let open = position.open(house);
        if open.is_empty() {
            continue;
        }
        for digit in (!position.standing(house)).iter() {
            if let Some(cell) = position.places_in(digit, house).only() {
                found.push(in_house(position, house, cell, digit));
            }
        }
    }
    for cell in Cell::ALL {
        if let Some(digit) = position.candidates[cell.index()].only() {
            found.push(in_cell(position, cell, digit));
        }
    }
}

fn in_house(position: &Position, house: House, cell: Cell, digit: Digit) -> Sighting {
    let open = position.open(house);
    let last = open.len() == 1;
    let view = if house.is_square() && !last { across(position, house, cell, digit) } else { View::within(house) };
    Sighting {
        deduction: if last { Deduction::FullHouse } else { Deduction::HiddenSingle },
        view,
        houses: vec![house],
        cells: cell.into(),
        digits: digit.into(),
        puts: Some(Put { cell, digit }),
        strikes: Vec::new(),
        absences: absent_from(open - CellSet::of(cell), digit).collect(),
        rectangle: None,
        line: None,
    }
}

/// How cross-hatching a box is seen: by the rows, the columns, or both in which the digit stands.
fn across(position: &Position, house: House, cell: Cell, digit: Digit) -> View {
    let others = position.open(house) - CellSet::of(cell);
    let stands = position.stands[digit.index()];
    let by_rows = others.iter().all(|other| other.houses()[0].cells().meets(stands));
    let by_columns = others.iter().all(|other| other.houses()[1].cells().meets(stands));
    match (by_rows, by_columns) {
        (true, _) => View::AlongRows,
        (_, true) => View::AlongColumns,
        _ => View::AcrossBox,
    }
}

fn in_cell(position: &Position, cell: Cell, digit: Digit) -> Sighting {
    let absent = Digits::ALL - Digits::of(digit);
    let seen = cell.houses().map(|house| position.standing(house));
    let view = if seen.contains(&absent) {
        View::OneHouse
    } else if (0..3).any(|left| (seen[left] | seen[(left + 1) % 3]) == absent) {
        View::TwoHouses
    } else {
        View::AroundCell
    };
    Sighting {
        deduction: Deduction::NakedSingle,
        view,
        houses: Vec::new(),
        cells: cell.into(),
        digits: digit.into(),
        puts: Some(Put { cell, digit }),
        strikes: Vec::new(),
        absences: vec![(cell, absent)],
        rectangle: None,
        line: None,
    }
}
