//! Finds the deductions a person would, in order, each step with its reasons.
//!
//! Takes a board with exactly one solution; gives a [`Walk`]: the easiest order of deductions found, to the end of the puzzle.
//! Refuses boards with no solution or several. [`patterns`] says what each deduction looks like. Nothing here asks a
//! solver for a premise: each step follows from what it cites.

mod breakdown;
mod chains;
mod cite;
mod effort;
mod fish;
mod fitted;
mod forcing;
mod ladder;
mod locked;
pub mod patterns;
mod position;
pub mod race;
mod recording;
mod rectangle;
mod refute;
mod rehearse;
mod say;
mod search;
mod shows;
mod singles;
mod step;
mod subsets;
mod weights;
mod wings;
mod words;

pub use effort::Pencil;
pub use recording::{RecordingError, recording};
pub use rehearse::{Judged, MOST_PASSED_OVER, PassedOver, Placement, Ruling, order_entries, rehearse};
pub use say::say;
pub use step::{Breakdown, Deduction, Line, LineEnd, Put, Reason, Rectangle, Step, Strike, UnknownName, View};
pub use words::{BUILT_IN, Words, WordsError};

use crate::grid::{Board, CellSet};
use crate::prove::{Count, prove};

use position::{Position, StepId};
use search::{Rules, Search};

/// What to walk, and how.
#[derive(Clone, Debug)]
pub struct Options {
    /// How the solver works: digits only, or all candidates written down.
    pub pencil: Pencil,
    /// Deductions that may be used; all by default.
    pub only: Vec<Deduction>,
    /// Deductions that may not.
    pub without: Vec<Deduction>,
    /// Whether rectangles that need exactly one solution may be used.
    pub uniqueness: Uniqueness,
    /// Where the walk starts: a board that holds the puzzle's givens; `None` for the puzzle itself.
    pub from: Option<Board>,
}

/// Whether steps may lean on the puzzle having exactly one solution.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Uniqueness {
    /// They may: it is proven before the walk starts.
    #[default]
    Used,
    /// They may not.
    Unused,
}

impl Default for Options {
    fn default() -> Self {
        Self { pencil: Pencil::Bare, only: Deduction::ALL.to_vec(), without: Vec::new(), uniqueness: Uniqueness::Used, from: None }
    }
}

impl Options {
    /// Where the givens have no solution or several, rectangles prove nothing and what-ifs may find no end: neither is allowed.
    fn rules(&self, givens: &Board) -> Rules {
        let bits = |all: &[Deduction]| all.iter().fold(0_u32, |bits, &one| bits | 1 << one as u32);
        let mut allowed = bits(&self.only) & !bits(&self.without);
        if self.uniqueness == Uniqueness::Unused {
            allowed &= !bits(&[Deduction::UniqueRectangle]);
        }
        if prove(givens).count != Count::One {
            allowed &= !bits(&[Deduction::UniqueRectangle, Deduction::WhatIf]);
        }
        Rules { pencil: self.pencil, allowed }
    }
}

/// An ordered list of deductions.
#[derive(Clone, Debug)]
pub struct Walk {
    /// The puzzle.
    pub givens: Board,
    /// Where the walk starts.
    pub start: Board,
    /// Whether it ends with every cell filled.
    pub complete: bool,
    /// How the solver works.
    pub pencil: Pencil,
    /// The steps, in order.
    pub steps: Vec<Step>,
}

impl Walk {
    /// The sum of the steps' efforts.
    pub fn effort(&self) -> f64 {
        self.steps.iter().map(|step| step.effort).sum()
    }

    /// The most facts carried at once.
    pub fn carried_most(&self) -> usize {
        self.steps.iter().map(|step| step.carried).max().unwrap_or(0)
    }

    /// How many minutes people take for the whole of it from its start, as fitted to the times of many.
    pub fn minutes(&self) -> f64 {
        race::minutes(&self.start)
    }

    /// The highest rung of the ladder that the walk takes; `None` for a walk without steps.
    pub fn hardest(&self) -> Option<Deduction> {
        self.steps.iter().map(|step| step.deduction).max()
    }
}

/// The easiest walk found for a puzzle that has exactly one solution: never more effort than [`climb`]'s.
pub fn walk(givens: &Board, options: &Options) -> Walk {
    let rules = options.rules(givens);
    let start = start(givens, options);
    let mut search = Search::new(&rules);
    let mut all = search.easiest(&start);
    all.push(ladder::climb(&mut search, &rules, &start));
    let walks = all.into_iter().map(|steps| assemble(givens, &start, &rules, &search, &needed(&search, steps)));
    let order = |walk: &Walk| (walk.complete, walk.steps.iter().filter(|step| step.deduction.puts()).count());
    walks
        .reduce(|best, next| match order(&next).cmp(&order(&best)) {
            std::cmp::Ordering::Greater => next,
            std::cmp::Ordering::Equal if next.effort() < best.effort() => next,
            _ => best,
        })
        .unwrap_or_else(|| assemble(givens, &start, &rules, &search, &[]))
}

