//! Puzzles made from a seed, the same everywhere: sound ones, corrupted ones, images under the symmetries.

#![allow(dead_code, reason = "each test file uses a part of it")]

use gridlift::grid::{Board, Cell, Digit};
use gridlift::prove;

/// 17-given puzzles written down from memory; the tests show that each has exactly one solution.
pub const SEVENTEEN: [&str; 3] = [
    "000000010400000000020000000000050407008000300001090000300400200050100000000806000",
    "000000010400000000020000000000050604008000300001090000300400200050100000000807000",
    "000000012000035000000600070700000300000400800100000000000120000080000040050000600",
];

/// A sequence of numbers from a seed (SplitMix64, Steele, Lea and Flood 2014).
pub struct Numbers(u64);

impl Numbers {
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// A number below `limit`.
    pub fn below(&mut self, limit: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ mixed >> 30).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ mixed >> 27).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((mixed ^ mixed >> 31) % limit as u64) as usize
    }

    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.below(last + 1));
        }
    }

    pub fn digit(&mut self) -> Digit {
        Digit::ALL[self.below(9)]
    }
}

/// A finished grid: digits put anywhere as long as there is a solution.
pub fn finished(numbers: &mut Numbers) -> Board {
    let mut board = Board::EMPTY;
    loop {
        match prove::prove(&board) {
            proof if proof.count == prove::Count::One => return proof.solution.expect("there is one"),
            _ => loop {
                let (cell, digit) = (Cell::ALL[numbers.below(81)], numbers.digit());
                let next = board.with(cell, Some(digit));
                if board.get(cell).is_none() && prove::count(&next, 1) == 1 {
                    board = next;
                    break;
                }
            },
        }
    }
}

/// A sound puzzle without a spare given.
pub fn minimal(numbers: &mut Numbers) -> Board {
    let mut board = finished(numbers);
    let mut order = Cell::ALL;
    numbers.shuffle(&mut order);
    for cell in order {
        let without = board.with(cell, None);
        if prove::count(&without, 2) == 1 {
            board = without;
        }
    }
    board
}

/// A sound puzzle with up to this many givens more than it needs.
pub fn sound(numbers: &mut Numbers, more: usize) -> Board {
    let mut board = minimal(numbers);
    let solution = prove::prove(&board).solution.expect("a minimal puzzle is sound");
    for _ in 0..numbers.below(more + 1) {
        let cell = Cell::ALL[numbers.below(81)];
        board.set(cell, solution.get(cell));
    }
    board
}

/// The puzzle with one to three cells changed at random, as a misreading would: another digit, one more or one less.
pub fn corrupted(puzzle: &Board, numbers: &mut Numbers) -> Board {
    let mut board = *puzzle;
    for _ in 0..=numbers.below(3) {
        let cell = Cell::ALL[numbers.below(81)];
        let digit = if numbers.below(4) == 0 { None } else { Some(numbers.digit()) };
        board.set(cell, digit);
    }
    board
}

/// A random image of the board under the symmetries that keep the rules, digits renamed too.
pub fn image(board: &Board, numbers: &mut Numbers) -> Board {
    let mut lines = || {
        let mut bands = [0, 1, 2];
        numbers.shuffle(&mut bands);
        let mut all = [0; 9];
        for (place, band) in bands.into_iter().enumerate() {
            let mut rows = [0, 1, 2];
            numbers.shuffle(&mut rows);
            for within in 0..3 {
                all[3 * place + within] = 3 * band + rows[within];
            }
        }
        all
    };
    let (rows, columns) = (lines(), lines());
    let mut names = Digit::ALL;
    numbers.shuffle(&mut names);
    let turned = numbers.below(2) == 1;
    Board::from_fn(|cell| {
        let (row, column) = (rows[usize::from(cell.row())], columns[usize::from(cell.column())]);
        let (row, column) = if turned { (column, row) } else { (row, column) };
        board.get(Cell::at(row, column).expect("below nine")).map(|digit| names[digit.index()])
    })
}
