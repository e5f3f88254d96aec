//! What is at fault with the givens of a puzzle, and what would put it right.

use super::search::{Contradiction, Search};
use super::{Count, count, prove, solutions};
use crate::grid::{Board, Cell, CellSet, Digit, Digits};

/// A change of one given.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Repair {
    /// Where.
    pub cell: Cell,
    /// The digit now; `None` where the cell is empty.
    pub from: Option<Digit>,
    /// The digit to put there; `None` to empty the cell.
    pub to: Option<Digit>,
}

/// How many orders of leaving givens out are tried for the smallest conflict.
const ORDERS: usize = 12;

/// How many solutions are listed to find the digits that only one of them has. Up to here listing is cheaper
/// than a search for each digit.
const LISTED: usize = 300;

/// The fewest givens that leave one solution (McGuire, Tugemann and Civario 2014).
const FEWEST: usize = 17;

/// Givens that can't stand together and of which none can be left out; empty where there is a solution.
///
/// A pair of equal digits in a house comes before anything else. Otherwise givens are left out one by one as long as
/// no solution appears, in several fixed orders, and the smallest set is kept: it need not be the smallest there is.
pub fn conflict(givens: &Board) -> CellSet {
    for cell in givens.conflicts().iter() {
        let twins = cell.peers().iter().filter(|&peer| givens.get(peer) == givens.get(cell));
        if let Some(twin) = twins.into_iter().next() {
            return [cell, twin].into_iter().collect();
        }
    }
    if count(givens, 1) > 0 {
        return CellSet::EMPTY;
    }
    let filled = givens.filled();
    let mut order: Vec<Cell> = filled.iter().collect();
    let mut smallest = filled;
    // Any fixed sequence of orders does; multiplicative hashing spreads the cells differently each time.
    for round in 0..ORDERS as u64 {
        let core = shrink(givens, &order);
        if core.len() < smallest.len() || round == 0 {
            smallest = core;
        }
        let key = |cell: &Cell| (cell.index() as u64 + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15).wrapping_mul(2 * round + 1) >> 20;
        order.sort_by_key(|cell| key(cell) & 0xffff);
    }
    smallest
}

/// A conflict that is left when givens are left out in this order.
fn shrink(givens: &Board, order: &[Cell]) -> CellSet {
    let mut left = *givens;
    for &cell in order {
        let without = left.with(cell, None);
        if count(&without, 1) == 0 {
            left = without;
        }
    }
    left.filled()
}

/// All changes of one cell after which exactly one solution is left, by cell, then by digit with `None` first;
/// empty where there is exactly one already.
pub fn repairs(givens: &Board) -> Vec<Repair> {
    let mut found = match prove(givens).count {
        Count::One => Vec::new(),
        // Only a change within the conflict can end it; nothing is gained by adding to it.
        Count::None => changes(givens, conflict(givens), true),
        // Taking a given away only adds solutions.
        Count::Many => {
            let count = givens.filled().len();
            let mut found = if count >= FEWEST { changes(givens, givens.filled(), false) } else { Vec::new() };
            if count + 1 >= FEWEST {
                found.extend(additions(givens));
            }
            found
        }
    };
    found.sort_by_key(|repair| (repair.cell, repair.to));
    found
}

/// The givens among `cells` that become sound by another digit, or with `emptying` by none.
fn changes(givens: &Board, cells: CellSet, emptying: bool) -> Vec<Repair> {
    let mut found = Vec::new();
    for cell in cells.iter() {
        let (from, without) = (givens.get(cell), givens.with(cell, None));
        let Ok(rest) = search(&without) else { continue };
        if emptying && rest.clone().count(2) == 1 {
            found.push(Repair { cell, from, to: None });
        }
        let others = rest.candidates(cell).iter().filter(|&digit| Some(digit) != from);
        found.extend(others.filter(|&to| leaves_one(&rest, cell, to)).map(|to| Repair { cell, from, to: Some(to) }));
    }
    found
}

/// The digits in empty cells that exactly one solution has.
fn additions(givens: &Board) -> Vec<Repair> {
    let listed = solutions(givens, LISTED);
    let mut seen = [[0_u32; 9]; 81];
    for (cell, digit) in listed.iter().flat_map(Board::placed) {
        seen[cell.index()][digit.index()] += 1;
    }
    let complete = listed.len() < LISTED;
    let Ok(rest) = search(givens) else { return Vec::new() };
    let mut found = Vec::new();
    for cell in (CellSet::ALL - givens.filled()).iter() {
        for digit in Digit::ALL {
            let is_only = match seen[cell.index()][digit.index()] {
                0 => !complete && leaves_one(&rest, cell, digit),
                1 => complete || leaves_one(&rest, cell, digit),
                _ => false,
            };
            if is_only {
                found.push(Repair { cell, from: None, to: Some(digit) });
            }
        }
    }
    found
}

/// The search with these givens after the first conclusions, ready to be asked about many cells.
fn search(givens: &Board) -> Result<Search, Contradiction> {
    let mut search = Search::of(givens);
    search.conclude()?;
    Ok(search)
}

fn leaves_one(search: &Search, cell: Cell, digit: Digit) -> bool {
    let mut search = search.clone();
    search.keep(cell, digit.into()).is_ok() && search.count(2) == 1
}

/// The givens each of which all the others imply: without it, no solution has another digit there.
pub fn spare(givens: &Board) -> CellSet {
    let implied = |&(cell, digit): &(Cell, Digit)| {
        let mut rest = Search::of(&givens.with(cell, None));
        rest.keep(cell, !Digits::from(digit)).is_err() || rest.count(1) == 0
    };
    givens.placed().filter(implied).map(|(cell, _)| cell).collect()
}
