//! Every step of many walks, refereed by a SAT solver and held against its deduction's written pattern.
//!
//! `scripts/walk/make_puzzles.rs` makes more: `GRIDLIFT_WALKS=FILE cargo test --release --test walk_referee` referees a file of puzzles, one a line, instead of the few here.

mod support {
    pub mod walk_patterns;
    pub mod walk_sat;
}

use gridlift::grid::Board;
use gridlift::walk::{Options, Pencil, Uniqueness, Walk, climb, walk};
use support::walk_patterns::{Premises, faults, superfluous};
use support::walk_sat::Referee;

/// Made by the project's own generator: random minimal puzzles, the last few the hardest of thousands; the very last cited too much once.
const PUZZLES: &str = include_str!("data/walk_puzzles.txt");

#[test]
fn every_step_follows_from_what_it_cites() {
    let file = std::env::var("GRIDLIFT_WALKS").ok().map(|path| std::fs::read_to_string(path).expect("the file can be read"));
    let text = file.as_deref().unwrap_or(PUZZLES);
    let puzzles: Vec<Board> = text.lines().map(|line| line[..81].parse().expect("a puzzle a line")).collect();
    let options = [
        Options::default(),
        Options { uniqueness: Uniqueness::Unused, ..Options::default() },
        Options { pencil: Pencil::Marks, ..Options::default() },
    ];
    let mut referee = Referee::new();
    let mut tally = Tally::default();
    for (n, puzzle) in puzzles.iter().enumerate() {
        tally.take(&walk(puzzle, &options[n % 3]), &mut referee);
        if n % 4 == 0 {
            tally.take(&climb(puzzle, &options[n % 3]), &mut referee);
        }
    }
    println!(
        "{} walks, {} steps, {} cited: {} superfluous, {} faults",
        tally.walks,
        tally.steps,
        tally.cited,
        tally.superfluous,
        tally.faults.len()
    );
    assert!(tally.walks >= puzzles.len() && tally.steps > 40 * puzzles.len(), "{} steps in {} walks", tally.steps, tally.walks);
    assert!(tally.faults.is_empty(), "{} faults:\n{}", tally.faults.len(), tally.faults[..tally.faults.len().min(20)].join("\n"));
}

#[derive(Default)]
struct Tally {
    walks: usize,
    steps: usize,
    cited: usize,
    superfluous: usize,
    faults: Vec<String>,
}

impl Tally {
    fn take(&mut self, walk: &Walk, referee: &mut Referee) {
        self.walks += 1;
        let mut fault = |n: usize, what: String| self.faults.push(format!("{} step {n}: {what}", walk.givens));
        if !walk.complete {
            fault(0, "the walk doesn't reach the end".into());
        }
        let mut board = walk.start;
        for (at, step) in walk.steps.iter().enumerate() {
            let earlier = &walk.steps[..at];
            self.steps += 1;
            self.cited += step.because_cells.len() + step.because_facts.len();
            self.superfluous += superfluous(step, &board, earlier).len();
            faults(step, &board, earlier).into_iter().for_each(|what| fault(step.n, what));
            referee
                .not_implied(step, &Premises::of(step, &board, earlier))
                .into_iter()
                .for_each(|what| fault(step.n, format!("{}: not implied: {what}", step.deduction)));
            if let Some(put) = step.puts {
                board.set(put.cell, Some(put.digit));
            }
        }
        if walk.complete && !board.is_solved() {
            fault(0, "the board at the end is no solution".into());
        }
    }
}
