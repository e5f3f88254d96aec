//! Unique rectangles: four cells that two digits could fill both ways, which a puzzle with one solution forbids.

use crate::grid::{Cell, CellSet, Digit, Digits};

use super::position::Position;
use super::step::{Deduction, Rectangle, Sighting, Strike, View};
use super::subsets::strikes;

/// Every unique rectangle of the four usual kinds that strikes something. Only for puzzles proven to have one solution.
pub(super) fn find(position: &Position, found: &mut Vec<Sighting>) {
    for top in 0..9 {
        for bottom in top + 1..9 {
            for left in 0..9 {
                for right in left + 1..9 {
                    // Two boxes, not one and not four.
                    if (top / 3 == bottom / 3) != (left / 3 == right / 3) {
                        let corners = [(top, left), (top, right), (bottom, left), (bottom, right)];
                        find_at(position, corners.map(|(row, column)| Cell::ALL[9 * row + column]), found);
                    }
                }
            }
        }
    }
}

fn find_at(position: &Position, corners: [Cell; 4], found: &mut Vec<Sighting>) {
    let cells = CellSet::from_iter(corners);
    if cells.meets(position.filled) {
        return;
    }
    let held = corners.map(|cell| position.candidates[cell.index()]);
    let common = held.into_iter().fold(Digits::ALL, |common, held| common & held);
    let all: Vec<Digit> = common.iter().collect();
    for (at, &a) in all.iter().enumerate() {
        for &b in &all[at + 1..] {
            let pair = Digits::from_iter([a, b]);
            let floor: CellSet = corners.into_iter().filter(|cell| position.candidates[cell.index()] == pair).collect();
            let rectangle = Rectangle { cells: corners, digits: [a, b] };
            let seen = Seen { position, rectangle, pair, cells, floor, roof: cells - floor };
            match floor.len() {
                3 => seen.one_corner_open(found),
                2 => {
                    seen.shared_spare(found);
                    seen.spare_pair(found);
                    seen.tied_corners(found);
                }
                _ => {}
            }
        }
    }
}

/// A rectangle in a position: the floor holds the pair alone, the roof holds spare digits too.
struct Seen<'a> {
    position: &'a Position,
    rectangle: Rectangle,
    pair: Digits,
    cells: CellSet,
    floor: CellSet,
    roof: CellSet,
}

impl Seen<'_> {
    fn sighting(&self, view: View, strikes: Vec<Strike>) -> Sighting {
        Sighting {
            deduction: Deduction::UniqueRectangle,
            view,
            houses: Vec::new(),
            cells: self.cells,
            digits: self.pair,
            puts: None,
            strikes,
            absences: self.floor.iter().map(|cell| (cell, !self.pair)).collect(),
            rectangle: Some(self.rectangle),
            line: None,
        }
    }

    fn spares(&self) -> Digits {
        self.roof.iter().fold(Digits::EMPTY, |spares, cell| spares | self.position.candidates[cell.index()]) - self.pair
    }

    fn one_corner_open(&self, found: &mut Vec<Sighting>) {
        found.push(self.sighting(View::OneCornerOpen, strikes(self.position, self.roof, self.pair)));
    }

    /// Both roof cells hold the pair and the same one spare digit: one of them takes it.
    fn shared_spare(&self, found: &mut Vec<Sighting>) {
        let spares = self.spares();
        let strikes = strikes(self.position, self.roof.common_peers(), spares);
        if spares.len() != 1 || strikes.is_empty() {
            return;
        }
        let mut sighting = self.sighting(View::SharedSpare, strikes);
        sighting.absences.extend(self.roof.iter().map(|cell| (cell, !(self.pair | spares))));
        sighting.digits = self.pair | spares;
        found.push(sighting);
    }

    /// The roof cells hold two spare digits between them, and a third cell of their house holds just those: a naked pair.
    fn spare_pair(&self, found: &mut Vec<Sighting>) {
        let spares = self.spares();
        if spares.len() != 2 {
            return;
        }
        for house in self.roof.common_houses() {
            for third in (self.position.open(house) - self.cells).iter().filter(|cell| self.position.candidates[cell.index()] == spares) {
                let strikes = strikes(self.position, self.position.open(house) - self.cells - CellSet::of(third), spares);
                if strikes.is_empty() {
                    continue;
                }
                let mut sighting = self.sighting(View::SparePair, strikes);
                sighting.houses = vec![house];
                sighting.cells.insert(third);
                sighting.digits = self.pair | spares;
                sighting.absences.extend(self.roof.iter().map(|cell| (cell, !(self.pair | spares))));
                sighting.absences.push((third, !spares));
                found.push(sighting);
            }
        }
    }

    /// One digit of the pair has no place in the roof's house but the roof: the other can't stand there.
    fn tied_corners(&self, found: &mut Vec<Sighting>) {
        for house in self.roof.common_houses() {
            for tied in self.pair.iter().filter(|&digit| self.position.places_in(digit, house) == self.roof) {
                let mut sighting = self.sighting(View::TiedCorners, strikes(self.position, self.roof, self.pair - Digits::of(tied)));
                sighting.houses = vec![house];
                let others = self.position.open(house) - self.roof;
                sighting.absences.extend(others.iter().map(|cell| (cell, Digits::of(tied))));
                found.push(sighting);
            }
        }
    }
}
