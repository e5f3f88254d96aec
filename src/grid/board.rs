use std::fmt;
use std::str::FromStr;

use super::{Cell, CellSet, Digit, Digits, House};

/// Digits in some of the 81 cells.
///
/// Its text is the 81-character line, row by row, `.` for an empty cell; reading takes `0` for empty too.
///
/// ```
/// use gridlift::grid::{Board, Cell, Digit};
/// let mut board = Board::EMPTY;
/// board.set(Cell::ALL[1], Digit::new(7));
/// let line = board.to_string();
/// assert!(line.starts_with(".7..."));
/// assert_eq!(line.parse(), Ok(board));
/// assert_eq!(line.replace('.', "0").parse(), Ok(board));
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Board([Option<Digit>; 81]);

impl Board {
    /// No digit anywhere.
    pub const EMPTY: Self = Self([None; 81]);

    /// The board with `digit(cell)` in each cell.
    pub fn from_fn(mut digit: impl FnMut(Cell) -> Option<Digit>) -> Self {
        Self(Cell::ALL.map(&mut digit))
    }

    /// The digit in the cell, where there is one.
    pub const fn get(&self, cell: Cell) -> Option<Digit> {
        self.0[cell.index()]
    }

    /// Puts a digit in the cell, or with `None` empties it.
    pub fn set(&mut self, cell: Cell, digit: Option<Digit>) {
        self.0[cell.index()] = digit;
    }

    /// The same board with this digit, or with `None` nothing, in the cell.
    #[must_use]
    pub fn with(mut self, cell: Cell, digit: Option<Digit>) -> Self {
        self.set(cell, digit);
        self
    }

    /// The cells that hold a digit.
    pub fn filled(&self) -> CellSet {
        Cell::ALL.into_iter().filter(|&cell| self.get(cell).is_some()).collect()
    }

    /// The filled cells with their digits, row by row.
    pub fn placed(&self) -> impl Iterator<Item = (Cell, Digit)> + Clone + '_ {
        Cell::ALL.into_iter().filter_map(|cell| Some((cell, self.get(cell)?)))
    }

    /// The cells that hold this digit.
    pub fn cells_of(&self, digit: Digit) -> CellSet {
        Cell::ALL.into_iter().filter(|&cell| self.get(cell) == Some(digit)).collect()
    }

    /// The digits in these cells.
    pub fn digits_in(&self, cells: CellSet) -> Digits {
        cells.iter().filter_map(|cell| self.get(cell)).collect()
    }

    /// The digits that no peer of the cell holds, whatever stands in the cell itself.
    pub fn candidates(&self, cell: Cell) -> Digits {
        !self.digits_in(cell.peers())
    }

    /// The cells whose digit stands in another cell of the same house.
    pub fn conflicts(&self) -> CellSet {
        let clashes = |(cell, digit): &(Cell, Digit)| self.digits_in(cell.peers()).contains(*digit);
        self.placed().filter(clashes).map(|(cell, _)| cell).collect()
    }

    /// Whether all 81 cells are filled and each house holds each digit once.
    pub fn is_solved(&self) -> bool {
        House::ALL.iter().all(|house| self.digits_in(house.cells()) == Digits::ALL)
    }

    /// Whether `other` has the same digit wherever this one has one.
    pub fn agrees(&self, other: &Self) -> bool {
        self.placed().all(|(cell, digit)| other.get(cell) == Some(digit))
    }
}

impl fmt::Display for Board {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let line: String = self.0.iter().map(|digit| digit.map_or('.', |digit| char::from(b'0' + digit.value()))).collect();
        f.write_str(&line)
    }
}

impl fmt::Debug for Board {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Board({self})")
    }
}

/// Why a text is no 81-character line.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum BoardError {
    /// A character that is neither a digit nor `.`.
    #[error("character {position}, {found:?}, is neither a digit nor '.' (it belongs to {cell})")]
    Character {
        /// Its place in the line, from 1.
        position: usize,
        /// The cell that it stands for.
        cell: Cell,
        /// What stands there.
        found: char,
    },
    /// Too short or too long.
    #[error("a puzzle is a line of 81 characters, row by row, and this one has {0}")]
    Length(usize),
}

impl FromStr for Board {
    type Err = BoardError;

    fn from_str(text: &str) -> Result<Self, BoardError> {
        let mut board = Self::EMPTY;
        for (index, (cell, found)) in Cell::ALL.into_iter().zip(text.chars()).enumerate() {
            match found {
                '.' | '0' => {}
                '1'..='9' => board.set(cell, Digit::new(found as u8 - b'0')),
                _ => return Err(BoardError::Character { position: index + 1, cell, found }),
            }
        }
        match text.chars().count() {
            81 => Ok(board),
            length => Err(BoardError::Length(length)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_of_another_length_says_so() {
        assert_eq!("1.3".parse::<Board>(), Err(BoardError::Length(3)));
        assert_eq!(".".repeat(82).parse::<Board>(), Err(BoardError::Length(82)));
    }

    #[test]
    fn a_strange_character_names_its_place() {
        let line = format!("{}x{}", ".".repeat(10), ".".repeat(70));
        let said = line.parse::<Board>().unwrap_err().to_string();
        assert_eq!(said, "character 11, 'x', is neither a digit nor '.' (it belongs to r2c2)");
    }

    #[test]
    fn equal_digits_in_a_house_conflict() {
        let line = format!("5...5....{}5{}", ".".repeat(36), ".".repeat(35));
        let board: Board = line.parse().unwrap();
        assert_eq!(board.conflicts().to_string(), "r1c1 r1c5 r6c1");
        assert!(!board.is_solved());
    }
}
