//! Runs the stages over one page or many: the only room that knows the whole pipeline.

use crate::decide::Reading;
use crate::decode::Damage;
use crate::plane::{Lattice, Turn};

/// All that was read of one page.
#[derive(Clone, Debug)]
pub struct PageReading {
    /// Which page of its file, from 1.
    pub number: u32,
    /// Width and height of the upright page, in pixels.
    pub size: (u32, u32),
    /// What was wrong with the file.
    pub damage: Vec<Damage>,
    /// The grids, in reading order.
    pub grids: Vec<GridReading>,
    /// Milliseconds spent in each stage.
    pub times: StageTimes,
}

/// One grid of a page.
#[derive(Clone, Debug)]
pub struct GridReading {
    /// The crossings, rows as printed.
    pub lattice: Lattice,
    /// How far the print is rotated clockwise on the page.
    pub turn: Turn,
    /// What was read.
    pub reading: Reading,
    /// The number or title printed by the grid, with its box (x, y, width, height in pixels).
    pub label: Option<(String, [f32; 4])>,
    /// Whether the printed solution elsewhere agrees with this puzzle's; `None` where none was found.
    pub printed_solution_agrees: Option<bool>,
}

/// Milliseconds of wall time spent in each stage of one page.
#[derive(Clone, Copy, Debug, Default)]
pub struct StageTimes {
    /// Bytes to page.
    pub decode: f64,
    /// Page to lattices.
    pub find: f64,
    /// Cutting, classifying and deciding.
    pub read: f64,
    /// Solving, counted within `read` too.
    pub prove: f64,
}
