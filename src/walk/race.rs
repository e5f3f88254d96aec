//! Seeing as a race: at each moment of many random orders, how many deductions of each kind are in view.
//!
//! Someone who solves takes whichever they notice first, so a moment lasts about one over the summed rates of what is in view. It lasts
//! longer the more cells are open, and the more near misses there are to look at in vain: digits with just two places left in a box. The
//! expected time of a puzzle is the mean over orders of the sum over moments (`scripts/walk/fit.py` fits the numbers to people's times).

use crate::grid::{Board, CellSet, Digit, House};

use super::cite::cite;
use super::fitted::{CROWD, LINE, RATES, SPEED};
use super::position::Position;
use super::search::{DEEPEST, TIERS};
use super::step::{Deduction, Put, Sighting};
use super::{forcing, singles};

/// Kinds of deductions that are noticed at rates of their own: full house in a line, in a box, hidden single in a box, in a line, naked
/// single, locked candidates, pairs, all harder ones, and what-ifs.
pub const KINDS: usize = 9;

/// Random orders that [`minutes`] averages over, drawn the same way each time.
const ORDERS: u32 = 24;

/// One moment of an order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moment {
    /// How many deductions of each kind are in view.
    pub view: [u16; KINDS],
    /// Empty cells.
    pub open: usize,
    /// Digits with just two places left in a box, one for each such box.
    pub near_misses: usize,
}

impl Moment {
    fn lasts(&self) -> f64 {
        let rate: f64 = self.view.iter().zip(RATES).map(|(&count, rate)| f64::from(count) * rate).sum();
        self.crowd().iter().zip(CROWD).map(|(share, power)| share.powf(power)).product::<f64>() / rate.powf(SPEED)
    }

    /// What the moment lengthens by, each to a power of its own.
    pub fn crowd(&self) -> [f64; 2] {
        [self.open as f64 / 81.0 + 0.02, self.near_misses as f64 + 3.0]
    }
}

/// How many minutes people take from this board to the end, expected.
pub(super) fn minutes(board: &Board) -> f64 {
    let total: f64 = moments(board, ORDERS, 1).iter().map(Moment::lasts).sum();
    let seconds = (LINE[0] + LINE[1] * (total / f64::from(ORDERS)).ln()).exp();
    if total > 0.0 { seconds / 60.0 } else { 0.0 }
}

/// The moments of `orders` random orders of solving, in one list.
pub fn moments(givens: &Board, orders: u32, seed: u64) -> Vec<Moment> {
    let mut random = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    (0..orders).flat_map(|_| order(givens, &mut random)).collect()
}

fn order(givens: &Board, random: &mut Random) -> Vec<Moment> {
    let mut position = Position::new(givens);
    let mut moments = Vec::new();
    let mut last = None;
    while position.filled != CellSet::ALL {
        let found = in_view(&position);
        let mut view = [0; KINDS];
        found.iter().for_each(|sighting| view[kind(sighting)] += 1);
        moments.push(Moment { view, open: 81 - position.filled.len(), near_misses: near_misses(&position) });
        let weights: Vec<u64> = found.iter().map(|sighting| draw(&position, sighting, last)).collect();
        let total: u64 = weights.iter().sum();
        if total == 0 {
            break;
        }
        let mut left = random.below(total);
        for (sighting, weight) in found.iter().zip(weights) {
            if left < weight {
                last = sighting.puts.or(last);
                position.apply(sighting, 1);
                break;
            }
            left -= weight;
        }
    }
    moments
}

/// Every digit that can be written; where there is none, what the cheapest tier that shows anything has.
fn in_view(position: &Position) -> Vec<Sighting> {
    let mut found = Vec::new();
    singles::find(position, &mut found);
    for find in TIERS {
        if !found.is_empty() {
            return found;
        }
        find(position, &mut found);
    }
    if found.is_empty() {
        found.extend(forcing::find_branching(position, DEEPEST));
    }
    found
}

fn near_misses(position: &Position) -> usize {
    let boxes = House::ALL.into_iter().filter(|house| house.is_square());
    boxes.map(|house| Digit::ALL.into_iter().filter(|&digit| position.places_in(digit, house).len() == 2).count()).sum()
}

fn kind(sighting: &Sighting) -> usize {
    match sighting.deduction {
        Deduction::FullHouse => usize::from(sighting.houses[0].is_square()),
        Deduction::HiddenSingle => 2 + usize::from(!sighting.houses[0].is_square()),
        Deduction::NakedSingle => 4,
        Deduction::LockedCandidates => 5,
        Deduction::HiddenPair | Deduction::NakedPair => 6,
        Deduction::WhatIf => 8,
        _ => 7,
    }
}

/// How readily a sighting is taken next while orders are drawn, in millionths: by its kind, how often its digit stands, how many cells must
/// be looked at, and whether it is near the digit written last. Set once by trial on the table of times; the fitted rates do the timing.
fn draw(position: &Position, sighting: &Sighting, last: Option<Put>) -> u64 {
    let kind = kind(sighting);
    let mut log = [0.26, 0.26, 0.1, -0.8, -1.9, -1.9, -1.97, -2.4, -3.9][kind];
    if let Some(put) = sighting.puts {
        let looked_at = cite(position, sighting).cells.len() as f64;
        let stands = position.stands[put.digit.index()].len() as f64;
        let houses = if sighting.houses.is_empty() { put.cell.houses().to_vec() } else { sighting.houses.clone() };
        let open = houses.into_iter().map(|house| position.open(house).len()).min().unwrap_or(9) as f64;
        log += match kind {
            2 => 0.2 * (stands - 4.0) - 0.1 * (looked_at - 2.0) - 0.05 * (open - 5.0),
            3 => 0.25 * (stands - 4.0) - 0.35 * (looked_at - 3.0),
            4 => -0.1 * (stands - 4.0) - 0.5 * (looked_at - 5.0) - 0.05 * (open - 4.0),
            _ => 0.0,
        };
        if last.is_some_and(|last| last.cell.sees(put.cell)) {
            log += 1.5;
        }
    }
    (f64::exp(log) * 1e6) as u64 + 1
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
