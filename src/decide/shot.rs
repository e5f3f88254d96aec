//! What one picture shows of a grid.

use super::judge::judge;
use super::{Mark, Picture, Reading, Thresholds};
use crate::classify::{CLASSES, Evidence};
use crate::grid::{Cell, Digit};

/// The reading of one grid from one or more looks at it (the same cells of one picture, cut differently or read by another network).
pub fn decide(looks: &[Evidence], picture: &Picture, thresholds: &Thresholds) -> Reading {
    Shot::new(looks, picture.clone(), thresholds).read(thresholds)
}

/// What one picture shows of a grid, all looks at it as one: plain numbers that can be kept when the picture is gone.
#[derive(Clone, Debug, PartialEq)]
pub struct Shot {
    /// `[cell][class]`, each row summing to 1, classes as in [`Evidence`].
    pub cells: Vec<[f64; CLASSES]>,
    /// `[cell][digit - 1]`: if the cell holds marks, the probability that the digit is among them.
    pub marks: Vec<[f64; 9]>,
    /// What is known of the picture as a whole.
    pub picture: Picture,
}

impl Shot {
    /// The shot from one or more looks at its grid.
    pub fn new(looks: &[Evidence], picture: Picture, thresholds: &Thresholds) -> Self {
        let count = looks.len().max(1) as f64;
        let mark = |cell: usize, digit: usize| looks.iter().map(|look| look.marks[cell][digit]).sum::<f64>() / count;
        let marks = (0..81).map(|cell| std::array::from_fn(|digit| mark(cell, digit))).collect();
        Self { cells: fuse(looks, thresholds), marks, picture }
    }

    /// The reading of the grid from this shot alone.
    pub fn read(&self, thresholds: &Thresholds) -> Reading {
        let mut reading = judge(&self.cells, &self.picture, thresholds);
        let likely = |cell: Cell| Digit::ALL.into_iter().filter(|digit| self.marks[cell.index()][digit.index()] > 0.5).collect();
        let marked = reading.cells.iter().zip(Cell::ALL).filter(|(cell, _)| cell.read == Mark::Marks).map(|(_, cell)| cell);
        reading.marks = marked.map(|cell| (cell, likely(cell))).collect();
        reading
    }
}

/// All looks at a cell as one: their geometric mean, weighed by `looks`, to the power `fusion`, which calibrates it (looks at one page fail together). Their
/// plain mean where they differ in the cell's class was held against it on 1,440 drawn pages (seeds 840000 to 843059) and made cells less sure than they are right.
fn fuse(looks: &[Evidence], thresholds: &Thresholds) -> Vec<[f64; CLASSES]> {
    /// Keeps the logarithm finite.
    const LEAST: f64 = 1e-12;
    // Fewer looks than there are networks count alike: of two that differ neither is to win.
    let weights = if looks.len() == thresholds.looks.len() { thresholds.looks.clone() } else { vec![1.0; looks.len()] };
    let power = thresholds.fusion / weights.iter().sum::<f64>().max(f64::MIN_POSITIVE);
    let log = |look: &Evidence, cell: usize, class: usize| look.cells[cell][class].max(LEAST).ln();
    let fuse_cell = |cell: usize| {
        let mut row: [f64; CLASSES] = std::array::from_fn(|class| {
            (power * looks.iter().zip(&weights).map(|(look, weight)| weight * log(look, cell, class)).sum::<f64>()).exp()
        });
        let total: f64 = row.iter().sum();
        row.iter_mut().for_each(|p| *p /= total);
        row
    };
    (0..81).map(fuse_cell).collect()
}
