//! What a step costs someone who solves: noticing the pattern here, looking at its reasons, and carrying facts in mind.

use crate::grid::House;

use super::cite::Because;
use super::position::Position;
use super::step::{Deduction, Line, Sighting, Step};
use super::weights::{BARE, MARKED, NOTICE, Weights};

/// How the solver works.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Pencil {
    /// Nothing is written but digits; facts are carried in mind.
    #[default]
    Bare,
    /// All candidates are written down.
    Marks,
}

impl Pencil {
    pub(super) fn weights(self) -> &'static Weights {
        match self {
            Self::Bare => &BARE,
            Self::Marks => &MARKED,
        }
    }
}

/// How many digits can be written at once, each counted by how readily it is noticed.
pub(super) fn chances(singles: &[Sighting]) -> f64 {
    singles.iter().map(|sighting| NOTICE[kind(sighting.deduction, &sighting.houses)]).sum()
}

/// The effort of a step, in [`weights`](super::weights)' unit, without what is carried meanwhile.
///
/// `chances` is what [`chances`] says of the position: the fewer places there are to go on, the longer the search.
pub(super) fn effort(position: &Position, sighting: &Sighting, because: &Because, chances: f64, weights: &Weights) -> f64 {
    let line = sighting.line.as_ref().map_or(0, Line::len);
    weights.base[kind(sighting.deduction, &sighting.houses)]
        + weights.look * because.cells.len() as f64
        + weights.crowd * crowd(position, sighting.deduction, &sighting.houses) as f64
        + weights.recall * because.facts.len() as f64
        + weights.follow * line as f64
        + weights.search / (1.0 + chances)
}

/// The open cells of the named houses, among which the pattern must be made out; what a naked single rules out.
fn crowd(position: &Position, deduction: Deduction, houses: &[House]) -> usize {
    match deduction {
        Deduction::FullHouse => 0,
        Deduction::NakedSingle => 8,
        _ => houses.iter().map(|&house| position.open(house).len()).sum(),
    }
}

/// How many kinds of steps have weights of their own.
pub(super) const KINDS: usize = Deduction::ALL.len() + 1;

/// How many things effort weighs.
pub(super) const PARTS: usize = KINDS + 6;

/// How much of each thing that effort weighs is in a step: its weights times these are its effort.
pub(super) fn parts(position: &Position, step: &Step, chances: f64) -> [f64; PARTS] {
    let mut parts = [0.0; PARTS];
    parts[kind(step.deduction, &step.houses)] = 1.0;
    let rest = [
        step.because_cells.len(),
        crowd(position, step.deduction, &step.houses),
        step.because_facts.len(),
        step.carried,
        step.line.as_ref().map_or(0, Line::len),
    ];
    for (part, value) in parts[KINDS..].iter_mut().zip(rest) {
        *part = value as f64;
    }
    parts[PARTS - 1] = 1.0 / (1.0 + chances);
    parts
}

/// The row of the weights: the deduction, with a hidden single in a line apart from one in a box.
pub(super) fn kind(deduction: Deduction, houses: &[House]) -> usize {
    let in_line = deduction == Deduction::HiddenSingle && houses.iter().all(|house| !house.is_square());
    if in_line { KINDS - 1 } else { deduction as usize }
}
