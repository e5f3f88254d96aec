//! Readings of a grid's givens, the likeliest first.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

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

/// All readings by rising cost: best first over the single changes of the likeliest one, each change at
/// most once and each cell in at most one of them.
pub(super) struct Candidates {
    best: Givens,
    changes: Vec<Change>,
    heap: BinaryHeap<Partial>,
}

/// A set of changes, by rising index into `changes`.
struct Partial {
    cost: f64,
    picked: Vec<usize>,
}

impl Ord for Partial {
    /// The cheapest is the greatest, so that the heap gives it first.
    fn cmp(&self, other: &Self) -> Ordering {
        other.cost.total_cmp(&self.cost).then_with(|| other.picked.cmp(&self.picked))
    }
}

impl PartialOrd for Partial {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Partial {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Partial {}

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
        Self { best, changes, heap: BinaryHeap::from([Partial { cost: 0.0, picked: Vec::new() }]) }
    }

    /// The single changes, cheapest first.
    pub(super) fn changes(&self) -> &[Change] {
        &self.changes
    }

    fn grow(&mut self, partial: &Partial) {
        let next = partial.picked.last().map_or(0, |&last| last + 1);
        let Some(change) = self.changes.get(next) else { return };
        let mut longer = partial.picked.clone();
        longer.push(next);
        self.heap.push(Partial { cost: partial.cost + change.cost, picked: longer });
        if let Some((&last, rest)) = partial.picked.split_last() {
            let mut other = rest.to_vec();
            other.push(next);
            self.heap.push(Partial { cost: partial.cost - self.changes[last].cost + change.cost, picked: other });
        }
    }
}

impl Iterator for Candidates {
    type Item = Candidate;

    fn next(&mut self) -> Option<Candidate> {
        loop {
            let partial = self.heap.pop()?;
            self.grow(&partial);
            let mut givens = self.best;
            let mut touched = [false; 81];
            let apart = partial.picked.iter().all(|&index| {
                let change = self.changes[index];
                givens[change.cell] = change.digit;
                !std::mem::replace(&mut touched[change.cell], true)
            });
            if apart {
                return Some(Candidate { givens, cost: partial.cost });
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
