//! Follows an assumption by singles alone until nothing fits, and keeps only the placements that the breakdown needs.

use crate::grid::{Cell, CellSet, Digit, Digits, House};

use super::cite::fix;
use super::position::Position;
use super::step::{Breakdown, Line, LineEnd, Put, Reason};

/// A line of consequences with what it takes from the position.
pub(super) struct Refutation {
    pub line: Line,
    /// What can't stand where, before anything is assumed.
    pub absences: Vec<(Cell, Digits)>,
    /// Houses in which a digit found its last place, or none.
    pub houses: Vec<House>,
}

impl Line {
    /// Whether each placement, and the end, follows where cells can take no more than `left`.
    pub(super) fn follows(&self, left: &[Digits; 81]) -> bool {
        let mut left = *left;
        let closed = |left: &[Digits; 81], house: House, digit: Digit, but: Option<Cell>| {
            house.cells().iter().all(|cell| Some(cell) == but || !left[cell.index()].contains(digit))
        };
        for &(put, reason) in &self.placements {
            let follows = match reason {
                Reason::Assumed => true,
                Reason::LastDigit => left[put.cell.index()].is_subset(put.digit.into()),
                Reason::LastPlace(house) => closed(&left, house, put.digit, Some(put.cell)),
            };
            if !follows {
                return false;
            }
            fix(&mut left, put);
        }
        match &self.end {
            LineEnd::Broken(Breakdown::Cell(cell)) => left[cell.index()].is_empty(),
            LineEnd::Broken(Breakdown::House(house, digit)) => closed(&left, *house, *digit, None),
            LineEnd::Branches(cell, lines) => {
                let tried: Digits = lines.iter().filter_map(|line| line.placements.first()).map(|(put, _)| put.digit).collect();
                left[cell.index()].is_subset(tried) && lines.iter().all(|line| line.follows(&left))
            }
        }
    }
}

/// What is assumed and follows from it, over a position that stays as it is.
#[derive(Clone)]
struct Trail<'a> {
    position: &'a Position,
    candidates: [Digits; 81],
    places: [CellSet; 9],
    /// In order; a placement leans only on earlier ones.
    placements: Vec<(Put, Reason)>,
    /// For each cell, the number of the placement that filled it, from 1.
    filled_by: [u8; 81],
    /// Placements not needed for this breakdown came before this number: they belong to the lines that this one branched off.
    queue: usize,
}

/// Assumes the digit in the cell; a line that breaks down within `depth` nested branchings, if there is one.
pub(super) fn refute(position: &Position, cell: Cell, digit: Digit, depth: usize) -> Option<Refutation> {
    let mut trail = Trail {
        position,
        candidates: position.candidates,
        places: position.places,
        placements: Vec::with_capacity(64),
        filled_by: [0; 81],
        queue: 0,
    };
    let mut needs = Needs { absences: [Digits::EMPTY; 81], houses: Vec::new() };
    let (kept, end) = trail.refute(Put { cell, digit }, depth, &mut needs)?;
    let line = Line { placements: kept.iter().map(|&at| trail.placements[at]).collect(), end };
    let absences =
        Cell::ALL.into_iter().map(|cell| (cell, needs.absences[cell.index()])).filter(|(_, digits)| !digits.is_empty()).collect();
    Some(Refutation { line, absences, houses: needs.houses })
}

/// What a line needs from the position that it started from.
struct Needs {
    absences: [Digits; 81],
    houses: Vec<House>,
}

