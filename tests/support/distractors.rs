//! What may stand on a page and is no puzzle of nine by nine, and puzzles of nine by nine that follow other rules.
//!
//! Each is drawn into a square of `side` pixels whose top left corner is `corner`.

#![allow(dead_code, reason = "each test file uses a part of it")]

use image::{GrayImage, Luma};

use super::drawn::{FEWER, INK, PUZZLE, SHADE, Table, fill, nine, puzzle, write};
use super::puzzles::Numbers;

/// Draws something into a square of a page: its corner and its side in pixels.
pub type Draw = fn(&mut GrayImage, (i32, i32), i32);

/// A table of `columns` x `rows` square cells that fills the square one way.
fn table(corner: (i32, i32), side: i32, columns: i32, rows: i32) -> Table {
    let pitch = side / columns.max(rows);
    Table { corner, columns, rows, pitch, line: (pitch / 25).max(1) }
}

/// A digit in every fourth cell or so.
fn some(row: i32, column: i32, most: i32) -> Option<String> {
    ((row * 5 + column * 3) % 4 == 0).then(|| ((row * 7 + column * 2) % most + 1).to_string())
}

fn letter(row: i32, column: i32) -> String {
    let at = (row * 31 + column * 17 + row * column * 7) % 26;
    char::from(b'A' + at as u8).to_string()
}

/// A puzzle on the back of the page that shows through.
pub fn seen_through(page: &mut GrayImage, (left, top): (i32, i32), side: i32) {
    let mut back = GrayImage::from_pixel(side as u32, side as u32, Luma([255]));
    puzzle(&mut back, (0, 0), (side - 2) / 9, PUZZLE);
    for (x, y, pixel) in image::imageops::flip_horizontal(&back).enumerate_pixels() {
        let own = page.get_pixel_mut(left as u32 + x, top as u32 + y);
        own.0[0] = (f32::from(own.0[0]) * (1.0 - 0.06 * (1.0 - f32::from(pixel.0[0]) / 255.0))) as u8;
    }
}

/// Black squares in half-turn symmetry, small numbers where words begin.
pub fn crossword(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    crossword_of(page, corner, side, 13);
}

/// As small as a crossword may be, of as many cells as a puzzle.
pub fn crossword_of_nine(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    crossword_of(page, corner, side, 9);
}

fn crossword_of(page: &mut GrayImage, corner: (i32, i32), side: i32, count: i32) {
    let cells = table(corner, side, count, count);
    let black = |row: i32, column: i32| {
        let half = |row: i32, column: i32| row % 2 == 1 && column % 2 == 1 || (row * 3 + column * 5) % 11 == 4;
        half(row, column) || half(count - 1 - row, count - 1 - column)
    };
    cells.draw(page);
    let mut number = 0;
    for (row, column) in (0..count).flat_map(|row| (0..count).map(move |column| (row, column))) {
        let (x, y) = cells.cell(row, column);
        if black(row, column) {
            fill(page, (x, y), (cells.pitch, cells.pitch), INK);
        } else if row == 0 || column == 0 || black(row - 1, column) || black(row, column - 1) {
            number += 1;
            write(page, (x + 3, y + 2), (cells.pitch / 3).max(8), &number.to_string());
        }
    }
}

/// Bars of one to four modules, and the digits below them.
pub fn bar_code(page: &mut GrayImage, (x, y): (i32, i32), side: i32) {
    let (mut numbers, mut at, module) = (Numbers::new(41), 0, (side / 110).max(1));
    while at < side - 8 * module {
        let (bar, gap) = (module * (1 + numbers.below(4) as i32), module * (1 + numbers.below(4) as i32));
        fill(page, (x + at, y), (bar, side / 2), INK);
        at += bar + gap;
    }
    write(page, (x + side / 20, y + side / 2 + 4), side / 9, "9 780262 046305");
}

/// Modules in a square, three eyes in its corners.
pub fn square_code(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    let (mut numbers, cells) = (Numbers::new(43), table(corner, side, 29, 29));
    for (row, column) in (0..29).flat_map(|row| (0..29).map(move |column| (row, column))) {
        if numbers.below(2) == 0 {
            fill(page, cells.cell(row, column), (cells.pitch, cells.pitch), INK);
        }
    }
    for (row, column) in [(0, 0), (0, 22), (22, 0)] {
        for (inset, width, shade) in [(-1, 9, super::drawn::PAPER), (0, 7, INK), (1, 5, super::drawn::PAPER), (2, 3, INK)] {
            fill(page, cells.cell(row + inset, column + inset), (width * cells.pitch, width * cells.pitch), shade);
        }
    }
}

