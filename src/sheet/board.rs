//! Draws the board of a moment. Each kind of mark has its own shape and its own line besides its colour, so that it can be told in black
//! and white, from a photocopy, and with any colour vision:
//!
//! - corner ticks around a filled cell: look here; a thin line with dots from it: what it closes;
//! - long dashes around a house: look along here;
//! - a dotted capsule with small digits: in mind from earlier (with a dotted bar that falls: ruled out earlier); an unbroken one: found now;
//! - a ring around a digit: written now; a small digit with a bar that rises through it: struck now;
//! - a diamond: assumed (with a bar: and so ruled out); a square: follows from that; a cross over a cell: breaks down there.

use crate::grid::{Cell, CellSet, Digit, Digits, House};

use super::Face;
use super::figure::{centred, lines, middle, written};
use super::layout::DIGIT;
use super::marks::Marks;
use super::moments::Moment;
use super::page::{BLACK, Ink, Item, Path, Pen};

/// Colours that people with any common kind of colour vision can tell apart: Okabe and Ito, "Color Universal Design", 2008.
pub(super) mod palette {
    use super::Ink;

    pub const ORANGE: Ink = [230, 159, 0];
    pub const BLUISH_GREEN: Ink = [0, 158, 115];
    pub const BLUE: Ink = [0, 114, 178];
    pub const VERMILLION: Ink = [213, 94, 0];
    pub const REDDISH_PURPLE: Ink = [204, 121, 167];
    /// Sky blue, thinned to a tint that copiers drop and digits stand out on.
    pub const SKY_TINT: Ink = [229, 243, 252];
    pub const WHITE: Ink = [255, 255, 255];
}

/// The size of small digits in cells.
pub(super) const SMALL: f32 = 0.34;
/// The rim for the numbers of rows and columns, in cells, above and to the left.
pub(super) const RIM: f32 = 0.5;
/// Digits that stand side by side in a cell.
const IN_A_ROW: usize = 4;

/// How a row of small digits is drawn.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Small {
    Carried,
    Found,
    Struck,
    RuledOut,
}

impl Small {
    /// Whether a bar goes through each digit.
    const fn is_barred(self) -> bool {
        matches!(self, Self::Struck | Self::RuledOut)
    }
}

/// The board with its marks, the grid's top left corner at the origin; the numbers of rows and columns stand outside.
pub fn draw(moment: &Moment, marks: &Marks, side: f32) -> Vec<Item> {
    let pitch = side / 9.0;
    let mut items = vec![Item::Fill { path: Path::rectangle(0.0, 0.0, side, side), ink: palette::WHITE }];
    items.extend(marks.houses.iter().map(|&house| tint(house, pitch)));
    items.extend(lines(side));
    items.extend(numbers(pitch));
    items.extend(marks.houses.iter().map(|&house| dashes(house, pitch)));
    items.extend(marks.rectangle.iter().map(|rectangle| corners(rectangle.cells, pitch)));
    marks.sights.iter().for_each(|sight| items.extend(draw_sight(*sight, pitch)));
    for (cell, digit) in moment.board.placed() {
        let face = if moment.givens.get(cell).is_some() { Face::Bold } else { Face::Regular };
        items.push(written(cell, digit, face, side));
    }
    marks.looked_at.iter().for_each(|cell| items.push(ticks(middle(cell, side), pitch)));
    items.extend(marks.broken.iter().map(|cell| cross(middle(cell, side), pitch)));
    draw_small(&mut items, marks, side);
    for put in &marks.follows {
        items.extend(square(middle(put.cell, side), pitch, put.digit));
    }
    if let Some(put) = &marks.assumed {
        let struck = marks.struck.iter().any(|strike| strike.cell == put.cell && strike.digits.contains(put.digit));
        let at = middle(put.cell, side);
        items.extend(if struck { assumption(at, pitch, put.digit) } else { diamond(at, pitch, put.digit).to_vec() });
    }
    items.extend(marks.written.iter().flat_map(|put| ring(middle(put.cell, side), pitch, put.digit)));
    items
}

/// The numbers of the columns above and of the rows to the left.
fn numbers(pitch: f32) -> Vec<Item> {
    let at = |index: usize| (index as f32 + 0.5) * pitch;
    let number = |index: usize, place| centred(&(index + 1).to_string(), place, SMALL * pitch, Face::Regular, BLACK);
    let above = (0..9).map(|column| number(column, (at(column), -0.28 * pitch)));
    above.chain((0..9).map(|row| number(row, (-0.28 * pitch, at(row))))).collect()
}

