//! Forcing chains and what-ifs: a digit that can't be, since what follows from it breaks down.

use crate::grid::{Cell, CellSet, Digit, Digits};

use super::breakdown::is_refuted;
use super::cite::Because;
use super::position::Position;
use super::refute::{Refutation, refute};
use super::step::{Breakdown, Deduction, LineEnd, Sighting, Strike, View};

/// Most placements in a forcing chain, the assumption included: what can still be held in mind. From judgement, no source.
const SHORT: usize = 12;

/// Most houses that a step may name; what a longer line needs of others is cited cell by cell.
const HOUSES: usize = 4;

/// Every candidate that a line of singles refutes.
pub(super) fn find(position: &Position, found: &mut Vec<Sighting>) {
    for (cell, digit) in candidates(position) {
        if let Some(refutation) = refute(position, cell, digit, 0) {
            found.push(sighting(cell, digit, refutation));
        }
    }
}

/// A candidate refuted by lines that branch: the fewest nested branchings that refute any, up to `deepest`.
pub(super) fn find_branching(position: &Position, deepest: usize) -> Option<Sighting> {
    let all = candidates(position);
    (1..=deepest).find_map(|depth| {
        all.iter().find_map(|&(cell, digit)| refute(position, cell, digit, depth).map(|refutation| sighting(cell, digit, refutation)))
    })
}

/// A forcing chain that a reader who takes every single in turn, from its reasons alone, would lose in: called a what-if instead.
pub(super) fn demote_long(position: &Position, mut sighting: Sighting, because: &Because) -> Sighting {
    if sighting.deduction == Deduction::ForcingChain && !is_refuted(position, &sighting, because) {
        sighting.deduction = Deduction::WhatIf;
        sighting.view = View::OneLine;
        sighting.houses.clear();
    }
    sighting
}

/// Every candidate, those of cells with few digits first.
fn candidates(position: &Position) -> Vec<(Cell, Digit)> {
    let mut cells: Vec<Cell> = Cell::ALL.into_iter().filter(|cell| !position.filled.contains(*cell)).collect();
    cells.sort_by_key(|cell| position.candidates[cell.index()].len());
    cells.into_iter().flat_map(|cell| position.candidates[cell.index()].iter().map(move |digit| (cell, digit))).collect()
}

pub(super) fn sighting(cell: Cell, digit: Digit, refutation: Refutation) -> Sighting {
    let Refutation { line, absences, mut houses } = refutation;
    houses.truncate(HOUSES);
    let (view, broken) = match &line.end {
        LineEnd::Branches(..) => (View::BranchingLines, false),
        LineEnd::Broken(Breakdown::Cell(_)) => (View::CellRunsDry, true),
        LineEnd::Broken(_) => (View::HouseRunsDry, true),
    };
    let chain = broken && line.len() <= SHORT;
    let cells = line.placements.iter().map(|(put, _)| put.cell).collect::<CellSet>();
    let digits = line.placements.iter().map(|(put, _)| put.digit).collect::<Digits>();
    Sighting {
        deduction: if chain { Deduction::ForcingChain } else { Deduction::WhatIf },
        view: if chain || !broken { view } else { View::OneLine },
        houses: if chain { houses } else { Vec::new() },
        cells,
        digits,
        puts: None,
        strikes: vec![Strike { cell, digits: digit.into() }],
        absences,
        rectangle: None,
        line: Some(line),
    }
}