/// Letters over its columns, numbers before its rows, figures in nine by nine of its cells.
pub fn spreadsheet(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    let cells = table(corner, side, 10, 10);
    fill(page, corner, (10 * cells.pitch, cells.pitch), SHADE);
    fill(page, corner, (cells.pitch, 10 * cells.pitch), SHADE);
    cells.draw(page);
    cells.write(page, |row, column| match (row, column) {
        (0, 0) => None,
        (0, column) => Some(char::from(b'A' + column as u8 - 1).to_string()),
        (row, 0) => Some(row.to_string()),
        (row, column) => some(row, column, 9),
    });
}

/// Heads without a frame around nine by nine framed cells.
pub fn spreadsheet_with_loose_heads(page: &mut GrayImage, (x, y): (i32, i32), side: i32) {
    let pitch = side / 10;
    let cells = nine((x + pitch, y + pitch), pitch);
    for i in 0..9 {
        write(page, (x + pitch * (i + 1) + pitch / 3, y + pitch / 4), pitch * 6 / 10, &char::from(b'A' + i as u8).to_string());
        write(page, (x + pitch / 3, y + pitch * (i + 1) + pitch / 4), pitch * 6 / 10, &(i + 1).to_string());
    }
    cells.draw(page);
    cells.write(page, |row, column| some(row, column, 9));
}

/// A letter in each of nine by nine cells.
pub fn word_search_of_nine(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    let cells = table(corner, side, 9, 9);
    cells.draw(page);
    cells.heavy(page, (9, 9), 3 * cells.line);
    cells.write(page, |row, column| Some(letter(row, column)));
}

/// A letter in each of twelve by twelve cells.
pub fn word_search_of_twelve(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    let cells = table(corner, side, 12, 12);
    cells.draw(page);
    cells.heavy(page, (12, 12), 3 * cells.line);
    cells.write(page, |row, column| Some(letter(row, column)));
}

/// Letters in twelve rows without lines.
pub fn word_search_without_lines(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    table(corner, side, 12, 12).write(page, |row, column| Some(letter(row, column)));
}

/// Names of days over five weeks of dates.
pub fn calendar(page: &mut GrayImage, (x, y): (i32, i32), side: i32) {
    let cells = table((x, y + side / 7), side, 7, 5);
    for (i, day) in ["Mo", "Tu", "We", "Th", "Fr", "Sa", "Su"].into_iter().enumerate() {
        write(page, (x + i as i32 * cells.pitch + 4, y + side / 14), cells.pitch / 3, day);
    }
    cells.draw(page);
    cells.write(page, |row, column| Some(row * 7 + column - 1).filter(|date| (1..31).contains(date)).map(|date| date.to_string()));
}

/// Nine by nine cells, a heavy frame and no boxes.
pub fn table_without_boxes(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    let cells = table(corner, side, 9, 9);
    cells.draw(page);
    cells.heavy(page, (9, 9), 3 * cells.line);
    cells.write(page, |row, column| some(row, column, 9));
}

/// Nine by nine cells in blocks of two by two, the last row and column left over.
pub fn table_in_blocks_of_two(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    sized(page, corner, side, 9, (2, 2));
}

pub fn four(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    sized(page, corner, side, 4, (2, 2));
}

pub fn six(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    sized(page, corner, side, 6, (3, 2));
}

pub fn eight(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    sized(page, corner, side, 8, (4, 2));
}

pub fn ten(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    sized(page, corner, side, 10, (5, 2));
}

pub fn twelve(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    sized(page, corner, side, 12, (4, 3));
}

/// Boxes of three by three, as in a puzzle, but four of them each way.
pub fn twelve_in_threes(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    sized(page, corner, side, 12, (3, 3));
}

pub fn sixteen(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    sized(page, corner, side, 16, (4, 4));
}

/// A puzzle of `count` x `count` cells in boxes of so many columns and rows.
fn sized(page: &mut GrayImage, corner: (i32, i32), side: i32, count: i32, boxes: (i32, i32)) {
    let cells = table(corner, side, count, count);
    cells.draw(page);
    cells.heavy(page, boxes, 3 * cells.line);
    cells.write(page, |row, column| some(row, column, count));
}

/// Soft blotches of all sizes with grain on them, as a photograph of leaves or clouds has.
pub fn cloud(page: &mut GrayImage, (left, top): (i32, i32), side: i32) {
    let mut numbers = Numbers::new(47);
    let octaves: Vec<(i32, Vec<f32>)> = [2, 4, 8, 16, 32, 64]
        .into_iter()
        .map(|count| (count, (0..(count + 1) * (count + 1)).map(|_| numbers.below(1000) as f32 / 1000.0 - 0.5).collect()))
        .collect();
    for (x, y) in (0..side).flat_map(|y| (0..side).map(move |x| (x, y))) {
        let level: f32 = octaves
            .iter()
            .map(|(count, values)| {
                let (u, v) = (x as f32 / side as f32 * *count as f32, y as f32 / side as f32 * *count as f32);
                let at = |row: usize, column: usize| values[row * (*count as usize + 1) + column];
                let (row, column, du, dv) = (v as usize, u as usize, u.fract(), v.fract());
                let across = |row: usize| at(row, column) * (1.0 - du) + at(row, column + 1) * du;
                (across(row) * (1.0 - dv) + across(row + 1) * dv) / (*count as f32).powf(0.6)
            })
            .sum();
        let grain = numbers.below(21) as f32 - 10.0;
        page.put_pixel((left + x) as u32, (top + y) as u32, Luma([(130.0 + 170.0 * level + grain).clamp(0.0, 255.0) as u8]));
    }
}

