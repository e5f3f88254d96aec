use std::fmt;
use std::str::FromStr;

use super::{CellSet, House};

/// One of the 81 cells, named by row and column from the top left.
///
/// ```
/// use gridlift::grid::Cell;
/// let cell: Cell = "r4c7".parse().unwrap();
/// assert_eq!((cell.row(), cell.column(), cell.square()), (3, 6, 5));
/// assert_eq!(cell.to_string(), "r4c7");
/// assert_eq!(cell.peers().len(), 20);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Cell(u8);

const ALL: [Cell; 81] = {
    let mut all = [Cell(0); 81];
    let mut index = 0;
    while index < 81 {
        all[index] = Cell(index as u8);
        index += 1;
    }
    all
};

const PEERS: [CellSet; 81] = {
    let mut peers = [CellSet::EMPTY; 81];
    let mut index = 0;
    while index < 81 {
        let [row, column, square] = ALL[index].houses();
        let all = row.cells().bits() | column.cells().bits() | square.cells().bits();
        peers[index] = CellSet::from_bits(all & !(1 << index));
        index += 1;
    }
    peers
};

impl Cell {
    /// All cells, row by row.
    pub const ALL: [Self; 81] = ALL;

    /// The cell with this index, row by row from 0; `None` above 80.
    pub const fn new(index: usize) -> Option<Self> {
        if index < 81 { Some(ALL[index]) } else { None }
    }

    /// The cell in this row and column, both from 0; `None` outside the grid.
    pub const fn at(row: usize, column: usize) -> Option<Self> {
        if row < 9 && column < 9 { Some(ALL[9 * row + column]) } else { None }
    }

    /// Its place, row by row, 0 to 80.
    pub const fn index(self) -> usize {
        self.0 as usize
    }

    /// Its row, 0 to 8.
    pub const fn row(self) -> u8 {
        self.0 / 9
    }

    /// Its column, 0 to 8.
    pub const fn column(self) -> u8 {
        self.0 % 9
    }

    /// Its box, 0 to 8, row by row. (`box` is a word of the language.)
    pub const fn square(self) -> u8 {
        self.0 / 27 * 3 + self.0 % 9 / 3
    }

    /// Its row, its column and its box.
    pub const fn houses(self) -> [House; 3] {
        let index = self.0 as usize;
        [House::ALL[index / 9], House::ALL[9 + index % 9], House::ALL[18 + index / 27 * 3 + index % 9 / 3]]
    }

    /// The 20 other cells that share a house with it.
    pub const fn peers(self) -> CellSet {
        PEERS[self.0 as usize]
    }

    /// Whether the two cells differ and share a house.
    pub const fn sees(self, other: Self) -> bool {
        PEERS[self.0 as usize].contains(other)
    }
}

impl fmt::Display for Cell {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "r{}c{}", self.row() + 1, self.column() + 1)
    }
}

/// A text that names no cell.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0:?} names no cell: write r4c7 for row 4, column 7")]
pub struct CellError(String);

impl FromStr for Cell {
    type Err = CellError;

    fn from_str(text: &str) -> Result<Self, CellError> {
        let part = |byte: u8| usize::from(byte.wrapping_sub(b'1'));
        match *text.as_bytes() {
            [b'r', row, b'c', column] => Self::at(part(row), part(column)),
            _ => None,
        }
        .ok_or_else(|| CellError(text.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_reads_back() {
        for cell in Cell::ALL {
            assert_eq!(cell.to_string().parse(), Ok(cell));
        }
    }

    #[test]
    fn other_names_are_refused() {
        for text in ["", "r0c1", "r1c0", "r10c1", "c1r1", "R1C1", "r1c1 ", "récé"] {
            assert!(text.parse::<Cell>().is_err(), "{text:?}");
        }
    }

    #[test]
    fn peers_share_a_house() {
        for a in Cell::ALL {
            for b in Cell::ALL {
                let shares = a.row() == b.row() || a.column() == b.column() || a.square() == b.square();
                assert_eq!(a.sees(b), a != b && shares, "{a} {b}");
            }
        }
    }
}
