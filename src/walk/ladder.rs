//! The greedy ladder: always the first deduction of the lowest rung, in reading order. It is what the easiest walk is measured against.

use crate::grid::CellSet;

use super::cite::cite;
use super::effort::{chances, effort, kind};
use super::position::{Position, StepId};
use super::search::{Rules, Search, TIERS};
use super::step::{Deduction, Sighting};
use super::{forcing, singles};

/// The steps of the ladder's walk, to the end or as far as the allowed deductions lead.
pub(super) fn climb(search: &mut Search<'_>, rules: &Rules, start: &Position) -> Vec<StepId> {
    let weights = rules.pencil.weights();
    let mut position = start.clone();
    let mut steps = Vec::new();
    while position.filled != CellSet::ALL {
        let mut found = Vec::new();
        singles::find(&position, &mut found);
        let chances = chances(&found);
        let Some(sighting) = lowest(&position, rules, found) else { break };
        let because = cite(&position, &sighting);
        let sighting = forcing::demote_long(&position, sighting, &because);
        let because = cite(&position, &sighting);
        let effort = effort(&position, &sighting, &because, chances, weights);
        let step = search.keep(sighting, because, effort, 0.0);
        position.apply(&search.store[step as usize].sighting, step);
        steps.push(step);
    }
    steps
}

/// The lowest deduction in view, the first found of its rung.
fn lowest(position: &Position, rules: &Rules, singles: Vec<Sighting>) -> Option<Sighting> {
    // A hidden single in a box is seen before one in a line.
    let rung = |sighting: &Sighting| (sighting.deduction, kind(sighting.deduction, &sighting.houses));
    let first = |found: Vec<Sighting>| found.into_iter().filter(|sighting| rules.allows(sighting.deduction)).min_by_key(rung);
    first(singles)
        .or_else(|| {
            TIERS.iter().find_map(|find| {
                let mut found = Vec::new();
                find(position, &mut found);
                first(found)
            })
        })
        .or_else(|| {
            let deepest = if rules.allows(Deduction::WhatIf) { super::search::DEEPEST } else { 0 };
            first(forcing::find_branching(position, deepest).into_iter().collect())
        })
}
