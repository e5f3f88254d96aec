//! Readings that make a sound puzzle, the likeliest first.
//!
//! A best-first search (Hart, Nilsson and Raphael 1968) over the cells that could be read otherwise. The rules cut off what no solution can complete, and what they
//! leave to the other cells bounds what those must cost at least, so that a grid of which half the digits are blurred is read in a few thousand steps where
//! trying all readings by their likelihood would take millions.

use std::collections::BinaryHeap;

use super::candidates::{Candidate, Candidates, GivenOdds, Givens, Waiting, differing};
use super::rules;
use crate::grid::{Board, Cell, Digit, Digits};
use crate::prove::Search;

/// Steps before the search gives up: a tenth of a second and 20 MB at most.
const MOST_STEPS: usize = 6_000;
/// Readings beyond so many count for nothing.
const MOST_READINGS: usize = 300;
/// A reading that costs so much more than the best, in nats, counts for nothing.
const WORTH_NATS: f64 = 7.0;

/// The sound readings that matter.
#[derive(Clone, Debug, Default)]
pub(super) struct SoundReadings {
    /// By rising cost; each cost is told against the likeliest of all readings, sound or not.
    pub(super) readings: Vec<Candidate>,
    /// What a reading that isn't listed costs at least.
    beyond: f64,
}

impl SoundReadings {
    /// The sound readings of `odds` that cost at most `limit` nats more than the likeliest of all readings.
    pub(super) fn of(odds: &GivenOdds, limit: f64) -> Self {
        let options = Options::of(odds, limit);
        let mut found = Self { readings: Vec::new(), beyond: limit };
        let mut heap: BinaryHeap<Waiting<usize, Node>> = options.root().into_iter().collect();
        for step in 0.. {
            let end = found.readings.first().map_or(limit, |best| limit.min(best.cost + WORTH_NATS));
            let Some(Waiting { cost: bound, what: node, .. }) = heap.pop().filter(|node| node.cost <= end) else {
                found.beyond = end;
                break;
            };
            if step >= MOST_STEPS || found.readings.len() >= MOST_READINGS {
                found.beyond = bound;
                break;
            }
            match node.next {
                Some(cell) => heap.extend(
                    options.of_cell[cell].iter().filter_map(|&option| options.child(&node, cell, option)).filter(|child| child.cost <= end),
                ),
                None if rules::is_sound(&node.givens) => found.readings.push(Candidate { givens: node.givens, cost: bound }),
                None => {}
            }
        }
        found
    }

    /// The likeliest, and its share of all sound readings.
    pub(super) fn best(&self) -> Option<(&Candidate, f64)> {
        let best = self.readings.first()?;
        let others: f64 = self.readings[1..].iter().map(|other| (best.cost - other.cost).exp()).sum();
        Some((best, 1.0 / (1.0 + others + (best.cost - self.beyond).exp())))
    }

    /// The same, where that share is at least `share`.
    pub(super) fn surely(&self, share: f64) -> Option<(&Candidate, f64)> {
        self.best().filter(|best| best.1 >= share)
    }

    /// For each cell, the share of the sound readings that don't read it as `givens` do.
    pub(super) fn differing(&self, givens: &Board) -> [f64; 81] {
        differing(givens, self.readings.iter().map(|reading| (reading.givens, (-reading.cost).exp())))
    }

    /// How likely all readings together are that differ from `likeliest` in several cells, against it.
    pub(super) fn of_several_changes(&self, likeliest: &Givens) -> f64 {
        let changes = |other: &Candidate| other.givens.iter().zip(likeliest).filter(|(a, b)| a != b).count();
        self.readings.iter().filter(|other| changes(other) > 1).map(|other| (-other.cost).exp()).sum()
    }
}

/// A digit (0 for no given) and what it costs to read it in a cell.
type Choice = (u8, f64);

/// What each cell can be read as, cheapest first.
struct Options {
    of_cell: Vec<Vec<Choice>>,
}

/// Some cells read, and what follows from them.
struct Node {
    search: Search,
    givens: Givens,
    open: [bool; 81],
    cost: f64,
    /// The cell to read next; none where all are read.
    next: Option<usize>,
}

impl Options {
    fn of(odds: &GivenOdds, limit: f64) -> Self {
        let all = Candidates::new(odds, limit);
        let mut of_cell: Vec<Vec<Choice>> = all.best().iter().map(|&digit| vec![(digit, 0.0)]).collect();
        for change in all.changes() {
            of_cell[change.cell].push((change.digit, change.cost));
        }
        Self { of_cell }
    }

    /// Nothing is read yet but the cells that can't be read otherwise.
    fn root(&self) -> Option<Waiting<usize, Node>> {
        let board = Board::from_fn(|cell| match self.of_cell[cell.index()][..] {
            [(digit, _)] => Digit::new(digit),
            _ => None,
        });
        let mut search = Search::of(&board);
        search.conclude().ok()?;
        let givens = std::array::from_fn(|cell| board.get(Cell::ALL[cell]).map_or(0, Digit::value));
        let open = std::array::from_fn(|cell| self.of_cell[cell].len() > 1);
        self.bounded(Node { search, givens, open, cost: 0.0, next: None })
    }