/// The top left corner of a house and its size.
fn bounds(house: House, pitch: f32) -> (f32, f32, f32, f32) {
    let cells = house.cells();
    let first = cells.first().map_or((0, 0), |cell| (cell.column(), cell.row()));
    let last = cells.iter().last().map_or((8, 8), |cell| (cell.column(), cell.row()));
    let length = |from: u8, to: u8| f32::from(to - from + 1) * pitch;
    (f32::from(first.0) * pitch, f32::from(first.1) * pitch, length(first.0, last.0), length(first.1, last.1))
}

fn tint(house: House, pitch: f32) -> Item {
    let (x, y, width, height) = bounds(house, pitch);
    Item::Fill { path: Path::rectangle(x, y, width, height), ink: palette::SKY_TINT }
}

fn dashes(house: House, pitch: f32) -> Item {
    let (x, y, width, height) = bounds(house, pitch);
    let (inset, radius) = (0.07 * pitch, 0.12 * pitch);
    let path = Path::rounded(x + inset, y + inset, width - 2.0 * inset, height - 2.0 * inset, radius);
    Item::Stroke { path, pen: Pen::new(0.055 * pitch, palette::BLUE).dashed(0.34 * pitch, 0.16 * pitch) }
}

/// The outline through the middles of a rectangle's cells.
fn corners(cells: [Cell; 4], pitch: f32) -> Item {
    let all: CellSet = cells.into_iter().collect();
    let (first, last) = (all.first().unwrap_or(cells[0]), all.iter().last().unwrap_or(cells[3]));
    rectangle(middle(first, 9.0 * pitch), middle(last, 9.0 * pitch), pitch)
}

/// An outline between two corners.
pub(super) fn rectangle((left, top): (f32, f32), (right, low): (f32, f32), pitch: f32) -> Item {
    let path = Path::rectangle(left, top, right - left, low - top);
    Item::Stroke { path, pen: Pen::new(0.05 * pitch, palette::REDDISH_PURPLE) }
}

/// A line beside the digits, from a cell to the farthest that it closes.
fn draw_sight((from, to, closed): (Cell, Cell, CellSet), pitch: f32) -> Vec<Item> {
    let along_row = from.row() == to.row();
    let beside = |cell: Cell| {
        let (x, y) = middle(cell, 9.0 * pitch);
        if along_row { (x, y + 0.4 * pitch) } else { (x + 0.4 * pitch, y) }
    };
    // The farthest comes last, whichever way the line runs.
    let mut closed: Vec<Cell> = closed.iter().collect();
    if to < from {
        closed.reverse();
    }
    sight(beside(from), &closed.into_iter().map(beside).collect::<Vec<_>>(), pitch)
}

/// A thin line to the last of some dots.
pub(super) fn sight(from: (f32, f32), dots: &[(f32, f32)], pitch: f32) -> Vec<Item> {
    let pen = Pen::new(0.04 * pitch, palette::BLUE).round();
    let line = dots.last().map(|&to| Item::Stroke { path: Path::line(from, to), pen });
    let dot = |&(x, y): &(f32, f32)| Item::Fill { path: Path::circle(x, y, 0.075 * pitch), ink: palette::BLUE };
    line.into_iter().chain(dots.iter().map(dot)).collect()
}

/// Four corner ticks around a cell's middle.
pub(super) fn ticks((x, y): (f32, f32), pitch: f32) -> Item {
    let (far, near) = (0.4 * pitch, 0.22 * pitch);
    let mut path = Path::default();
    for (right, down) in [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)] {
        let corner = (x + right * far, y + down * far);
        path.extend(Path::through(&[(x + right * near, corner.1), corner, (corner.0, y + down * near)]));
    }
    Item::Stroke { path, pen: Pen::new(0.07 * pitch, palette::BLUE) }
}

/// A ring with a digit in it.
pub(super) fn ring((x, y): (f32, f32), pitch: f32, digit: Digit) -> [Item; 3] {
    let path = Path::circle(x, y, 0.41 * pitch);
    [
        Item::Fill { path: path.clone(), ink: palette::WHITE },
        Item::Stroke { path, pen: Pen::new(0.08 * pitch, palette::BLUISH_GREEN) },
        centred(&digit.to_string(), (x, y), DIGIT * 0.9 * pitch, Face::Bold, BLACK),
    ]
}

/// A diamond with a digit that turned out wrong.
pub(super) fn assumption(at: (f32, f32), pitch: f32, digit: Digit) -> Vec<Item> {
    let [ground, rim, digit] = diamond(at, pitch, digit);
    vec![ground, rim, bar(at, 0.44 * pitch, Pen::new(0.06 * pitch, palette::VERMILLION), Slope::Rising), digit]
}

