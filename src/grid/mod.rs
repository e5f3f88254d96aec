//! The puzzle's words: cells, digits, houses, sets of each, and the board with its 81-character line.
//!
//! It knows no pixels and no deductions. All tables are constants; all types but [`Board`] fit a register.

mod board;
mod cell;
mod cell_set;
mod digit;
mod house;

pub use board::{Board, BoardError};
pub use cell::{Cell, CellError};
pub use cell_set::CellSet;
pub use digit::{Digit, DigitError, Digits};
pub use house::House;
