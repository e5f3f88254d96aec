//! Makes puzzles to measure walks on: random minimal ones (no given can be left out), or the hardest that can be found.
//!
//! `cargo run --release --example make_puzzles -- random COUNT SEED`
//! `cargo run --release --example make_puzzles -- hard COUNT SEED`
//!
//! A random one: digits written at random, each so that a solution is left, until there is only one; then givens left out in a random order
//! as long as there is. A hard one: the best of several random ones, then changed a little many times, each change kept where the
//! ladder's walk takes more effort.

use anyhow::{Context, bail};
use gridlift::grid::{Board, Cell, Digit};
use gridlift::prove::{Count, prove};
use gridlift::walk::{Options, climb};

/// How many changes are tried on a hard puzzle.
const CHANGES: usize = 30;

fn main() -> anyhow::Result<()> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [kind, count, seed] = &arguments[..] else { bail!("say `random COUNT SEED` or `hard COUNT SEED`") };
    let (count, seed): (usize, u64) = (count.parse().context("COUNT is a number")?, seed.parse().context("SEED is a number")?);
    let mut random = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    for _ in 0..count {
        let puzzle = match kind.as_str() {
            "random" => minimal(Board::EMPTY, &mut random),
            "hard" => hard(&mut random),
            _ => bail!("`{kind}` is neither `random` nor `hard`"),
        };
        println!("{puzzle}");
    }
    Ok(())
}

/// A minimal puzzle that holds on to what it can of `board`, which has a solution.
fn minimal(mut board: Board, random: &mut Random) -> Board {
    while prove(&board).count != Count::One {
        let cell = Cell::ALL[random.below(81)];
        let more = board.with(cell, Some(Digit::ALL[random.below(9)]));
        if board.get(cell).is_none() && prove(&more).count != Count::None {
            board = more;
        }
    }
    for cell in random.shuffled() {
        let less = board.with(cell, None);
        if board.get(cell).is_some() && prove(&less).count == Count::One {
            board = less;
        }
    }
    board
}

fn hard(random: &mut Random) -> Board {
    let effort = |puzzle: &Board| climb(puzzle, &Options::default()).effort();
    let mut best = minimal(Board::EMPTY, random);
    let mut most = effort(&best);
    for _ in 0..CHANGES {
        let mut board = best;
        let gone: Vec<Cell> = random.shuffled().into_iter().filter(|&cell| board.get(cell).is_some()).take(3).collect();
        gone.into_iter().for_each(|cell| board.set(cell, None));
        let changed = minimal(board, random);
        let reached = effort(&changed);
        if reached > most {
            (best, most) = (changed, reached);
        }
    }
    best
}

/// A small generator of random numbers: xorshift (Marsaglia 2003).
struct Random(u64);

impl Random {
    fn below(&mut self, end: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as usize % end
    }

    /// Every cell, in a random order.
    fn shuffled(&mut self) -> Vec<Cell> {
        let mut cells = Cell::ALL.to_vec();
        (1..cells.len()).rev().for_each(|at| cells.swap(at, self.below(at + 1)));
        cells
    }
}
