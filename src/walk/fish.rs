//! Fish: a digit whose places in two, three or four lines lie on as many crossing lines.

use crate::grid::{CellSet, Digit, House};

use super::cite::absent_from;
use super::position::Position;
use super::step::{Deduction, Sighting, Strike, View};
use super::subsets::{choices, holds_smaller};

/// Every X-wing (`size` 2), swordfish (3) or jellyfish (4) that strikes something and holds no smaller one.
pub(super) fn find(position: &Position, size: usize, found: &mut Vec<Sighting>) {
    for digit in Digit::ALL {
        for (bases, covers, view) in
            [(&House::ALL[..9], &House::ALL[9..18], View::AlongRows), (&House::ALL[9..18], &House::ALL[..9], View::AlongColumns)]
        {
            find_along(position, digit, size, bases, covers, view, found);
        }
    }
}

fn find_along(position: &Position, digit: Digit, size: usize, bases: &[House], covers: &[House], view: View, found: &mut Vec<Sighting>) {
    let lines: Vec<(House, u128)> = bases
        .iter()
        .map(|&base| {
            let places = position.places_in(digit, base);
            let crossed = covers.iter().enumerate().filter(|(_, cover)| places.meets(cover.cells()));
            (base, crossed.fold(0_u128, |bits, (at, _)| bits | 1 << at))
        })
        .filter(|(_, crossed)| (2..=size).contains(&(crossed.count_ones() as usize)))
        .collect();
    for chosen in choices(lines.len(), size) {
        let crossed = chosen.iter().fold(0, |bits, &at| bits | lines[at].1);
        if crossed.count_ones() as usize != size || holds_smaller(&chosen, size, |at| lines[at].1) {
            continue;
        }
        let base: Vec<House> = chosen.iter().map(|&at| lines[at].0).collect();
        let cover: Vec<House> = (0..9).filter(|at| crossed >> at & 1 == 1).map(|at| covers[at]).collect();
        let union = |houses: &[House]| houses.iter().fold(CellSet::EMPTY, |cells, house| cells | house.cells());
        let (in_base, in_cover) = (union(&base), union(&cover));
        let struck = position.places[digit.index()] & (in_cover - in_base);
        if struck.is_empty() {
            continue;
        }
        found.push(Sighting {
            deduction: [Deduction::XWing, Deduction::Swordfish, Deduction::Jellyfish][size - 2],
            view,
            houses: base.into_iter().chain(cover).collect(),
            cells: position.places[digit.index()] & in_base,
            digits: digit.into(),
            puts: None,
            strikes: struck.iter().map(|cell| Strike { cell, digits: digit.into() }).collect(),
            absences: absent_from(in_base - in_cover - position.filled, digit).collect(),
            rectangle: None,
            line: None,
        });
    }
}