/// The greedy ladder's walk: the first deduction of the lowest rung each time; steps of which nothing came are left out, as in [`walk`].
pub fn climb(givens: &Board, options: &Options) -> Walk {
    let rules = options.rules(givens);
    let start = start(givens, options);
    let mut search = Search::new(&rules);
    let steps = ladder::climb(&mut search, &rules, &start);
    assemble(givens, &start, &rules, &search, &needed(&search, steps))
}

/// The cheapest way to the next digit, facts first: a hint.
pub fn next(givens: &Board, options: &Options) -> Walk {
    let rules = options.rules(givens);
    let start = start(givens, options);
    let mut search = Search::new(&rules);
    let steps = search.next(&start);
    assemble(givens, &start, &rules, &search, &steps)
}

/// The shortest way to the earliest moment at which the deduction is seen, in `view` where one is named; its last step is that
/// deduction. A walk without steps where it never is.
pub fn shows(givens: &Board, options: &Options, deduction: Deduction, view: Option<View>) -> Walk {
    let rules = options.rules(givens);
    let start = start(givens, options);
    let mut search = Search::new(&rules);
    let steps = shows::shows(&mut search, &rules, &start, deduction, view);
    assemble(givens, &start, &rules, &search, &steps)
}

/// Every allowed deduction that can be seen at once on the starting board, with no fact in mind, each as the first step of a walk.
pub fn in_view(givens: &Board, options: &Options) -> Vec<Step> {
    let rules = options.rules(givens);
    let start = start(givens, options);
    let mut search = Search::new(&rules);
    let mut found = Vec::new();
    singles::find(&start, &mut found);
    search::TIERS.iter().for_each(|find| find(&start, &mut found));
    found.retain(|sighting| rules.allows(sighting.deduction));
    let mut steps = Vec::with_capacity(found.len());
    for sighting in found {
        let because = cite::cite(&start, &sighting);
        let sighting = forcing::demote_long(&start, sighting, &because);
        let because = cite::cite(&start, &sighting);
        let step = search.keep(sighting, because, 0.0, 0.0);
        steps.extend(assemble(givens, &start, &rules, &search, &[step]).steps);
    }
    steps
}

fn start(givens: &Board, options: &Options) -> Position {
    Position::new(options.from.as_ref().unwrap_or(givens))
}

/// The steps without facts that no later step cites.
fn needed(search: &Search<'_>, steps: Vec<StepId>) -> Vec<StepId> {
    let mut cited: std::collections::HashSet<StepId> = std::collections::HashSet::new();
    let mut kept: Vec<StepId> = Vec::with_capacity(steps.len());
    for step in steps.into_iter().rev() {
        let stored = &search.store[step as usize];
        if stored.sighting.puts.is_some() || cited.contains(&step) {
            cited.extend(&stored.because.facts);
            kept.push(step);
        }
    }
    kept.reverse();
    kept
}

fn assemble(givens: &Board, start: &Position, rules: &Rules, search: &Search<'_>, order: &[StepId]) -> Walk {
    let weights = rules.pencil.weights();
    let number = |step: StepId| order.iter().position(|&other| other == step).map_or(0, |at| at + 1);
    let mut last_use = vec![0; order.len() + 1];
    for (at, &step) in order.iter().enumerate() {
        for &fact in &search.store[step as usize].because.facts {
            last_use[number(fact)] = at + 1;
        }
    }
    let steps: Vec<Step> = order
        .iter()
        .enumerate()
        .map(|(at, &step)| {
            let stored = &search.store[step as usize];
            let sighting = stored.sighting.clone();
            let n = at + 1;
            let carried = (1..n).filter(|&earlier| last_use[earlier] >= n).count();
            Step {
                n,
                deduction: sighting.deduction,
                view: sighting.view,
                houses: sighting.houses,
                cells: sighting.cells,
                digits: sighting.digits,
                puts: sighting.puts,
                strikes: sighting.strikes,
                because_cells: stored.because.cells,
                because_facts: stored.because.facts.iter().map(|&fact| number(fact)).collect(),
                rectangle: sighting.rectangle,
                line: sighting.line,
                effort: stored.effort + weights.carry * carried as f64,
                carried,
            }
        })
        .collect();
    let filled = start.filled.len() + steps.iter().filter(|step| step.puts.is_some()).count();
    Walk { givens: *givens, start: start.board, complete: filled == CellSet::ALL.len(), pencil: rules.pencil, steps }
}

/// How much there is of each thing that effort weighs, summed over the walk: steps of each kind (the ladder's order, then hidden
/// singles in a line), cells looked at, crowding, facts recalled, facts carried, placements followed, and search. For fitting.
pub fn parts(walk: &Walk) -> Vec<f64> {
    let mut position = Position::new(&walk.start);
    let mut parts = vec![0.0; effort::PARTS];
    for step in &walk.steps {
        let mut found = Vec::new();
        singles::find(&position, &mut found);
        let chances = effort::chances(&found);
        for (sum, part) in parts.iter_mut().zip(effort::parts(&position, step, chances)) {
            *sum += part;
        }
        if let Some(put) = step.puts {
            position.put(put.cell, put.digit);
        }
    }
    parts
}
