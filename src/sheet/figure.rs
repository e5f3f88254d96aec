//! A grid: its lines, its digits, and the same in words.

use crate::grid::{Board, Cell, Digit};

use super::Face;
use super::layout::DIGIT;
use super::page::{BLACK, Ink, Item, Path, Pen};

/// The height of the font's digits in sizes.
pub(super) const DIGIT_HEIGHT: f32 = 0.727;

/// The lines of a grid of this side, its top left corner at the origin. All are black and of a width that copiers keep: cells are told
/// from boxes by the width alone.
pub fn lines(side: f32) -> Vec<Item> {
    let cell = side / 9.0;
    let (mut thin, mut heavy) = (Path::default(), Path::default());
    for line in 1..9 {
        let at = line as f32 * cell;
        let path = if line % 3 == 0 { &mut heavy } else { &mut thin };
        path.extend(Path::line((0.0, at), (side, at)));
        path.extend(Path::line((at, 0.0), (at, side)));
    }
    heavy.extend(Path::rectangle(0.0, 0.0, side, side));
    vec![
        Item::Stroke { path: thin, pen: Pen::new((side / 550.0).max(0.5), BLACK) },
        Item::Stroke { path: heavy, pen: Pen::new((side / 170.0).max(1.2), BLACK) },
    ]
}

/// The middle of a cell of a grid of this side.
pub fn middle(cell: Cell, side: f32) -> (f32, f32) {
    let pitch = side / 9.0;
    ((f32::from(cell.column()) + 0.5) * pitch, (f32::from(cell.row()) + 0.5) * pitch)
}

/// A text with its middle here.
pub fn centred(text: &str, (x, y): (f32, f32), size: f32, face: Face, ink: Ink) -> Item {
    Item::Text { at: (x - face.width(text, size) / 2.0, y + DIGIT_HEIGHT / 2.0 * size), size, face, ink, text: text.into() }
}

/// A digit in its cell.
pub fn written(cell: Cell, digit: Digit, face: Face, side: f32) -> Item {
    centred(&digit.to_string(), middle(cell, side), side / 9.0 * DIGIT, face, BLACK)
}

/// The board row by row, to be read aloud.
pub fn told(board: &Board) -> String {
    let mut text = String::new();
    for cell in Cell::ALL {
        match cell.column() {
            0 => text.push_str(&format!(" Row {}:", cell.row() + 1)),
            3 | 6 => text.push(','),
            _ => {}
        }
        text.push_str(&board.get(cell).map_or_else(|| " blank".into(), |digit| format!(" {digit}")));
        if cell.column() == 8 {
            text.push('.');
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_is_told_box_by_box() {
        let board: Board = format!("12.......{}", ".".repeat(72)).parse().unwrap();
        assert!(told(&board).starts_with(" Row 1: 1 2 blank, blank blank blank, blank blank blank. Row 2: blank"), "{}", told(&board));
    }
}