impl Trail<'_> {
    /// The numbers of the placements that the breakdown needs from this trail (this assumption first, whatever it leans on included)
    /// and how it ends.
    fn refute(&mut self, put: Put, depth: usize, needs: &mut Needs) -> Option<(Vec<usize>, LineEnd)> {
        let start = self.placements.len();
        self.place(put, Reason::Assumed);
        if let Some(breakdown) = self.follow() {
            let mut wanted = vec![false; self.placements.len()];
            self.want_breakdown(breakdown, &mut wanted, needs);
            return Some((self.trace(start, &mut wanted, needs), LineEnd::Broken(breakdown)));
        }
        if depth == 0 {
            return None;
        }
        self.branch(start, depth, needs)
    }

    /// Tries every digit left for one cell after another, those with the fewest digits first.
    fn branch(&mut self, start: usize, depth: usize, needs: &mut Needs) -> Option<(Vec<usize>, LineEnd)> {
        let mut cells: Vec<Cell> = Cell::ALL.into_iter().filter(|cell| self.candidates[cell.index()].len() >= 2).collect();
        cells.sort_by_key(|cell| self.candidates[cell.index()].len());
        'cells: for cell in cells {
            let mut inner = Needs { absences: needs.absences, houses: needs.houses.clone() };
            let mut wanted = vec![false; self.placements.len()];
            let mut lines = Vec::new();
            for digit in self.candidates[cell.index()].iter() {
                let mut trail = self.clone();
                let Some((kept, end)) = trail.refute(Put { cell, digit }, depth - 1, &mut inner) else {
                    continue 'cells;
                };
                let (outer, own): (Vec<usize>, Vec<usize>) = kept.into_iter().partition(|&at| at < self.placements.len());
                outer.into_iter().for_each(|at| wanted[at] = true);
                lines.push(Line { placements: own.into_iter().map(|at| trail.placements[at]).collect(), end });
            }
            for digit in (!self.candidates[cell.index()]).iter() {
                self.want_absence(cell, digit, self.placements.len(), &mut wanted, &mut inner);
            }
            *needs = inner;
            return Some((self.trace(start, &mut wanted, needs), LineEnd::Branches(cell, lines)));
        }
        None
    }

    fn place(&mut self, put: Put, reason: Reason) {
        self.placements.push((put, reason));
        self.filled_by[put.cell.index()] = self.placements.len() as u8;
        for other in std::mem::replace(&mut self.candidates[put.cell.index()], Digits::EMPTY).iter() {
            self.places[other.index()].remove(put.cell);
        }
        for peer in (self.places[put.digit.index()] & put.cell.peers()).iter() {
            self.candidates[peer.index()].remove(put.digit);
        }
        self.places[put.digit.index()] -= put.cell.peers();
    }

    /// Places every single that follows; the first breakdown met.
    fn follow(&mut self) -> Option<Breakdown> {
        while self.queue < self.placements.len() {
            let put = self.placements[self.queue].0;
            self.queue += 1;
            if let Some(breakdown) = self.settle_cells(put) {
                return Some(breakdown);
            }
            if let Some(breakdown) = self.settle_houses(put) {
                return Some(breakdown);
            }
        }
        None
    }

    fn is_filled(&self, cell: Cell) -> bool {
        self.filled_by[cell.index()] != 0 || self.position.filled.contains(cell)
    }

    fn settle_cells(&mut self, put: Put) -> Option<Breakdown> {
        for cell in put.cell.peers().iter() {
            if self.is_filled(cell) {
                continue;
            }
            let left = self.candidates[cell.index()];
            if left.is_empty() {
                return Some(Breakdown::Cell(cell));
            }
            if let Some(digit) = left.only() {
                self.place(Put { cell, digit }, Reason::LastDigit);
            }
        }
        None
    }

    /// A placement takes places of its own digit from its peers' houses, and of every other digit from its own houses.
    fn settle_houses(&mut self, put: Put) -> Option<Breakdown> {
        let near = put.cell.houses();
        for house in House::ALL {
            let own = near.contains(&house);
            if !own && !house.cells().meets(put.cell.peers()) {
                continue;
            }
            let digits = if own { Digits::ALL } else { Digits::of(put.digit) };
            for digit in digits.iter() {
                let places = self.places[digit.index()] & house.cells();
                if places.len() > 1 || self.holds(house, digit) {
                    continue;
                }
                match places.only() {
                    Some(cell) => self.place(Put { cell, digit }, Reason::LastPlace(house)),
                    None => return Some(Breakdown::House(house, digit)),
                }
            }
        }
        None
    }

    fn holds(&self, house: House, digit: Digit) -> bool {
        self.position.stands[digit.index()].meets(house.cells())
            || self.placements.iter().any(|(put, _)| put.digit == digit && house.contains(put.cell))
    }

    /// Adds what the wanted placements lean on, latest first; their numbers, this line's assumption (number `start`) included.
    fn trace(&self, start: usize, wanted: &mut [bool], needs: &mut Needs) -> Vec<usize> {
        wanted[start] = true;
        for at in (0..wanted.len()).rev() {
            if !wanted[at] {
                continue;
            }
            let (put, reason) = self.placements[at];
            match reason {
                Reason::Assumed => {}
                Reason::LastDigit => {
                    for digit in (!Digits::of(put.digit)).iter() {
                        self.want_absence(put.cell, digit, at, wanted, needs);
                    }
                }
                Reason::LastPlace(house) => {
                    self.want_closed(house, put.digit, Some(put.cell), at, wanted, needs);
                }
            }
        }
        (0..wanted.len()).filter(|&at| wanted[at]).collect()
    }

    fn want_breakdown(&self, breakdown: Breakdown, wanted: &mut [bool], needs: &mut Needs) {
        let end = self.placements.len();
        match breakdown {
            Breakdown::Cell(cell) => Digit::ALL.into_iter().for_each(|digit| self.want_absence(cell, digit, end, wanted, needs)),
            Breakdown::House(house, digit) => self.want_closed(house, digit, None, end, wanted, needs),
        }
    }

    fn want_closed(&self, house: House, digit: Digit, but: Option<Cell>, before: usize, wanted: &mut [bool], needs: &mut Needs) {
        if !needs.houses.contains(&house) {
            needs.houses.push(house);
        }
        for cell in house.cells().iter().filter(|&cell| Some(cell) != but) {
            self.want_absence(cell, digit, before, wanted, needs);
        }
    }

    /// The cell can't take the digit: by the position itself, else by the earliest placement (numbered below `before`) that forbids it.
    fn want_absence(&self, cell: Cell, digit: Digit, before: usize, wanted: &mut [bool], needs: &mut Needs) {
        if !self.position.candidates[cell.index()].contains(digit) {
            needs.absences[cell.index()].insert(digit);
            return;
        }
        let forbids = |put: &Put| if put.cell == cell { put.digit != digit } else { put.digit == digit && put.cell.sees(cell) };
        let mut by = (0..before).filter(|&at| forbids(&self.placements[at].0));
        let first = by.next();
        // A placement that is wanted anyway costs nothing more.
        if let Some(at) = first.filter(|&at| wanted[at]).or_else(|| by.find(|&at| wanted[at])).or(first) {
            wanted[at] = true;
        }
    }
}
