//! The paper around a grid and the lines of text on it, flattened by the grid's own lattice.
//!
//! Places are told in cells: (0, 0) is the lattice's top left crossing, (9, 9) its bottom right one, rows as printed. Each row and
//! column is taken as a parabola, and beyond the rim the lattice goes on as its outermost three cells run, so that bends are
//! followed. `scripts/label/frame.py` does the same for training.

use image::GrayImage;
use image::math::Rect;

use crate::decode::{sample_several, shrink_part, whole, wide};
use crate::plane::{Lattice, Point};

/// Cells of paper around the grid.
pub(super) const MARGIN: f32 = 2.5;
/// Whole cells by which the lattice is continued: a label beside the grid may begin beyond the margin.
const REACH: usize = 8;
const ACROSS: usize = 10 + 2 * REACH;
/// Height of a flattened line of text, in pixels.
pub(super) const STRIP: u32 = 32;
/// Of which the text itself takes, from top to bottom.
pub(super) const INK: f32 = 22.0;
/// Pixels before and behind it.
pub(super) const PAD: f32 = 10.0;

/// Which way a line of text runs, as seen with its grid upright.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Run {
    /// To the right, as the grid's own digits.
    Right = 0,
    /// Downwards: turned a quarter clockwise.
    Down = 1,
    /// Upwards.
    Up = 2,
}

/// A line of text near a grid, in cells.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Line {
    pub(super) left: f32,
    pub(super) top: f32,
    pub(super) right: f32,
    pub(super) bottom: f32,
    pub(super) run: Run,
}

impl Line {
    /// Its height as one reads it, in cells.
    pub(super) fn height(&self) -> f32 {
        if self.run == Run::Right { self.bottom - self.top } else { self.right - self.left }
    }

    /// Its left, top, width and height, in cells.
    pub(super) fn extent(&self) -> [f32; 4] {
        [self.left, self.top, self.right - self.left, self.bottom - self.top]
    }

    /// The line with `share` of its height more above and below as one reads it.
    pub(super) fn thickened(&self, share: f32) -> Self {
        let more = share * self.height();
        match self.run {
            Run::Right => Self { top: self.top - more, bottom: self.bottom + more, ..*self },
            Run::Down | Run::Up => Self { left: self.left - more, right: self.right + more, ..*self },
        }
    }

    /// Its length as one reads it, in cells.
    pub(super) fn length(&self) -> f32 {
        if self.run == Run::Right { self.right - self.left } else { self.bottom - self.top }
    }
}

/// A grid's lattice, continued into its surroundings.
pub(super) struct Surroundings {
    points: [[Point; ACROSS]; ACROSS],
    pitch: f32,
}

impl Surroundings {
    pub(super) fn new(lattice: &Lattice) -> Self {
        let rows = lattice.points.map(|row| continued(smooth(row)));
        let mut points = [[Point::default(); ACROSS]; ACROSS];
        for column in 0..ACROSS {
            let down = continued(smooth(std::array::from_fn(|row| rows[row][column])));
            points.iter_mut().zip(down).for_each(|(row, point)| row[column] = point);
        }
        Self { points, pitch: lattice.pitch() }
    }

    /// The page point at `x`, `y` in cells.
    pub(super) fn place(&self, x: f32, y: f32) -> Point {
        let ((column, u), (row, v)) = (within(x), within(y));
        let p = &self.points;
        p[row][column].toward(p[row][column + 1], u).toward(p[row + 1][column].toward(p[row + 1][column + 1], u), v)
    }

    /// The part of the page that holds the grid and the paper around it, shrunken to what [`Self::flatten`] takes for `pitch` pixels a cell, and the surroundings there.
    pub(super) fn near(&self, luma: &GrayImage, pitch: f32) -> (GrayImage, Self) {
        let reach = MARGIN.ceil() as usize;
        let rows = &self.points[REACH - reach..REACH + 10 + reach];
        let spots: Vec<Point> = rows.iter().flat_map(|row| row[REACH - reach..REACH + 10 + reach].iter().copied()).collect();
        let (small, within) = shrunken(luma, &spots, self.pitch / pitch);
        let points = self.points.map(|row| row.map(|point| within.of(point)));
        (small, Self { points, pitch: self.pitch * within.scale.x })
    }

