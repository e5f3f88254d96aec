//! Tells a single digit of paler ink than the print around it: somebody may have written it, however like print it looks.

use super::{Flag, Mark, Picture, Reading, Reason};
use crate::grid::Cell;

/// Ink of less than this share of other ink's depth is paler. Of 3,600 open grids on 1,140 pages of a drawer (clean, plain and rough) three were proven with one digit that
/// somebody had written: it had 0.71 to 0.85 of the next palest one's depth. Of 887 proven grids elsewhere (119 photographs among them) six have such a digit, all of print.
const PALER: f64 = 0.88;
/// Less than this share of the usual depth is print that took little ink: 2 % of 175 proven grids on drawn photographs held such a given.
const FAINT: f64 = 0.5;
/// A digit that is no less like its nearest fellow than this beyond most is a copy, so print: so were four of the eleven flagged on 440 pages of a drawer, none of them written; the four
/// that somebody had written are 1.2 and more beyond.
const A_COPY: f64 = 0.25;

/// A flag for the one given that is paler than all others, which are about as dark as each other, and is no copy; `None` where there is none. A 1 has so little ink that it is pale anyway
/// (eight of those eleven).
pub(super) fn pale_alone(reading: &Reading, picture: &Picture) -> Option<Flag> {
    let given = |(cell, n): (Cell, usize)| match reading.cells[n].read {
        Mark::Given(digit) => Some((picture.depth[n], cell, digit)),
        _ => None,
    };
    let mut givens: Vec<_> = Cell::ALL.into_iter().zip(0..81).filter_map(given).collect();
    givens.sort_by(|a, b| a.0.total_cmp(&b.0));
    let usual = givens.get(givens.len() / 2)?.0;
    let &[(palest, cell, digit), (next, ..), ..] = givens.as_slice() else { return None };
    let suggest = Mark::Entry(digit);
    let rival = &reading.cells[cell.index()];
    let written = rival.rivals.iter().find(|(mark, _)| *mark == suggest).map_or(1e-12, |(_, p)| *p);
    let flag = Flag { cell, reason: Reason::PrintOrHandwriting, read: rival.read, suggest, odds: rival.probability / written };
    let is_copy = picture.unlike[cell.index()].is_some_and(|unlike| unlike < A_COPY);
    let is_thin = digit.value() == 1;
    (!is_copy && !is_thin && palest < PALER * next && next > PALER * usual && palest > FAINT * usual).then_some(flag)
}
