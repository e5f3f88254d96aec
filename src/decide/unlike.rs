//! How like the others of its kind a digit is, as evidence of print.
//!
//! Before the networks' looks are fused each is weighed by the likeness of all digits, printed or written (`classify/copies.rs`). What is taken for print in the end must be like print:
//! a digit that is less like its nearest fellow than most of this page's are may be written, and one that is as like is print.

use super::judge::top;
use crate::classify::{CLASSES, lean_to_print};

/// Log odds of handwriting by how much less like its nearest fellow a digit is than the middle one, in nats, with straight lines between. Of 9,922 digits taken for print on 1,850 pages
/// of three drawers and ours which might be written by 1 in 300,000 at least, 95 are: where it is 1 to 10 %, none of 153 below 0.25, seven of 124 up to 1.5, 10 of 45 beyond; where it
/// is 0.1 to 1 %, 4 of 373, one of 302 and 8 of 84.
const ODDS: [(f64, f64); 4] = [(0.1, -1.0), (0.4, 0.0), (1.2, 0.0), (1.8, 3.0)];

fn log_odds(unlike: f64) -> f64 {
    let [(first, least), .., (_, most)] = ODDS;
    if unlike <= first {
        return least;
    }
    let between = ODDS.windows(2).find(|ends| unlike <= ends[1].0);
    between.map_or(most, |ends| {
        let ((from, low), (to, high)) = (ends[0], ends[1]);
        low + (high - low) * (unlike - from) / (to - from)
    })
}

/// Cells' probabilities (classes as in [`crate::classify::Evidence`]), with given and entry weighed by how `unlike` the others of its kind a digit is, in nats (`None`: it is alone).
/// What would turn a cell's reading leaves it as it is: that is for a person to settle.
pub(super) fn weigh(cells: &[[f64; CLASSES]], unlike: &[Option<f64>; 81]) -> Vec<[f64; CLASSES]> {
    let weighed = |(row, unlike): (&[f64; CLASSES], &Option<f64>)| {
        let Some(unlike) = unlike else { return *row };
        let mut after = *row;
        lean_to_print(&mut after, -log_odds(*unlike));
        if top(&after, 0..CLASSES) == top(row, 0..CLASSES) { after } else { *row }
    };
    cells.iter().zip(unlike).map(weighed).collect()
}
