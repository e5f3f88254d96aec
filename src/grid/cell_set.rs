use std::fmt;
use std::ops::{BitAnd, BitAndAssign, BitOr, BitOrAssign, BitXor, Not, Sub, SubAssign};

use super::{Cell, House};

const WHOLE: u128 = (1 << 81) - 1;

/// A set of cells, one bit a cell, iterated row by row.
///
/// ```
/// use gridlift::grid::{CellSet, House};
/// let (row, square) = (House::row(0).unwrap(), House::square(0).unwrap());
/// let shared = row.cells() & square.cells();
/// assert_eq!(shared.to_string(), "r1c1 r1c2 r1c3");
/// assert_eq!((row.cells() - shared).len(), 6);
/// assert_eq!((!CellSet::EMPTY).len(), 81);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct CellSet(u128);

impl CellSet {
    /// No cell.
    pub const EMPTY: Self = Self(0);
    /// All cells.
    pub const ALL: Self = Self(WHOLE);

    /// The cells whose bits are set, bit 0 for r1c1; bits above 80 are left out.
    pub const fn from_bits(bits: u128) -> Self {
        Self(bits & WHOLE)
    }

    /// One bit a cell, bit 0 for r1c1.
    pub const fn bits(self) -> u128 {
        self.0
    }

    /// The set of this cell alone.
    pub const fn of(cell: Cell) -> Self {
        Self(1 << cell.index())
    }

    /// How many cells.
    pub const fn len(self) -> usize {
        self.0.count_ones() as usize
    }

    /// Whether there is none.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Whether the cell is in it.
    pub const fn contains(self, cell: Cell) -> bool {
        self.0 >> cell.index() & 1 == 1
    }

    /// Whether every cell of it is in `other`.
    pub const fn is_subset(self, other: Self) -> bool {
        self.0 & !other.0 == 0
    }

    /// Whether the two share a cell.
    pub const fn meets(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }

    /// Puts the cell in.
    pub fn insert(&mut self, cell: Cell) {
        self.0 |= 1 << cell.index();
    }

    /// Takes the cell out.
    pub fn remove(&mut self, cell: Cell) {
        self.0 &= !(1 << cell.index());
    }

    /// Its first cell, row by row; `None` when empty.
    pub const fn first(self) -> Option<Cell> {
        if self.0 == 0 { None } else { Cell::new(self.0.trailing_zeros() as usize) }
    }

    /// Its cell, where it has exactly one.
    pub const fn only(self) -> Option<Cell> {
        if self.0.is_power_of_two() { self.first() } else { None }
    }

    /// Its cells, row by row.
    pub fn iter(self) -> impl Iterator<Item = Cell> + Clone {
        let mut bits = self.0;
        std::iter::from_fn(move || {
            let cell = Self(bits).first()?;
            bits &= bits - 1;
            Some(cell)
        })
    }

    /// The cells outside it that every one of its cells sees; all cells for the empty set.
    pub fn common_peers(self) -> Self {
        self.iter().fold(Self::ALL, |common, cell| common & cell.peers())
    }

    /// The houses that hold all of its cells, rows first; all houses for the empty set.
    pub fn common_houses(self) -> impl Iterator<Item = House> {
        House::ALL.into_iter().filter(move |house| self.is_subset(house.cells()))
    }
}

impl BitAnd for CellSet {
    type Output = Self;
    fn bitand(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }
}

impl BitOr for CellSet {
    type Output = Self;
    fn bitor(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }
}

impl BitXor for CellSet {
    type Output = Self;
    fn bitxor(self, other: Self) -> Self {
        Self(self.0 ^ other.0)
    }
}

impl Sub for CellSet {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }
}

impl Not for CellSet {
    type Output = Self;
    fn not(self) -> Self {
        Self(!self.0 & WHOLE)
    }
}

impl BitAndAssign for CellSet {
    fn bitand_assign(&mut self, other: Self) {
        *self = *self & other;
    }
}

impl BitOrAssign for CellSet {
    fn bitor_assign(&mut self, other: Self) {
        *self = *self | other;
    }
}

impl SubAssign for CellSet {
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl From<Cell> for CellSet {
    fn from(cell: Cell) -> Self {
        Self::of(cell)
    }
}

impl FromIterator<Cell> for CellSet {
    fn from_iter<I: IntoIterator<Item = Cell>>(cells: I) -> Self {
        Self(cells.into_iter().fold(0, |bits, cell| bits | 1 << cell.index()))
    }
}

impl fmt::Display for CellSet {
    /// The names of its cells, a space between two.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (n, cell) in self.iter().enumerate() {
            write!(f, "{}{cell}", if n == 0 { "" } else { " " })?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn iterates_what_was_put_in() {
        let cells = [Cell::ALL[0], Cell::ALL[40], Cell::ALL[80]];
        let mut set: CellSet = cells.into_iter().collect();
        assert!(set.iter().eq(cells));
        set.remove(cells[1]);
        set.insert(cells[0]);
        assert_eq!(set.to_string(), "r1c1 r9c9");
        assert_eq!(set.only(), None);
        assert_eq!(CellSet::of(cells[2]).only(), Some(cells[2]));
    }

    #[test]
    fn common_peers_are_seen_by_all() {
        let pair: CellSet = [Cell::ALL[0], Cell::ALL[1]].into_iter().collect();
        assert_eq!(pair.common_peers().len(), 13);
        let names: Vec<String> = pair.common_houses().map(|house| house.to_string()).collect();
        assert_eq!(names, ["row 1", "box 1"]);
    }
}
