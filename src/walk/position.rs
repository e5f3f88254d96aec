//! The board as a solver sees it: what stands, what each empty cell could still take, and which facts say so.

use crate::grid::{Board, Cell, CellSet, Digit, Digits, House};

use super::step::Sighting;

/// The number of the step in the search's store that struck a candidate; 0 where none did.
pub(super) type StepId = u32;

/// A board, its candidates, and for each candidate struck the step that did it.
#[derive(Clone)]
pub(super) struct Position {
    pub board: Board,
    pub filled: CellSet,
    /// For each digit, the cells where it stands.
    pub stands: [CellSet; 9],
    /// For each digit, the empty cells that could take it.
    pub places: [CellSet; 9],
    /// For each cell, what it could take; empty for a filled cell.
    pub candidates: [Digits; 81],
    struck_by: [[StepId; 9]; 81],
}

impl Position {
    /// The position of a board on which nothing is carried in mind.
    pub fn new(board: &Board) -> Self {
        let mut position = Self {
            board: Board::EMPTY,
            filled: CellSet::EMPTY,
            stands: [CellSet::EMPTY; 9],
            places: [CellSet::ALL; 9],
            candidates: [Digits::ALL; 81],
            struck_by: [[0; 9]; 81],
        };
        for cell in Cell::ALL {
            if let Some(digit) = board.get(cell) {
                position.put(cell, digit);
            }
        }
        position
    }

    /// Writes a digit: its peers lose it.
    pub fn put(&mut self, cell: Cell, digit: Digit) {
        self.board.set(cell, Some(digit));
        self.filled.insert(cell);
        self.stands[digit.index()].insert(cell);
        for other in std::mem::replace(&mut self.candidates[cell.index()], Digits::EMPTY).iter() {
            self.places[other.index()].remove(cell);
        }
        for peer in (self.places[digit.index()] & cell.peers()).iter() {
            self.candidates[peer.index()].remove(digit);
        }
        self.places[digit.index()] -= cell.peers();
    }

    /// Strikes a candidate on the word of a step.
    pub fn strike(&mut self, cell: Cell, digit: Digit, step: StepId) {
        if self.candidates[cell.index()].contains(digit) {
            self.candidates[cell.index()].remove(digit);
            self.places[digit.index()].remove(cell);
            self.struck_by[cell.index()][digit.index()] = step;
        }
    }

    /// Carries out a step: its put or its strikes.
    pub fn apply(&mut self, sighting: &Sighting, step: StepId) {
        if let Some(put) = sighting.puts {
            self.put(put.cell, put.digit);
        }
        for strike in &sighting.strikes {
            for digit in strike.digits.iter() {
                self.strike(strike.cell, digit, step);
            }
        }
    }

    /// The step that struck the digit from the cell; 0 where none did.
    pub fn struck_by(&self, cell: Cell, digit: Digit) -> StepId {
        self.struck_by[cell.index()][digit.index()]
    }

    /// The empty cells of a house.
    pub fn open(&self, house: House) -> CellSet {
        house.cells() - self.filled
    }

    /// The digits that stand in a house.
    pub fn standing(&self, house: House) -> Digits {
        let mut digits = Digits::EMPTY;
        for digit in Digit::ALL {
            if self.stands[digit.index()].meets(house.cells()) {
                digits.insert(digit);
            }
        }
        digits
    }

    /// The places of a digit in a house.
    pub fn places_in(&self, digit: Digit, house: House) -> CellSet {
        self.places[digit.index()] & house.cells()
    }

    /// What a cell can't take: every digit but its candidates.
    pub fn absent(&self, cell: Cell) -> Digits {
        !self.candidates[cell.index()]
    }
}
