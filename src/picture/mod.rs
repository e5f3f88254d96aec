//! Draws what was found over the page, so that a person sees at once whether the reading is right.
//!
//! Takes the page and what was read of it, and gives an RGB picture with each lattice, each digit as it was
//! read in the corner beside the digit as it is printed, each flag with its suggestion, and the verdict under
//! each grid. Whatever a colour tells, a shape or a word tells too. All of it follows the print's turn.

mod canvas;
mod text;

use image::RgbImage;

use crate::decide::{Flag, Mark, Verdict};
use crate::decode::Page;
use crate::grid::Cell;
use crate::lift::{GridReading, PageReading};
use crate::plane::{Lattice, Point};
use canvas::{Canvas, Colour, Frame};
use text::Words;

/// Colours that people with any common kind of colour vision can tell apart: Okabe and Ito, "Color Universal
/// Design", 2008.
mod palette {
    use super::Colour;

    pub const BLACK: Colour = [0, 0, 0];
    pub const ORANGE: Colour = [230, 159, 0];
    pub const SKY_BLUE: Colour = [86, 180, 233];
    pub const BLUISH_GREEN: Colour = [0, 158, 115];
    pub const YELLOW: Colour = [240, 228, 66];
    pub const BLUE: Colour = [0, 114, 178];
    pub const VERMILLION: Colour = [213, 94, 0];
    pub const REDDISH_PURPLE: Colour = [204, 121, 167];
    pub const WHITE: Colour = [255, 255, 255];
}

/// A cell needs this many pixels for its corner digit to be legible; smaller ones are drawn enlarged.
const LEGIBLE_PITCH: f32 = 44.0;
/// The most pixels that a picture is enlarged to.
const MOST_PIXELS: u64 = 40_000_000;

/// The page with all that was read drawn on it, as large as the page or, where its grids are small, a whole
/// number of times larger; with a white margin where a grid comes so close to the page's edge that its verdict
/// would hide it.
pub fn draw(page: &Page, reading: &PageReading) -> RgbImage {
    let mut canvas = Canvas::new(page, enlargement(page, reading), margin(page, reading));
    for (number, grid) in (1..).zip(&reading.grids) {
        draw_grid(&mut canvas, number, grid);
    }
    canvas.finish()
}

fn enlargement(page: &Page, reading: &PageReading) -> u32 {
    let smallest = reading.grids.iter().map(|grid| grid.lattice.pitch()).fold(LEGIBLE_PITCH, f32::min);
    let wanted = (LEGIBLE_PITCH / smallest.max(1.0)).ceil() as u32;
    let pixels = u64::from(page.luma.width()) * u64::from(page.luma.height());
    (1..=wanted).rev().find(|&scale| pixels * u64::from(scale).pow(2) <= MOST_PIXELS).unwrap_or(1)
}

/// How far the verdicts reach beyond the page, in page pixels; at most an eighth of its longer side.
fn margin(page: &Page, reading: &PageReading) -> u32 {
    let (width, height) = page.luma.dimensions();
    let beyond = |place: Point| [-place.x, -place.y, place.x - width as f32, place.y - height as f32].into_iter().fold(0.0, f32::max);
    let corners = reading.grids.iter().flat_map(|grid| banner_frame(&grid.lattice).corners());
    (corners.map(beyond).fold(0.0, f32::max).ceil() as u32).min(width.max(height) / 8)
}

fn draw_grid(canvas: &mut Canvas, number: usize, grid: &GridReading) {
    let colour = verdict_colour(grid.reading.verdict);
    draw_lattice(canvas, &grid.lattice, colour);
    for (&place, cell) in Cell::ALL.iter().zip(&grid.reading.cells) {
        draw_mark(canvas, &cell_frame(&grid.lattice, place), cell.read);
    }
    // The most useful flags come first: they lie on top.
    for flag in grid.reading.flags.iter().rev() {
        draw_flag(canvas, &cell_frame(&grid.lattice, flag.cell), flag);
    }
    draw_banner(canvas, number, grid, colour);
}

fn verdict_colour(verdict: Verdict) -> Colour {
    match verdict {
        Verdict::Proven => palette::BLUISH_GREEN,
        Verdict::Mended => palette::ORANGE,
        Verdict::Doubtful => palette::VERMILLION,
        Verdict::Misprinted => palette::REDDISH_PURPLE,
        Verdict::Unreadable => palette::BLACK,
    }
}

/// Thin lines through all crossings, heavier ones around boxes and the heaviest, in the verdict's colour,
/// around the grid.
fn draw_lattice(canvas: &mut Canvas, lattice: &Lattice, rim: Colour) {
    let thin = (lattice.pitch() / 45.0).max(0.5);
    let mut lines: Vec<usize> = (0..10).collect();
    lines.sort_by_key(|line| (line % 3 == 0, line % 9 == 0));
    for line in lines {
        let (width, colour) = match line {
            0 | 9 => (3.0 * thin, rim),
            3 | 6 => (1.8 * thin, palette::SKY_BLUE),
            _ => (thin, palette::SKY_BLUE),
        };
        for step in 0..9 {
            canvas.line(lattice.points[line][step], lattice.points[line][step + 1], width, colour);
            canvas.line(lattice.points[step][line], lattice.points[step + 1][line], width, colour);
        }
    }
}

