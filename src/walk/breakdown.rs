//! Whether a strike's opposite breaks down for someone who takes every single in turn and knows nothing but the step's reasons.

use crate::grid::{Cell, CellSet, Digit, Digits, House};

use super::cite::{Because, fix};
use super::position::Position;
use super::step::{Put, Rectangle, Sighting};

/// Most placements within which the opposite of a strike must break down.
const MOST: usize = 16;

/// Whether the opposite of every strike breaks down within [`MOST`] placements, singles taken in reading order.
pub(super) fn is_refuted(position: &Position, sighting: &Sighting, because: &Because) -> bool {
    let free = sighting.houses.iter().fold(CellSet::EMPTY, |free, house| free | house.cells());
    let left = because.candidates(position, free);
    let open = CellSet::ALL - (position.filled & (because.cells | free));
    let mut opposites = sighting.strikes.iter().flat_map(|strike| strike.digits.iter().map(|digit| Put { cell: strike.cell, digit }));
    opposites.all(|opposite| breaks_down(left, open, opposite, sighting.rectangle.as_ref()))
}

fn breaks_down(mut left: [Digits; 81], mut open: CellSet, assumed: Put, rectangle: Option<&Rectangle>) -> bool {
    fix(&mut left, assumed);
    open.remove(assumed.cell);
    for _ in 1..MOST {
        if is_broken(&left, rectangle) {
            return true;
        }
        let Some((cell, digit)) = open.iter().find_map(|cell| Some((cell, single(&left, cell)?))) else { return false };
        fix(&mut left, Put { cell, digit });
        open.remove(cell);
    }
    is_broken(&left, rectangle)
}

/// Whether a cell or a house runs dry, or the rectangle holds nothing but its pair.
fn is_broken(left: &[Digits; 81], rectangle: Option<&Rectangle>) -> bool {
    let union = |house: House| house.cells().iter().fold(Digits::EMPTY, |all, cell| all | left[cell.index()]);
    let is_pair = |rectangle: &Rectangle| {
        let pair = Digits::from_iter(rectangle.digits);
        rectangle.cells.iter().all(|cell| left[cell.index()].is_subset(pair))
    };
    left.iter().any(|digits| digits.is_empty())
        || House::ALL.into_iter().any(|house| union(house) != Digits::ALL)
        || rectangle.is_some_and(is_pair)
}

fn single(left: &[Digits; 81], cell: Cell) -> Option<Digit> {
    left[cell.index()].only().or_else(|| {
        let elsewhere =
            |house: House| (house.cells() - CellSet::of(cell)).iter().fold(Digits::EMPTY, |all, other| all | left[other.index()]);
        cell.houses().into_iter().find_map(|house| (left[cell.index()] - elsewhere(house)).first())
    })
}
