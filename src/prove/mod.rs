//! Counts the solutions of a puzzle (none, one, many), and says what is at fault where there isn't exactly one.
//!
//! Takes boards, gives facts about them; it refuses nothing, as any 81 digits and gaps can be asked about. It sees no
//! probability: which fault is likely is for others to say.
//!
//! [`prove`] is cheap (microseconds); [`conflict`], [`repairs`], [`spare`] and [`canonical`] cost more and stand apart.

mod canonical;
mod fault;
mod pattern;
pub mod shape;
pub mod solver;

use std::ops::ControlFlow;

pub use canonical::canonical;
pub use fault::{Repair, conflict, repairs, spare};
pub use pattern::{Symmetry, symmetries};

use crate::grid::{Board, Cell, Digit};
use shape::Shape;
use solver::{Contradiction, Search};

/// How many solutions a puzzle has, as far as it matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Count {
    /// No solution.
    None,
    /// Exactly one: the puzzle is sound.
    One,
    /// Two or more.
    Many,
}

/// What the solver found out about a puzzle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Proof {
    /// How many solutions there are.
    pub count: Count,
    /// The solution; the first one found where there are more.
    pub solution: Option<Board>,
    /// A second solution, where there is more than one.
    pub second: Option<Board>,
}

/// How many solutions the givens have, with the first two.
///
/// ```
/// use gridlift::grid::Board;
/// use gridlift::prove::{Count, prove};
/// let line = "974..8....1.6....5....9......1...3..348...519..2...4......6....4....1.9....5..723";
/// let puzzle: Board = line.parse().unwrap();
/// let proof = prove(&puzzle);
/// assert_eq!(proof.count, Count::One);
/// assert!(proof.solution.is_some_and(|solution| solution.is_solved() && puzzle.agrees(&solution)));
/// ```
pub fn prove(givens: &Board) -> Proof {
    let found = solutions(givens, 2);
    let count = match found.len() {
        0 => Count::None,
        1 => Count::One,
        _ => Count::Many,
    };
    Proof { count, solution: found.first().copied(), second: found.get(1).copied() }
}

/// The number of solutions, at most `cap`.
pub fn count(givens: &Board, cap: u64) -> u64 {
    search(givens).map_or(0, |search| search.count(cap))
}

/// The first solutions found, at most `cap` of them.
pub fn solutions(givens: &Board, cap: usize) -> Vec<Board> {
    let mut found = Vec::new();
    if let (Ok(search), true) = (search(givens), cap > 0) {
        let _ = search.each(&mut |solution| {
            found.push(board(solution));
            if found.len() < cap { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
        });
    }
    found
}

static NINE: Shape<9, 81> = Shape::NINE;

/// A search for the solutions of a 9x9 puzzle.
type Nine = Search<'static, 9, 81>;

fn search(givens: &Board) -> Result<Nine, Contradiction> {
    let mut search = Search::new(&NINE);
    for (cell, digit) in givens.placed() {
        search.keep(cell.index(), bit(digit))?;
    }
    Ok(search)
}

const fn bit(digit: Digit) -> u16 {
    1 << digit.index()
}

fn board(solution: &[u16; 81]) -> Board {
    Board::from_fn(|cell: Cell| Digit::new(solution[cell.index()].trailing_zeros() as u8 + 1))
}