/// A diamond with a digit in it.
pub(super) fn diamond((x, y): (f32, f32), pitch: f32, digit: Digit) -> [Item; 3] {
    let far = 0.46 * pitch;
    let mut path = Path::through(&[(x, y - far), (x + far, y), (x, y + far), (x - far, y)]);
    path.0.push(super::Segment::Close);
    [
        Item::Fill { path: path.clone(), ink: palette::WHITE },
        Item::Stroke { path, pen: Pen::new(0.07 * pitch, palette::ORANGE) },
        centred(&digit.to_string(), (x, y), 0.46 * pitch, Face::Bold, BLACK),
    ]
}

/// A small square with a digit in it.
pub(super) fn square((x, y): (f32, f32), pitch: f32, digit: Digit) -> [Item; 3] {
    let far = 0.26 * pitch;
    let path = Path::rectangle(x - far, y - far, 2.0 * far, 2.0 * far);
    [
        Item::Fill { path: path.clone(), ink: palette::WHITE },
        Item::Stroke { path, pen: Pen::new(0.05 * pitch, palette::ORANGE) },
        centred(&digit.to_string(), (x, y), 0.4 * pitch, Face::Regular, BLACK),
    ]
}

/// A cross from corner to corner of a cell.
pub(super) fn cross((x, y): (f32, f32), pitch: f32) -> Item {
    let far = 0.36 * pitch;
    let mut path = Path::line((x - far, y - far), (x + far, y + far));
    path.extend(Path::line((x - far, y + far), (x + far, y - far)));
    Item::Stroke { path, pen: Pen::new(0.06 * pitch, palette::VERMILLION).round() }
}

/// The small digits of all cells: found, in mind and struck, in rows from the top.
fn draw_small(items: &mut Vec<Item>, marks: &Marks, side: f32) {
    let pitch = side / 9.0;
    for cell in Cell::ALL {
        let of = |all: &[(Cell, Digits)], kind: Small| -> Vec<(Small, Digits)> {
            all.iter().filter(|(other, _)| *other == cell).map(|&(_, digits)| (kind, digits)).collect()
        };
        // The digit that is assumed is struck there, large.
        let elsewhere = marks.struck.iter().filter(|strike| marks.assumed.is_none_or(|put| put.cell != strike.cell));
        let struck: Vec<(Cell, Digits)> = elsewhere.map(|strike| (strike.cell, strike.digits)).collect();
        let kept = [of(&marks.found, Small::Found), of(&marks.carried, Small::Carried)];
        let kinds = [kept.concat(), of(&marks.ruled_out, Small::RuledOut), of(&struck, Small::Struck)].concat();
        let rows: Vec<(Small, Vec<Digit>)> = kinds
            .into_iter()
            .flat_map(|(kind, digits)| {
                let digits: Vec<Digit> = digits.iter().collect();
                digits.chunks(if kind.is_barred() { IN_A_ROW - 1 } else { IN_A_ROW }).map(|row| (kind, row.to_vec())).collect::<Vec<_>>()
            })
            .collect();
        // Two rows fit; more are drawn smaller.
        let height = (0.94 / rows.len().max(1) as f32).min(0.45);
        let (x, y) = middle(cell, side);
        for (at, (kind, digits)) in rows.iter().enumerate() {
            let from_middle = at as f32 - (rows.len() as f32 - 1.0) / 2.0;
            items.extend(small((x, y + from_middle * height * pitch), pitch, (height * 0.76).min(SMALL), *kind, digits));
        }
    }
}

/// A row of small digits of `size` cells: in a capsule, or with a bar through each.
pub(super) fn small((x, y): (f32, f32), pitch: f32, size: f32, kind: Small, digits: &[Digit]) -> Vec<Item> {
    let (size, step) = (size * pitch, size * if kind.is_barred() { 0.86 } else { 0.64 } * pitch);
    let width = digits.len() as f32 * step;
    let mut items = Vec::new();
    if !kind.is_barred() {
        let (far, high) = (width / 2.0 + 0.16 * size, 0.56 * size);
        let path = Path::rounded(x - far, y - high, 2.0 * far, 2.0 * high, high.min(far));
        let line = Pen::new(0.06 * pitch, palette::REDDISH_PURPLE);
        let pen = if kind == Small::Carried { line.dashed(0.0, 0.12 * pitch).round() } else { line };
        items.extend([Item::Fill { path: path.clone(), ink: palette::WHITE }, Item::Stroke { path, pen }]);
    }
    for (at, digit) in digits.iter().enumerate() {
        let place = (x + (at as f32 + 0.5) * step - width / 2.0, y);
        match kind {
            Small::Struck => items.push(bar(place, 0.5 * size, Pen::new(0.04 * pitch, palette::VERMILLION), Slope::Rising)),
            Small::RuledOut => {
                let pen = Pen::new(0.07 * pitch, palette::REDDISH_PURPLE).dashed(0.0, 0.12 * pitch).round();
                items.push(bar(place, 0.6 * size, pen, Slope::Falling));
            }
            Small::Carried | Small::Found => {}
        }
        let face = if kind == Small::Found { Face::Bold } else { Face::Regular };
        items.push(centred(&digit.to_string(), place, size, face, BLACK));
    }
    items
}

