//! Chains of one digit: houses with just two places for it, linked so that one of two ends must hold it; and colouring.

use crate::grid::{Cell, CellSet, Digit, House};

use super::cite::absent_from;
use super::position::Position;
use super::step::{Deduction, Sighting, Strike, View};

/// A house with two places left for the digit.
type Link = (House, [Cell; 2]);

/// Longest chain, in houses with two places: a step names four houses at most.
const LONGEST: usize = 4;

/// Every single-digit chain and colouring that strikes something.
pub(super) fn find(position: &Position, found: &mut Vec<Sighting>) {
    for digit in Digit::ALL {
        let links = links(position, digit);
        if links.len() < 2 {
            continue;
        }
        for &(house, [a, b]) in &links {
            for (from, to) in [(a, b), (b, a)] {
                Chain { position, digit, links: &links, houses: vec![house], cells: vec![from, to] }.extend(found);
                Colours { position, digit, links: &links, houses: vec![house], cells: vec![from, to] }.extend(found);
            }
        }
    }
}

/// Links of distinct cells: two houses that share both places count once.
fn links(position: &Position, digit: Digit) -> Vec<Link> {
    let mut links: Vec<Link> = Vec::new();
    for house in House::ALL {
        let places = position.places_in(digit, house);
        let ends: Vec<Cell> = places.iter().collect();
        if let [a, b] = ends[..]
            && !links.iter().any(|(_, ends)| *ends == [a, b])
        {
            links.push((house, [a, b]));
        }
    }
    links
}

/// Houses with two places each, joined by cells that see one another: one end of the whole holds the digit.
struct Chain<'a> {
    position: &'a Position,
    digit: Digit,
    links: &'a [Link],
    houses: Vec<House>,
    /// Two a link, in order.
    cells: Vec<Cell>,
}

impl Chain<'_> {
    fn extend(&mut self, found: &mut Vec<Sighting>) {
        if self.houses.len() >= 2 {
            self.conclude(found);
        }
        if self.houses.len() == LONGEST {
            return;
        }
        let end = self.cells[self.cells.len() - 1];
        for &(house, [a, b]) in self.links {
            for (near, far) in [(a, b), (b, a)] {
                if end.sees(near) && !self.cells.contains(&near) && !self.cells.contains(&far) {
                    self.houses.push(house);
                    self.cells.extend([near, far]);
                    self.extend(found);
                    self.houses.pop();
                    self.cells.truncate(self.cells.len() - 2);
                }
            }
        }
    }

    fn conclude(&self, found: &mut Vec<Sighting>) {
        let (first, last) = (self.cells[0], self.cells[self.cells.len() - 1]);
        // Each chain is met from both ends: keep one.
        if first > last {
            return;
        }
        let cells = CellSet::from_iter(self.cells.iter().copied());
        let struck = self.position.places[self.digit.index()] & first.peers() & (last.peers() - cells);
        if struck.is_empty() {
            return;
        }
        let view = [View::TwoLinks, View::ThreeLinks, View::FourLinks][self.houses.len() - 2];
        found.push(sighting(self.position, Deduction::SingleDigitChain, view, self.digit, &self.houses, cells, struck));
    }
}

/// Cells coloured in turn along houses with two places each: one colour holds the digit, the other doesn't.
struct Colours<'a> {
    position: &'a Position,
    digit: Digit,
    links: &'a [Link],
    houses: Vec<House>,
    /// One more than links; the colours take turns.
    cells: Vec<Cell>,
}

impl Colours<'_> {
    fn extend(&mut self, found: &mut Vec<Sighting>) {
        self.conclude(found);
        if self.houses.len() == LONGEST {
            return;
        }
        let end = self.cells[self.cells.len() - 1];
        for &(house, [a, b]) in self.links {
            for (near, far) in [(a, b), (b, a)] {
                if near == end && !self.cells.contains(&far) {
                    self.houses.push(house);
                    self.cells.push(far);
                    self.extend(found);
                    self.houses.pop();
                    self.cells.pop();
                }
            }
        }
    }

    fn conclude(&self, found: &mut Vec<Sighting>) {
        let (first, last) = (self.cells[0], self.cells[self.cells.len() - 1]);
        if first > last {
            return;
        }
        let cells = CellSet::from_iter(self.cells.iter().copied());
        let (view, struck) = match self.houses.len() {
            // Both ends have one colour and see each other: that colour is false.
            2 | 4 if first.sees(last) => (View::ColourMeetsItself, self.cells.iter().copied().step_by(2).collect::<CellSet>()),
            // The ends have two colours: what sees both is struck.
            3 => (View::BetweenColours, self.position.places[self.digit.index()] & first.peers() & (last.peers() - cells)),
            _ => return,
        };
        if !struck.is_empty() {
            found.push(sighting(self.position, Deduction::Colouring, view, self.digit, &self.houses, cells, struck));
        }
    }
}

fn sighting(
    position: &Position,
    deduction: Deduction,
    view: View,
    digit: Digit,
    houses: &[House],
    cells: CellSet,
    struck: CellSet,
) -> Sighting {
    let closed = houses.iter().map(|&house| position.open(house) - position.places_in(digit, house));
    let closed = closed.fold(CellSet::EMPTY, |closed, cells| closed | cells);
    Sighting {
        deduction,
        view,
        houses: houses.to_vec(),
        cells,
        digits: digit.into(),
        puts: None,
        strikes: struck.iter().map(|cell| Strike { cell, digits: digit.into() }).collect(),
        absences: absent_from(closed, digit).collect(),
        rectangle: None,
        line: None,
    }
}
