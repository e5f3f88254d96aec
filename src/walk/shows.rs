//! Finds the earliest moment at which a deduction can be seen, and the shortest way there.

use crate::grid::CellSet;

use super::cite::cite;
use super::effort::{chances, effort};
use super::position::{Position, StepId};
use super::search::{Rules, Search, TIERS};
use super::step::{Deduction, Sighting, View};
use super::{forcing, singles};

/// The steps up to and including the first sighting of the deduction (in that view, where one is named), without those that it doesn't lean
/// on; empty where it is never seen. Rounds of every single in view come first: earliest means fewest rounds.
pub(super) fn shows(search: &mut Search<'_>, rules: &Rules, start: &Position, deduction: Deduction, view: Option<View>) -> Vec<StepId> {
    let mut position = start.clone();
    let mut written_by = [0; 81];
    let mut fill = |search: &Search<'_>, position: &mut Position, step: StepId| {
        let sighting = &search.store[step as usize].sighting;
        if let Some(put) = sighting.puts {
            written_by[put.cell.index()] = step;
        }
        position.apply(sighting, step);
    };
    loop {
        if let Some(step) = sight(search, rules, &position, deduction, view) {
            return slice(search, start, &written_by, step);
        }
        let round: CellSet = in_view(rules, &position).iter().fold(CellSet::EMPTY, |cells, sighting| cells | sighting.cells);
        for cell in round.iter() {
            // Looked at again: what the round has written so far may show it with less.
            let found = in_view(rules, &position);
            let chances = chances(&found);
            let simplest = found.into_iter().filter(|sighting| sighting.cells.contains(cell)).min_by_key(|sighting| sighting.deduction);
            if let Some(sighting) = simplest {
                let step = keep(search, rules, &position, sighting, chances);
                fill(search, &mut position, step);
            }
        }
        if round.is_empty() {
            let way = search.next(&position);
            if way.is_empty() {
                return way;
            }
            way.into_iter().for_each(|step| fill(search, &mut position, step));
        }
    }
}

fn in_view(rules: &Rules, position: &Position) -> Vec<Sighting> {
    let mut found = Vec::new();
    singles::find(position, &mut found);
    found.retain(|sighting| rules.allows(sighting.deduction));
    found
}

fn keep(search: &mut Search<'_>, rules: &Rules, position: &Position, sighting: Sighting, chances: f64) -> StepId {
    let because = cite(position, &sighting);
    let effort = effort(position, &sighting, &because, chances, rules.pencil.weights());
    search.keep(sighting, because, effort, 0.0)
}

/// The deduction, where it is in view here: at once, or after facts from lower rungs.
fn sight(search: &mut Search<'_>, rules: &Rules, position: &Position, deduction: Deduction, view: Option<View>) -> Option<StepId> {
    let wanted = |sighting: &Sighting| sighting.deduction == deduction && view.is_none_or(|view| sighting.view == view);
    let mut known = position.clone();
    loop {
        let mut found = Vec::new();
        singles::find(&known, &mut found);
        let chances = chances(&found);
        if deduction == Deduction::WhatIf {
            found.extend(forcing::find_branching(&known, super::search::DEEPEST));
        }
        for find in TIERS {
            find(&known, &mut found);
        }
        if let Some(sighting) = found.iter().find(|sighting| wanted(sighting)) {
            return Some(keep(search, rules, &known, sighting.clone(), chances));
        }
        let lower = |sighting: &Sighting| !sighting.deduction.puts() && sighting.deduction < deduction && rules.allows(sighting.deduction);
        let before = known.candidates;
        for mut sighting in found.into_iter().filter(lower) {
            sighting.strikes.retain_mut(|strike| {
                strike.digits &= known.candidates[strike.cell.index()];
                !strike.digits.is_empty()
            });
            if !sighting.strikes.is_empty() {
                let step = keep(search, rules, &known, sighting, chances);
                known.apply(&search.store[step as usize].sighting, step);
            }
        }
        if known.candidates == before {
            return None;
        }
    }
}

/// The steps that `last` leans on, in order: facts it cites, and digits written in the cells it looks at or in its houses.
pub(super) fn slice(search: &Search<'_>, start: &Position, written_by: &[StepId; 81], last: StepId) -> Vec<StepId> {
    let mut needed = vec![last];
    let mut at = 0;
    while at < needed.len() {
        let stored = &search.store[needed[at] as usize];
        let seen = stored.sighting.houses.iter().fold(stored.because.cells, |seen, house| seen | house.cells()) - start.filled;
        let written = seen.iter().map(|cell| written_by[cell.index()]).filter(|&step| step != 0 && step < needed[at]);
        let leans: Vec<StepId> = written.chain(stored.because.facts.iter().copied()).collect();
        for step in leans {
            if !needed.contains(&step) {
                needed.push(step);
            }
        }
        at += 1;
    }
    needed.sort_unstable();
    needed
}
