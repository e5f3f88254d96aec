//! Seeing as a race: at each moment of many random orders, how many deductions of each kind are in view.
//!
//! Someone who solves takes whichever they notice first, so a moment lasts about one over the summed rates of what is in view. It lasts
//! longer the more there is to look at in vain: digits with two, three or four places left in a box. The expected time of a puzzle is the
//! mean over orders of the sum over moments (`scripts/walk/fit.py` fits the numbers to people's times).

use std::collections::HashMap;

use crate::grid::{Board, CellSet, Digit, House};

use super::cite::widest;
use super::fitted::{CROWD, LINE, RATES, SPEED};
use super::forcing;
use super::position::Position;
use super::search::{DEEPEST, TIERS};
use super::step::{Deduction, Put, Sighting};

/// Kinds of deductions that are noticed at rates of their own: full house in a line, in a box, hidden single in a box, in a line, naked
/// single, locked candidates, pairs, all harder ones, and what-ifs.
pub const KINDS: usize = 9;

/// Random orders that [`minutes`] averages over, drawn the same way each time.
const ORDERS: usize = 64;

/// Positions without a digit in view that are searched for facts, after which no more orders are drawn: in the hardest puzzles each of them
/// takes long, and the orders drawn by then agree well enough.
const SEARCHED: usize = 100;

/// One moment of an order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moment {
    /// How many deductions of each kind are in view.
    pub view: [u16; KINDS],
    /// How many digits have two, three and four places left in a box, one for each such box.
    pub places_left: [u16; 3],
}

impl Moment {
    fn lasts(&self) -> f64 {
        let rate: f64 = self.view.iter().zip(RATES).map(|(&count, rate)| f64::from(count) * rate).sum();
        self.crowd().iter().zip(CROWD).map(|(share, power)| share.powf(power)).product::<f64>() / rate.powf(SPEED)
    }

    /// What the moment lengthens by, each to a power of its own.
    pub fn crowd(&self) -> [f64; 3] {
        self.places_left.map(|count| f64::from(count) + 3.0)
    }
}

/// How many minutes people take from this board to the end, expected.
pub(super) fn minutes(board: &Board) -> f64 {
    let orders = orders(board, ORDERS, 1);
    let total: f64 = orders.iter().flatten().map(Moment::lasts).sum();
    let seconds = (LINE[0] + LINE[1] * (total / orders.len() as f64).ln()).exp();
    if total > 0.0 { seconds / 60.0 } else { 0.0 }
}

/// The moments of random orders of solving: of `most` orders, or fewer where the puzzle is hard.
pub fn orders(givens: &Board, most: usize, seed: u64) -> Vec<Vec<Moment>> {
    let mut random = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    let mut known = Known::new();
    let mut orders = Vec::new();
    while orders.len() < most && known.len() < SEARCHED {
        orders.push(order(givens, &mut random, &mut known));
    }
    orders
}

/// What can be taken where no digit can be written, by what stands and what is left: orders meet the same positions.
type Known = HashMap<(CellSet, [CellSet; 9]), Vec<Sighting>>;

fn order(givens: &Board, random: &mut Random, known: &mut Known) -> Vec<Moment> {
    let mut position = Position::new(givens);
    let mut moments = Vec::new();
    let mut last = None;
    while position.filled != CellSet::ALL {
        let digits = digits_in_view(&position, last);
        let facts = if digits.is_empty() {
            known.entry((position.filled, position.places)).or_insert_with(|| facts_in_view(&position)).as_slice()
        } else {
            &[]
        };
        let seen: Vec<Seen> =
            if digits.is_empty() { facts.iter().map(seen_fact).collect() } else { digits.iter().map(|(_, seen)| *seen).collect() };
        let mut view = [0; KINDS];
        seen.iter().for_each(|&(kind, _)| view[kind] += 1);
        moments.push(Moment { view, places_left: places_left(&position) });
        let Some(taken) = random.one_of(&seen) else { break };
        match digits.get(taken) {
            Some(&(put, _)) => {
                position.put(put.cell, put.digit);
                last = Some(put.digit);
            }
            None => position.apply(&facts[taken], 1),
        }
    }
    moments
}

