//! Asks `prove` about readings.

use super::Reading;
use super::candidates::Givens;
use crate::grid::{Board, Cell, Digit};
use crate::prove::{self, Count};

/// The board of these givens.
pub(super) fn board(givens: &Givens) -> Board {
    Board::from_fn(|cell| Digit::new(givens[cell.index()]))
}

/// Whether these givens have exactly one solution.
pub(super) fn is_sound(givens: &Givens) -> bool {
    count(givens, 2) == 1
}

/// The number of solutions, at most `cap`.
pub(super) fn count(givens: &Givens, cap: u64) -> u64 {
    prove::count(&board(givens), cap)
}

/// Fills in what follows from the rules: solutions, and the conflict where there is none.
pub(super) fn solve(givens: &Givens, reading: &mut Reading) {
    let proof = prove::prove(&board(givens));
    reading.solutions = match proof.count {
        Count::None => 0,
        Count::One => 1,
        Count::Many => 2,
    };
    reading.solution = proof.solution;
    reading.second = proof.second;
}

/// A small set of givens that can't stand together; empty where they can.
pub(super) fn conflict(givens: &Givens) -> Vec<Cell> {
    prove::conflict(&board(givens)).iter().collect()
}

/// Every single change that would leave one solution.
pub(super) fn repairs(givens: &Givens) -> Vec<(Cell, Option<Digit>)> {
    prove::repairs(&board(givens)).into_iter().map(|repair| (repair.cell, repair.to)).collect()
}
