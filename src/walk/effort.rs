//! What a step costs someone who solves: noticing the pattern here, looking at its reasons, and carrying facts in mind.

use super::cite::Because;
use super::position::Position;
use super::step::{Deduction, Sighting};
use super::weights::{BARE, MARKED, Weights};

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
pub(super) fn chances(singles: &[Sighting], weights: &Weights) -> f64 {
    singles.iter().map(|sighting| weights.notice[kind(sighting)]).sum()
}

/// The effort of a step, in [`weights`](super::weights)' unit, without what is carried meanwhile.
///
/// `chances` is what [`chances`] says of the position: the fewer places there are to go on, the longer the search.
pub(super) fn effort(position: &Position, sighting: &Sighting, because: &Because, chances: f64, weights: &Weights) -> f64 {
    let crowd: usize = match sighting.deduction {
        Deduction::FullHouse => 0,
        Deduction::NakedSingle => sighting.absences.first().map_or(0, |(_, digits)| digits.len()),
        _ => sighting.houses.iter().map(|&house| position.open(house).len()).sum(),
    };
    let line = sighting.line.as_ref().map_or(0, super::step::Line::len);
    weights.base[kind(sighting)]
        + weights.look * because.cells.len() as f64
        + weights.crowd * crowd as f64
        + weights.recall * because.facts.len() as f64
        + weights.follow * line as f64
        + weights.search / (1.0 + chances)
}

/// How many kinds of steps have weights of their own.
pub(super) const KINDS: usize = Deduction::ALL.len() + 1;

/// The row of the weights: the deduction, with a hidden single in a line apart from one in a box.
pub(super) fn kind(sighting: &Sighting) -> usize {
    let in_line = sighting.deduction == Deduction::HiddenSingle && !sighting.houses[0].is_square();
    if in_line { KINDS - 1 } else { sighting.deduction as usize }
}
