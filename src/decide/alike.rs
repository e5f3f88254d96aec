//! Which digits of one kind are print and which are written, told by which of them are copies of each other.
//!
//! All prints of a digit are copies, however unlike print in general they look, and what a hand wrote isn't. So each way of parting the digits of one kind into print and writing is
//! weighed: by what the networks say of each digit alone, and by how surely those taken for print are copies. Of the pairs among these, as many count as tell something new: those of
//! the spanning tree of most weight (Prim 1957).

use crate::classify::{CLASSES, Pair, lean_to_print};

/// More digits of one kind no grid has, unless many are misread: 2 to this power ways are weighed.
const MOST: usize = 11;
/// A grid with so many digits, printed or written, is a solution, or somebody filled it in. Printers set solutions in two faces, so digits that differ tell nothing there.
const FULL: usize = 60;
/// What is taken off each pair's log odds: hands write alike, too, and more so than those that the network learnt from.
const HANDS: f64 = -2.0;
/// What one pair may tell, in nats: both ways no more than a network's word. Set with `HANDS` on 770 pages of two drawers (see models/README.md).
const LEAST: f64 = -5.0;
/// See `LEAST`.
const ALIKE: f64 = 4.0;

/// Cells' probabilities (classes as in [`crate::classify::Evidence`]), with given and entry weighed by which of the digits are copies.
pub(super) fn weigh(cells: &[[f64; CLASSES]], pairs: &[Pair]) -> Vec<[f64; CLASSES]> {
    let mut after = cells.to_vec();
    let is_full = cells.iter().filter(|row| (1..10).any(|digit| holds_digit(row, digit))).count() >= FULL;
    let least = if is_full { 0.0 } else { LEAST };
    for digit in 1..10 {
        let kind: Vec<usize> = (0..81).filter(|&cell| holds_digit(&cells[cell], digit)).collect();
        if !(2..=MOST).contains(&kind.len()) {
            continue;
        }
        // What isn't known tells nothing.
        let mut alike = vec![[0.0; MOST]; kind.len()];
        for pair in pairs {
            if let [Some(a), Some(b)] = pair.cells.map(|cell| kind.iter().position(|&other| other == cell)) {
                let nats = (pair.odds + HANDS).clamp(least, ALIKE);
                (alike[a][b], alike[b][a]) = (nats, nats);
            }
        }
        let alone: Vec<f64> = kind.iter().map(|&cell| print_odds(&cells[cell], digit)).collect();
        for ((&cell, odds), alone) in kind.iter().zip(together(&alone, &alike)).zip(&alone) {
            lean_to_print(&mut after[cell], odds - alone);
        }
    }
    after
}

/// Whether a cell is likely to hold the digit, printed or written.
fn holds_digit(row: &[f64; CLASSES], digit: usize) -> bool {
    row[digit] + row[digit + 9] > 0.5
}

/// The log odds of print against writing.
fn print_odds(row: &[f64; CLASSES], digit: usize) -> f64 {
    row[digit].max(f64::MIN_POSITIVE).ln() - row[digit + 9].max(f64::MIN_POSITIVE).ln()
}

/// The log odds of print of each digit of one kind, from those that it has `alone` and from how `alike` each two are, in nats.
fn together(alone: &[f64], alike: &[[f64; MOST]]) -> Vec<f64> {
    let is_in = |print: usize, n: usize| print >> n & 1 == 1;
    let nats: Vec<f64> = (0..1_usize << alone.len())
        .map(|print| {
            let prints: Vec<usize> = (0..alone.len()).filter(|&n| is_in(print, n)).collect();
            prints.iter().map(|&n| alone[n]).sum::<f64>() + tree(&prints, alike)
        })
        .collect();
    let most = nats.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let log_sum = |n: usize, is_print: bool| -> f64 {
        let ways = nats.iter().enumerate().filter(|(print, _)| is_in(*print, n) == is_print);
        ways.map(|(_, nats)| (nats - most).exp()).sum::<f64>().max(f64::MIN_POSITIVE).ln()
    };
    (0..alone.len()).map(|n| log_sum(n, true) - log_sum(n, false)).collect()
}

/// The weight of the heaviest tree that joins all members.
fn tree(members: &[usize], alike: &[[f64; MOST]]) -> f64 {
    let Some((&first, rest)) = members.split_first() else { return 0.0 };
    let mut outside: Vec<(usize, f64)> = rest.iter().map(|&n| (n, alike[first][n])).collect();
    let mut sum = 0.0;
    while let Some(at) = (0..outside.len()).max_by(|&a, &b| outside[a].1.total_cmp(&outside[b].1)) {
        let (next, nats) = outside.swap_remove(at);
        sum += nats;
        outside.iter_mut().for_each(|(n, best)| *best = best.max(alike[next][*n]));
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_heaviest_tree_joins_all() {
        let mut alike = vec![[0.0; MOST]; 4];
        for (a, b, nats) in [(0, 1, 4.0), (0, 2, 1.0), (1, 2, 3.0), (2, 3, -5.0), (0, 3, -2.0), (1, 3, -4.0)] {
            (alike[a][b], alike[b][a]) = (nats, nats);
        }
        assert_eq!(tree(&[0, 1, 2], &alike), 7.0);
        assert_eq!(tree(&[0, 1, 2, 3], &alike), 5.0);
        assert_eq!(tree(&[2], &alike), 0.0);
    }

    #[test]
    fn without_fellows_each_digit_is_as_alone() {
        let alone = [3.0, -2.0, 0.5];
        for (odds, alone) in together(&alone, &[[0.0; MOST]; 3]).into_iter().zip(alone) {
            assert!((odds - alone).abs() < 1e-9);
        }
    }

    #[test]
    fn copies_vouch_for_each_other() {
        let mut alike = [[-5.0; MOST]; 3];
        (alike[0][1], alike[1][0]) = (4.0, 4.0);
        // Two copies and one unlike them, the networks undecided about all.
        let odds = together(&[0.0; 3], &alike);
        assert!(odds[0] > 2.0 && odds[1] > 2.0 && odds[2] < -2.0, "{odds:?}");
    }
}
