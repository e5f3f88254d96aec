use std::fmt;

use crate::grid::{Cell, CellSet};

/// A symmetry of the places of the givens, whatever their digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Symmetry {
    /// The same after half a turn.
    HalfTurn,
    /// The same after a quarter of a turn.
    QuarterTurn,
    /// The same when mirrored about the middle row.
    AcrossRowAxis,
    /// The same when mirrored about the middle column.
    AcrossColumnAxis,
    /// The same when mirrored about the diagonal from the top left.
    AcrossDiagonal,
    /// The same when mirrored about the diagonal from the top right.
    AcrossOtherDiagonal,
}

impl Symmetry {
    /// All of them, in the order in which they are named.
    pub const ALL: [Self; 6] =
        [Self::HalfTurn, Self::QuarterTurn, Self::AcrossRowAxis, Self::AcrossColumnAxis, Self::AcrossDiagonal, Self::AcrossOtherDiagonal];

    /// Where it takes a cell.
    pub fn image(self, cell: Cell) -> Cell {
        let (row, column) = (usize::from(cell.row()), usize::from(cell.column()));
        let (row, column) = match self {
            Self::HalfTurn => (8 - row, 8 - column),
            Self::QuarterTurn => (column, 8 - row),
            Self::AcrossRowAxis => (8 - row, column),
            Self::AcrossColumnAxis => (row, 8 - column),
            Self::AcrossDiagonal => (column, row),
            Self::AcrossOtherDiagonal => (8 - column, 8 - row),
        };
        Cell::ALL[9 * row + column]
    }
}

impl fmt::Display for Symmetry {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::HalfTurn => "half turn",
            Self::QuarterTurn => "quarter turn",
            Self::AcrossRowAxis => "across the row axis",
            Self::AcrossColumnAxis => "across the column axis",
            Self::AcrossDiagonal => "across a diagonal",
            Self::AcrossOtherDiagonal => "across the other diagonal",
        })
    }
}

/// The symmetries of a pattern of cells, in the order of [`Symmetry::ALL`].
pub fn symmetries(pattern: CellSet) -> Vec<Symmetry> {
    let keeps = |symmetry: &Symmetry| pattern.iter().all(|cell| pattern.contains(symmetry.image(cell)));
    Symmetry::ALL.into_iter().filter(keeps).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patterns_name_their_symmetries() {
        let cases = [
            ("r1c1 r9c9", "half turn, across a diagonal, across the other diagonal"),
            ("r1c2 r2c9 r9c8 r8c1", "half turn, quarter turn"),
            ("r1c2 r9c2", "across the row axis"),
            ("r1c2 r1c8", "across the column axis"),
            ("r1c2 r2c1", "across a diagonal"),
            ("r1c8 r2c9", "across the other diagonal"),
            ("r1c2 r2c4", ""),
        ];
        for (cells, names) in cases {
            let pattern: CellSet = cells.split(' ').map(|cell| cell.parse::<Cell>().unwrap()).collect();
            let found: Vec<String> = symmetries(pattern).iter().map(ToString::to_string).collect();
            assert_eq!(found.join(", "), names, "{cells}");
        }
        assert_eq!(symmetries(CellSet::ALL).len(), 6);
    }
}
