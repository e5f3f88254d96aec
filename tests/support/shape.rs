//! Puzzles of any shape: where their houses lie.

/// Where the houses of a square puzzle lie: `SIDE` rows, columns and boxes of `SIDE` cells each, `CELLS` = `SIDE`² in all.
///
/// `SIDE` is at most 16. Cells are numbered row by row from 0.
#[derive(Clone, Debug)]
pub struct Shape<const SIDE: usize, const CELLS: usize> {
    /// Rows, columns, boxes; of each kind `SIDE` houses; of each house its cells.
    pub houses: [[[u8; SIDE]; SIDE]; 3],
    /// Of each cell its row, its column and its box.
    pub places: [[u8; 3]; CELLS],
    /// Rows of a box, then its columns.
    pub box_size: [usize; 2],
}

impl Shape<9, 81> {
    /// The usual puzzle: boxes of three rows and three columns.
    pub const NINE: Self = Self::new(3, 3);
}

impl<const SIDE: usize, const CELLS: usize> Shape<SIDE, CELLS> {
    /// The puzzle whose boxes have this many rows and columns.
    ///
    /// # Panics
    /// Unless `box_rows` times `box_columns` is `SIDE`, `SIDE` squared is `CELLS`, and `SIDE` is at most 16. In a
    /// constant, that is a compile error.
    pub const fn new(box_rows: usize, box_columns: usize) -> Self {
        assert!(box_rows * box_columns == SIDE && SIDE * SIDE == CELLS && SIDE <= 16, "a box holds each digit once");
        let mut houses = [[[0; SIDE]; SIDE]; 3];
        let mut places = [[0; 3]; CELLS];
        let mut cell = 0;
        while cell < CELLS {
            let (row, column) = (cell / SIDE, cell % SIDE);
            let square = row / box_rows * box_rows + column / box_columns;
            let within = row % box_rows * box_columns + column % box_columns;
            houses[0][row][column] = cell as u8;
            houses[1][column][row] = cell as u8;
            houses[2][square][within] = cell as u8;
            places[cell] = [row as u8, column as u8, square as u8];
            cell += 1;
        }
        Self { houses, places, box_size: [box_rows, box_columns] }
    }
}
