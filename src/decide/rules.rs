//! Asks `prove` about readings.

use super::Reading;
use super::candidates::Givens;
use crate::grid::{Board, Cell, Digit};

/// How many solutions a reading has, as far as it matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Soundness {
    None,
    One,
    Many,
}

/// The board of these givens.
pub(super) fn board(givens: &Givens) -> Board {
    Board::from_fn(|cell| Digit::new(givens[cell.index()]))
}

pub(super) fn soundness(givens: &Givens) -> Soundness {
    match solutions(givens).len() {
        0 => Soundness::None,
        1 => Soundness::One,
        _ => Soundness::Many,
    }
}

pub(super) fn solve(givens: &Givens, reading: &mut Reading) {
    let found = solutions(givens);
    reading.solutions = found.len() as u8;
    reading.solution = found.first().map(board);
    reading.second = found.get(1).map(board);
}

pub(super) fn conflict(givens: &Givens) -> Vec<Cell> {
    let conflicts = board(givens).conflicts();
    if !conflicts.is_empty() {
        return conflicts.iter().collect();
    }
    Vec::new()
}

pub(super) fn repairs(_givens: &Givens) -> Vec<(Cell, Option<Digit>)> {
    Vec::new()
}

fn solutions(givens: &Givens) -> Vec<Givens> {
    let mut rows = [0_u16; 9];
    let mut columns = [0_u16; 9];
    let mut boxes = [0_u16; 9];
    for (i, &d) in givens.iter().enumerate() {
        if d > 0 {
            let bit = 1 << d;
            let (r, c, b) = (i / 9, i % 9, i / 27 * 3 + i % 9 / 3);
            if (rows[r] | columns[c] | boxes[b]) & bit != 0 {
                return Vec::new();
            }
            rows[r] |= bit;
            columns[c] |= bit;
            boxes[b] |= bit;
        }
    }
    fn go(g: &mut Givens, rows: &mut [u16; 9], columns: &mut [u16; 9], boxes: &mut [u16; 9], out: &mut Vec<Givens>) {
        let mut best = (10, 0, 0);
        for i in 0..81 {
            if g[i] == 0 {
                let free = 0x3fe & !(rows[i / 9] | columns[i % 9] | boxes[i / 27 * 3 + i % 9 / 3]);
                let n = free.count_ones();
                if n < best.0 {
                    best = (n, i, free);
                    if n <= 1 {
                        break;
                    }
                }
            }
        }
        let (n, i, free) = best;
        if n == 10 {
            out.push(*g);
            return;
        }
        for d in 1..10 {
            if free >> d & 1 == 1 {
                let (r, c, b, bit) = (i / 9, i % 9, i / 27 * 3 + i % 9 / 3, 1 << d);
                g[i] = d as u8;
                rows[r] |= bit;
                columns[c] |= bit;
                boxes[b] |= bit;
                go(g, rows, columns, boxes, out);
                rows[r] &= !bit;
                columns[c] &= !bit;
                boxes[b] &= !bit;
                g[i] = 0;
                if out.len() > 1 {
                    return;
                }
            }
        }
    }
    let mut out = Vec::new();
    go(&mut givens.clone(), &mut rows, &mut columns, &mut boxes, &mut out);
    out
}
