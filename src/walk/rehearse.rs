//! Holds a recorded order of placements against the deductions: which follow, which leap ahead, which slip.

use crate::grid::{Board, Cell, CellSet, Digit};

use super::cite::cite;
use super::effort::{chances, effort};
use super::position::{Position, StepId};
use super::refute::refute;
use super::search::{Rules, Search};
use super::step::{Deduction, Put, Step};
use super::{Options, assemble, shows, singles};

/// One line of a recording.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Placement {
    /// Its line in the file, from 1.
    pub line: usize,
    /// When, in seconds from the start; `None` where the recording doesn't say.
    pub seconds: Option<u32>,
    /// Where and what.
    pub put: Put,
}

/// What a placement is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ruling {
    /// A deduction reaches it from what stands, with facts in mind at most.
    Sound,
    /// It is right, but other digits must be found first.
    Leap,
    /// It contradicts the solution.
    Slip,
}

/// A simpler digit that could have been written at that moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PassedOver {
    /// The digit and its cell.
    pub put: Put,
    /// How it is reached.
    pub deduction: Deduction,
}

/// A placement, judged.
#[derive(Clone, Debug)]
pub struct Judged {
    /// What was written.
    pub placement: Placement,
    /// What that was.
    pub ruling: Ruling,
    /// How a sound placement is reached.
    pub deduction: Option<Deduction>,
    /// The step by which a sound placement is reached, numbered on from its `facts`.
    pub step: Option<Step>,
    /// Facts newly found for a sound placement, in order: what had to be carried in mind.
    pub facts: Vec<Step>,
    /// What a leap jumps over: the steps that must come first, in order, as far as this placement leans on them.
    pub missing: Vec<Step>,
    /// The filled cells that refute a slip.
    pub refuted_by: CellSet,
    /// What stands in the cell of a slip.
    pub stands: Option<Digit>,
    /// Simpler digits in view at that moment, easiest first, at most [`MOST_PASSED_OVER`].
    pub passed_over: Vec<PassedOver>,
}

/// Most simpler digits that are listed for one placement.
pub const MOST_PASSED_OVER: usize = 5;

/// Judges each placement in turn. After a slip the board goes on with what stands, so that what follows is judged fairly.
///
/// `solution` is the puzzle's only one. The second value says whether every cell is filled at the end.
pub fn rehearse(givens: &Board, solution: &Board, placements: &[Placement], options: &Options) -> (Vec<Judged>, bool) {
    let rules = options.rules(givens);
    let mut stage = Stage { rules: &rules, solution, position: super::start(givens, options), givens };
    let judged = placements.iter().map(|placement| stage.judge(placement)).collect();
    (judged, stage.position.filled == CellSet::ALL)
}

/// Puts the entries of a half-filled board in an order that can be rehearsed: whatever is reached next from what stands, the cheapest
/// first; what is never reached, and what is wrong, in reading order at the end. Each entry's `line` is its number in reading order.
pub fn order_entries(givens: &Board, solution: &Board, entries: &[Put], options: &Options) -> Vec<Placement> {
    let all = options.rules(givens);
    let rules = Rules { allowed: all.allowed & !ASSUMING, ..all };
    let mut position = super::start(givens, options);
    let mut waiting: Vec<Placement> = entries.iter().enumerate().map(|(at, &put)| Placement { line: at + 1, seconds: None, put }).collect();
    let mut ordered = Vec::new();
    loop {
        let right = |placement: &&Placement| solution.get(placement.put.cell) == Some(placement.put.digit);
        let cells: CellSet = waiting.iter().filter(right).map(|placement| placement.put.cell).collect();
        let mut search = Search::new(&rules);
        let Some(&step) = search.reach(&position, cells).last() else { break };
        let Some(put) = search.store[step as usize].sighting.puts else { break };
        position.put(put.cell, put.digit);
        ordered.extend(waiting.extract_if(.., |placement| placement.put == put));
    }
    ordered.extend(waiting);
    ordered
}

/// Deductions that rest on an assumption: a placement that needs one is a leap.
const ASSUMING: u32 = 1 << Deduction::ForcingChain as u32 | 1 << Deduction::WhatIf as u32;

struct Stage<'a> {
    rules: &'a Rules,
    givens: &'a Board,
    solution: &'a Board,
    /// Digits only: what was in mind for one placement isn't taken to be remembered for the next.
    position: Position,
}