/// The frame of a cell, made a parallelogram.
fn cell_frame(lattice: &Lattice, place: Cell) -> Frame {
    let [a, b, c, d] = lattice.cell(place.row().into(), place.column().into());
    Frame { origin: a, right: (b - a + c - d) * 0.5, down: (d - a + c - b) * 0.5 }
}

/// What was read, small in the cell's top left corner: a given white on a blue square, an entry orange in a
/// ring, marks as three dots, anything else as a cross on black. An empty cell stays as it is.
fn draw_mark(canvas: &mut Canvas, cell: &Frame, mark: Mark) {
    let chip = cell.part(0.04, 0.04, 0.3, 0.3);
    let side = chip.right.length();
    let middle = chip.at(0.5, 0.5);
    match mark {
        Mark::Empty => {}
        Mark::Given(digit) => {
            canvas.fill(&chip, palette::BLUE);
            write(canvas, &chip, &digit.to_string(), palette::WHITE);
        }
        Mark::Entry(digit) => {
            canvas.disc(middle, side * 0.56, palette::ORANGE);
            canvas.disc(middle, side * 0.46, palette::WHITE);
            write(canvas, &chip.part(0.12, 0.12, 0.76, 0.76), &digit.to_string(), palette::BLACK);
        }
        Mark::Marks => {
            canvas.fill(&chip.part(0.0, 0.3, 1.0, 0.4), palette::WHITE);
            for share in [0.2, 0.5, 0.8] {
                canvas.disc(chip.at(share, 0.5), side * 0.1, palette::BLACK);
            }
        }
        Mark::Other => {
            canvas.fill(&chip, palette::BLACK);
            for (from, to) in [((0.25, 0.25), (0.75, 0.75)), ((0.75, 0.25), (0.25, 0.75))] {
                canvas.line(chip.at(from.0, from.1), chip.at(to.0, to.1), side * 0.12, palette::WHITE);
            }
        }
    }
}

/// A heavy frame around the cell, and in its bottom right corner what it most likely is instead, with a
/// question mark.
fn draw_flag(canvas: &mut Canvas, cell: &Frame, flag: &Flag) {
    let width = cell.right.length() * 0.07;
    canvas.outline(&cell.part(0.03, 0.03, 0.94, 0.94).corners(), width * 1.8, palette::BLACK);
    canvas.outline(&cell.part(0.03, 0.03, 0.94, 0.94).corners(), width, palette::YELLOW);
    let suggestion = match flag.suggest {
        _ if flag.suggest == flag.read => "?".into(),
        Mark::Empty => "no?".into(),
        other => format!("{other}?"),
    };
    let chip = cell.part(0.48, 0.66, 0.46, 0.28);
    canvas.fill(&chip, palette::YELLOW);
    write(canvas, &chip, &suggestion, palette::BLACK);
}

/// Where a grid's verdict is written: along its bottom edge as printed, outside, since numbers and titles are
/// mostly printed above (common practice, no source).
fn banner_frame(lattice: &Lattice) -> Frame {
    let [a, b, c, d] = lattice.corners();
    Frame { origin: a, right: b - a, down: (d - a + c - b) * 0.5 }.part(0.0, 1.012, 1.0, 0.06)
}

/// A strip along the printed bottom edge that says which grid it is and what its verdict is.
fn draw_banner(canvas: &mut Canvas, number: usize, grid: &GridReading, colour: Colour) {
    let reading = &grid.reading;
    let name = grid.label.as_ref().map_or_else(|| number.to_string(), |label| format!("“{}”", label.text));
    let mut words = format!("grid {name}: {}", reading.verdict);
    if let Some(givens) = &reading.givens {
        let count = Cell::ALL.iter().filter(|&&cell| givens.get(cell).is_some()).count();
        words.push_str(&format!(", {count} givens"));
    }
    if !reading.flags.is_empty() {
        words.push_str(&format!(", {} to look at", reading.flags.len()));
    }
    let strip = banner_frame(&grid.lattice);
    canvas.fill(&strip, colour);
    write(
        canvas,
        &strip,
        &words,
        if colour == palette::ORANGE || colour == palette::REDDISH_PURPLE { palette::BLACK } else { palette::WHITE },
    );
}

/// Writes `words` into the middle of a frame, as large as fits.
fn write(canvas: &mut Canvas, frame: &Frame, words: &str, colour: Colour) {
    let (across, tall) = (frame.right.length(), frame.down.length());
    let words = Words::new(words, ((tall * canvas.scale() as f32).ceil() as usize).max(4));
    let (width, height) = (words.size.0 as f32, words.size.1 as f32);
    // In page pixels, what a sample of the mask would take if the line filled the frame's height.
    let unit = (tall / height).min(across / width);
    let (width, height) = (width * unit / across, height * unit / tall);
    canvas.stamp(&frame.part((1.0 - width) / 2.0, (1.0 - height) / 2.0, width, height), &words.mask, words.size, colour);
}