    /// The grid and the paper around it, `pitch` pixels a cell.
    pub(super) fn flatten(&self, luma: &GrayImage, pitch: f32) -> GrayImage {
        let side = ((9.0 + 2.0 * MARGIN) * pitch) as u32;
        let cells: Vec<f32> = (0..side).map(|pixel| (pixel as f32 + 0.5) / pitch - MARGIN).collect();
        sampled(luma, &self.places(&cells, &cells), side, self.pitch / pitch)
    }

    /// The page points at these columns of these rows, in cells, row by row.
    fn places(&self, columns: &[f32], rows: &[f32]) -> Vec<Point> {
        let columns: Vec<(usize, f32)> = columns.iter().map(|&x| within(x)).collect();
        let mut places = Vec::with_capacity(columns.len() * rows.len());
        // Rows within one row of cells lie between the same two rows of the lattice.
        let (mut row, mut edges) = (ACROSS, Vec::new());
        for &y in rows {
            let (own, v) = within(y);
            if own != row {
                row = own;
                let along = |row: &[Point; ACROSS], column: usize, u: f32| row[column].toward(row[column + 1], u);
                let edge = |&(column, u): &(usize, f32)| (along(&self.points[row], column, u), along(&self.points[row + 1], column, u));
                edges = columns.iter().map(edge).collect();
            }
            places.extend(edges.iter().map(|(above, below)| above.toward(*below, v)));
        }
        places
    }

    /// How many pixels wide a line of text is when it is flattened to `STRIP` pixels of height.
    pub(super) fn strip_width(line: &Line) -> u32 {
        (line.length() / step_of(line)).ceil() as u32 + 2 * PAD as u32
    }

    /// A line of text, upright, `strip_width` x `STRIP` pixels, and `margin` more at all sides.
    pub(super) fn flatten_line(&self, luma: &GrayImage, line: &Line, margin: u32) -> GrayImage {
        let (width, height, step) = (Self::strip_width(line) + 2 * margin, STRIP + 2 * margin, step_of(line));
        let along: Vec<f32> = (0..width).map(|i| (i as f32 + 0.5 - PAD - margin as f32) * step).collect();
        let across: Vec<f32> = (0..height).map(|i| (i as f32 + 0.5 - (STRIP as f32 - INK) / 2.0 - margin as f32) * step).collect();
        let from = |start: f32, by: &[f32]| -> Vec<f32> { by.iter().map(|by| start + by).collect() };
        let back_from = |end: f32, by: &[f32]| -> Vec<f32> { by.iter().map(|by| end - by).collect() };
        // What runs up or down is taken row by row of the page and laid on its side.
        let turned = |places: Vec<Point>| {
            (0..height).flat_map(|j| (0..width).map(move |i| (i * height + j) as usize)).map(|at| places[at]).collect()
        };
        let spots: Vec<Point> = match line.run {
            Run::Right => self.places(&from(line.left, &along), &from(line.top, &across)),
            Run::Down => turned(self.places(&back_from(line.right, &across), &from(line.top, &along))),
            Run::Up => turned(self.places(&from(line.left, &across), &back_from(line.bottom, &along))),
        };
        sampled(luma, &spots, width, self.pitch * step)
    }

    /// Where the text stands in a flattened line with that margin: left, top, right, bottom.
    pub(super) fn text_in(strip: &GrayImage, margin: u32) -> [f32; 4] {
        let (wide, high) = (strip.width() as f32, strip.height() as f32);
        let (before, above) = (PAD + margin as f32, (high - INK) / 2.0);
        [before, above, wide - before, high - above]
    }

    /// The corners of a line of text in page pixels, as one reads it: top left, top right, bottom right, bottom left.
    pub(super) fn corners_of(&self, line: &Line) -> [Point; 4] {
        let mut corners = [(line.left, line.top), (line.right, line.top), (line.right, line.bottom), (line.left, line.bottom)]
            .map(|(x, y)| self.place(x, y));
        corners.rotate_left(match line.run {
            Run::Right => 0,
            Run::Down => 1,
            Run::Up => 3,
        });
        corners
    }

    /// x, y, width and height of a line of text, in page pixels.
    pub(super) fn box_of(&self, line: &Line) -> [f32; 4] {
        let (low, high) = bounds(&self.corners_of(line));
        [low.x, low.y, high.x - low.x, high.y - low.y]
    }
}