impl Stage<'_> {
    fn judge(&mut self, placement: &Placement) -> Judged {
        let Put { cell, digit } = placement.put;
        let mut judged = Judged {
            placement: placement.clone(),
            ruling: Ruling::Sound,
            deduction: None,
            step: None,
            facts: Vec::new(),
            missing: Vec::new(),
            refuted_by: CellSet::EMPTY,
            stands: None,
            passed_over: Vec::new(),
        };
        let stands = self.solution.get(cell);
        if stands != Some(digit) {
            judged.ruling = Ruling::Slip;
            judged.stands = stands;
            judged.refuted_by = self.refute(cell, digit);
        } else if !self.position.filled.contains(cell) {
            self.explain(cell, &mut judged);
        }
        if let Some(stands) = stands
            && !self.position.filled.contains(cell)
        {
            self.position.put(cell, stands);
        }
        judged
    }

    /// A right digit in an open cell: how it is reached, or what is missing.
    fn explain(&self, cell: Cell, judged: &mut Judged) {
        let sober = Rules { allowed: self.rules.allowed & !ASSUMING, ..*self.rules };
        let mut search = Search::new(&sober);
        let steps = search.reach(&self.position, cell.into());
        let way = assemble(self.givens, &self.position, &sober, &search, &steps).steps;
        let spent: f64 = way.iter().map(|step| step.effort).sum();
        match way.split_last() {
            Some((last, facts)) => {
                judged.deduction = Some(last.deduction);
                judged.step = Some(last.clone());
                judged.facts = facts.to_vec();
                judged.passed_over = self.passed_over(cell, last.deduction, spent);
            }
            None => {
                judged.ruling = Ruling::Leap;
                judged.missing = self.missing(cell);
                judged.passed_over = self.passed_over(cell, Deduction::WhatIf, f64::INFINITY);
            }
        }
    }

    /// Digits in view without facts that cost clearly less than `spent`, or are of a lower rung.
    fn passed_over(&self, cell: Cell, rung: Deduction, spent: f64) -> Vec<PassedOver> {
        let weights = self.rules.pencil.weights();
        let mut found = Vec::new();
        singles::find(&self.position, &mut found);
        let chances = chances(&found);
        let mut simpler: Vec<(f64, PassedOver)> = found
            .iter()
            .filter_map(|sighting| {
                let put = sighting.puts.filter(|put| put.cell != cell)?;
                let cost = effort(&self.position, sighting, &cite(&self.position, sighting), chances, weights);
                (sighting.deduction <= rung && cost < spent).then_some((cost, PassedOver { put, deduction: sighting.deduction }))
            })
            .collect();
        simpler.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut seen = CellSet::EMPTY;
        simpler.retain(|(_, over)| {
            let new = !seen.contains(over.put.cell);
            seen.insert(over.put.cell);
            new
        });
        simpler.into_iter().map(|(_, over)| over).take(MOST_PASSED_OVER).collect()
    }

    /// The steps before the cell can be filled, as far as it leans on them.
    fn missing(&self, cell: Cell) -> Vec<Step> {
        let mut search = Search::new(self.rules);
        let mut position = self.position.clone();
        let mut written_by: [StepId; 81] = [0; 81];
        while !position.filled.contains(cell) {
            let way = search.next(&position);
            if way.is_empty() {
                return Vec::new();
            }
            for step in way {
                let sighting = &search.store[step as usize].sighting;
                if let Some(put) = sighting.puts {
                    written_by[put.cell.index()] = step;
                }
                position.apply(sighting, step);
            }
        }
        let mut steps = shows::slice(&search, &self.position, &written_by, written_by[cell.index()]);
        steps.pop();
        assemble(self.givens, &self.position, self.rules, &search, &steps).steps
    }

    /// The filled cells that rule the digit out: equal digits in view first, else those that a line of consequences leans on.
    fn refute(&self, cell: Cell, digit: Digit) -> CellSet {
        if self.position.filled.contains(cell) {
            return cell.into();
        }
        let equal = self.position.stands[digit.index()] & cell.peers();
        if !equal.is_empty() {
            return equal;
        }
        let refutation = (0..=super::search::DEEPEST).find_map(|depth| refute(&self.position, cell, digit, depth));
        refutation.map_or(self.position.filled, |refutation| {
            let sighting = super::forcing::sighting(cell, digit, refutation);
            let seen = sighting.houses.iter().fold(cite(&self.position, &sighting).cells, |seen, house| seen | house.cells());
            seen & self.position.filled
        })
    }
}
