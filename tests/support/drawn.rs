//! Pages drawn line by line: paper, rules, letters, puzzles.

#![allow(dead_code, reason = "each test file uses a part of it")]

use ab_glyph::{Font, FontRef, PxScale, ScaleFont, point};
use gridlift::decode::Page;
use gridlift::plane::{Lattice, Point};
use image::{GrayImage, Luma};
use imageproc::drawing::draw_filled_rect_mut;
use imageproc::rect::Rect;

const FONT: &[u8] = include_bytes!("../../src/picture/label.ttf");
pub const PAPER: Luma<u8> = Luma([236]);
pub const INK: Luma<u8> = Luma([40]);
/// A screen of dots as a press prints it for grey, seen from afar.
pub const SHADE: Luma<u8> = Luma([190]);

/// A puzzle with one solution.
pub const PUZZLE: &str = "...4.....9.7.....3.85...2...7..9.1..15..7..3....6...2...47.9.8..13..2.4.8.9.5....";

/// The same with fewer givens, which have many solutions, as those of a puzzle have whose further rules aren't known.
pub const FEWER: &str = "...4.....9.7.....3..5...2...7..9....15..7..3....6...2...4..9.8..1...2.4...9.5....";

pub fn paper(width: u32, height: u32) -> GrayImage {
    GrayImage::from_pixel(width, height, PAPER)
}

/// The picture as the program decodes it from a file.
pub fn page(luma: GrayImage) -> Page {
    Page { number: 1, luma, chroma: None, damage: Vec::new(), digits: Vec::new() }
}

/// A rectangle filled with `shade`; nothing where it has no area.
pub fn fill(page: &mut GrayImage, (x, y): (i32, i32), (width, height): (i32, i32), shade: Luma<u8>) {
    if width > 0 && height > 0 {
        draw_filled_rect_mut(page, Rect::at(x, y).of_size(width as u32, height as u32), shade);
    }
}

/// Cells in rows and columns.
#[derive(Clone, Copy)]
pub struct Table {
    pub corner: (i32, i32),
    pub columns: i32,
    pub rows: i32,
    /// The side of a cell in pixels.
    pub pitch: i32,
    /// Width of its lines in pixels.
    pub line: i32,
}

impl Table {
    /// The top left corner of a cell.
    pub fn cell(&self, row: i32, column: i32) -> (i32, i32) {
        (self.corner.0 + column * self.pitch, self.corner.1 + row * self.pitch)
    }

    pub fn draw(&self, page: &mut GrayImage) {
        self.heavy(page, (1, 1), self.line);
    }

    /// Lines of `width` pixels around blocks of so many columns and rows, the rim among them.
    pub fn heavy(&self, page: &mut GrayImage, (columns, rows): (i32, i32), width: i32) {
        let back = width / 2;
        let (long, high) = (self.columns * self.pitch + width, self.rows * self.pitch + width);
        for column in (0..=self.columns).filter(|column| column % columns == 0 || *column == self.columns) {
            let (x, y) = self.cell(0, column);
            fill(page, (x - back, y - back), (width, high), INK);
        }
        for row in (0..=self.rows).filter(|row| row % rows == 0 || *row == self.rows) {
            let (x, y) = self.cell(row, 0);
            fill(page, (x - back, y - back), (long, width), INK);
        }
    }

    /// Writes what `text` gives into the middle of each cell.
    pub fn write(&self, page: &mut GrayImage, text: impl Fn(i32, i32) -> Option<String>) {
        let size = self.pitch * 7 / 10;
        for (row, column) in (0..self.rows).flat_map(|row| (0..self.columns).map(move |column| (row, column))) {
            if let Some(text) = text(row, column) {
                let (x, y) = self.cell(row, column);
                write(page, (x + (self.pitch - width_of(&text, size)) / 2, y + (self.pitch - size) / 2), size, &text);
            }
        }
    }

    /// Writes the digits of a line of as many characters as there are cells.
    pub fn write_line(&self, page: &mut GrayImage, line: &str) {
        let digit = |row: i32, column: i32| line.chars().nth((row * self.columns + column) as usize).filter(char::is_ascii_digit);
        self.write(page, |row, column| digit(row, column).map(String::from));
    }

    /// Where the lines of nine by nine cells cross.
    pub fn lattice(&self) -> Lattice {
        let at = |row: usize, column: usize| {
            let (x, y) = self.cell(row as i32, column as i32);
            Point::new(x as f32, y as f32)
        };
        Lattice::from(std::array::from_fn(|row| std::array::from_fn(|column| at(row, column))))
    }
}

/// Nine by nine cells, `pitch` pixels each.
pub fn nine(corner: (i32, i32), pitch: i32) -> Table {
    Table { corner, columns: 9, rows: 9, pitch, line: (pitch / 30).max(1) }
}

/// A printed puzzle: the lattice of its lines is given back.
pub fn puzzle(page: &mut GrayImage, corner: (i32, i32), pitch: i32, line: &str) -> Lattice {
    let table = nine(corner, pitch);
    table.draw(page);
    table.heavy(page, (3, 3), 3 * table.line);
    table.write_line(page, line);
    table.lattice()
}

fn font() -> FontRef<'static> {
    FontRef::try_from_slice(FONT).expect("the bundled font")
}

/// How long a line of text is, in pixels, at a size of so many pixels.
pub fn width_of(text: &str, size: i32) -> i32 {
    let font = font();
    let scaled = font.as_scaled(PxScale::from(size as f32));
    text.chars().map(|letter| scaled.h_advance(font.glyph_id(letter))).sum::<f32>().round() as i32
}

/// Draws a line of text, its top left at (`x`, `y`), `size` pixels high.
pub fn write(page: &mut GrayImage, (x, y): (i32, i32), size: i32, text: &str) {
    let font = font();
    let scaled = font.as_scaled(PxScale::from(size as f32));
    let mut right = x as f32;
    for letter in text.chars() {
        let id = font.glyph_id(letter);
        let glyph = id.with_scale_and_position(size as f32, point(right, y as f32 + scaled.ascent()));
        right += scaled.h_advance(id);
        let Some(outline) = font.outline_glyph(glyph) else { continue };
        let bounds = outline.px_bounds();
        outline.draw(|column, row, share| {
            let (x, y) = (bounds.min.x as i32 + column as i32, bounds.min.y as i32 + row as i32);
            if share > 0.5 && (0..page.width() as i32).contains(&x) && (0..page.height() as i32).contains(&y) {
                page.put_pixel(x as u32, y as u32, INK);
            }
        });
    }
}