/// Between which two lattice lines a coordinate in cells lies: the first of them, and how far from it, in cells.
fn within(cells: f32) -> (usize, f32) {
    let place = (cells + REACH as f32).clamp(0.0, (ACROSS - 1) as f32 - 1e-3);
    (place as usize, place - place as usize as f32)
}

/// Cells for a pixel of the flattened line.
pub(super) fn step_of(line: &Line) -> f32 {
    line.height().max(1e-3) / INK
}

/// A row of crossings as the parabola that comes nearest to it: crossings that are a little off would bend the paper beyond them much.
fn smooth(row: [Point; 10]) -> [Point; 10] {
    // Orthogonal over these ten places (Gram's polynomials).
    let t: [f32; 10] = std::array::from_fn(|i| i as f32 - 4.5);
    let bases: [fn(f32) -> f32; 3] = [|_| 1.0, |t| t, |t| t * t - 8.25];
    let mut smooth = [Point::default(); 10];
    for basis in bases {
        let norm: f32 = t.iter().map(|&t| basis(t).powi(2)).sum();
        let sum = row.iter().zip(t).fold(Point::default(), |sum, (&point, t)| sum + point * basis(t));
        smooth.iter_mut().zip(t).for_each(|(point, t)| *point = *point + sum * (basis(t) / norm));
    }
    smooth
}

/// A row of crossings with `REACH` more at each end.
fn continued(row: [Point; 10]) -> [Point; ACROSS] {
    let before = (row[0] - row[3]) * (1.0 / 3.0);
    let behind = (row[9] - row[6]) * (1.0 / 3.0);
    std::array::from_fn(|i| match i {
        _ if i < REACH => row[0] + before * (REACH - i) as f32,
        _ if i < REACH + 10 => row[i - REACH],
        _ => row[9] + behind * (i - REACH - 9) as f32,
    })
}

/// The least and greatest x and y.
fn bounds(points: &[Point]) -> (Point, Point) {
    // Several at once.
    let (mut low, mut high) = ([f32::INFINITY; 2 * GROUP], [f32::NEG_INFINITY; 2 * GROUP]);
    wide(
        #[inline(always)]
        || {
            for points in points.chunks(GROUP) {
                for (i, point) in points.iter().enumerate() {
                    for (i, value) in [(2 * i, point.x), (2 * i + 1, point.y)] {
                        low[i] = if value < low[i] { value } else { low[i] };
                        high[i] = if value > high[i] { value } else { high[i] };
                    }
                }
            }
        },
    );
    let of = |values: &[f32], pick: fn(f32, f32) -> f32| {
        let each = |first: usize| values[first..].iter().copied().step_by(2).fold(values[first], pick);
        Point::new(each(0), each(1))
    };
    (of(&low, f32::min), of(&high, f32::max))
}

/// Spots looked at together.
const GROUP: usize = 32;

/// A shrunken part of a page.
struct Within {
    /// The part's first pixel.
    corner: Point,
    /// Its pixels for one of the page, each way.
    scale: Point,
}

impl Within {
    /// Where a point of the page is.
    #[inline(always)]
    fn of(&self, point: Point) -> Point {
        let along = |at: f32, corner: f32, scale: f32| (at - corner + 0.5) * scale - 0.5;
        Point::new(along(point.x, self.corner.x, self.scale.x), along(point.y, self.corner.y, self.scale.y))
    }
}

/// The part of the page that holds `spots`, of which neighbours lie `step` page pixels apart: so much is averaged.
fn shrunken(luma: &GrayImage, spots: &[Point], step: f32) -> (GrayImage, Within) {
    let (low, high) = bounds(spots);
    let reach = 2.0 * step + 1.0;
    let span = |low: f32, high: f32, most: u32| {
        let from = (low - reach).floor().clamp(0.0, most.saturating_sub(1) as f32) as u32;
        (from, ((high + reach + 1.0).ceil().clamp(0.0, most as f32) as u32).max(from + 1) - from)
    };
    let ((x, broad), (y, tall)) = (span(low.x, high.x, luma.width()), span(low.y, high.y, luma.height()));
    let scale = (1.15 / step).min(1.0);
    let size = |full: u32| ((full as f32 * scale).round() as u32).max(1);
    let small = shrink_part(luma, Rect { x, y, width: broad, height: tall }, size(broad), size(tall));
    let scale = Point::new(small.width() as f32 / broad as f32, small.height() as f32 / tall as f32);
    (small, Within { corner: Point::new(x as f32, y as f32), scale })
}

