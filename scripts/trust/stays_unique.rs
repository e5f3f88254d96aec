//! How little "it has exactly one solution" proves: `stays_unique FILE...`, each with a puzzle at the start of a line (other lines are left out).
//!
//! Makes every single misreading of every sound puzzle and counts, for each kind, how many leave exactly one solution: a given dropped, a given
//! read as another digit, a wrong digit added to an empty cell, and a right entry promoted to a given (which always does).
//! What the solver can't catch, only the picture can.

use anyhow::{Context, Result};
use gridlift::grid::{Board, Cell, Digit};
use gridlift::prove;
use rayon::prelude::*;

const KINDS: [&str; 4] = ["given dropped", "given read as another", "wrong digit added", "right entry promoted"];

/// For each kind, the misreadings made and those that stay sound.
type Counts = [[u64; 2]; 4];

fn main() -> Result<()> {
    let files: Vec<String> = std::env::args().skip(1).collect();
    anyhow::ensure!(!files.is_empty(), "stays_unique FILE...");
    println!("| puzzles | number | givens, mean |{}", KINDS.map(|kind| format!(" {kind} |")).concat());
    println!("|{}", " --- |".repeat(3 + KINDS.len()));
    for file in files {
        let text = std::fs::read_to_string(&file).with_context(|| file.clone())?;
        let puzzles: Vec<Board> = text.lines().filter_map(|line| line.split_whitespace().next()?.parse().ok()).collect();
        let sound: Vec<(Board, Board)> = puzzles.iter().filter_map(|puzzle| Some((*puzzle, only_solution(puzzle)?))).collect();
        anyhow::ensure!(!sound.is_empty(), "{file}: no sound puzzle in it");
        let counts = sound.par_iter().map(|(puzzle, solution)| misread(puzzle, solution)).reduce(Counts::default, add);
        let givens = sound.iter().map(|(puzzle, _)| puzzle.filled().len()).sum::<usize>();
        let shares = counts.map(|[made, stay]| format!(" {:.1} % of {made} |", 100.0 * stay as f64 / made.max(1) as f64));
        println!("| {file} | {} | {:.1} |{}", sound.len(), givens as f64 / sound.len() as f64, shares.concat());
    }
    Ok(())
}

fn only_solution(puzzle: &Board) -> Option<Board> {
    let proof = prove::prove(puzzle);
    proof.solution.filter(|_| proof.count == prove::Count::One)
}

fn misread(puzzle: &Board, solution: &Board) -> Counts {
    let mut counts = Counts::default();
    let mut try_one = |kind: usize, cell: Cell, digit: Option<Digit>| {
        counts[kind][0] += 1;
        counts[kind][1] += u64::from(prove::count(&puzzle.with(cell, digit), 2) == 1);
    };
    for cell in Cell::ALL {
        let given = puzzle.get(cell);
        if given.is_some() {
            try_one(0, cell, None);
        }
        for digit in Digit::ALL.into_iter().filter(|&digit| Some(digit) != given) {
            match given {
                Some(_) => try_one(1, cell, Some(digit)),
                None => try_one(if solution.get(cell) == Some(digit) { 3 } else { 2 }, cell, Some(digit)),
            }
        }
    }
    counts
}

fn add(mut one: Counts, other: Counts) -> Counts {
    one.iter_mut().flatten().zip(other.iter().flatten()).for_each(|(sum, more)| *sum += more);
    one
}
