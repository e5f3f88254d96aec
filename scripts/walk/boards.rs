//! Finds boards on which each deduction is in view at once, and near misses: the same boards with one cited cell, or one filled cell of the
//! named houses, empty, so that the pattern no longer shows. Writes `tests/data/deductions.txt`.
//!
//! `cargo run --release --example find_boards -- PUZZLES > tests/data/deductions.txt` (PUZZLES: one 81-character puzzle a line)

use std::collections::BTreeMap;

use gridlift::grid::{Board, CellSet};
use gridlift::walk::{Deduction, Options, Step, climb, in_view, patterns};

const POSITIVE: usize = 3;
const NEAR_MISS: usize = 2;

fn main() -> anyhow::Result<()> {
    let path = std::env::args().nth(1).ok_or_else(|| anyhow::anyhow!("name a file of puzzles"))?;
    let puzzles: Vec<Board> = std::fs::read_to_string(path)?.lines().filter_map(|line| line.parse().ok()).collect();
    let mut lines: BTreeMap<Deduction, (Vec<String>, Vec<String>)> = BTreeMap::new();
    let full = |lines: &BTreeMap<Deduction, (Vec<String>, Vec<String>)>| {
        let done = |one| lines.get(one).is_some_and(|(yes, no)| yes.len() >= POSITIVE && no.len() >= NEAR_MISS);
        Deduction::ALL.iter().all(done)
    };
    for puzzle in &puzzles {
        if full(&lines) {
            break;
        }
        for board in boards(puzzle) {
            let options = Options { from: Some(board), ..Options::default() };
            let mut taken = Vec::new();
            for step in in_view(puzzle, &options) {
                let (yes, no) = lines.entry(step.deduction).or_default();
                // One of a deduction from each board, and a view that isn't there yet where there is a choice.
                let seen = yes.iter().any(|line| line.contains(step.view.name()))
                    && yes.len() < if step.deduction == Deduction::WhatIf { 1 } else { patterns::views(step.deduction).len().min(2) };
                if yes.len() >= POSITIVE || taken.contains(&step.deduction) || seen {
                    continue;
                }
                taken.push(step.deduction);
                yes.push(line('+', puzzle, &board, &step));
                if no.len() < NEAR_MISS
                    && let Some(miss) = near_miss(puzzle, &board, &step)
                {
                    no.push(line('-', puzzle, &miss, &step));
                }
            }
        }
    }
    println!("# Boards for each deduction, found by scripts/walk/boards.rs: + it is in view at once, - a near miss.");
    println!("# sign | deduction | view | givens | board | cells | digits");
    for (yes, no) in lines.values() {
        yes.iter().chain(no).for_each(|line| println!("{line}"));
    }
    Ok(())
}

/// The boards on the ladder's way, where nothing but digits is kept: some before a single is taken, so that there is something to see.
fn boards(puzzle: &Board) -> Vec<Board> {
    let mut board = *puzzle;
    let mut boards = vec![board];
    let walk = climb(puzzle, &Options::default());
    for step in &walk.steps {
        if let Some(put) = step.puts {
            board.set(put.cell, Some(put.digit));
        } else if boards.last() != Some(&board) {
            boards.push(board);
        }
    }
    boards.push(board.with(walk.steps.iter().rev().find_map(|step| step.puts).map_or(gridlift::grid::Cell::ALL[0], |put| put.cell), None));
    boards
}

fn near_miss(puzzle: &Board, board: &Board, step: &Step) -> Option<Board> {
    let houses = step.houses.iter().fold(CellSet::EMPTY, |cells, house| cells | house.cells());
    let options = |board| Options { from: Some(board), ..Options::default() };
    step.because_cells.iter().chain((houses & board.filled()).iter()).find_map(|cell| {
        let miss = board.with(cell, None);
        let same = |other: &Step| {
            other.deduction == step.deduction && other.houses == step.houses && other.cells == step.cells && other.digits == step.digits
        };
        (!in_view(puzzle, &options(miss)).iter().any(same)).then_some(miss)
    })
}

fn line(sign: char, puzzle: &Board, board: &Board, step: &Step) -> String {
    format!("{sign} | {} | {} | {puzzle} | {board} | {} | {}", step.deduction, step.view, step.cells, step.digits)
}