/// Nine regions of nine cells each, none of them a box.
const REGIONS: [&str; 9] =
    ["AAABBBBCC", "AAADBBBCC", "AADDDBBCC", "AEDDDDCCC", "EEEDFFFFF", "EEEGGGGFF", "EEHGGGIIF", "HHHHGGIIF", "HHHHIIIII"];

/// Irregular regions in place of boxes.
pub fn regions(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    let cells = nine(corner, side / 9);
    cells.draw(page);
    let width = 3 * cells.line;
    cells.heavy(page, (9, 9), width);
    let region = |row: i32, column: i32| REGIONS[row as usize].as_bytes()[column as usize];
    for (row, column) in (0..9).flat_map(|row| (0..9).map(move |column| (row, column))) {
        let (x, y) = cells.cell(row, column);
        if column > 0 && region(row, column) != region(row, column - 1) {
            fill(page, (x - width / 2, y - width / 2), (width, cells.pitch + width), INK);
        }
        if row > 0 && region(row, column) != region(row - 1, column) {
            fill(page, (x - width / 2, y - width / 2), (cells.pitch + width, width), INK);
        }
    }
    cells.write_line(page, FEWER);
}

/// The lines of a plain puzzle.
fn frame(page: &mut GrayImage, corner: (i32, i32), side: i32) -> Table {
    let cells = nine(corner, side / 9);
    cells.draw(page);
    cells.heavy(page, (3, 3), 3 * cells.line);
    cells
}

/// Dashed cages of two to four cells with their sums, and nothing else.
pub fn cages(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    let cells = frame(page, corner, side);
    caged(page, &cells);
}

/// Cages and some digits.
pub fn cages_and_digits(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    let cells = frame(page, corner, side);
    caged(page, &cells);
    cells.write_line(page, FEWER);
}

fn caged(page: &mut GrayImage, cells: &Table) {
    let (inset, dash) = (cells.pitch / 10, (cells.pitch / 8).max(3));
    let mut cage = |row: i32, column: i32, width: i32, height: i32| {
        let (x, y) = cells.cell(row, column);
        let (right, bottom) = (x + width * cells.pitch - inset, y + height * cells.pitch - inset);
        for at in (x + inset..right).step_by(2 * dash as usize) {
            for line in [y + inset, bottom] {
                fill(page, (at, line), (dash.min(right - at), cells.line), INK);
            }
        }
        for at in (y + inset..bottom).step_by(2 * dash as usize) {
            for line in [x + inset, right] {
                fill(page, (line, at), (cells.line, dash.min(bottom - at)), INK);
            }
        }
        let sum = (row * 5 + column * 3) % (8 * width * height) + 3;
        fill(page, (x + inset - 1, y + inset - 1), (cells.pitch * 4 / 10, cells.pitch * 3 / 10), super::drawn::PAPER);
        write(page, (x + inset, y + inset), (cells.pitch * 3 / 10).max(8), &sum.to_string());
    };
    for row in 0..9 {
        // Dominoes and a bar of three alternate, shifted from row to row.
        let mut column = 0;
        while column < 9 {
            let width = (if (row + column) % 3 == 0 { 3 } else { 2 }).min(9 - column);
            cage(row, column, width, 1);
            column += width;
        }
    }
}

/// Both diagonals drawn through the cells.
pub fn diagonals(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    let cells = frame(page, corner, side);
    for at in 0..9 * cells.pitch {
        for (x, y) in [(at, at), (9 * cells.pitch - at, at)] {
            fill(page, (corner.0 + x, corner.1 + y), (2, 2), Luma([120]));
        }
    }
    cells.write_line(page, FEWER);
}

/// The cells of both diagonals shaded.
pub fn shaded_diagonals(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    shaded(page, corner, side, |row, column| row == column || row + column == 8);
}

/// Four more boxes, shaded.
pub fn windows(page: &mut GrayImage, corner: (i32, i32), side: i32) {
    shaded(page, corner, side, |row, column| row % 4 != 0 && column % 4 != 0);
}

fn shaded(page: &mut GrayImage, corner: (i32, i32), side: i32, is_shaded: fn(i32, i32) -> bool) {
    let pitch = nine(corner, side / 9).pitch;
    for (row, column) in (0..9).flat_map(|row| (0..9).map(move |column| (row, column))) {
        if is_shaded(row, column) {
            fill(page, (corner.0 + column * pitch, corner.1 + row * pitch), (pitch, pitch), SHADE);
        }
    }
    frame(page, corner, side).write_line(page, FEWER);
}
