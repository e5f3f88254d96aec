//! Gridlift lifts printed 9x9 sudoku grids off photos of pages and proves what it read.

pub mod classify;
pub mod cli;
pub mod cut;
pub mod decide;
pub mod decode;
pub mod export;
pub mod find;
pub mod grid;
pub mod label;
pub mod lift;
pub mod net;
pub mod picture;
pub mod plane;
pub mod prove;
pub mod sheet;
pub mod walk;
