//! Counts the solutions of a puzzle (none, one, many), and says what is at fault where there isn't exactly one.
//!
//! Takes boards, gives facts about them; it refuses nothing, as any 81 digits and gaps can be asked about. It sees no
//! probability: which fault is likely is for others to say.
//!
//! [`prove`] is cheap (microseconds); [`conflict`], [`repairs`], [`spare`] and [`canonical`] cost more and stand apart.

mod bands;
mod canonical;
mod fault;
mod pattern;
mod search;

pub use canonical::canonical;
pub use fault::{Repair, conflict, repairs, spare};
pub use pattern::{Symmetry, symmetries};

pub(crate) use search::Search;

use crate::grid::Board;

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
    Search::of(givens).count(cap)
}

/// The first solutions found, at most `cap` of them.
pub fn solutions(givens: &Board, cap: usize) -> Vec<Board> {
    Search::of(givens).solutions(cap)
}