/// Which way a bar runs, from left to right.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Slope {
    Rising,
    Falling,
}

/// A bar that reaches beyond what it strikes, which is drawn over it and stays legible.
fn bar((x, y): (f32, f32), far: f32, pen: Pen, slope: Slope) -> Item {
    let high = if slope == Slope::Rising { 0.9 * far } else { -0.9 * far };
    Item::Stroke { path: Path::line((x - far, y + high), (x + far, y - high)), pen }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::Board;
    use crate::sheet::{Ground, Page, Part, Role, pixels};
    use crate::walk::{Put, Rectangle, Strike};

    /// The board with these marks as a copier gives it: black or white, without any colour or grey.
    fn copied(marks: &Marks) -> Vec<bool> {
        let givens = Board::EMPTY.with(Cell::ALL[40], None).with(Cell::ALL[0], Some(Digit::ALL[4]));
        let moment = Moment {
            number: 1,
            heading: String::new(),
            sentence: String::new(),
            givens,
            board: givens,
            step: None,
            put: None,
            carried: Vec::new(),
            until_seconds: None,
        };
        let parts = vec![Part::new(Role::Ornament, draw(&moment, marks, 360.0))];
        let page = Page { width: 360.0, height: 360.0, title: String::new(), parts };
        let pixels = pixels(&page, 2.0, Ground::Paper).unwrap();
        let dark = |p: &[u8]| u32::from(p[0]) * 299 + u32::from(p[1]) * 587 + u32::from(p[2]) * 114 < 190_000;
        pixels.rgba.chunks_exact(4).map(dark).collect()
    }

    #[test]
    fn marks_are_told_apart_without_colour() {
        let (cell, five) = (Cell::ALL[40], Digits::of(Digit::ALL[4]));
        let put = Put { cell, digit: Digit::ALL[4] };
        let swapped = Rectangle { cells: [40, 43, 58, 61].map(|at: usize| Cell::ALL[at]), digits: [Digit::ALL[4], Digit::ALL[5]] };
        let none = Marks::default();
        let kinds = [
            ("nothing", none.clone()),
            ("look along", Marks { houses: vec![cell.houses()[2]], ..none.clone() }),
            ("closes", Marks { sights: vec![(cell, Cell::ALL[43], CellSet::of(Cell::ALL[43]))], ..none.clone() }),
            ("two ways", Marks { rectangle: Some(swapped), ..none.clone() }),
            ("look at", Marks { looked_at: cell.into(), ..none.clone() }),
            ("in mind", Marks { carried: vec![(cell, five)], ..none.clone() }),
            ("found", Marks { found: vec![(cell, five)], ..none.clone() }),
            ("written", Marks { written: Some(put), ..none.clone() }),
            ("ruled out", Marks { ruled_out: vec![(cell, five)], ..none.clone() }),
            ("struck", Marks { struck: vec![Strike { cell, digits: five }], ..none.clone() }),
            ("assumed", Marks { assumed: Some(put), ..none.clone() }),
            ("assumed, so ruled out", Marks { assumed: Some(put), struck: vec![Strike { cell, digits: five }], ..none.clone() }),
            ("follows", Marks { follows: vec![put], ..none.clone() }),
            ("broken", Marks { broken: cell.into(), ..none }),
        ];
        let drawn: Vec<(&str, Vec<bool>)> = kinds.iter().map(|(name, marks)| (*name, copied(marks))).collect();
        for (at, (one, first)) in drawn.iter().enumerate() {
            for (other, second) in &drawn[at + 1..] {
                let apart = first.iter().zip(second).filter(|(a, b)| a != b).count();
                // A cell has 6,400 pixels; the line of the thinnest mark covers some hundreds.
                assert!(apart > 120, "{one} and {other} differ in {apart} pixels");
            }
        }
    }
}
