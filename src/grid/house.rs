use std::fmt;

use super::{Cell, CellSet};

/// A row, a column or a box: nine cells that hold each digit once.
///
/// ```
/// use gridlift::grid::House;
/// let house = House::square(4).unwrap();
/// assert_eq!(house.to_string(), "box 5");
/// assert_eq!(house.cells().iter().next().unwrap().to_string(), "r4c4");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct House(u8);

const ALL: [House; 27] = {
    let mut all = [House(0); 27];
    let mut index = 0;
    while index < 27 {
        all[index] = House(index as u8);
        index += 1;
    }
    all
};

const CELLS: [CellSet; 27] = {
    let mut sets = [0u128; 27];
    let mut index = 0;
    while index < 81 {
        sets[index / 9] |= 1 << index;
        sets[9 + index % 9] |= 1 << index;
        sets[18 + index / 27 * 3 + index % 9 / 3] |= 1 << index;
        index += 1;
    }
    let mut cells = [CellSet::EMPTY; 27];
    let mut house = 0;
    while house < 27 {
        cells[house] = CellSet::from_bits(sets[house]);
        house += 1;
    }
    cells
};

impl House {
    /// The rows from the top, the columns from the left, the boxes row by row.
    pub const ALL: [Self; 27] = ALL;

    /// This row, from 0; `None` above 8.
    pub const fn row(row: usize) -> Option<Self> {
        if row < 9 { Some(ALL[row]) } else { None }
    }

    /// This column, from 0; `None` above 8.
    pub const fn column(column: usize) -> Option<Self> {
        if column < 9 { Some(ALL[9 + column]) } else { None }
    }

    /// This box, row by row from 0; `None` above 8.
    pub const fn square(square: usize) -> Option<Self> {
        if square < 9 { Some(ALL[18 + square]) } else { None }
    }

    /// Its place in [`House::ALL`], 0 to 26.
    pub const fn index(self) -> usize {
        self.0 as usize
    }

    /// Its number among its kind, 0 to 8.
    pub const fn number(self) -> usize {
        self.0 as usize % 9
    }

    /// Whether it is a row.
    pub const fn is_row(self) -> bool {
        self.0 < 9
    }

    /// Whether it is a column.
    pub const fn is_column(self) -> bool {
        9 <= self.0 && self.0 < 18
    }

    /// Whether it is a box.
    pub const fn is_square(self) -> bool {
        18 <= self.0
    }

    /// Its nine cells.
    pub const fn cells(self) -> CellSet {
        CELLS[self.0 as usize]
    }

    /// Whether the cell lies in it.
    pub const fn contains(self, cell: Cell) -> bool {
        CELLS[self.0 as usize].contains(cell)
    }
}

impl fmt::Display for House {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let kind = if self.is_row() {
            "row"
        } else if self.is_column() {
            "column"
        } else {
            "box"
        };
        write!(f, "{kind} {}", self.number() + 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_cell_lies_in_its_three_houses() {
        for cell in Cell::ALL {
            let holding: Vec<House> = House::ALL.into_iter().filter(|house| house.contains(cell)).collect();
            assert_eq!(holding, cell.houses());
        }
        assert!(House::ALL.iter().all(|house| house.cells().len() == 9));
    }
}