    /// `node` with one cell more read; `None` where no solution is left.
    fn child(&self, node: &Node, cell: usize, (digit, cost): Choice) -> Option<Waiting<usize, Node>> {
        let mut search = node.search.clone();
        if let Some(digit) = Digit::new(digit) {
            search.keep(Cell::ALL[cell], Digits::of(digit)).ok()?;
            search.conclude().ok()?;
        }
        let (mut givens, mut open) = (node.givens, node.open);
        (givens[cell], open[cell]) = (digit, false);
        self.bounded(Node { search, givens, open, cost: node.cost + cost, next: None })
    }

    /// `node` with the cell to read next: the one whose second choice costs most more than its first, since it is the likeliest to be read right. It waits
    /// at what a whole reading that goes on from there costs at least; of two as cheap, the one that has fewer cells left to read comes first.
    fn bounded(&self, mut node: Node) -> Option<Waiting<usize, Node>> {
        let (mut widest, mut bound, mut left) = (f64::NEG_INFINITY, node.cost, 0);
        for cell in (0..81).filter(|&cell| node.open[cell]) {
            let candidates = node.search.candidates(Cell::ALL[cell]);
            let mut choices =
                self.of_cell[cell].iter().filter(|(digit, _)| Digit::new(*digit).is_none_or(|digit| candidates.contains(digit)));
            let first = choices.next()?.1;
            let gap = choices.next().map_or(f64::INFINITY, |second| second.1 - first);
            bound += first;
            left += 1;
            if gap > widest {
                (widest, node.next) = (gap, Some(cell));
            }
        }
        Some(Waiting { cost: bound, rank: left, what: node })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PUZZLE: &str = "974..8....1.6....5....9......1...3..348...519..2...4......6....4....1.9....5..723";

    /// `PUZZLE` with more of its solution, so that there is something to tell by.
    fn fuller() -> String {
        let board: Board = PUZZLE.parse().expect("a board");
        let solution = crate::prove::prove(&board).solution.expect("a solution").to_string();
        let either = PUZZLE.chars().zip(solution.chars()).enumerate();
        either.map(|(cell, (given, solved))| if cell % 5 == 0 { solved } else { given }).collect()
    }

    fn givens(line: &str) -> Givens {
        let board: Board = line.parse().expect("a board");
        std::array::from_fn(|cell| board.get(Cell::ALL[cell]).map_or(0, Digit::value))
    }

    /// Each given as sure as `sure`, and as likely another digit for the rest, as a linear congruence has it; empty cells are beyond doubt.
    fn odds(line: &str, sure: impl Fn(usize) -> f64) -> GivenOdds {
        let mut number = 0;
        let mut odds = [[0.0; 10]; 81];
        for (row, digit) in odds.iter_mut().zip(givens(line)) {
            if digit == 0 {
                row[0] = 1.0;
                continue;
            }
            number += 1;
            let other = 1 + (usize::from(digit) - 1 + 1 + number * 5 % 8) % 9;
            row[other] = 1.0 - sure(number);
            row[usize::from(digit)] = sure(number);
        }
        odds
    }

    #[test]
    fn half_the_digits_may_be_blurred() {
        let line = fuller();
        let odds = odds(&line, |number| if number % 2 == 0 { 0.47 } else { 0.999 });
        let found = SoundReadings::of(&odds, 36.0);
        assert!(found.readings.iter().all(|one| rules::is_sound(&one.givens)));
        assert!(found.readings.iter().take(10).any(|one| one.givens == givens(&line)));
        // So many readings come before that trying them in the order of their likelihood finds none.
        let mut tried = Candidates::new(&odds, 36.0).take(2000);
        assert!(!tried.any(|candidate| rules::is_sound(&candidate.givens)));
    }

    #[test]
    fn it_finds_what_trying_all_readings_finds() {
        let odds = odds(PUZZLE, |number| if number % 4 == 0 { 0.45 } else { 1.0 - 1e-9 });
        let found = SoundReadings::of(&odds, 6.0);
        let tried: Vec<Candidate> =
            Candidates::new(&odds, 6.0).take_while(|one| one.cost <= 6.0).filter(|one| rules::is_sound(&one.givens)).collect();
        assert!(!tried.is_empty() && found.readings.len() == tried.len());
        for (one, other) in found.readings.iter().zip(&tried) {
            assert_eq!(one.givens, other.givens);
            assert!((one.cost - other.cost).abs() < 1e-9);
        }
    }

    #[test]
    fn what_was_not_searched_counts_against_the_best() {
        let odds = odds(PUZZLE, |number| if number % 2 == 0 { 0.47 } else { 0.999 });
        let mut found = SoundReadings::of(&odds, 36.0);
        let cost = found.readings[0].cost;
        found.beyond = cost;
        assert!(found.best().expect("a sound reading").1 <= 0.5);
    }

    #[test]
    fn digits_that_clash_beyond_doubt_leave_none() {
        let mut odds = odds(PUZZLE, |_| 1.0);
        (odds[0], odds[1]) = (odds[2], odds[2]);
        assert!(SoundReadings::of(&odds, 36.0).best().is_none());
    }
}