/// What is seen: its kind, and how readily it is taken next while orders are drawn.
type Seen = (usize, f64);

/// Every digit that can be written, each way it is seen.
fn digits_in_view(position: &Position, last: Option<Digit>) -> Vec<(Put, Seen)> {
    let mut found = Vec::new();
    for house in House::ALL {
        let open = position.open(house);
        for digit in Digit::ALL {
            if let Some(cell) = position.places_in(digit, house).only() {
                let kind = if open.len() == 1 { usize::from(house.is_square()) } else { 2 + usize::from(!house.is_square()) };
                let looked_at = crossing(position, digit, open - CellSet::of(cell));
                found.push((Put { cell, digit }, (kind, taken(kind, digit, looked_at, last))));
            }
        }
    }
    for cell in (CellSet::ALL - position.filled).iter() {
        if let Some(digit) = position.candidates[cell.index()].only() {
            found.push((Put { cell, digit }, (4, taken(4, digit, 0, last))));
        }
    }
    found
}

/// How many cells that hold the digit must be looked at to rule it out of these.
fn crossing(position: &Position, digit: Digit, mut cells: CellSet) -> usize {
    let mut looked_at = 0;
    while let Some((_, shown)) = widest(cells, position.stands[digit.index()]) {
        cells -= shown;
        looked_at += 1;
    }
    looked_at + cells.len()
}

/// How readily a digit is taken next while orders are drawn: people go through the boxes digit by digit, looking for the fewest cells, and
/// seldom through the candidates of a cell. Set once by trial on the table of times; the fitted rates do the timing.
fn taken(kind: usize, digit: Digit, looked_at: usize, last: Option<Digit>) -> f64 {
    let again = if last == Some(digit) { 1.5 } else { 0.0 };
    ([-0.8, -0.8, 0.0, 0.0, -4.0][kind] + again - 0.4 * looked_at as f64).exp()
}

/// Facts are taken with like readiness.
fn seen_fact(sighting: &Sighting) -> Seen {
    let kind = match sighting.deduction {
        Deduction::LockedCandidates => 5,
        Deduction::HiddenPair | Deduction::NakedPair => 6,
        Deduction::WhatIf => 8,
        _ => 7,
    };
    (kind, 1.0)
}

/// What the cheapest tier that shows anything has.
fn facts_in_view(position: &Position) -> Vec<Sighting> {
    let mut found = Vec::new();
    for find in TIERS {
        find(position, &mut found);
        if !found.is_empty() {
            return found;
        }
    }
    found.extend(forcing::find_branching(position, DEEPEST));
    found
}

/// How many digits have two, three and four places left in a box, one for each such box.
fn places_left(position: &Position) -> [u16; 3] {
    let mut counts = [0; 3];
    for house in House::ALL.into_iter().filter(|house| house.is_square()) {
        for digit in Digit::ALL {
            if let Some(count) = position.places_in(digit, house).len().checked_sub(2).and_then(|at| counts.get_mut(at)) {
                *count += 1;
            }
        }
    }
    counts
}

/// A small generator of random numbers: xorshift (Marsaglia 2003), which is plenty for drawing orders.
struct Random(u64);

impl Random {
    /// From nought to one, without one.
    fn share(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// The place of one of those seen, each as likely as it is readily taken; `None` of none.
    fn one_of(&mut self, seen: &[Seen]) -> Option<usize> {
        let mut left = self.share() * seen.iter().map(|(_, readily)| readily).sum::<f64>();
        let passed = seen.iter().take_while(|(_, readily)| {
            left -= readily;
            left >= 0.0
        });
        (!seen.is_empty()).then(|| passed.count().min(seen.len() - 1))
    }
}
