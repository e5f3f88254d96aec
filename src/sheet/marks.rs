//! What is marked on the board of a moment, as plain data: where to look, what is in mind, what is written and what is struck.

use crate::grid::{Board, Cell, CellSet, Digits, House};
use crate::walk::{Breakdown, Deduction, LineEnd, Put, Rectangle, Step, Strike};

use super::moments::Moment;

/// The marks of one board.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Marks {
    /// Houses to look along.
    pub houses: Vec<House>,
    /// Filled cells to look at.
    pub looked_at: CellSet,
    /// Where these close empty cells of a named house along a row or column: the filled cell, the farthest closed cell, and all closed
    /// ones between.
    pub sights: Vec<(Cell, Cell, CellSet)>,
    /// Digits kept in mind from earlier, cell by cell.
    pub carried: Vec<(Cell, Digits)>,
    /// Digits ruled out by what is in mind from earlier, where the pattern itself is nothing to keep in mind.
    pub ruled_out: Vec<(Cell, Digits)>,
    /// Digits that the step finds to belong to its cells.
    pub found: Vec<(Cell, Digits)>,
    /// The digit written.
    pub written: Option<Put>,
    /// Digits struck.
    pub struck: Vec<Strike>,
    /// Four cells that would have two fillings.
    pub rectangle: Option<Rectangle>,
    /// What a line of consequences assumes.
    pub assumed: Option<Put>,
    /// What follows from that, in order.
    pub follows: Vec<Put>,
    /// Where that breaks down: the cell without a digit, or the open cells of a house without a place.
    pub broken: CellSet,
}

/// The marks of a moment.
pub fn marks(moment: &Moment) -> Marks {
    let mut marks = Marks { written: moment.put, ..Marks::default() };
    let left = |cell: Cell| {
        let struck = moment.carried.iter().flat_map(|fact| &fact.strikes).filter(|strike| strike.cell == cell);
        struck.fold(moment.board.candidates(cell), |left, strike| left - strike.digits)
    };
    let belonging = |step: &Step| -> Vec<(Cell, Digits)> {
        let open = step.cells.iter().filter(|&cell| moment.board.get(cell).is_none());
        let shown = open.map(|cell| (cell, step.digits & left(cell)));
        shown.filter(|(_, digits)| !digits.is_empty()).collect()
    };
    for fact in &moment.carried {
        let struck = fact.strikes.iter().map(|strike| (strike.cell, strike.digits));
        let (all, shown) = match keeps_its_pattern(fact.deduction) {
            true => (&mut marks.carried, belonging(fact)),
            false => (&mut marks.ruled_out, struck.filter(|(cell, _)| moment.board.get(*cell).is_none()).collect()),
        };
        for one in shown {
            if !all.contains(&one) && moment.put.is_none_or(|put| put.cell != one.0) {
                all.push(one);
            }
        }
    }
    let Some(step) = &moment.step else { return marks };
    marks.houses.clone_from(&step.houses);
    marks.looked_at = step.because_cells & moment.board.filled();
    marks.rectangle = step.rectangle;
    marks.struck.clone_from(&step.strikes);
    if let Some(line) = &step.line {
        let mut placed = line.placements.iter().map(|(put, _)| *put);
        marks.assumed = placed.next();
        marks.follows = placed.collect();
        marks.broken = match &line.end {
            LineEnd::Broken(Breakdown::Cell(cell)) | LineEnd::Branches(cell, _) => CellSet::of(*cell),
            // Only where the digit could have gone: crosses would hide the digits that stand.
            LineEnd::Broken(Breakdown::House(house, _)) => {
                house.cells() - moment.board.filled() - line.placements.iter().map(|(put, _)| put.cell).collect()
            }
        };
        return marks;
    }
    marks.sights = sights(step, &moment.board);
    if !step.deduction.puts() {
        marks.found = belonging(step);
        // What is found replaces what was in mind of the same cell.
        marks.carried.retain(|(cell, digits)| !marks.found.iter().any(|(other, found)| other == cell && found.is_subset(*digits)));
    }
    marks
}

/// Whether people keep in mind where its digits are, such as a pair, rather than what it ruled out.
const fn keeps_its_pattern(deduction: Deduction) -> bool {
    use Deduction::{HiddenPair, HiddenQuad, HiddenTriple, LockedCandidates, NakedPair, NakedQuad, NakedTriple};
    matches!(deduction, LockedCandidates | HiddenPair | NakedPair | HiddenTriple | NakedTriple | HiddenQuad | NakedQuad)
}

/// Lines of sight: a filled cell that must be looked at closes the empty cells of the named houses along its row and its column.
fn sights(step: &Step, board: &Board) -> Vec<(Cell, Cell, CellSet)> {
    let mut sights: Vec<(Cell, Cell, CellSet)> = Vec::new();
    for from in step.because_cells.iter() {
        if !board.get(from).is_some_and(|digit| step.digits.contains(digit)) {
            continue;
        }
        let [row, column, _] = from.houses();
        for line in [row, column] {
            let closes = |house: &House| (house.cells() & line.cells()) - step.cells - board.filled();
            let closed = step.houses.iter().fold(CellSet::EMPTY, |closed, house| closed | closes(house));
            let away = |cell: &Cell| cell.row().abs_diff(from.row()) + cell.column().abs_diff(from.column());
            // To either side of the cell, the line goes to the farthest closed one.
            for side in
                [closed.iter().filter(|&cell| cell > from).collect::<CellSet>(), closed.iter().filter(|&cell| cell < from).collect()]
            {
                if let Some(to) = side.iter().max_by_key(away) {
                    sights.push((from, to, side));
                }
            }
        }
    }
    sights
}
