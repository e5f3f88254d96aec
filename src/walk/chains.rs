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
                for manner in [Manner::Chain, Manner::Colours] {
                    Trail { position, digit, links: &links, manner, houses: vec![house], cells: vec![from, to] }.extend(found);
                }
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

/// How one link goes on from another.
#[derive(Clone, Copy)]
enum Manner {
    /// By cells that see one another: one end of the whole holds the digit. Two cells a link, in order.
    Chain,
    /// By a cell of both: cells coloured in turn, one colour holds the digit, the other doesn't. One cell more than links.
    Colours,
}

/// Houses with two places each, linked in one manner.
struct Trail<'a> {
    position: &'a Position,
    digit: Digit,
    links: &'a [Link],
    manner: Manner,
    houses: Vec<House>,
    cells: Vec<Cell>,
}

impl Trail<'_> {
    fn extend(&mut self, found: &mut Vec<Sighting>) {
        found.extend(self.conclude());
        if self.houses.len() == LONGEST {
            return;
        }
        let end = self.cells[self.cells.len() - 1];
        let length = self.cells.len();
        for &(house, [a, b]) in self.links {
            for (near, far) in [(a, b), (b, a)] {
                let goes_on = match self.manner {
                    Manner::Chain => end.sees(near) && !self.cells.contains(&near),
                    Manner::Colours => near == end,
                };
                if goes_on && !self.cells.contains(&far) {
                    self.houses.push(house);
                    match self.manner {
                        Manner::Chain => self.cells.extend([near, far]),
                        Manner::Colours => self.cells.push(far),
                    }
                    self.extend(found);
                    self.houses.pop();
                    self.cells.truncate(length);
                }
            }
        }
    }

    /// What follows from the links so far; `None` where nothing does.
    fn conclude(&self) -> Option<Sighting> {
        let (first, last) = (self.cells[0], self.cells[self.cells.len() - 1]);
        // Each is met from both ends: keep one.
        if first > last {
            return None;
        }
        let cells = CellSet::from_iter(self.cells.iter().copied());
        let seen_by_both = self.position.places[self.digit.index()] & first.peers() & (last.peers() - cells);
        let (deduction, view, struck) = match (self.manner, self.houses.len()) {
            (Manner::Chain, 2) => (Deduction::SingleDigitChain, View::TwoLinks, seen_by_both),
            (Manner::Chain, 3) => (Deduction::SingleDigitChain, View::ThreeLinks, seen_by_both),
            (Manner::Chain, LONGEST) => (Deduction::SingleDigitChain, View::FourLinks, seen_by_both),
            // Both ends have one colour and see each other: that colour is false.
            (Manner::Colours, 2 | 4) if first.sees(last) => {
                (Deduction::Colouring, View::ColourMeetsItself, self.cells.iter().copied().step_by(2).collect())
            }
            // The ends have two colours: what sees both is struck.
            (Manner::Colours, 3) => (Deduction::Colouring, View::BetweenColours, seen_by_both),
            _ => return None,
        };
        (!struck.is_empty()).then(|| sighting(self.position, deduction, view, self.digit, &self.houses, cells, struck))
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