/// Brightness at `spots`, rows of `width`. Neighbours lie `step` page pixels apart, and so much is averaged first.
fn sampled(luma: &GrayImage, spots: &[Point], width: u32, step: f32) -> GrayImage {
    let (small, within) = shrunken(luma, spots, step);
    let mut pixels = vec![0_u8; spots.len()];
    wide(
        #[inline(always)]
        || {
            for (spots, pixels) in spots.chunks(GROUP).zip(pixels.chunks_mut(GROUP)) {
                let (mut across, mut down) = ([0.0; GROUP], [0.0; GROUP]);
                for (i, spot) in spots.iter().enumerate() {
                    let at = within.of(*spot);
                    (across[i], down[i]) = (at.x, at.y);
                }
                let values = sample_several(&small, &across, &down);
                pixels.iter_mut().zip(values).for_each(|(pixel, value)| *pixel = whole(value + 0.5) as u8);
            }
        },
    );
    GrayImage::from_raw(width, spots.len() as u32 / width.max(1), pixels).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A lattice of 10-pixel cells whose top left crossing is at (50, 50).
    fn square() -> Lattice {
        let corners = [Point::new(50.0, 50.0), Point::new(140.0, 50.0), Point::new(140.0, 140.0), Point::new(50.0, 140.0)];
        Lattice::from_corners(corners).expect("a square")
    }

    #[test]
    fn a_flat_lattice_goes_on_flat() {
        let around = Surroundings::new(&square());
        for (cells, page) in [((0.0, 0.0), (50.0, 50.0)), ((-2.0, 4.5), (30.0, 95.0)), ((11.5, -1.25), (165.0, 37.5))] {
            let place = around.place(cells.0, cells.1);
            assert!(place.distance(Point::new(page.0, page.1)) < 1e-3, "{place:?} for {page:?}");
        }
    }

    #[test]
    fn a_bent_lattice_goes_on_along_its_own_rows() {
        // Rows rise by a tenth of their length: what stands left of a row rises too.
        let bent = square().map(|p| Point::new(p.x, p.y + (p.x - 50.0) * 0.1));
        let place = Surroundings::new(&bent).place(-2.0, 0.0);
        assert!(place.distance(Point::new(30.0, 48.0)) < 1e-3, "{place:?}");
    }

    #[test]
    fn a_crossing_that_is_off_bends_the_paper_beyond_it_little() {
        let mut off = square();
        off.points[0][4].y -= 2.0;
        let around = Surroundings::new(&off);
        let straight = |x: f32| around.place(x, -2.0).y - 30.0;
        assert!(
            (-10..100).all(|tenth| straight(tenth as f32 / 10.0).abs() < 1.0),
            "{:?}",
            (0..10).map(|x| straight(x as f32)).collect::<Vec<_>>()
        );
    }

    /// A page with a white dot where a line of text starts at its top, for each way it may run.
    #[test]
    fn lines_come_out_upright() {
        let corner = |run| match run {
            Run::Right => (0.25, -1.75),
            Run::Down => (0.75, -1.75),
            Run::Up => (0.25, -0.25),
        };
        for run in [Run::Right, Run::Down, Run::Up] {
            let (left, top, right, bottom) = if run == Run::Right { (0.0, -2.0, 4.0, -1.0) } else { (0.0, -2.0, 1.0, 0.0) };
            let line = Line { left, top, right, bottom, run };
            let at = Surroundings::new(&square()).place(corner(run).0, corner(run).1);
            let page = GrayImage::from_fn(200, 200, |x, y| {
                let near = Point::new(x as f32, y as f32).distance(at) < 2.5;
                image::Luma([if near { 255 } else { 0 }])
            });
            let strip = Surroundings::new(&square()).flatten_line(&page, &line, 0);
            let brightest = strip.enumerate_pixels().max_by_key(|(_, _, value)| value.0[0]).expect("pixels");
            assert!(brightest.0 < strip.width() / 2 && brightest.1 < STRIP / 2, "{run:?}: {brightest:?} of {:?}", strip.dimensions());
            assert_eq!(strip.height(), STRIP);
        }
    }
}
