//! Seeing as a race: at each moment of many random orders, how many deductions of each class are in view.
//!
//! Someone who solves takes whichever they notice first, so a moment lasts about one over the summed rates of what is in view. The
//! expected time of a puzzle is the mean over orders of the sum over moments (`scripts/walk/fit.py` fits the rates to people's times).

use crate::grid::{Board, CellSet};

use super::fitted::{CROWD, LINE, RATES, SPEED};
use super::position::Position;
use super::search::TIERS;
use super::step::{Deduction, Sighting, View};
use super::{forcing, singles};

/// Classes of deductions that are noticed at rates of their own.
pub const CLASSES: usize = 26;

/// How many deductions of each class are in view at one moment.
pub type InView = [u16; CLASSES];

/// How readily each class is noticed while orders are drawn. They only steer the drawing, the fitted rates do the timing; from judgement.
const DRAW: InView = [60, 80, 60, 50, 40, 30, 40, 30, 25, 20, 30, 20, 12, 8, 30, 14, 9, 6, 4, 10, 8, 8, 3, 3, 2, 1];

/// Random orders that [`minutes`] averages over, drawn the same way each time.
const ORDERS: u32 = 8;

/// How many minutes people take from this board to the end, expected.
pub(super) fn minutes(board: &Board) -> f64 {
    let open = board.filled().len();
    let mut left = 81 - open;
    let mut total = 0.0;
    for view in moments(board, ORDERS, 1) {
        let rate: f64 = view.iter().zip(RATES).map(|(&count, rate)| f64::from(count) * rate).sum();
        total += (left as f64 / 81.0 + 0.02).powf(CROWD) / rate.powf(SPEED);
        if view[..FIRST_FACT].iter().any(|&count| count > 0) {
            left = if left > 1 { left - 1 } else { 81 - open };
        }
    }
    let seconds = (LINE[0] + LINE[1] * (total / f64::from(ORDERS)).ln()).exp();
    if total > 0.0 { seconds / 60.0 } else { 0.0 }
}

/// Classes below this number write a digit.
const FIRST_FACT: usize = 19;

/// What is in view at each moment of `orders` random orders of solving, in one list.
pub fn moments(givens: &Board, orders: u32, seed: u64) -> Vec<InView> {
    let mut random = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    (0..orders).flat_map(|_| order(givens, &mut random)).collect()
}

fn order(givens: &Board, random: &mut Random) -> Vec<InView> {
    let mut position = Position::new(givens);
    let mut moments = Vec::new();
    while position.filled != CellSet::ALL {
        let mut found = Vec::new();
        singles::find(&position, &mut found);
        for find in TIERS.iter().take(if found.is_empty() { TIERS.len() } else { 0 }) {
            find(&position, &mut found);
            if !found.is_empty() {
                break;
            }
        }
        if found.is_empty() {
            found.extend(forcing::find_branching(&position, super::search::DEEPEST));
        }
        let mut view = [0; CLASSES];
        let classes: Vec<usize> = found.iter().map(|sighting| class(&position, sighting)).collect();
        classes.iter().for_each(|&class| view[class] += 1);
        moments.push(view);
        let total: u64 = classes.iter().map(|&class| u64::from(DRAW[class])).sum();
        if total == 0 {
            break;
        }
        let mut left = random.below(total);
        for (sighting, class) in found.iter().zip(classes) {
            let weight = u64::from(DRAW[class]);
            if left < weight {
                position.apply(sighting, 1);
                break;
            }
            left -= weight;
        }
    }
    moments
}

/// The class of a deduction: its kind, and how crowded the house or houses are in which it is seen.
fn class(position: &Position, sighting: &Sighting) -> usize {
    let open = |at: usize| position.open(sighting.houses[at]).len();
    match sighting.deduction {
        Deduction::FullHouse => usize::from(sighting.view == View::InBox),
        Deduction::HiddenSingle if sighting.houses[0].is_square() => {
            let crossed = if sighting.view == View::AcrossBox { 4 } else { 0 };
            2 + crossed + (open(0) - 2).min(7) / 2
        }
        Deduction::HiddenSingle => 10 + (open(0) - 2).min(7) / 2,
        Deduction::NakedSingle => {
            let houses = sighting.cells.first().map(|cell| cell.houses().map(|house| position.open(house).len()));
            let least = houses.and_then(|open| open.into_iter().min()).unwrap_or(9);
            14 + least.clamp(2, 6) - 2
        }
        Deduction::LockedCandidates => 19,
        Deduction::HiddenPair => 20,
        Deduction::NakedPair => 21,
        Deduction::HiddenTriple | Deduction::NakedTriple | Deduction::XWing => 22,
        Deduction::UniqueRectangle => 23,
        Deduction::WhatIf => 25,
        _ => 24,
    }
}

/// A small generator of random numbers: xorshift (Marsaglia 2003), which is plenty for drawing orders.
struct Random(u64);

impl Random {
    fn below(&mut self, end: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % end
    }
}
