//! Readings of a grid's givens, the likeliest first.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use crate::grid::{Board, Cell, Digit};

/// Givens of 81 cells, row by row, 0 for none.
pub(super) type Givens = [u8; 81];

/// Probabilities of none and of the nine givens, cell by cell.
pub(super) type GivenOdds = [[f64; 10]; 81];

/// One reading.
#[derive(Clone, Debug)]
pub(super) struct Candidate {
    pub(super) givens: Givens,
    /// How much less likely it is than the likeliest, in nats (natural logarithm).
    pub(super) cost: f64,
}

/// One cell read another way.
#[derive(Clone, Copy, Debug)]
pub(super) struct Change {
    pub(super) cell: usize,
    pub(super) digit: u8,
    /// What it costs, in nats.
    pub(super) cost: f64,
}

/// For each cell, the share of the weighed readings that don't read it as `givens` do.
pub(super) fn differing(givens: &Board, readings: impl Iterator<Item = (Givens, f64)>) -> [f64; 81] {
    let (mut differing, mut all) = ([0.0; 81], 0.0);
    for (reading, weight) in readings {
        all += weight;
        for (cell, sum) in Cell::ALL.into_iter().zip(&mut differing) {
            if givens.get(cell).map_or(0, Digit::value) != reading[cell.index()] {
                *sum += weight;
            }
        }
    }
    differing.map(|sum: f64| sum / all.max(f64::MIN_POSITIVE))
}

/// All readings by rising cost: best first over the single changes of the likeliest one, each change at
/// most once and each cell in at most one of them.
pub(super) struct Candidates {
    best: Givens,
    changes: Vec<Change>,
    heap: BinaryHeap<Partial>,
}

/// What waits in a heap, the cheapest first; of two as cheap, that of the lesser rank.
pub(super) struct Waiting<R, T> {
    /// In nats.
    pub(super) cost: f64,
    pub(super) rank: R,
    pub(super) what: T,
}

impl<R: Ord, T> Ord for Waiting<R, T> {
    /// The first to come is the greatest, as a heap has it.
    fn cmp(&self, other: &Self) -> Ordering {
        other.cost.total_cmp(&self.cost).then_with(|| other.rank.cmp(&self.rank))
    }
}

impl<R: Ord, T> PartialOrd for Waiting<R, T> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<R: Ord, T> PartialEq for Waiting<R, T> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl<R: Ord, T> Eq for Waiting<R, T> {}

/// A set of changes: its rank is their indices into `changes`, rising.
type Partial = Waiting<Vec<usize>, ()>;

fn partial(cost: f64, picked: Vec<usize>) -> Partial {
    Waiting { cost, rank: picked, what: () }
}

impl Candidates {
    /// Readings from `odds`, where no single change costs more than `limit` nats.
    pub(super) fn new(odds: &GivenOdds, limit: f64) -> Self {
        let mut best = [0; 81];
        let mut changes = Vec::new();
        for (cell, row) in odds.iter().enumerate() {
            let top = (0..10).max_by(|&a, &b| row[a].total_cmp(&row[b])).unwrap_or(0);
            best[cell] = top as u8;
            for digit in (0..10).filter(|&digit| digit != top) {
                let cost = (row[top].max(f64::MIN_POSITIVE) / row[digit].max(f64::MIN_POSITIVE)).ln();
                if cost <= limit {
                    changes.push(Change { cell, digit: digit as u8, cost });
                }
            }
        }
        changes.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        Self { best, changes, heap: BinaryHeap::from([partial(0.0, Vec::new())]) }
    }

    /// The likeliest givens.
    pub(super) fn best(&self) -> &Givens {
        &self.best
    }

    /// The single changes, cheapest first.
    pub(super) fn changes(&self) -> &[Change] {
        &self.changes
    }

    fn grow(&mut self, from: &Partial) {
        let next = from.rank.last().map_or(0, |&last| last + 1);
        let Some(change) = self.changes.get(next) else { return };
        let mut longer = from.rank.clone();
        longer.push(next);
        self.heap.push(partial(from.cost + change.cost, longer));
        if let Some((&last, rest)) = from.rank.split_last() {
            let mut other = rest.to_vec();
            other.push(next);
            self.heap.push(partial(from.cost - self.changes[last].cost + change.cost, other));
        }
    }
}

impl Iterator for Candidates {
    type Item = Candidate;

    fn next(&mut self) -> Option<Candidate> {
        loop {
            let picked = self.heap.pop()?;
            self.grow(&picked);
            let mut givens = self.best;
            let mut touched = [false; 81];
            let apart = picked.rank.iter().all(|&index| {
                let change = self.changes[index];
                givens[change.cell] = change.digit;
                !std::mem::replace(&mut touched[change.cell], true)
            });
            if apart {
                return Some(Candidate { givens, cost: picked.cost });
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn costs_rise_and_nothing_comes_twice() {
        let mut odds = [[0.0; 10]; 81];
        for (cell, row) in odds.iter_mut().enumerate() {
            row[0] = 1.0;
            if cell % 9 == 0 {
                row[cell / 9 + 1] = 0.2 + cell as f64 / 100.0;
                row[9] += 0.05;
            }
        }
        let all: Vec<Candidate> = Candidates::new(&odds, 20.0).take(500).collect();
        assert_eq!(all.len(), 500);
        assert!(all.windows(2).all(|pair| pair[0].cost <= pair[1].cost + 1e-12));
        let distinct: std::collections::HashSet<Givens> = all.iter().map(|c| c.givens).collect();
        assert_eq!(distinct.len(), 500);
    }

    #[test]
    fn the_cost_is_the_loss_of_likelihood() {
        let mut odds = [[0.0; 10]; 81];
        odds.iter_mut().for_each(|row| row[0] = 1.0);
        odds[3] = [0.0, 0.0, 0.6, 0.0, 0.0, 0.3, 0.0, 0.0, 0.1, 0.0];
        let costs: Vec<f64> = Candidates::new(&odds, 20.0).map(|c| c.cost).collect();
        assert_eq!(costs.len(), 3);
        assert!((costs[1] - 2.0_f64.ln()).abs() < 1e-12 && (costs[2] - 6.0_f64.ln()).abs() < 1e-12);
    }
}
