//! Holds what was read against the truth of drawn pages (`truth.jsonl` of `scripts/pages/generate.py`).

use gridlift::plane::{Lattice, Point};
use serde_json::Value;

/// A text without its blanks, of which it can't be told how many were set, and with one sign for the two that print shows alike ("Nº" and "N°").
pub fn close(text: &str) -> String {
    text.split_whitespace().collect::<String>().replace('º', "°")
}

/// Where the middle cell's middle lies, in pixels of the page.
pub fn middle(lattice: &Lattice) -> Point {
    lattice.points[4][4].toward(lattice.points[5][5], 0.5)
}

/// The same of a grid of the truth.
pub fn middle_of(truth: &Value) -> Point {
    let at = |row: usize, column: usize| {
        let value = &truth["lattice"][row][column];
        Point::new(value[0].as_f64().unwrap_or_default() as f32, value[1].as_f64().unwrap_or_default() as f32)
    };
    at(4, 4).toward(at(5, 5), 0.5)
}
