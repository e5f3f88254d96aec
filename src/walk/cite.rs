//! Finds the reasons of a deduction: the fewest filled cells and earlier steps that show its pattern.

use crate::grid::{Cell, CellSet, Digit, Digits};

use super::breakdown::is_refuted;
use super::position::{Position, StepId};
use super::step::{Put, Sighting};

/// What a step leans on besides the filled cells of its houses.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Because {
    pub cells: CellSet,
    /// Ascending.
    pub facts: Vec<StepId>,
}

impl Because {
    /// What each cell can still take as far as the reasons, and the filled cells among `free`, tell.
    pub fn candidates(&self, position: &Position, free: CellSet) -> [Digits; 81] {
        let mut left = [Digits::ALL; 81];
        for cell in Cell::ALL {
            let struck = |digit: &Digit| self.facts.contains(&position.struck_by(cell, *digit));
            left[cell.index()] -= Digit::ALL.into_iter().filter(struck).collect();
        }
        for cell in ((self.cells | free) & position.filled).iter() {
            if let Some(digit) = position.board.get(cell) {
                fix(&mut left, Put { cell, digit });
            }
        }
        left
    }
}

/// Leaves the cell this digit at most, and takes it from the peers.
pub(super) fn fix(left: &mut [Digits; 81], put: Put) {
    left[put.cell.index()] &= Digits::of(put.digit);
    put.cell.peers().iter().for_each(|peer| left[peer.index()].remove(put.digit));
}

/// The reasons that show what a pattern needs, none of which can be left out.
///
/// An absence is explained by a filled cell (its own, or a peer that holds the digit), otherwise by the step that
/// struck it. Filled cells of the named houses are seen anyway and cost nothing. For each digit, cells are taken by how many absences
/// they explain, then those that the others make idle are dropped.
pub(super) fn cite(position: &Position, sighting: &Sighting) -> Because {
    let free = sighting.houses.iter().fold(CellSet::EMPTY, |free, house| free | house.cells()) & position.filled;
    let mut because = Because::default();
    let mut needed = [CellSet::EMPTY; 9];
    let mut wanted = Digits::EMPTY;
    let mut closed = false;
    for &(cell, digits) in &sighting.absences {
        if position.filled.contains(cell) {
            if !free.contains(cell) {
                because.cells.insert(cell);
                closed = true;
            }
            continue;
        }
        for digit in digits.iter() {
            needed[digit.index()].insert(cell);
            wanted.insert(digit);
        }
    }
    // Cells that must be cited for what they hold may show other absences as well: settle those before choosing more.
    for digit in wanted.iter() {
        let stands = position.stands[digit.index()];
        let mut open = uncovered(needed[digit.index()], (free | because.cells) & stands);
        let mut cover = Vec::new();
        while let Some((best, shown)) = widest(open, stands) {
            cover.push(best);
            open -= shown;
        }
        drop_idle(&mut cover, uncovered(needed[digit.index()], (free | because.cells) & stands) - open);
        for cell in cover {
            because.cells.insert(cell);
        }
        for cell in open.iter() {
            let step = position.struck_by(cell, digit);
            if step != 0 && !because.facts.contains(&step) {
                because.facts.push(step);
            }
        }
    }
    because.facts.sort_unstable();
    if closed || !because.facts.is_empty() || sighting.line.is_some() || sighting.rectangle.is_some() {
        drop_superfluous(position, sighting, free, &mut because);
    }
    because
}

/// Drops cells that the final choice makes idle: a peer or a fact cited for something else may show the same, or what a corner of a
/// rectangle could hold besides may be refuted by the rest.
fn drop_superfluous(position: &Position, sighting: &Sighting, free: CellSet, because: &mut Because) {
    let enough = |because: &Because| match &sighting.line {
        // What the line itself rules out needs no other reason.
        Some(line) => line.follows(&because.candidates(position, free)),
        None => {
            let shown = |&(cell, digits): &(Cell, Digits)| digits.iter().all(|digit| shows(position, free, because, cell, digit));
            match &sighting.rectangle {
                // The corners that hold the pair alone must show it; of the others, only what the conclusion needs.
                Some(rectangle) => {
                    let pair = Digits::from_iter(rectangle.digits);
                    let floor = |absence: &&(Cell, Digits)| position.candidates[absence.0.index()] == pair;
                    sighting.absences.iter().filter(floor).all(shown) && is_refuted(position, sighting, because)
                }
                None => sighting.absences.iter().all(shown),
            }
        }
    };
    for fact in because.facts.clone().into_iter().rev() {
        let facts = because.facts.iter().copied().filter(|&other| other != fact).collect();
        let without = Because { cells: because.cells, facts };
        if enough(&without) {
            *because = without;
        }
    }
    for cell in because.cells.iter() {
        let without = Because { cells: because.cells - CellSet::of(cell), facts: because.facts.clone() };
        if enough(&without) {
            *because = without;
        }
    }
}

/// Whether the reasons alone show that the cell can't take the digit.
fn shows(position: &Position, free: CellSet, because: &Because, cell: Cell, digit: Digit) -> bool {
    let seen = free | because.cells;
    seen.contains(cell)
        || (seen & position.stands[digit.index()]).meets(cell.peers())
        || because.facts.contains(&position.struck_by(cell, digit))
}

fn uncovered(needed: CellSet, shown_by: CellSet) -> CellSet {
    shown_by.iter().fold(needed, |open, cell| open - cell.peers())
}

/// The filled cell that shows most of the open absences, and which.
pub(super) fn widest(open: CellSet, stands: CellSet) -> Option<(Cell, CellSet)> {
    let mut best: Option<(Cell, CellSet)> = None;
    for cell in stands.iter() {
        let shown = open & cell.peers();
        if !shown.is_empty() && best.is_none_or(|(_, most)| shown.len() > most.len()) {
            best = Some((cell, shown));
        }
    }
    best
}

fn drop_idle(cover: &mut Vec<Cell>, needed: CellSet) {
    let mut at = 0;
    while at < cover.len() {
        let others = cover.iter().enumerate().filter(|&(other, _)| other != at).fold(needed, |open, (_, cell)| open - cell.peers());
        if others.is_empty() {
            cover.remove(at);
        } else {
            at += 1;
        }
    }
}

/// The absences of one digit over a set of cells.
pub(super) fn absent_from(cells: CellSet, digit: Digit) -> impl Iterator<Item = (Cell, Digits)> {
    cells.iter().map(move |cell| (cell, Digits::of(digit)))
}
